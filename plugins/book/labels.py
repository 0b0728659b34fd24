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

    id is also the class in labels.css, which holds the same millimetres: type [pt], side of the code, margins beside
    and above the words.
    """

    id: str
    width: float
    height: float
    across: int
    down: int
    paper: str
    type: float
    code: float = 14
    beside: float = 2
    above: float = 1.5

    @property
    def words(self) -> str:
        """How a person finds it in the list."""
        size = f"{self.width:g} × {self.height:g} mm"
        return f"{size}, one to a page" if self.paper == "roll" else f"{size}, {self.cells} on {self.paper}"

    @property
    def cells(self) -> int:
        """Labels on one sheet."""
        return self.across * self.down


LARGE = {"code": 20, "beside": 3, "above": 2.5}
STOCKS = (
    Stock("a4-21", 63.5, 38.1, 3, 7, "A4", 7.6), Stock("a4-14", 99.1, 38.1, 2, 7, "A4", 8),
    Stock("a4-8", 99.1, 67.7, 2, 4, "A4", 11, **LARGE), Stock("letter-30", 66.7, 25.4, 3, 10, "Letter", 5.9),
    Stock("letter-10", 101.6, 50.8, 2, 5, "Letter", 9.5, **LARGE), Stock("roll-57", 57, 32, 1, 1, "roll", 6.6),
    Stock("roll-76", 76, 51, 1, 1, "roll", 9.2, **LARGE), Stock("roll-102", 102, 51, 1, 1, "roll", 9.8, **LARGE),
)  # fmt: skip
BY_ID = {stock.id: stock for stock in STOCKS}
# How many times the sheet's own type the words may be [percent], each a class t150 in labels.css.
FITS = (170, 150, 135, 120, 110, 100, 93, 87, 80, 76)
POINT = 25.4 / 72  # mm
LETTER, BOLD = 0.51, 0.55  # breadth of a letter of the typeface, mean with what is lost at the end of a line [em]
LINE = 1.18  # height of a line [em]
SPARE = 1  # mm below the words


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
    """The label with its type as large as its words let it be; too long an allergen line points to the card.

    An allergen line is never cut: one that can't be read at the smallest size says so and where it stands.
    """
    inside = stock.height - 2 * stock.above - SPARE
    fit = next((f"t{part}" for part in FITS if _high(label, stock, part / 100) <= inside), "over")
    told = "ALLERGENS: too many for this label. Read them on the card before use."
    return replace(label, fit=fit, allergens=told if fit == "over" else label.allergens)


def _high(label: Label, stock: Stock, scale: float) -> float:
    """Height of the words at a type, as the style sheet sets them [mm]."""
    em = stock.type * scale * POINT
    whole = stock.width - 2 * stock.beside
    broad = whole - stock.code - 1
    said = f"Made {label.prepared}" + (f" · {label.quantity}" if label.quantity else "")
    date, why = f"USE BY {label.use_by or '_' * 12}", f" {label.until}" if label.until else ""
    until = 1.2 * em * (len(date) * BOLD + 0.7 * len(why) * LETTER)
    lot = f"Lot {label.lot or '_' * 8} · By {label.initials or '_' * 5}"
    lines = 1.3 * _lines(label.name, whole, 1.3 * em * BOLD) + _lines(said, broad, em * LETTER)
    lines += 1.2 * (2 if why and until > broad else 1) + _lines(lot, broad, em * BOLD)
    lines += _lines(label.allergens, broad, em * BOLD) + 0.13 + 0.82 * _lines(label.records, broad, 0.82 * em * LETTER)
    return lines * LINE * em


def _lines(text: str, broad: float, letter: float) -> int:
    """How many lines a text takes [letter, broad: mm], a word never broken."""
    room, count, used = max(1, int(broad / letter)), 1, 0
    for word in text.split():
        if used and used + 1 + len(word) > room:
            count, used = count + 1, 0
        used += len(word) + (1 if used else 0)
        count, used = count + (used - 1) // room, (used - 1) % room + 1
    return count


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
