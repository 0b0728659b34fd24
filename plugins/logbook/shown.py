"""An entry as it is shown back: every fact in words, and how the same could be typed again. Pure."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from datetime import date, datetime
from fractions import Fraction
from typing import Any
from urllib.parse import urlencode
from zoneinfo import ZoneInfo

from stillroom.db.exact import exact_text
from stillroom.db.moments import comes_twice
from stillroom.db.pieces import COOLS_AS
from stillroom.plugins.core.format import US, amount, day, plain
from stillroom.plugins.logbook.rules import degrees
from stillroom.plugins.physics.temperature import c_from_f

Row = Mapping[str, Any]
Names = Mapping[str, str]  # id -> name, of items, recipes, suppliers, products, stations
MONEY = frozenset({"price", "priced_quantity", "sales"})

WORDS = {
    "document": "Document", "document_kind": "It is a", "lot_code": "Lot", "reject_reason": "Why", "reason": "Why",
    "certificate": "Number on the tag", "harvest_area": "Growing area", "shipped_from": "Came from",
    "lot_source": "Lot code from",
    "description": "As printed", "place": "Where", "direction": "Held", "step": "While",
    "piece": "Ticket, tray or piece",
    "service": "Service", "plates": "Plates", "state": "It is", "words": "Tastes like", "decision": "What follows",
    "version": "Version", "score": "Score, 1 to 10", "log_code": "Pan", "from_lots": "Lots that went in",
    "what": "It was",
    "target_days": "Days it is meant to hang", "length_cm": "Length, cm",
    "code": "Breakdown", "note": "Note", "sales": "Money taken", "price": "Price", "pieces": "Pieces",
    "rule": "What it is",
}  # fmt: skip
DAYS = {
    "received_on": "Came", "due_on": "Promised for", "use_by": "Last day of use", "harvested_on": "Harvested",
    "made_on": "Made",
    "frozen_on": "Frozen", "thawed_on": "Thawed", "counted_on": "Day", "used_on": "Day", "sold_on": "Day",
    "since_on": "Since",
    "expected_on": "Expected back", "tasted_on": "Day", "weighed_on": "Day", "broken_on": "Day", "moved_on": "Day",
    "started_on": "Hung",
    "last_served_on": "The last of it was served", "emptied_on": "Empty",
}  # fmt: skip
NAMED = {
    "supplier_id": "From", "product_id": "Product", "item_id": "Item", "recipe_id": "What", "cut_recipe_id": "Cut into",
    "station_id": "Where", "delivery_id": "Came as",
}  # fmt: skip
AMOUNTS = {"received": "Came off the van", "ordered": "Ordered", "rejected": "Sent back", "quantity": "How much"}
WEIGHTS = {"weight_g": "Weight", "input_g": "Weight on the board", "start_g": "Weight at the start"}
MOMENTS = {"read_at": "When", "started_at": "Made, or came in"}
# Fields that a number is typed into, with the kitchen's decimal mark.
NUMBERS = frozenset({
    "core", "temp", "door", "room", "quantity", "received", "ordered", "rejected", "weight", "input", "humidity",
    "score", "price", "price_per", "sales",
})  # fmt: skip
TEMPS = {"door_temp_f": "At the door", "core_f": "Core", "temp_f": "Temperature"}
ORDER = (
    "supplier_id", "product_id", "description", "item_id", "recipe_id", "cut_recipe_id", "place", "direction",
    "received",
    "quantity", "core_f", "temp_f", "door_temp_f", "weight_g", "input_g", "start_g", "plates", "state", "what",
    "rejected", "reject_reason",
)  # fmt: skip


def lines(row: Row, names: Names, settings: Mapping[str, str], today: date, office: bool) -> list[tuple[str, str]]:
    """(words, value) of everything that an entry says; money for those who may see it."""
    found: dict[str, tuple[str, str]] = {}
    for column, value in row.items():
        said = _said(column, value, row, names, settings, today)
        if said is not None and said[1] and (office or column not in MONEY):
            found[column] = said
    first = [found[column] for column in ORDER if column in found]
    return first + [said for column, said in found.items() if column not in ORDER]


def _said(
    column: str, value: Any, row: Row, names: Names, settings: Mapping[str, str], today: date
) -> tuple[str, str] | None:
    if value is None or value == "" or (column == "rejected" and value == "0"):
        return None
    if column in DAYS:
        return DAYS[column], day(str(value), today)
    if column in NAMED:
        return NAMED[column], names.get(str(value), str(value))
    if column in AMOUNTS:
        return AMOUNTS[column], amount(Fraction(str(value)), str(row["unit"]), settings["units"])
    if column in WEIGHTS:
        return WEIGHTS[column], amount(Fraction(str(value)), "g", settings["units"])
    if column in TEMPS:
        return TEMPS[column], _read(float(value), settings["units"])
    if column == "humidity_pct":
        return "Humidity", f"{value:g} %"
    if column in MOMENTS:
        return MOMENTS[column], local(str(value), settings)
    if column == "rule":
        return WORDS[column], COOLS_AS[str(value)]
    return (WORDS[column], str(value)) if column in WORDS else None


def _read(temp_f: float, system: str) -> str:
    """A reading, first in the scale that the kitchen reads: '61 °C (141.8 °F)'."""
    if system != "metric":
        return degrees(temp_f)
    return f"{plain(c_from_f(temp_f), 1)} °C ({plain(temp_f, 1)} °F)"


def onward(table: str, entry: int, row: Row, cools: bool) -> list[tuple[str, str]]:
    """(address, words) of what an entry is most often followed by.

    Args:
        cools: whether the pan of a cooling reading is still watched.
    """
    if table == "batches":
        return [(f"/batch/{entry}/labels", "Labels for it")]
    if table == "cooling_readings" and cools:
        return [(f"/log/cooling?{urlencode({'pan': row['log_code']})}", "Its next reading")]
    if table == "shortages":
        reached = [(f"/short/{row['item_id']}", "Dishes it reaches")] if row["item_id"] else []
        return [*reached, ("/out", "What is out now")]
    return []


def local(at: str, settings: Mapping[str, str]) -> str:
    """A UTC instant as the kitchen's day and clock."""
    moment = datetime.fromisoformat(at.replace("Z", "+00:00")).astimezone(ZoneInfo(settings["time zone"]))
    return f"{moment.day} {moment:%B, %H:%M}"


