"""How a supplier's rows and figures are written: on the page, and in files and data. One line, one set of columns."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import asdict, dataclass
from datetime import date
from fractions import Fraction
from typing import Any

from stillroom.db.exact import to_decimal
from stillroom.plugins.core.format import beside_celsius, large, marked, money, percent
from stillroom.plugins.core.format import day as spoken
from stillroom.plugins.core.format import plain as short
from stillroom.plugins.suppliers.compute import ItemRecord, Line

UNKNOWN = "–"


def plain(figures: dict[str, Any]) -> dict[str, Any]:
    """Figures as data: shares as numbers 0 to 1, unknown as null."""
    return {k: float(v) if isinstance(v, Fraction) else v for k, v in figures.items()}


def number(quantity: Fraction | None, size: Fraction = Fraction(1)) -> float | None:
    """A quantity as a file holds it: in the large unit, rounded once to four places."""
    return None if quantity is None else float(to_decimal(quantity / size, 4))


def _late(line: Line) -> str | None:
    return None if line.is_late is None else "late" if line.is_late else "on time"


def _door(line: Line) -> str | None:
    return None if line.is_out_of_range is None else "out of range" if line.is_out_of_range else "in range"


# The columns of the rows, in files and as data: header, and what a line says under it. None = not known.
COLUMNS: dict[str, Callable[[Line], Any]] = {
    "kind": lambda x: "goods",
    "date": lambda x: x.received_on,
    "item": lambda x: x.item,
    "product": lambda x: x.product or None,
    "unit": lambda x: large(x.unit)[0],
    "ordered": lambda x: number(x.ordered, large(x.unit)[1]),
    "received": lambda x: number(x.received, large(x.unit)[1]),
    "short": lambda x: number(x.short, large(x.unit)[1]),
    "rejected": lambda x: number(x.rejected, large(x.unit)[1]),
    "reason": lambda x: x.reason or None,
    "promised": lambda x: x.due_on,
    "late": _late,
    "door °F": lambda x: x.door_f,
    "limit °F": lambda x: x.rule.temp_f if x.rule else None,
    "door": _door,
    "price per unit": lambda x: number(None if x.unit_price is None else x.unit_price * large(x.unit)[1]),
    "amount": lambda x: None,
    "document": lambda x: x.document or None,
    "remark": lambda x: x.note or None,
}


@dataclass(frozen=True)
class Apart:
    """A credit, charge or deposit: not goods, so in no figure. amount: money as written; None = not known."""

    on: str
    kind: str
    item: str
    unit: str
    quantity: Fraction
    amount: Fraction | None
    document: str
    note: str

    @property
    def said(self) -> str:
        return money(self.amount)

    @property
    def cells(self) -> list[Any]:
        """The row under COLUMNS."""
        name, size = large(self.unit)
        known = {
            "kind": self.kind,
            "date": self.on,
            "item": self.item,
            "unit": name,
            "received": number(self.quantity, size),
            "amount": number(self.amount),
            "document": self.document or None,
            "remark": self.note or None,
        }
        return [known.get(column) for column in COLUMNS]


def item_json(x: ItemRecord) -> dict[str, Any]:
    name, size = large(x.unit)
    sums = {k: number(getattr(x, k), size) for k in ("ordered", "received", "short", "rejected")}
    figures = plain(asdict(x.figures))
    price = None if x.last_price is None else number(x.last_price * size)
    return {**figures, "id": x.item_id, "name": x.item, "unit": name, "lines_short": figures["short"],
            "lines_rejected": figures["rejected"], **sums, "reasons": list(x.reasons), "last_price": price}  # fmt: skip


def _figure(quantity: Fraction | None, unit: str) -> str:
    """A quantity in the large unit as the page says it."""
    found = number(quantity, large(unit)[1])
    return UNKNOWN if found is None else marked(f"{found:,.10g}")


def _price(price: Fraction | None, unit: str) -> str:
    return f"{UNKNOWN} no price" if price is None else money(price * large(unit)[1])


def line_said(x: Line, today: date, system: str = "US") -> dict[str, str]:
    """A line as the page says it; temperatures in the scale that the kitchen reads."""
    return {
        "on": spoken(x.received_on, today),
        "item": x.item,
        "unit": large(x.unit)[0],
        "ordered": f"{UNKNOWN} not known" if x.ordered is None else _figure(x.ordered, x.unit),
        "received": _figure(x.received, x.unit),
        "door": UNKNOWN if x.door_f is None else _door_said(x.door_f, system),
        "limit": beside_celsius(_limit(x), system),
        "price": _price(x.unit_price, x.unit),
        "remark": _remark(x, today),
    }


def _door_said(temp_f: float, system: str) -> str:
    return short((temp_f - 32) / 1.8, 1) if system == "metric" else f"{temp_f:g}"


def _limit(x: Line) -> str:
    """What is said where the door temperature breaks the rule; '' where it doesn't or nobody can tell."""
    return f"out of range, {x.rule.direction} {x.rule.temp_f:g} °F" if x.rule and x.is_out_of_range else ""


def _remark(x: Line, today: date) -> str:
    unit = large(x.unit)[0]
    said = (
        f"{_figure(x.short, x.unit)} {unit} short" if x.short else "",
        f"{_figure(x.rejected, x.unit)} {unit} sent back: {x.reason or 'no reason written'}" if x.rejected else "",
        f"late, promised {spoken(x.due_on, today)}" if x.is_late else "",
        x.note,
    )
    return "; ".join(filter(None, said))


def item_said(x: ItemRecord) -> dict[str, str]:
    r = x.figures
    return {
        "id": x.item_id,
        "item": x.item,
        "unit": large(x.unit)[0],
        "lines": str(r.lines),
        "ordered": _figure(x.ordered, x.unit),
        "received": _figure(x.received, x.unit),
        "short": _figure(x.short, x.unit),
        "late": str(r.late),
        "rejected": _figure(x.rejected, x.unit) + (f" ({', '.join(x.reasons)})" if x.reasons else ""),
        "door": f"{r.out_of_range} of {r.measured}" if r.measured else UNKNOWN,
        "otif": f"{percent(r.on_time_in_full, 0)} of {r.judged}" if r.judged else "not known",
        "price": _price(x.last_price, x.unit),
        "change": UNKNOWN if r.price_change is None else signed(r.price_change),
    }


def signed(share: Fraction | None) -> str:
    """A change as per cent with its sign."""
    return "not known" if share is None else f"{'+' if share > 0 else ''}{percent(share)}"
