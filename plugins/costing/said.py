"""How costs are written: on pages, and in files and data."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from stillroom.db.exact import to_decimal
from stillroom.db.odd_price import ODD_TIMES, times_words
from stillroom.plugins.core.format import amount, day, large, money, percent
from stillroom.plugins.costing.compute import Alert, Odd, Part, Plate
from stillroom.plugins.costing.prices import Price

UNKNOWN = "–"
ODD = f"{ODD_TIMES} times what it usually costs or more, or an eighth or less"


def cash(number: Fraction | None, places: int = 2) -> float | None:
    """Money as a file or data holds it: rounded once."""
    return None if number is None else float(to_decimal(number, places))


def signed(number: Fraction | None) -> str:
    """Money with its sign."""
    if number is None:
        return UNKNOWN
    return f"{'+' if number > 0 else ''}{money(number)}"


def price_words(price: Price | None, unit: str) -> str:
    """'8.90 a kg'; 'no price'."""
    return "no price" if price is None else each_words(price.each, unit)


def each_words(each: Fraction, unit: str) -> str:
    """Money for one base unit as money for what the kitchen prices by: '8.90 a kg', '4.04 a lb', '0.25 each'."""
    said = money(each * large(unit)[1])
    return f"{said} each" if unit == "each" else f"{said} a {large(unit)[0]}"


def source_words(price: Price | None, on: str | None = None) -> str:
    """Where a price comes from. on: its day in words, else as a file holds it."""
    if price is None:
        return ""
    lots = f" of {price.lots} deliveries" if price.lots > 1 else ""
    return ", ".join(filter(None, (f"{price.basis}{lots}", price.product, on or price.on)))


def range_words(plate: Plate) -> str:
    """'2.28 to 2.31', 'at least 2.28' or 'not known'."""
    if plate.range is None:
        return money(plate.each) if plate.each is not None else "not known"
    if plate.range.high is None:
        return f"at least {money(plate.range.low)}"
    low, high = money(plate.range.low), money(plate.range.high)
    return f"about {low}" if low == high else f"{low} to {high}"


def plate_json(p: Plate) -> dict[str, Any]:
    """One dish as data."""
    ends = None if p.range is None else {"low": cash(p.range.low), "high": cash(p.range.high)}
    return {"id": p.id, "name": p.name, "section": p.section, "cost": cash(p.each), "menu_price": cash(p.price),
            "food_cost_pct": cash(None if p.share is None else p.share * 100, 1),
            "target_pct": cash(None if p.target is None else p.target * 100, 1), "margin": cash(p.margin),
            "is_over": p.is_over, "incomplete": list(p.lacks), "prices_to_check": list(p.odd),
            "range": ends}  # fmt: skip


PLATE_COLUMNS = (
    "dish", "section", "cost", "menu price", "food cost %", "target %", "margin", "incomplete", "at least", "at most",
)  # fmt: skip


def plate_row(p: Plate) -> list[Any]:
    """One dish under PLATE_COLUMNS."""
    j = plate_json(p)
    ends = j["range"] or {"low": None, "high": None}
    return [p.name, p.section, j["cost"], j["menu_price"], j["food_cost_pct"], j["target_pct"], j["margin"],
            "; ".join(p.lacks) or None, ends["low"], ends["high"]]  # fmt: skip


class OfAPlate:
    """What is said of a plate, on whatever page is about one."""

    plate: Plate

    @property
    def said(self) -> dict[str, str]:
        return plate_said(self.plate)

    @property
    def range(self) -> str:
        return range_words(self.plate)


def plate_said(p: Plate) -> dict[str, str]:
    """One dish as the page says it."""
    return {"id": p.id, "name": p.name, "cost": money(p.each) if p.each is not None else range_words(p),
            "price": money(p.price), "share": percent(p.share) if p.share is not None else UNKNOWN,
            "target": percent(p.target, 0) if p.target is not None else UNKNOWN,
            "margin": money(p.margin) if p.margin is not None else UNKNOWN, "lacks": "; ".join(p.lacks),
            "odd": f"check the price of {', '.join(p.odd)}" if p.odd else ""}  # fmt: skip


PART_COLUMNS = ("item", "as bought", "unit", "price per unit", "cost", "price from", "yield")


def part_row(p: Part) -> list[Any]:
    """One item under PART_COLUMNS; quantities in the large unit."""
    name, size = large(p.unit)
    return [p.name, cash(p.quantity / size, 6), name, cash(None if p.price is None else p.price.each * size, 4),
            cash(p.cost, 4), source_words(p.price) or None, p.yields or None]  # fmt: skip


def part_said(p: Part, cents: int | None, system: str) -> dict[str, str]:
    """One item as the page says it; cents: its share of the whole, rounded so that all add up."""
    cost = "no price" if cents is None else money(Fraction(cents, 100))
    odd = f"check it: {ODD}" if p.is_odd else ""
    yields = "" if p.is_credit else p.yields
    on = f"{day(p.price.on)} {p.price.on[:4]}" if p.price and p.price.on else None
    return {"name": p.name, "quantity": amount(p.quantity, p.unit, system), "price": price_words(p.price, p.unit),
            "cost": cost, "source": source_words(p.price, on), "yields": yields, "odd": odd}  # fmt: skip


def odd_said(o: Odd) -> dict[str, str]:
    """A price to look at as a page says it."""
    return {"id": o.id, "name": o.name, "was": each_words(o.was, o.unit), "now": each_words(o.now, o.unit), "on": o.on,
            "times": times_words(o.now, o.was)}  # fmt: skip


def alert_said(a: Alert) -> dict[str, Any]:
    """A plate over its target as a page says it."""
    return {**plate_said(a.plate), "rose": a.rose, "did": [(n, signed(m) if a.rose else money(m)) for n, m in a.did]}


def alert_json(a: Alert) -> dict[str, Any]:
    """The same as data."""
    return {"id": a.plate.id, "rose": a.rose, "items": [{"name": n, "money": cash(m, 4)} for n, m in a.did]}
