"""A recipe at another size. Pure: lines of a kitchen in, lines of a card out; every quantity is a Fraction to the end.

One factor says it all: how many batches. A target (a yield, plates, what one component allows) is turned into it by
`targets.read_target`; `card` multiplies every line and opens every sub-recipe at the quantity needed. Rounding is for
the eye alone and happens in `db.cook_units`.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction

from stillroom.db.cook_units import Style, plenty, say
from stillroom.db.exact import exact_text
from stillroom.db.number import ReadError, read_number
from stillroom.db.quantity import read_quantity
from stillroom.db.recipe_lines import BATCHES
from stillroom.db.units import find_unit

MOST = 10_000  # batches; a target past it is a slip of the hand
OPENED = 800  # lines of sub-recipes shown within one card; the rest are a tap away
MOST_PARTS = 16  # a cook writes no finer fraction; a cut's own weight, reckoned back to the primal, has one


@dataclass(frozen=True)
class Line:
    """One component for one batch. quantity and unit are the file's; said_number and said_unit the cook's own.

    share is EP/AP, 0 to 1: the line's, else the item's; None where nobody says. scales: 'straight', or why not.
    """

    id: int
    item: str | None
    recipe: str | None
    name: str
    quantity: Fraction
    unit: str
    said_number: Fraction
    said_text: str
    said_unit: str
    prep: str = ""
    share: Fraction | None = None
    can_be_left_off: bool = False
    scales: str = "straight"


@dataclass(frozen=True)
class Recipe:
    """A recipe as far as its size goes: what one batch makes, its lines and its method."""

    id: str
    name: str
    kind: str
    made: Fraction
    unit: str
    made_text: str
    lines: tuple[Line, ...] = ()
    steps: tuple[str, ...] = ()


Book = Mapping[str, Recipe]


@dataclass(frozen=True)
class Row:
    """One line of a card.

    said is the quantity in words, note how it was rounded, exact the quantity in the file's unit. word says why it does
    not scale straight. inside: the sub-recipe at this quantity; None for an item, and where too much would be open.
    to: the quantity as a target for the sub-recipe's own card.
    """

    id: int
    item: str | None
    recipe: str | None
    name: str
    prep: str
    said: str
    note: str
    exact: Fraction
    unit: str
    word: str
    can_be_left_off: bool
    inside: Card | None
    to: str


@dataclass(frozen=True)
class Card:
    """A recipe at one size: batches is the exact factor, made what it comes to."""

    id: str
    name: str
    kind: str
    batches: Fraction
    batches_said: str
    made: Fraction
    unit: str
    made_said: str
    made_note: str
    rows: tuple[Row, ...]
    steps: tuple[str, ...]

    @property
    def is_round(self) -> bool:
        """Whether a cook would count the batches: whole and half ones."""
        return (self.batches * 2).denominator == 1


def card(recipe: str, factor: Fraction, book: Book, style: Style) -> Card:
    """A recipe at a size, with all that is within.

    Args:
        recipe: its id in `book`.
        factor: batches, above zero.
        book: the recipe and every recipe that it reaches.
        style: how the kitchen reads quantities.
    """
    return _card(book[recipe], factor, book, style, _Budget())


@dataclass
class _Budget:
    """How many lines may still be opened."""

    left: int = OPENED


def _card(recipe: Recipe, factor: Fraction, book: Book, style: Style, budget: _Budget) -> Card:
    made = recipe.made * factor
    said, note = _made(recipe, factor, style)
    rows = tuple(_row(line, factor, book, style, budget) for line in recipe.lines)
    return Card(
        recipe.id, recipe.name, recipe.kind, factor, plenty(factor, style.mark), made, recipe.unit, said, note, rows,
        recipe.steps,
    )  # fmt: skip


def _made(recipe: Recipe, factor: Fraction, style: Style) -> tuple[str, str]:
    """What so many batches make, in the words of the recipe's own yield, and its rounding."""
    if factor == 1:
        return recipe.made_text, ""
    unit = unit_of(recipe.made_text, style.mark)
    shown = say(recipe.made * factor / _size(unit, style.system), unit, style)
    is_word = recipe.unit == "each" and unit not in ("", "ea", "each") and _size(unit, style.system) == 1
    return (f"{shown.text} {_several(unit, shown.value)}" if is_word else shown.text), shown.note


def _several(word: str, count: Fraction) -> str:
    """'plate' or 'plates', as many as there are; what is short for another word stays."""
    single = word.removesuffix("s") if len(word) > 3 else word
    return f"{single}s" if count > 1 and len(single) > 3 else single


def unit_of(text: str, mark: str) -> str:
    """The unit's words in a quantity as said; '' where there are none."""
    try:
        return read_quantity(text, mark).unit_text
    except ReadError:
        return ""


