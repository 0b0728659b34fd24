"""Permissions, headers, exports and every page of our own on the demonstration kitchen."""

from __future__ import annotations

import csv
import io
import re
from typing import Any

import pytest
from stillroom.plugins.core.auth import PAGES, decide
from stillroom.plugins.core.export import csv_text, xlsx_bytes

OWN = ("/", "/guest", "/guest?avoid=milk", "/allergens", "/short", "/short/brill", "/suppliers", "/suppliers/saltby-dairy")
HOSTILE = ["=1+1", "+1", "-1+2", "@sum(a1)", "\tx", "\rx"]


def test_whoever_is_not_in_the_table_sees_nothing() -> None:
    """Unknown roles are refused every page and every stock action."""
    for role in ("", "guest", "owner", "Manager"):
        assert not any(decide(role, action, "kitchen") for action in [*PAGES, "view-instance", "view-table", "anything"])


def test_servers_and_cooks_see_neither_tables_nor_suppliers() -> None:
    """Prices stand in tables, canned queries and supplier pages only."""
    for role in ("server", "cook"):
        assert not decide(role, "suppliers")
        assert not any(decide(role, a, ("kitchen", "deliveries")) for a in ("view-table", "view-query"))
    assert decide("server", "guest") and not decide("server", "short")


def test_nobody_writes_sql() -> None:
    """Free SQL reads everything; no role has it."""
    assert not any(decide(role, "execute-sql", "kitchen") for role in ("server", "cook", "chef", "manager"))


@pytest.mark.parametrize("path", OWN)
async def test_own_pages_answer_under_a_strict_policy(house: Any, path: str) -> None:
    """200, no inline script or style allowed, nothing says safe or free."""
    answer = await house.client.get(path)
    assert answer.status_code == 200
    policy = answer.headers["content-security-policy"]
    assert "unsafe-inline" not in policy and "default-src 'none'" in policy
    assert not re.search(r"<script(?![^>]* src=)|<style| style=| on\w+=", answer.text)
    assert " safe" not in answer.text.lower() and "allergen-free" not in answer.text.lower()


@pytest.mark.parametrize("path", ["/-/plugins", "/-/metadata.json", "/-/databases.json", "/-/allow-debug", "/_internal"])
async def test_pages_about_the_server_are_not_there(house: Any, path: str) -> None:
    """Settings, paths and plugins are nobody's business."""
    assert (await house.client.get(path)).status_code in {403, 404}


async def test_free_sql_is_refused(house: Any) -> None:
    """By address, by ?_where, and through the in-memory database."""
    assert (await house.client.get("/kitchen.json?sql=select+1")).status_code == 403
    assert (await house.client.get("/kitchen/items.json?_where=1=1")).status_code == 403
    assert (await house.client.get("/_memory.json?sql=select+1")).status_code in {403, 404}


async def test_guest_json_keeps_its_contract(house: Any) -> None:
    """The keys that README promises, and every dish of the menu once."""
    answer = (await house.client.get("/guest.json?avoid=milk&avoid=walnut")).json()
    assert set(answer) == {"as_of", "regime", "avoid", "dishes"} and answer["avoid"] == ["milk", "walnut"]
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


def test_no_text_becomes_a_formula() -> None:
    """Cells that a spreadsheet would run are text in CSV and XLSX; numbers stay numbers."""
    rows = list(csv.reader(io.StringIO(csv_text(["a"], [[h] for h in HOSTILE]), newline="")))
    assert [r[0] for r in rows[1:]] == [f"'{h}" for h in HOSTILE]
    assert csv_text(["a"], [[-1.5]]).splitlines()[1] == "-1.5"
    from openpyxl import load_workbook

    sheet = load_workbook(io.BytesIO(xlsx_bytes(["a", "b"], [[h, -1.5] for h in HOSTILE]))).active
    assert {cell.data_type for cell in sheet["A"]} == {"s"}
    assert sheet["B2"].value == -1.5


async def test_reading_a_change_twice_is_one_row(house: Any) -> None:
    """A double tap leaves one row; a post without the token is refused."""
    page = await house.client.get("/guest")
    assert page.status_code == 200
    refused = await house.client.post("/changes/read", data={"change": "1"}, cookies={"ds_csrftoken": "x"})
    assert refused.status_code == 403
