"""What if a price, a yield, a quantity or an item were another: every dish that moves. Nothing is stored. Pure."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from fractions import Fraction

from stillroom.db.graph import Line
from stillroom.plugins.costing.compute import Sheet
from stillroom.plugins.costing.house import House
from stillroom.plugins.costing.prices import ZERO, Price
from stillroom.plugins.costing.sweep import again


class NotPossible(ValueError):
    """A change that cannot be reckoned; the words say why."""


@dataclass(frozen=True)
class Change:
    """One change. '' or None = not this one.

    item, each: another price of one base unit. item, edible: another yield [EP / AP] on every line of the item that is
    not a cut's. line, quantity: another quantity for one batch, as written in the recipe [base unit]. item, instead,
    ratio: another item in its place, `ratio` base units for one. cut, portion: another weight of a cut's portion [g].
    """

    item: str = ""
    each: Fraction | None = None
    edible: Fraction | None = None
    line: int | None = None
    quantity: Fraction | None = None
    instead: str = ""
    ratio: Fraction = Fraction(1)
    cut: str = ""
    portion: Fraction | None = None


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
    found = []
    for r in house.recipes.values():
        before, then = sheet.costs.of(r.id), after.costs.of(r.id)
        if r.is_on_menu(sheet.choice.day) and before != then:
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
    book = sheet.book.with_lines(lines) if lines else sheet.book
    touched = sheet.book.reach([*lines, *([change.item] if change.each is not None else [])])
    worth = {key: p.each for key, p in prices.items()}
    return replace(sheet, book=book, prices=prices, costs=again(book, sheet.costs, worth, touched))


def _lines(house: House, sheet: Sheet, change: Change) -> dict[str, list[Line]]:
    """Recipes whose lines would be others."""
    if change.line is not None and change.quantity is not None:
        return _quantity(house, sheet, change.line, change.quantity)
    if change.cut and change.portion is not None:
        return _portion(house, sheet, change.cut, change.portion)
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
    if change.instead and (change.instead not in house.items or change.ratio <= 0):
        raise NotPossible("there is no such item, or the ratio is not above 0")
    changed: dict[str, list[Line]] = {}
    for line in sheet.book.used_by.get(change.item, ()):
        if line.quantity > 0:
            own = changed.setdefault(line.recipe, list(sheet.book.lines[line.recipe]))
            own[own.index(line)] = _item_line(house, sheet, line, change)
    return changed


def _item_line(house: House, sheet: Sheet, line: Line, change: Change) -> Line:
    if change.instead:
        return replace(line, item=change.instead, quantity=line.quantity * change.ratio)
    if house.recipes[line.recipe].kind == "cut" or change.edible is None:
        return line
    known = sheet.yields.get(line.component_id)
    edible = line.quantity * known.share if known else line.quantity
    return replace(line, quantity=edible / change.edible)