def typed_moment(at: str, settings: Mapping[str, str]) -> str:
    """A UTC instant as it may be typed by the kitchen's clock: '2026-11-25 10:05'; seconds where it has any.

    In the hour that comes twice in autumn it stays in UTC, which names one of the two.
    """
    zone = settings["time zone"]
    moment = datetime.fromisoformat(at.replace("Z", "+00:00")).astimezone(ZoneInfo(zone))
    said = f"{moment:%Y-%m-%d %H:%M:%S}".removesuffix(":00")
    return at if comes_twice(said, zone) else said


def _plain(column: str) -> Callable[[Row], str]:
    return lambda row: "" if row.get(column) is None else str(row[column])


def _temp(column: str) -> Callable[[Row], str]:
    return lambda row: "" if row.get(column) is None else _typed_temp(float(row[column]), str(row["system"]))


def _typed_temp(temp_f: float, system: str) -> str:
    """A temperature [°F] in the kitchen's scale, where that reads back as the same."""
    celsius = plain(c_from_f(temp_f), 2)
    is_same = abs(float(celsius) * 1.8 + 32 - temp_f) < 1e-6
    return f"{celsius} °C" if system == "metric" and is_same else f"{temp_f:g} °F"


def _amount(column: str) -> Callable[[Row], str]:
    """A stored quantity as it may be typed: '2500 g'; '2.5 lb' where that is the same."""

    def text(row: Row) -> str:
        value = row.get(column)
        return "" if value is None or value == "0" else _typed_amount(str(value), str(row.get("unit")), row)

    return text


