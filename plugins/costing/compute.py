"""What a plate costs, what it lacks, what moved it, and which plates are over their target. Pure and exact."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cached_property

from stillroom.db.graph import Line
from stillroom.plugins.costing.house import SPEC, House, Yield, as_bought, credits, item_of, worth_as_credited
from stillroom.plugins.costing.prices import ZERO, OddLot, Price, odd_lot, price, span
from stillroom.plugins.costing.sweep import CREDITS, Book, Costs, amounts, below, compile_book, sweep

LEAST_SAID = Fraction(1, 200)  # half of the smallest unit: what is less rounds to nothing
PRICE, YIELD, RECIPE, SWITCH = "price", "yield", "recipe", "product switch"


@dataclass(frozen=True)
class Choice:
    """How to reckon: day, basis of prices, days of an average, yields as written or as measured."""

    day: str
    basis: str
    days: int = 28
    yields: str = SPEC


@dataclass(frozen=True)
class Sheet:
    """The whole kitchen costed once. prices: by key of a line; a by-product with its own credit has its own key."""

    house: House
    choice: Choice
    book: Book
    yields: Mapping[int, Yield]
    prices: Mapping[str, Price]
    costs: Costs

    @property
    def worth(self) -> dict[str, Fraction]:
        """Money for one base unit, by key."""
        return {key: p.each for key, p in self.prices.items()}

    @cached_property
    def odd(self) -> dict[str, OddLot]:
        """Items whose price wants to be looked at."""
        c = self.choice
        found = {i: odd_lot(k, c.basis, c.day, c.days) for i, k in self.house.known.items() if i in self.house.items}
        return {item: odd for item, odd in found.items() if odd is not None}

    def odd_in(self, recipe: str) -> tuple[str, ...]:
        """Names of those below a recipe."""
        if not self.odd:
            return ()
        used = {item for r in below(self.book, recipe) for item, _, _ in self.book.bought.get(r, ())}
        return tuple(sorted(self.house.items[i].name for i in used & self.odd.keys()))


def cost_all(house: House, choice: Choice) -> Sheet:
    """Every recipe's cost on a day."""
    lines, yields = as_bought(house, choice.day, choice.yields)
    book = compile_book({r.id: r.made for r in house.recipes.values()}, lines)
    prices: dict[str, Price] = {}
    for item, known in house.known.items():
        found = price(known, choice.basis, choice.day, choice.days)
        if found is not None:
            prices[item] = found
    for item, each in worth_as_credited(house).items():
        if item not in prices:  # not bought by then: it costs its use what the cut that leaves it is credited
            prices[item] = Price(each, "as credited to the cut that leaves it", "", "")
    for key, each in credits(house).items():
        prices[key] = Price(each, "credit written in the recipe", "", "")
    return Sheet(house, choice, book, yields, prices, sweep(book, {k: p.each for k, p in prices.items()}))


@dataclass(frozen=True)
class Part:
    """An item's share of a cost. quantity: as bought [unit], below zero for a credit; cost None = no price."""

    key: str
    name: str
    unit: str
    quantity: Fraction
    price: Price | None
    cost: Fraction | None
    yields: str
    is_odd: bool

    @property
    def is_credit(self) -> bool:
        return self.quantity < 0


def parts(house: House, sheet: Sheet, recipe: str) -> list[Part]:
    """The items in one base unit of a recipe's yield, dearest first, without a price before all."""
    said = _yields_said(house, sheet, recipe)
    found = []
    for key, quantity in amounts(sheet.book, recipe).items():
        item_id, cut = item_of(key)
        item = house.items[item_id]
        worth = sheet.prices.get(key)
        name = name_of(key, house)
        odd = not cut and item_id in sheet.odd
        cost = None if worth is None else quantity * worth.each
        found.append(Part(key, name, item.unit, quantity, worth, cost, said.get(key, ""), odd))
    return sorted(found, key=lambda p: (p.cost is not None, -(p.cost or ZERO), p.name))


def _yields_said(house: House, sheet: Sheet, recipe: str) -> dict[str, str]:
    """Item -> where the yields of its lines below a recipe come from."""
    found: dict[str, dict[str, None]] = {}
    for used in below(sheet.book, recipe):
        for line in sheet.book.lines.get(used, ()):
            if line.item is not None and line.quantity > 0:
                known = sheet.yields.get(line.component_id)
                shown = (known.said or known.share) if known else None
                words = f"{float(shown * 100):.1f} % {known.source}" if known and shown else "as bought: no yield known"
                found.setdefault(line.item, {})[words] = None
    return {item: "; ".join(words) for item, words in found.items()}


def lacking(house: House, sheet: Sheet, recipe: str) -> list[str]:
    """What keeps a cost from being whole, in words."""
    found = []
    for lack in sorted(sheet.costs.lacks.get(recipe, ())):
        if lack.startswith(CREDITS):
            cut = lack.removeprefix(CREDITS)
            above = -Fraction(*sheet.costs.each[cut])
            found.append(f"credits of {house.recipes[cut].name} are {float(above):.2f} above what went in")
        else:
            item, cut = item_of(lack)
            name = house.items[item].name if item in house.items else house.recipes[item].name
            found.append(f"no price for {name}")
    return found