def _size(unit: str, system: str) -> Fraction:
    try:
        return find_unit(unit, system).factor
    except ReadError:
        return Fraction(1)


def _row(line: Line, factor: Fraction, book: Book, style: Style, budget: _Budget) -> Row:
    said, note = said_at(line, factor, book, style)
    word = "" if line.scales == "straight" else line.scales
    inside = _inside(line, line.quantity * factor, book, style, budget)
    return Row(
        line.id, line.item, line.recipe, line.name, line.prep, said, note, line.quantity * factor, line.unit, word,
        line.can_be_left_off, inside, f"{exact_text(line.quantity * factor).replace('.', style.mark)} {line.unit}",
    )  # fmt: skip


def said_at(line: Line, factor: Fraction, book: Book, style: Style) -> tuple[str, str]:
    """A line's quantity at a size in words, and its rounding; for one batch the cook's own words."""
    if line.said_unit.lower() in BATCHES and line.recipe is not None:
        shown = say(line.quantity * factor, line.unit, style)
        number = plenty(line.said_number * factor, style.mark)
        return f"{number} {'batch' if line.said_number * factor <= 1 else 'batches'}, {shown.text}", shown.note
    if factor == 1 and _is_cooks(line):
        return f"{line.said_text} {line.said_unit}".strip(), ""
    shown = say(line.said_number * factor, line.said_unit, style)
    return shown.text, shown.note


def _is_cooks(line: Line) -> bool:
    """Whether a line's number is one a cook wrote, 2 1/2 or 1/3, and not what a cut's portion came to: 1300/3."""
    if "/" not in line.said_text:
        return True
    return line.said_number.denominator <= MOST_PARTS and (" " in line.said_text.strip() or line.said_number < 1)


def _inside(line: Line, needed: Fraction, book: Book, style: Style, budget: _Budget) -> Card | None:
    """A sub-recipe at the quantity needed, as long as there is room."""
    below = book.get(line.recipe) if line.recipe is not None else None
    if below is None or len(below.lines) > budget.left:
        return None
    budget.left -= len(below.lines)
    return _card(below, needed / below.made, book, style, budget)


# Targets


@dataclass(frozen=True)
class Wrong:
    """Why a target can't be met: the field that says it, and the words beside it."""

    field: str
    words: str


def checked(factor: Fraction, field: str, style: Style) -> Fraction | Wrong:
    """The factor, unless no kitchen could mean it."""
    if factor <= 0:
        return Wrong(field, "That makes nothing. Write a number above zero.")
    if factor > MOST:
        return Wrong(field, f"That is {plenty(factor, style.mark)} batches. Nobody makes so many: check the number.")
    if factor < Fraction(1, MOST):
        return Wrong(field, "That is less than anybody can weigh: check the number.")
    return factor


def per_plate(dish: str, wanted: str, book: Book) -> Fraction:
    """How much of a recipe one base unit of another's yield takes, over all ways [unit of wanted per unit of dish]."""
    known: dict[str, Fraction] = {wanted: Fraction(1)}

    def of(recipe: str) -> Fraction:
        if recipe not in known:
            known[recipe] = Fraction(0)
            within = sum((x.quantity * of(x.recipe) for x in book[recipe].lines if x.recipe is not None), Fraction(0))
            known[recipe] = within / book[recipe].made
        return known[recipe]

    return of(dish)


def of_thing(lines: Iterable[Line], thing: str) -> Fraction:
    """How much of an item or sub-recipe one batch takes as it is bought or made, over all its lines [its base unit]."""
    return sum((x.quantity / (x.share or 1) for x in lines if thing in (x.item, x.recipe)), Fraction(0))


def read_said(text: str, mark: str) -> Fraction:
    """The number of a line as it stands in the file: the cook's own, or an exact one that a cut's weight gave."""
    try:
        return read_number(text, mark)
    except ReadError:
        return Fraction(text)


def rows_json(rows: Iterable[Row]) -> list[dict[str, object]]:
    """A card's lines as data, all that is open within."""
    return [
        {
            "component": row.id, "item": row.item, "recipe": row.recipe, "name": row.name, "prep": row.prep,
            "quantity": exact_text(row.exact), "unit": row.unit, "said": row.said, "rounding": row.note,
            "does_not_scale_straight": row.word, "can_be_left_off": row.can_be_left_off,
            "inside": None if row.inside is None else card_json(row.inside),
        }
        for row in rows
    ]  # fmt: skip


def card_json(made: Card) -> dict[str, object]:
    """A card as data: exact quantities beside the words."""
    return {
        "id": made.id, "name": made.name, "kind": made.kind, "batches": exact_text(made.batches),
        "yield": exact_text(made.made), "unit": made.unit, "said": made.made_said, "rounding": made.made_note,
        "components": rows_json(made.rows), "method": list(made.steps),
    }  # fmt: skip
