"""Container labels: what stands on one, and the sheets that labels come on. Pure.

Sheets are described by their millimetres alone: sizes and margins are common practice, no source; measure your own
sheet before a print run. How long a thing keeps is `db.date_marks`.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date

MOST_LABELS = 300


@dataclass(frozen=True)
class Stock:
    """One kind of label: width and height [mm], how many across and down a sheet, and what its print sheet is called.

    id is also the class in labels.css, which holds the same millimetres. room: characters of the allergen line that it
    holds at full size; twice as many are set smaller, more don't fit.
    """

    id: str
    width: float
    height: float
    across: int
    down: int
    paper: str
    room: int

    @property
    def words(self) -> str:
        """How a person finds it in the list."""
        size = f"{self.width:g} × {self.height:g} mm"
        return f"{size}, one to a page" if self.paper == "roll" else f"{size}, {self.cells} on {self.paper}"

    @property
    def cells(self) -> int:
        """Labels on one sheet."""
        return self.across * self.down


STOCKS = (
    Stock("a4-21", 63.5, 38.1, 3, 7, "A4", 130), Stock("a4-14", 99.1, 38.1, 2, 7, "A4", 200),
    Stock("a4-8", 99.1, 67.7, 2, 4, "A4", 240), Stock("letter-30", 66.7, 25.4, 3, 10, "Letter", 85),
    Stock("letter-10", 101.6, 50.8, 2, 5, "Letter", 230), Stock("roll-57", 57, 32, 1, 1, "roll", 100),
    Stock("roll-76", 76, 51, 1, 1, "roll", 115), Stock("roll-102", 102, 51, 1, 1, "roll", 220),
)  # fmt: skip
BY_ID = {stock.id: stock for stock in STOCKS}


@dataclass(frozen=True)
class Label:
    """What stands on one label. Dates in words; until: what decided the last day; address is what its code opens."""

    name: str
    quantity: str
    prepared: str
    use_by: str
    until: str
    lot: str
    allergens: str
    records: str
    initials: str
    address: str
    fit: str = ""


def fitted(label: Label, stock: Stock) -> Label:
    """The label with its type as small as its words need: '', 'tight' or 'tighter'; too long a line points to the card.

    An allergen line is never cut: one that can't be read at that size says so and where it stands.
    """
    need = len(label.allergens) + max(0, len(label.name) - 28) * 2
    if need > 2 * stock.room:
        told = "ALLERGENS: too many for this label. Read them on the card before use."
        return replace(label, allergens=told, fit="over")
    return replace(label, fit="" if need <= stock.room else "tight" if need <= 1.5 * stock.room else "tighter")


def sheets(label: Label, copies: int, used: int, stock: Stock) -> list[list[Label | None]]:
    """Labels laid out on sheets; the first `used` places of the first sheet are empty already."""
    cells: list[Label | None] = [None] * (used % stock.cells) + [label] * copies
    return [cells[n : n + stock.cells] for n in range(0, len(cells), stock.cells)]


def lots_in(text: str) -> list[str]:
    """Lot codes of a batch's 'from lots', in order, once each."""
    return list(dict.fromkeys(part.strip() for part in text.split(";") if part.strip()))


def first_to_end(own: date | None, within: Iterable[tuple[str, date | None]]) -> tuple[str, date] | None:
    """The lot within that must be used before the mixed thing itself; None where none ends earlier.

    A mixed dish takes the earliest date of its parts (Food Code 3-501.17).
    """
    ends = [(day, lot) for lot, day in within if day is not None and (own is None or day < own)]
    return (min(ends)[1], min(ends)[0]) if ends else None
