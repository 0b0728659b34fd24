"""What if a price, a yield, a quantity or an item were another: every dish that moves. Nothing is stored. Pure."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from fractions import Fraction

from stillroom.db.graph import Line, LoopError
from stillroom.plugins.costing.compute import Sheet
from stillroom.plugins.costing.house import House, yield_of
from stillroom.plugins.costing.prices import ZERO, Price
from stillroom.plugins.costing.sweep import again, below
from stillroom.plugins.costing.whatif_cuts import NotPossible, cut_lines, of_item


@dataclass(frozen=True)
class Change:
    """One change. '' or None = not this one.

    item, each: another price of one base unit. item, edible: another yield [EP / AP] on every line of the item; of a
    piece that is cut, what all its cuts together are of it. line, quantity: another quantity for one batch, as
    written in the recipe [base unit]. item, instead, ratio: another item or recipe in the place of an item or recipe,
    `ratio` base units for one as used; within: only in that recipe and what it is made of. cut, portion: another weight
    of a cut's portion [g]. cut, usable: another share of what is bought that is sold of a cut.
    """

    item: str = ""
    each: Fraction | None = None
    edible: Fraction | None = None
    line: int | None = None
    quantity: Fraction | None = None
    instead: str = ""
    ratio: Fraction = Fraction(1)
    within: str = ""
    cut: str = ""
    portion: Fraction | None = None
    usable: Fraction | None = None


@dataclass(frozen=True)
class Moved:
    """A dish that a change moves: cost of a plate before and after [money], None = incomplete; plates a week."""

    id: str
    name: str
    before: Fraction | None
    after: Fraction | None
    price: Fraction | None
    weekly_plates: Fraction

    @property
    def by(self) -> Fraction | None:
        return None if self.before is None or self.after is None else self.after - self.before

    @property
    def weekly(self) -> Fraction | None:
        """Money a week at the present mix."""
        return None if self.by is None else self.by * self.weekly_plates


def what_if(house: House, sheet: Sheet, change: Change, weekly: Mapping[str, Fraction]) -> list[Moved]:
    """Dishes on the menu whose cost a change moves, the most weekly money first.

    Args:
        house: the kitchen.
        sheet: its costs now.
        change: what would be another.
        weekly: dish -> plates a week.

    Raises:
        NotPossible: a figure is missing or cannot be.
    """
    after = apply(house, sheet, change)
    inside = sheet.book.reach([change.within]) if change.within else house.recipes.keys()
    found = []
    for r in house.recipes.values():
        before, then = sheet.costs.of(r.id), after.costs.of(r.id)
        if r.is_on_menu(sheet.choice.day) and before != then and r.id in inside:
            found.append(Moved(r.id, r.name, before, then, r.price, weekly.get(r.id, ZERO)))
    return sorted(found, key=lambda m: (-abs(m.weekly or ZERO), -abs(m.by or ZERO), m.name))


def apply(house: House, sheet: Sheet, change: Change) -> Sheet:
    """The sheet as it would be: only what the change reaches is reckoned again."""
    prices = dict(sheet.prices)
    if change.each is not None and change.item:
        if change.each <= 0:
            raise NotPossible("a price is above 0")
        prices[change.item] = Price(change.each, "what if", "", sheet.choice.day)
    lines = _lines(house, sheet, change)
    try:
        book = sheet.book.with_lines(lines) if lines else sheet.book
    except LoopError as error:
        raise NotPossible("it would be made of itself") from error
    touched = sheet.book.reach([*lines, *([change.item] if change.each is not None else [])])
    worth = {key: p.each for key, p in prices.items()}
    return replace(sheet, book=book, prices=prices, costs=again(book, sheet.costs, worth, touched))


def _lines(house: House, sheet: Sheet, change: Change) -> dict[str, list[Line]]:
    """Recipes whose lines would be others."""
    if change.line is not None and change.quantity is not None:
        return _quantity(house, sheet, change.line, change.quantity)
    if change.cut and change.portion is not None:
        return _portion(house, sheet, change.cut, change.portion)
    if change.cut and change.usable is not None:
        if change.cut not in house.recipes or house.recipes[change.cut].kind != "cut":
            raise NotPossible("there is no such cut")
        return cut_lines(house, sheet, {change.cut: change.usable})
    if change.item and (change.edible is not None or change.instead):
        return _item_lines(house, sheet, change)
    return {}


def _scaled(lines: list[Line] | tuple[Line, ...], factor: Fraction) -> list[Line]:
    return [replace(x, quantity=x.quantity * factor) for x in lines]


def _quantity(house: House, sheet: Sheet, line: int, quantity: Fraction) -> dict[str, list[Line]]:
    said = next((c for c in house.components if c.id == line), None)
    if said is None or said.quantity <= 0 or quantity < 0:
        raise NotPossible("there is no such line, or its quantity is below 0")
    factor = quantity / said.quantity
    own = sheet.book.lines[said.recipe]
    return {said.recipe: [_scaled([x], factor)[0] if x.component_id == line else x for x in own]}


def _portion(house: House, sheet: Sheet, cut: str, portion: Fraction) -> dict[str, list[Line]]:
    recipe = house.recipes.get(cut)
    if recipe is None or not recipe.portion or portion <= 0:
        raise NotPossible("there is no such cut, or its portion is not above 0 g")
    return {cut: _scaled(list(sheet.book.lines[cut]), portion / recipe.portion)}


def _item_lines(house: House, sheet: Sheet, change: Change) -> dict[str, list[Line]]:
    if change.edible is not None and not 0 < change.edible <= 1:
        raise NotPossible("a yield is above 0 % and at most 100 %")
    is_known = change.instead in house.items or change.instead in house.recipes
    if change.instead and (not is_known or change.ratio <= 0):
        raise NotPossible("there is no such item, or the ratio is not above 0")
    inside = set(below(sheet.book, change.within)) if change.within else house.recipes.keys()
    changed: dict[str, list[Line]] = {}
    for line in sheet.book.used_by.get(change.item, ()):
        if line.quantity > 0 and line.recipe in inside and line.recipe != change.instead:
            own = changed.setdefault(line.recipe, list(sheet.book.lines[line.recipe]))
            own[own.index(line)] = _item_line(house, sheet, line, change)
    cuts = of_item(house, sheet, change.item, change.edible) if change.edible is not None else {}
    return {**changed, **cut_lines(house, sheet, cuts)} if cuts else changed


def _item_line(house: House, sheet: Sheet, line: Line, change: Change) -> Line:
    known = sheet.yields.get(line.component_id)
    is_cut = house.recipes[line.recipe].kind == "cut"
    edible = line.quantity * known.share if known and not is_cut else line.quantity
    if not change.instead:
        return line if is_cut or change.edible is None else replace(line, quantity=edible / change.edible)
    if change.instead in house.recipes:
        return replace(line, item=None, sub_recipe=change.instead, quantity=edible * change.ratio)
    own = None if is_cut else yield_of(house, change.instead, sheet.choice.day)
    share = own.share if own else 1  # a cut's trim stays the cut's
    return replace(line, item=change.instead, sub_recipe=None, quantity=edible * change.ratio / share)
