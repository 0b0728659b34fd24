"""Every page of our own on the demonstration kitchen, and what README promises of its data."""

from __future__ import annotations

import csv
import io
import re
from typing import Any

import pytest

OWN = (
    "/",
    "/guest",
    "/guest?avoid=milk",
    "/allergens",
    "/short",
    "/short/brill",
    "/suppliers",
    "/suppliers/saltby-dairy",
)


@pytest.mark.parametrize("path", OWN)
async def test_own_pages_answer_under_a_strict_policy(house: Any, path: str) -> None:
    """200, no inline script or style allowed, nothing says safe or free."""
    answer = await house.client.get(path)
    assert answer.status_code == 200
    policy = answer.headers["content-security-policy"]
    assert "unsafe-inline" not in policy and "default-src 'none'" in policy
    assert not re.search(r"<script(?![^>]* src=)|<style| style=| on\w+=", answer.text)
    assert " safe" not in answer.text.lower() and "allergen-free" not in answer.text.lower()


async def test_free_sql_is_refused(house: Any) -> None:
    """By address, by ?_where, and through the in-memory database."""
    assert (await house.client.get("/kitchen.json?sql=select+1")).status_code == 403
    assert (await house.client.get("/kitchen/items.json?_where=1=1")).status_code == 403
    assert (await house.client.get("/_memory.json?sql=select+1")).status_code in {403, 404}


async def test_guest_json_keeps_its_contract(house: Any) -> None:
    """The keys that README promises, and every dish of the menu once."""
    answer = (await house.client.get("/guest.json?avoid=milk&avoid=walnut")).json()
    assert set(answer) == {"as_of", "regime", "avoid", "dishes", "out"} and answer["avoid"] == ["milk", "walnut"]
    for dish in answer["dishes"]:
        assert {"id", "name", "verdict", "leave_off", "reasons"} <= set(dish)
        assert all(set(r) == {"allergen", "presence", "path"} for r in dish["reasons"])
    assert len({d["id"] for d in answer["dishes"]}) == len(answer["dishes"]) > 12
    by_id = {d["id"]: d for d in answer["dishes"]}
    brill = by_id["brill-on-the-bone-buttered-samphire"]
    assert any(r["allergen"] == "milk" and r["path"][-1] == "butter, salted" for r in brill["reasons"])


async def test_short_and_supplier_json_keep_their_contract(house: Any) -> None:
    """The keys that README promises."""
    short = (await house.client.get("/short/brill.json")).json()
    assert {"item", "dishes", "substitutes"} <= set(short)
    assert {"id", "name", "paths", "per_plate", "unit", "plates_left"} <= set(short["dishes"][0])
    supplier = (await house.client.get("/suppliers/saltby-dairy.json")).json()
    text = (await house.client.get("/suppliers/saltby-dairy.csv")).text
    assert len(list(csv.reader(io.StringIO(text)))) == len(supplier["rows"]) + 1


async def test_what_is_not_there_is_said(house: Any) -> None:
    """A page that names where to look, with the right status."""
    for path in ("/dish/nothing", "/short/nothing", "/suppliers/nothing"):
        answer = await house.client.get(path)
        assert answer.status_code == 404 and "Not here" in answer.text


async def test_a_form_without_its_token_is_refused(house: Any) -> None:
    """A post that carries cookies must carry the page's token too."""
    refused = await house.client.post("/changes/read", data={"change": "1"}, cookies={"ds_csrftoken": "x"})
    assert refused.status_code == 403


async def test_canned_queries_answer_without_free_sql(house: Any) -> None:
    """Those of the first day that metadata.yaml names; a parameter is a value, never a statement."""
    for path in ("unread_labels.json", "dishes_using.json?item=butter", "moved_prices.json"):
        assert len((await house.client.get(f"/kitchen/{path}")).json()["rows"]) > 2, path
    hostile = (await house.client.get("/kitchen/dishes_using.json", params={"item": "' or 1=1 --"})).json()
    assert hostile["rows"] == []


async def test_every_table_and_view_is_described(house: Any) -> None:
    """By its comment in the schema or by metadata.yaml; no description of a table or column that isn't there."""
    said = house.metadata("databases")["kitchen"]["tables"]
    database = house.get_database("kitchen")
    names = {*await database.table_names(), *await database.view_names()} - {"sqlite_sequence", "sqlite_stat1"}
    views = {n for n in names if n.startswith(("standing_", "search_"))}  # the search index is shown to nobody
    assert not {n for n in names - views if not {"description", "title"} & said.get(n, {}).keys()}
    assert set(said) <= names
    for name, note in said.items():
        columns = {c.name for c in await database.table_column_details(name)}
        assert set(note.get("columns", {})) <= columns, name