def _typed_amount(value: str, unit: str, row: Row) -> str:
    number = Fraction(value)
    for name, size in US[unit] if row["system"] == "US" and unit in US else ():
        count = exact_text(number / size)
        if number >= size and re.fullmatch(r"[0-9]+(\.[0-9]{1,3})?", count):
            return f"{count} {name}"
    return f"{value} {'ea' if unit == 'each' else unit}"


def _priced(row: Row) -> str:
    """What a price is for; money that another may not see isn't told by it."""
    return _amount("priced_quantity")(row) if row.get("price") is not None else ""


def _weight(column: str) -> Callable[[Row], str]:
    return lambda row: "" if row.get(column) is None else _typed_amount(str(row[column]), "g", row)


# Field of a form -> what of an entry is typed there when it is written again. Tried in this order.
AGAIN: dict[str, tuple[Callable[[Row], str], ...]] = {
    "core": (_temp("core_f"),), "temp": (_temp("temp_f"),), "door": (_temp("door_temp_f"),), "room": (_temp("temp_f"),),
    "of": (_plain("item_id"), _plain("recipe_id"), _plain("cut_recipe_id"), _plain("lot_code")),
    "item": (_plain("item_id"),),
    "supplier": (_plain("supplier_id"),), "product": (_plain("product_id"), _plain("description")),
    "pan": (_plain("log_code"),), "quantity": (_amount("quantity"),), "received": (_amount("received"),),
    "ordered": (_amount("ordered"),), "rejected": (_amount("rejected"),),
    "weight": (_weight("weight_g"), _weight("start_g")),
    "input": (_weight("input_g"),), "held": (_plain("direction"),), "reason": (_plain("reject_reason"),
    _plain("reason")),
    "from": (_plain("from_lots"),), "station": (_plain("station_id"),), "lot": (_plain("lot_code"),),
    "humidity": (lambda row: "" if row.get("humidity_pct") is None else f"{row['humidity_pct']:g}",),
    "harvested": (_plain("harvested_on"),), "expected": (_plain("expected_on"),), "served": (_plain("last_served_on"),),
    "emptied": (_plain("emptied_on"),), "cut": (_plain("cut_recipe_id"),), "days": (_plain("target_days"),),
    "on": tuple(_plain(column) for column in (
        "received_on", "counted_on", "made_on", "used_on", "sold_on", "weighed_on", "broken_on", "moved_on", "since_on",
        "tasted_on", "started_on")),
    "price_per": (_priced,), "frozen": (lambda row: "yes" if row.get("frozen_on") else "",),
    "at": (_plain("read_at"),), "started": (_plain("started_at"),),
    "receipt": (lambda row: f"receipt {row['delivery_id']}" if row.get("delivery_id") else "",),
    **{name: (_plain(name),) for name in (
        "step", "piece", "note", "place", "what", "state", "service", "plates", "version", "score", "words", "decision",
        "document", "document_kind", "certificate", "harvest_area", "shipped_from", "lot_source", "use_by", "price",
        "sales", "rule")},
}  # fmt: skip


def again(row: Row, names: tuple[str, ...], settings: Mapping[str, str]) -> dict[str, str]:
    """What to type into a form's fields to write an entry again.

    Args:
        names: the form's fields.
    """
    row = {**row, **{column: typed_moment(str(row[column]), settings) for column in MOMENTS if row.get(column)}}
    row["system"] = settings["units"]
    found: dict[str, str] = {}
    for name in names:
        for read in AGAIN.get(name, ()):
            if text := read(row):
                found[name] = text.replace(".", settings["decimal mark"]) if name in NUMBERS else text
                break
    return found
