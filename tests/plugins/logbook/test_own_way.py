"""What is written again stands in the form as it was, and is read as the same: in pounds, and with a decimal comma."""

from __future__ import annotations

import csv
import html
import io
import re
import sqlite3
from collections.abc import Mapping
from pathlib import Path
from typing import Any
from urllib.parse import parse_qsl, urlsplit

import pytest
from stillroom.loaders.commands import application

COMMA = {"decimal mark": ",", "regime": "EU", "date order": "day month year", "time zone": "Europe/Paris"}
POUNDS = {"units": "US", "regime": "US", "date order": "month day year", "time zone": "America/Denver"}


async def kitchen(path: Path, settings: Mapping[str, str]) -> Any:
    """The demonstration as another kitchen would have it."""
    with sqlite3.connect(path) as connection:
        connection.executemany("insert or replace into kitchen (key, value) values (?, ?)", settings.items())
    house = application(path)
    await house.invoke_startup()
    return house


async def written_again(house: Any, entry: str) -> tuple[dict[str, str], dict[str, Any]]:
    """The fields that the link of an entry fills, and the answer to the form sent as it then stands."""
    page = (await house.client.get(entry)).text
    link = next(html.unescape(x) for x in re.findall(r'href="(/log/[a-z]+\?[^"]*)"', page) if "voids" in x)
    fields = dict(parse_qsl(urlsplit(link).query))
    opened = await house.client.get(link)
    hidden = dict(re.findall(r'<input type="hidden" name="([^"]*)" value="([^"]*)"', opened.text))
    units = dict(re.findall(r'<select name="([^"]*-unit)".*?<option value="([^"]*)" selected', opened.text, re.S))
    sent = hidden | units | fields
    answer = await house.client.post(f"{urlsplit(link).path}.json", data=sent, cookies=dict(opened.cookies))
    return fields, answer.json()


@pytest.mark.parametrize(("settings", "typed"), [
    (COMMA, {"door": "3 °C", "received": "5000 g", "price": "15,88", "price_per": "1000 g"}),
    (POUNDS, {"door": "37.4 °F", "received": "5000 g", "price": "15.88", "price_per": "1000 g"}),
])  # fmt: skip
async def test_goods_that_are_written_again(own_db: Path, settings: dict[str, str], typed: dict[str, str]) -> None:
    """5 kg at 3 °C on 27 May, 15.88 a kg: the day and what the price is for stay, or the cost of the fish would not."""
    fields, answer = await written_again(await kitchen(own_db, settings), "/log/deliveries/1")
    assert {name: fields[name] for name in typed} == typed and fields["on"] == "2026-05-27"
    assert answer.get("wrong", {}) == {}, answer["wrong"]


@pytest.mark.parametrize(("table", "columns"), [
    ("counts", "counted_on, quantity"), ("plates_sold", "sold_on, plates, sales"),
    ("weigh_ins", "lot_code, weighed_on, weight_g, temp_f"), ("batch_uses", "used_on, quantity"),
])  # fmt: skip
@pytest.mark.parametrize("settings", [COMMA, POUNDS])
async def test_an_entry_of_another_day_stays_of_that_day(
    own_db: Path, settings: dict[str, str], table: str, columns: str
) -> None:
    """Written again as the form offers it, an entry is the same but for its number."""
    house = await kitchen(own_db, settings)
    with sqlite3.connect(own_db) as connection:
        (last,) = connection.execute(f"select max(id) from standing_{table}").fetchone()
        before = connection.execute(f"select {columns} from {table} where id = ?", (last,)).fetchone()
    _, answer = await written_again(house, f"/log/{table}/{last}")
    assert answer.get("written"), answer
    with sqlite3.connect(own_db) as connection:
        again = connection.execute(f"select {columns} from {table} where voids = ?", (last,)).fetchone()
    assert [_same(x) for x in again] == [_same(x) for x in before]


def _same(value: Any) -> Any:
    """Money of '272.00' is that of '272'; a temperature is kept as a float [°F]."""
    return pytest.approx(float(value)) if re.fullmatch(r"[0-9]+(\.[0-9]+)?", str(value)) else value


async def test_a_weight_in_pounds_is_offered_in_pounds(own_db: Path) -> None:
    """2½ lb were written down as 1133.980925 g (NIST Handbook 44, 453.59237 g to the pound)."""
    from stillroom.plugins.logbook.shown import again

    row = {"weight_g": "1133.980925", "temp_f": 41.0}
    assert again(row, ("weight", "room"), {"units": "US", "decimal mark": "."})["weight"] == "2.5 lb"
    assert again(row, ("weight", "room"), {"units": "metric", "decimal mark": ","}) == {
        "weight": "1133,980925 g", "room": "5 °C"}  # fmt: skip


async def test_a_temperature_that_cant_be_is_told_in_the_kitchens_scale(own_db: Path) -> None:
    """1450 typed in °C: said back in °C first, and not as 2642."""
    house = await kitchen(own_db, COMMA)
    opened = await house.client.get("/log/probe")
    hidden = dict(re.findall(r'<input type="hidden" name="([^"]*)" value="([^"]*)"', opened.text))
    sent = {**hidden, "of": "brill-portion", "core": "1450", "core-unit": "C"}
    answer = await house.client.post("/log/probe.json", data=sent, cookies=dict(opened.cookies))
    assert answer.json()["wrong"]["core"].startswith("1450 °C (2642 °F) can't be")


@pytest.mark.parametrize(("settings", "on"), [(POUNDS, "2026-11-05"), (COMMA, "2026-05-11")])
async def test_the_example_of_a_tills_columns_has_the_kitchens_order_of_dates(
    own_db: Path, settings: dict[str, str], on: str
) -> None:
    """11/05/2026 is the fifth of November in Denver and the eleventh of May in Paris, unless someone says it."""
    house = await kitchen(own_db, settings)
    page = (await house.client.get("/log/sales")).text
    mapping = html.unescape(re.findall(r'(?s)<textarea[^>]*name="mapping"[^>]*>(.*?)</textarea>', page)[0])
    assert "An example" in page
    opened = await house.client.get("/log/sales")
    token = re.findall(r'name="csrftoken" value="([^"]*)"', opened.text)[0]
    text = "Date;Item;Quantity;Net\n11/05/2026;Turbot, oyster cream;3;132\n"
    sent = {"text": text, "mapping": mapping, "csrftoken": token}
    looked = await house.client.post("/log/sales.json", data=sent, cookies=dict(opened.cookies))
    assert [row["on"] for row in looked.json()["rows"]] == [on], looked.text


async def test_receipt_lines_are_in_pounds_and_quarts(own_db: Path) -> None:
    """5 kg are 11.0231 lb (NIST Handbook 44: 453.59237 g); in grams an American inspector has to reckon."""
    house = await kitchen(own_db, POUNDS)
    text = (await house.client.get("/trace/receipts.csv?from=2026-05-27&to=2026-05-27")).text
    rows = list(csv.DictReader(io.StringIO(text)))
    haddock = next(row for row in rows if "haddock" in row["product description"])
    assert (haddock["quantity"], haddock["unit"]) == ("11.0231", "lb")
    assert {row["unit"] for row in rows} <= {"lb", "qt", "each"}
    outputs = (await house.client.get("/log/breakdowns/1.json")).json()["came out"]
    assert outputs and all(" kg" not in one for one in outputs)
