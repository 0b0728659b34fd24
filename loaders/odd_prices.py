"""Prices that want to be looked at: nothing asked for an item, or many times its other prices. Warnings only."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction

from stillroom.db.odd_price import is_odd, times_words
from stillroom.db.problems import Place
from stillroom.loaders.read import Load
from stillroom.loaders.source import Row
from stillroom.loaders.stage import Stage

MOST_TOLD = 1000
PAID = """
select item_id, price, priced_quantity, count(*), sheet_number, min(row_number) from deliveries
where kind = 'goods' and price is not null and priced_quantity is not null and stands = 1
  and request_id not in (select voids_said from deliveries where voids_said <> '')
group by item_id, unit, price, priced_quantity order by sheet_number, min(row_number)
"""


@dataclass(frozen=True, slots=True)
class Priced:
    """One price of an item: money for one base unit, how often it stands there, and where first."""

    item: str
    each: Fraction
    count: int
    place: Place


def check_prices(load: Load, stage: Stage) -> None:
    """Each price of an item against the median of its other ones, in price lists and deliveries alike.

    With two prices only nobody can tell which is wrong: the one that was written later is asked about.
    """
    by_item: dict[str, list[Priced]] = {}
    for one in (*_quoted(load), *_paid(load, stage)):
        by_item.setdefault(one.item, []).append(one)
    told = 0
    for found in by_item.values():
        each = [one.each for one in found]
        if min(each) > 0 and not is_odd(max(each), min(each)):
            continue
        known = sorted((x for x in found if x.each), key=lambda x: x.each)
        for n, one in enumerate(found):
            usual = _median(found[:n] if len(found) == 2 else [x for x in known if x is not one])
            if told < MOST_TOLD and (one.each == 0 or is_odd(one.each, usual)):
                _tell(load, one, usual)
                told += 1


def _quoted(load: Load) -> Iterator[Priced]:
    item_of = {p["id"]: p["item_id"] for p in load.rows.get("products", ())}
    for q in load.rows.get("price_quotes", ()):
        yield Priced(item_of[q["product_id"]], _each(q["price"], q["priced_quantity"]), 1, Place(q["origin"]))


def _paid(load: Load, stage: Stage) -> Iterator[Priced]:
    for item, price, buys, count, sheet, row in stage.connection.execute(PAID) if "deliveries" in stage.counts else ():
        if item is not None and Fraction(buys):
            place = load.source.sheets["deliveries"][sheet].place(Row(row, []), "price")
            yield Priced(item, _each(price, buys), count, place)


def _each(price: str, buys: str) -> Fraction:
    return Fraction(price) / Fraction(buys)


def _median(others: Sequence[Priced]) -> Fraction | None:
    """The middle of prices in order, each as often as it stands there, nothing left out; None where there is none."""
    known = [x for x in others if x.each]
    half = (sum(x.count for x in known) + 1) // 2
    for x in known:
        half -= x.count
        if half <= 0:
            return x.each
    return None


def _tell(load: Load, one: Priced, usual: Fraction | None) -> None:
    name = load.ids["items"][one.item].name
    if one.each == 0:
        load.problem(
            "price-nothing", one.place, f"{name} at a price of nothing", "It is reckoned as no price.",
            "write what it cost, 0.001 for what costs nothing, or leave the price empty", "warning",
        )  # fmt: skip
    elif usual is not None:
        load.problem(
            "price-odd", one.place, f"{name} at {times_words(one.each, usual)} its other prices",
            "Look at the decimal mark, and at what the price is for.", "write the price as it stands on the paper",
            "warning",
        )  # fmt: skip