@dataclass(frozen=True)
class Range:
    """What a cost may be from what is known. high None = no upper end: an item has no price of any kind."""

    low: Fraction
    high: Fraction | None


def cost_range(house: House, sheet: Sheet, recipe: str) -> Range:
    """Lowest and highest cost of one base unit, from other prices of what has none on this basis.

    A credit without a price is taken at nothing for the high end; the low end never goes below zero.
    """
    low, high = ZERO, ZERO
    open_end = False
    for part in parts(house, sheet, recipe):
        if part.cost is not None:
            low, high = low + part.cost, high + part.cost
            continue
        item = item_of(part.key)[0]
        found = span(house.known[item], sheet.choice.day) if item in house.known else None
        ends = [part.quantity * x for x in found] if found else [ZERO, ZERO]
        open_end = open_end or (found is None and part.quantity > 0)
        low, high = low + min(ends), high + max(ends)
    return Range(max(ZERO, low), None if open_end else high)


@dataclass(frozen=True)
class Step:
    """One reason why a cost moved: the item, what changed, and the money for one base unit of yield."""

    key: str
    name: str
    what: str
    money: Fraction


def bridge(before: Sheet, after: Sheet, recipe: str) -> list[Step] | None:
    """Why a recipe's cost moved between two days, largest first; the steps add up to the difference exactly.

    In this order, each at what the one before left: recipe (what it is made of, yields as they were), yield, price at
    the new quantity; where the product behind the price is another one, the move is called a product switch. None where
    either cost has a gap.
    """
    if before.costs.of(recipe) is None or after.costs.of(recipe) is None:
        return None
    old, held, new = amounts(before.book, recipe), _held(before, after, recipe), amounts(after.book, recipe)
    steps: list[Step] = []
    for key in {**old, **held, **new}:
        quantities = (old.get(key, ZERO), held.get(key, ZERO), new.get(key, ZERO))
        steps += _steps(key, quantities, before, after)
    return sorted((s for s in steps if s.money), key=lambda s: (-abs(s.money), s.name, s.what))


def _held(before: Sheet, after: Sheet, recipe: str) -> dict[str, Fraction]:
    """Quantity as bought of each item in the new recipe, every line that was there before at its old yield."""
    lines = {r: after.book.lines.get(r, ()) for r in below(after.book, recipe)}
    if all(before.book.lines.get(r) == own for r, own in lines.items()):
        return amounts(after.book, recipe)
    held = {r: _held_lines(before, after, r) for r in lines}
    return amounts(after.book.with_lines(held), recipe)


def _held_lines(before: Sheet, after: Sheet, recipe: str) -> list[Line]:
    was = _by_use(before, recipe)
    is_cut = after.house.recipes[recipe].kind == "cut"
    per = _edible(after, recipe) / _edible(before, recipe) if is_cut and _edible(before, recipe) else None
    found = []
    for key, line in _by_use(after, recipe).items():
        old = was.get(key)
        quantity = line.quantity
        if old is not None and line.quantity > 0:
            quantity = line.quantity * _share(after, line) / _share(before, old)
        elif old is not None and per is not None:  # a cut's by-product goes with what it gives, not with the recipe
            quantity = old.quantity * per
        found.append(replace(line, quantity=quantity))
    return found


def _by_use(sheet: Sheet, recipe: str) -> dict[tuple[str, int], Line]:
    """Lines of a recipe by what they use, and which of several that use it."""
    seen: dict[str, int] = {}
    found = {}
    for line in sheet.book.lines.get(recipe, ()):
        used = f"{line.sub_recipe or line.item}{'-' if line.quantity < 0 else ''}"
        seen[used] = seen.get(used, 0) + 1
        found[used, seen[used]] = line
    return found


def _share(sheet: Sheet, line: Line) -> Fraction:
    known = sheet.yields.get(line.component_id)
    return known.share if known else Fraction(1)


def _edible(sheet: Sheet, recipe: str) -> Fraction:
    """Quantity as used of all that goes into one batch."""
    return sum((x.quantity * _share(sheet, x) for x in sheet.book.lines.get(recipe, ()) if x.quantity > 0), ZERO)


def _steps(key: str, quantity: tuple[Fraction, Fraction, Fraction], before: Sheet, after: Sheet) -> list[Step]:
    first, last = before.prices.get(key), after.prices.get(key)
    name = name_of(key, after.house, before.house)
    worth = first or last
    if worth is None:
        return []
    old, held, new = quantity
    steps = [Step(key, name, RECIPE, (held - old) * worth.each), Step(key, name, YIELD, (new - held) * worth.each)]
    if first is not None and last is not None:
        switched = bool(first.product and last.product and first.product != last.product)
        steps.append(Step(key, name, SWITCH if switched else PRICE, new * (last.each - first.each)))
    return steps


@dataclass(frozen=True)
class Rewritten:
    """A recipe that was another on an earlier day: lines that went and that came, as written; batch, if it moved."""

    id: str
    name: str
    gone: tuple[str, ...]
    new: tuple[str, ...]
    batch: tuple[Fraction, Fraction] | None


