"""What a cook asks the card for, read into a number of batches, or words beside the field that can't be read."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

from stillroom.db.cook_units import Style, plenty
from stillroom.db.number import ReadError
from stillroom.db.quantity import read_number, read_quantity
from stillroom.db.recipe_lines import BATCHES
from stillroom.db.units import to_base
from stillroom.plugins.book.compute import Book, Wrong, checked, of_thing, per_plate

FIELDS = ("to", "plates", "of", "have", "thing", "trimmed", "batches")
Measures = Mapping[str, Mapping[str, Fraction]]


@dataclass(frozen=True)
class Target:
    """A target met: the factor, and in words what was asked for."""

    batches: Fraction
    words: str


@dataclass(frozen=True)
class Kitchenful:
    """What a target is read against: a recipe and all it reaches, measures, the dish above, how the kitchen reads."""

    recipe: str
    book: Book
    measures: Measures
    dishes: Mapping[str, Book]
    style: Style


def read_target(asked: Mapping[str, str], of: Kitchenful) -> Target | Wrong | None:
    """The target that a form or an address says; None where it says none.

    Args:
        asked: to ('12 qt'), or plates with of (a dish), or have ('3.4 kg') with thing and trimmed, or batches.
    """
    readers = {"to": _to_yield, "plates": _for_plates, "have": _with_what_is_there, "batches": _in_batches}
    for field, reader in readers.items():
        if asked.get(field, "").strip():
            try:
                return reader(asked, of)
            except ReadError as error:
                return Wrong(field, f"{_sentence(error.what)} {_sentence(error.why)} {_sentence(error.do)}".strip())
    return None


def _sentence(text: str) -> str:
    return f"{text[:1].upper()}{text[1:].rstrip('.')}." if text else ""


def _met(factor: Fraction, field: str, words: str, style: Style) -> Target | Wrong:
    good = checked(factor, field, style)
    return good if isinstance(good, Wrong) else Target(good, words)


def _to_yield(asked: Mapping[str, str], of: Kitchenful) -> Target | Wrong:
    text = asked["to"].strip()[:60]
    recipe = of.book[of.recipe]
    said = read_quantity(text, of.style.mark, of.style.system)
    if said.unit_text.lower() in BATCHES:
        return _met(said.number, "to", text, of.style)
    if not said.unit_text and recipe.unit != "each":
        return Wrong("to", f"Say the unit too: {recipe.made_text} is one batch.")
    made = _base(said.number, said.unit_text, recipe.unit, of.measures.get("recipe", {}), of.style)
    if made is None:
        return Wrong("to", f"{recipe.name} is measured in {_spoken(recipe.unit)}: {recipe.made_text} is one batch.")
    return _met(made / recipe.made, "to", text, of.style)


def _base(
    number: Fraction, unit: str, base: str, measures: Mapping[str, Fraction], style: Style
) -> Fraction | None:
    """A quantity in a base unit; None where there is nothing to convert it with."""
    try:
        return to_base(number, unit, base, measures, style.system)
    except ReadError as error:
        if error.code == "unit-no-measure":
            return None
        raise


def _spoken(unit: str) -> str:
    return {"g": "weight", "ml": "volume", "each": "pieces"}[unit]


def _for_plates(asked: Mapping[str, str], of: Kitchenful) -> Target | Wrong:
    plates = read_number(asked["plates"].strip()[:40], of.style.mark)
    recipe, dish = of.book[of.recipe], asked.get("of", "")
    said = f"{plenty(plates, of.style.mark)} {'plate' if plates == 1 else 'plates'}" if plates > 0 else ""
    if recipe.kind == "dish" and recipe.unit == "each":
        return _met(plates / recipe.made, "plates", said, of.style)
    if dish not in of.dishes:
        return Wrong("plates", "Choose the dish that the plates are of.")
    need = per_plate(dish, of.recipe, of.dishes[dish]) * plates
    return _met(need / recipe.made, "plates", f"{said} of {of.dishes[dish][dish].name}", of.style)


def _with_what_is_there(asked: Mapping[str, str], of: Kitchenful) -> Target | Wrong:
    text, thing = asked["have"].strip()[:60], asked.get("thing", "")
    lines = [line for line in of.book[of.recipe].lines if thing in (line.item, line.recipe)]
    if not thing or not lines:
        return Wrong("have", "Choose the component that you have.")
    said = read_quantity(text, of.style.mark, of.style.system)
    line, is_trimmed = lines[0], bool(asked.get("trimmed"))
    have = _base(said.number, said.unit_text, line.unit, of.measures.get(thing, {}), of.style)
    if have is None:
        return Wrong("have", f"{line.name} is measured in {_spoken(line.unit)} here; nothing says what that comes to.")
    need = sum((x.quantity for x in lines), Fraction(0)) if is_trimmed else of_thing(lines, thing)
    is_cut = any(x.share not in (None, 1) for x in lines)
    how = (", trimmed" if is_trimmed else ", as bought") if is_cut else ""
    return _met(have / need, "have", f"{text} of {line.name}{how}", of.style)


def _in_batches(asked: Mapping[str, str], of: Kitchenful) -> Target | Wrong:
    batches = read_number(asked["batches"].strip()[:40], of.style.mark)
    words = f"{plenty(batches, of.style.mark)} {'batch' if batches == 1 else 'batches'}" if batches > 0 else ""
    return _met(batches, "batches", words, of.style)
