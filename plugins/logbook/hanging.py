"""The form that hangs a piece to age: its first weight is the start that all later weighings are held against."""

from __future__ import annotations

import re
from fractions import Fraction
from typing import Any

from stillroom.db.exact import to_decimal
from stillroom.db.names import fold
from stillroom.plugins.core.format import amount, near_day
from stillroom.plugins.logbook.checks import Says
from stillroom.plugins.logbook.fields import Book, Field, Known
from stillroom.plugins.logbook.form import NOTE, Form, Rows, Values, day, id_of
from stillroom.plugins.logbook.reading import kept

LONGEST_DAYS, UNUSUAL_DAYS = 400, 120  # d; common practice, no source
SCALES = Fraction(1, 20)  # two scales differ by no more of a weight. Common practice, no source
UNLIKE = Fraction(3, 2)  # times the heaviest, or the lightest, before. Common practice, no source
FEWEST = 3  # pieces before which nothing is usual
CODE = r"[\w -]{1,40}"  # it stands in an address, and beside others with ; between them
PAGES = {"plan", "promise"}  # addresses under /ageing that no lot can have


def _hang(values: Values, book: Book) -> Rows:
    item: Known = values["of"]
    receipt: Known | None = values["receipt"]
    usual = book.facts.get("usual days", {}).get(item.id)
    row = {"lot_code": values["lot"] or "", "item_id": item.id, "cut_recipe_id": id_of(values["cut"]),
           "delivery_id": receipt.more["delivery_id"] if receipt else None, "started_on": values["on"],
           "start_g": kept(values["weight"]), "target_days": values["days"] or usual, "place": values["place"] or "",
           "price": values["price"], "note": values["note"] or ""}  # fmt: skip
    return [("ageing_lots", row)]


def check_hang(values: Values, book: Book) -> Says:
    """A piece comes of its receipt and goes into its cut; its weight is like that of others; its code is its own."""
    wrong: dict[str, str] = {}
    ask: dict[str, str] = {}
    item = values["of"]
    if isinstance(item, Known):
        _receipt(values, item, book, wrong, ask)
        _cut(values, item, book, wrong)
        _weight(values, item, book, ask)
    _code(values, book, wrong)
    return Says(wrong, ask)


def _receipt(values: Values, item: Known, book: Book, wrong: dict[str, str], ask: dict[str, str]) -> None:
    receipt = values["receipt"]
    if not isinstance(receipt, Known):
        return
    came = receipt.more
    if came["item"] != item.id:
        wrong["of"] = f"{receipt.name} is not {item.name}. Leave this empty, or choose another receipt."
        return
    if values["on"] and values["on"] < came["received_on"]:
        wrong["on"] = f"It can't hang before it came: {near_day(came['received_on'], book.today)}."
    weight, most = values["weight"], came["came_g"] * (1 + SCALES)
    if weight is not None and weight > most:
        wrong["weight"] = f"Only {_kg(came['came_g'], book)} came in that delivery. Look at the number and its unit."
    elif weight is not None and weight + came["hung_g"] > most:
        ask["weight"] = (
            f"With what hangs of that delivery already it is {_kg(weight + came['hung_g'], book)}, and"
            f" {_kg(came['came_g'], book)} came. Is it so?"
        )


def _cut(values: Values, item: Known, book: Book, wrong: dict[str, str]) -> None:
    cut = values["cut"]
    if isinstance(cut, Known) and cut.of != item.id:
        piece = book.names.get("items", {}).get(cut.of)
        wrong["cut"] = f"{cut.name} is cut from {piece.name if piece else 'another piece'}, not from {item.name}."


def _weight(values: Values, item: Known, book: Book, ask: dict[str, str]) -> None:
    before, weight = book.usual.get("weight", {}).get(item.id, ()), values["weight"]
    if weight is None or "weight" in ask or len(before) < FEWEST:
        return
    if weight > UNLIKE * max(before) or weight * UNLIKE < min(before):  # pounds for kilograms are 2.2 times
        span = f"{_kg(min(before), book)} to {_kg(max(before), book)}"
        ask["weight"] = f"Pieces of {item.name} weighed {span} before. Is it so?"


def _code(values: Values, book: Book, wrong: dict[str, str]) -> None:
    code = values["lot"]
    if not code:
        return
    if not re.fullmatch(CODE, code) or code.casefold() in PAGES:
        wrong["lot"] = "A lot code is letters, digits and dashes, 40 at most: B-0172."
    elif fold(code) in book.facts.get("hung", ()):
        wrong["lot"] = f"There is a lot {code} already. Leave this empty, or give another."


def _kg(grams: Fraction, book: Book) -> str:
    """A weight in kg, or pounds in a kitchen that reads them."""
    if book.system == "US":
        return amount(grams, "g", "US")
    return f"{to_decimal(grams / 1000, 2):f} kg".replace(".", book.mark)


def prefilled(item: Known | None, book: Book) -> dict[str, Any]:
    """The days planned, where the page's address says what hangs."""
    return {} if item is None else {"days": book.facts["usual days"].get(item.id)}


HANG = Form(
    "hang", "Lot hung to age", "ageing_lots", (
        Field("receipt", "It came as", "pick", to=("receipts",), note="so that where it came from can be told"),
        Field("of", "What hangs", "pick", True, to=("items",), fall="item", note="left empty: what came"),
        Field("weight", "It weighs", "quantity", True, of="g"),
        Field("cut", "It will be cut into", "pick", to=("cuts",), fall="cut",
        note="left empty: the cut that is made of it, where there is one only"),
        Field("days", "Days it is meant to hang", "whole", low=1, high=LONGEST_DAYS, sure_high=UNUSUAL_DAYS,
        note="left empty: as most of the last lots of it"),
        Field("place", "Where", "text", to=("hooks",)),
        Field("lot", "Lot code", "text", aside=True, note="left empty: the next one"),
        Field("price", "Paid for the whole piece", "money", office=True, aside=True,
        note="left empty: by its weight, where its delivery has a price"),
        day("on", "Hung"), NOTE),
    _hang, check_hang, code=("lot_code", "A"), once=True, facts=("hung",), subject="of", quantity=("weight", "start_g"),
    note="The weight now is the start that every later weighing is held against. Ageing in house may need a written"
         " plan: ask the inspector.",
)  # fmt: skip