def rewritten(before: Sheet, after: Sheet, recipe: str) -> list[Rewritten]:
    """Recipes below one (itself among them) whose lines or batch were others on the earlier day, by name."""
    if recipe not in before.house.recipes or recipe not in after.house.recipes:
        return []
    found = []
    for one in sorted({*below(before.book, recipe), *below(after.book, recipe)}):
        old, new = (s.house.recipes.get(one) for s in (before, after))
        if old is None or new is None:
            continue
        was, now = ([c.text for c in s.house.components if c.recipe == one] for s in (before, after))
        gone, came = tuple(x for x in was if x not in now), tuple(x for x in now if x not in was)
        batch = (old.made, new.made) if old.made != new.made else None
        if gone or came or batch:
            found.append(Rewritten(one, new.name, gone, came, batch))
    return found


def name_of(key: str, *houses: House) -> str:
    """An item's name, or 'fat, credit of Loin chop', from the first house that knows it."""
    item, cut = item_of(key)
    known = next((h.items[item].name for h in houses if item in h.items), item)
    made = next((h.recipes[cut].name for h in houses if cut in h.recipes), cut)
    return f"{known}, credit of {made}" if cut else known


@dataclass(frozen=True)
class Plate:
    """A dish and its money. each: cost of a plate, None where it has gaps; share: of the menu price without tax.

    odd: items whose price wants to be looked at.
    """

    id: str
    name: str
    section: str
    price: Fraction | None
    target: Fraction | None
    each: Fraction | None
    lacks: tuple[str, ...]
    range: Range | None
    odd: tuple[str, ...] = ()

    @property
    def share(self) -> Fraction | None:
        """Food cost over menu price [0 to 1]; None where either is not known."""
        return None if self.each is None or not self.price else self.each / self.price

    @property
    def margin(self) -> Fraction | None:
        """Contribution margin: menu price less cost [money]."""
        return None if self.each is None or self.price is None else self.price - self.each

    @property
    def is_over(self) -> bool:
        """Whether its food cost is above its target; never where either is not known."""
        return self.share is not None and self.target is not None and self.share > self.target


def plate(house: House, sheet: Sheet, recipe_id: str) -> Plate:
    """One dish; one that did not stand on the sheet's day has neither cost nor price."""
    r = house.recipes.get(recipe_id)
    if r is None:
        return Plate(recipe_id, recipe_id, "", None, None, None, ("not in the book on that day",), Range(ZERO, None))
    each = sheet.costs.of(r.id)
    gaps = tuple(lacking(house, sheet, r.id))
    spread = cost_range(house, sheet, r.id) if gaps else None
    return Plate(r.id, r.name, r.section, r.price, r.target, each, gaps, spread, sheet.odd_in(r.id))


def plates(house: House, sheet: Sheet) -> list[Plate]:
    """Every dish on the menu on the sheet's day, by section and name."""
    on = [r for r in house.recipes.values() if r.is_on_menu(sheet.choice.day)]
    return [plate(house, sheet, r.id) for r in sorted(on, key=lambda r: (r.section, r.name))]


@dataclass(frozen=True)
class Alert:
    """A plate over its target, and the items that did it: what rose most since an earlier day, else the dearest."""

    plate: Plate
    rose: bool
    did: tuple[tuple[str, Fraction], ...]


def alerts(house: House, before: Sheet, now: Sheet, most: int = 3) -> list[Alert]:
    """Plates over their target, the farthest over first."""
    over = [p for p in plates(house, now) if p.is_over]
    found = [_alert(house, before, now, p, most) for p in over]
    return sorted(found, key=lambda a: (a.plate.target or ZERO) - (a.plate.share or ZERO))


def _alert(house: House, before: Sheet, now: Sheet, over: Plate, most: int) -> Alert:
    moved: dict[str, Fraction] = {}
    for step in bridge(before, now, over.id) or ():
        moved[step.name] = moved.get(step.name, ZERO) + step.money
    rose = sorted(((n, m) for n, m in moved.items() if m >= LEAST_SAID), key=lambda x: -x[1])[:most]
    if rose:
        return Alert(over, True, tuple(rose))
    dear: Sequence[Part] = [p for p in parts(house, now, over.id) if p.cost is not None]
    return Alert(over, False, tuple((p.name, p.cost or ZERO) for p in dear[:most]))


@dataclass(frozen=True)
class Odd:
    """An item whose price wants to be looked at: money for one base unit, now and as it usually is."""

    id: str
    name: str
    unit: str
    was: Fraction
    now: Fraction
    on: str


def odd_prices(house: House, sheet: Sheet) -> list[Odd]:
    """Items on the menu whose price wants to be looked at, by id."""
    if not sheet.odd:
        return []
    on_menu = {r.id for r in house.recipes.values() if r.is_on_menu(sheet.choice.day)}
    found = []
    for item, odd in sorted(sheet.odd.items()):
        if sheet.book.reach([item]) & on_menu:
            known = house.items[item]
            found.append(Odd(item, known.name, known.unit, odd.usual, odd.lot.each, odd.lot.on))
    return found
