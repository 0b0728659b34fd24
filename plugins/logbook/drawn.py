"""A form as its page draws it: each field with what was typed, what is offered, its unit, and what is wrong. Pure."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from stillroom.plugins.logbook.fields import OFFERED, Book, Field, Known, Taken, Typed
from stillroom.plugins.logbook.form import Form
from stillroom.plugins.logbook.reading import said_of, sure_of

UNITS = {
    "US": ("lb", "oz", "qt", "fl oz", "gal", "cup", "ea", "kg", "g", "l", "ml"),
    "metric": ("kg", "g", "l", "ml", "ea", "lb", "oz"),
    "imperial": ("kg", "g", "lb", "oz", "l", "ml", "pt", "ea"),
}
LARGE = {"US": {"g": "lb", "ml": "qt", "each": "ea"}, "metric": {"g": "kg", "ml": "l", "each": "ea"}}
MARKED = {"metric": "C", "imperial": "C", "US": "F"}
Taps = Mapping[str, Sequence[tuple[str, str]]]


@dataclass(frozen=True)
class Drawn:
    """One field of the page.

    Attributes:
        field: what it asks.
        value: what was typed, or is put there to begin with.
        tapped: which of those offered was tapped.
        taps: (value, words) offered to the thumb.
        units: what its number may be in; the first of them none.
        unit: which it is in.
        wrong: why it can't be so.
        ask: what is asked again; said: what the box confirms.
        names: id of the list of all names.
        ticked: lots that were ticked.
    """

    field: Field
    value: str = ""
    tapped: str = ""
    taps: Sequence[tuple[str, str]] = ()
    units: Sequence[tuple[str, str]] = ()
    unit: str = ""
    wrong: str = ""
    ask: str = ""
    said: str = ""
    names: str = ""
    ticked: frozenset[str] = frozenset()

    @property
    def sure(self) -> str:
        """Name of the box that confirms it."""
        return sure_of(self.field.name)


@dataclass(frozen=True)
class Row:
    """Fields that stand side by side."""

    name: str
    fields: tuple[Drawn, ...]
    is_spare: bool = False  # one more line of several: folded while nothing is typed into it

    @property
    def is_aside(self) -> bool:
        """Whether it stands under "More"."""
        return all(one.field.aside for one in self.fields)

    @property
    def says(self) -> bool:
        """Whether something is typed into it, or wrong with it."""
        return any(one.value or one.tapped or one.wrong or one.ask for one in self.fields)


def draw(form: Form, typed: Typed, book: Book, taken: Taken | None, taps: Taps, office: bool) -> list[Row]:
    """The rows of a form's page.

    Args:
        taken: what the fields came to; None where nothing was sent.
        office: whether money is shown.
    """
    rows: list[Row] = []
    for one in form.fields:
        if one.office and not office:
            continue
        drawn = _drawn(one, typed, book, taken, taps.get(one.name, ()))
        if one.row and rows and rows[-1].name == one.row:
            rows[-1] = Row(one.row, (*rows[-1].fields, drawn))
        else:
            rows.append(Row(one.row, (drawn,)))
    return rows


ALWAYS = 2  # lines of several that stand open while nothing is said


def spared(rows: Sequence[Row]) -> list[Row]:
    """Rows, with those lines of several marked that nothing is typed into, behind the filled ones or the first two."""
    lines = [row for row in rows if row.name.startswith("out")]
    filled = max((n for n, row in enumerate(lines, 1) if row.says), default=0)
    spare = {row.name for row in lines[max(filled, 0 if filled else ALWAYS) :]}
    return [replace(row, is_spare=row.name in spare) for row in rows]


def _drawn(one: Field, typed: Typed, book: Book, taken: Taken | None, taps: Sequence[tuple[str, str]]) -> Drawn:
    value, tapped = typed.get(one.name, "") or one.first, typed.get(f"{one.name}-tap", "")
    offered = list(taps)
    meant = tapped or (value if taken is None else "")
    known = _known(one, meant, book) if one.kind == "pick" and meant and not one.row else None
    if known is not None:
        offered = [(known.id, known.name), *[tap for tap in offered if tap[0] != known.id]][:OFFERED]
        value, tapped = "" if value == meant else value, known.id
    ticked = frozenset(text for name, text in typed.items() if name.startswith(f"{one.name}-tap-"))
    units = _units(one, book)
    return Drawn(
        one, value[:2000], tapped, offered, units, typed.get(f"{one.name}-unit", "") or _unit(one, typed, book, units),
        "" if taken is None else taken.wrong.get(one.name, ""), "" if taken is None else taken.ask.get(one.name, ""),
        said_of(one, typed), f"names-{'-'.join(one.to)}" if one.to and one.kind in {"pick", "product",
        "text"} else "", ticked,
    )  # fmt: skip


def _known(one: Field, text: str, book: Book) -> Known | None:
    for kind in one.to:
        found = book.names.get(kind, {}).get(text)
        if found is not None:
            return found
    return None


def _units(one: Field, book: Book) -> list[tuple[str, str]]:
    if one.kind == "temperature":
        return [("F", "°F"), ("C", "°C")]
    if one.kind != "quantity":
        return []
    words = UNITS[book.system]
    if one.of == "g":
        words = tuple(word for word in words if word in {"kg", "g", "lb", "oz"})
        return [(word, word) for word in words]
    return [("", "unit"), *((word, word) for word in words)]


def _unit(one: Field, typed: Typed, book: Book, units: Sequence[tuple[str, str]]) -> str:
    """The unit that stands beside a field to begin with: the scale of the kitchen, or that of the thing."""
    if one.kind == "temperature":
        return MARKED[book.system]
    if one.kind != "quantity":
        return ""
    large = LARGE.get(book.system, LARGE["metric"])
    if one.of in large:
        return large[one.of]
    text = typed.get(one.of, "") or typed.get(f"{one.of}-tap", "")
    for kinds in book.names.values():
        known = kinds.get(text) if text else None
        if known is not None and known.unit:
            return large[known.unit]
    return ""


def lists_of(form: Form, book: Book) -> dict[str, list[str]]:
    """The lists of names that a page's fields are filled from, each once."""
    found: dict[str, list[str]] = {}
    for one in form.fields:
        if one.to and one.kind in {"pick", "product", "text"}:
            names: dict[str, None] = {}
            for kind in one.to:
                names |= dict.fromkeys(known.name for known in book.names.get(kind, {}).values())
                names |= dict.fromkeys(book.facts.get(kind, ()))
            found[f"names-{'-'.join(one.to)}"] = sorted(names)
    return found
