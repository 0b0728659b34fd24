"""What the kitchen's file says that a cost is reckoned from, and the lines it makes: quantities as bought. Pure."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction

from stillroom.db.graph import BY_PRODUCT, Line
from stillroom.plugins.costing.prices import ZERO, Known

SPEC, MEASURED = "as written", "as measured"
LAST_BREAKDOWNS = 5
ONE = Fraction(1)


@dataclass(frozen=True, slots=True)
class Item:
    """A bought thing. own_yield: the kitchen's own EP / AP; reference: published, and its process; None = not known."""

    id: str
    name: str
    unit: str
    category: str
    own_yield: Fraction | None = None
    reference: tuple[Fraction, str] | None = None


@dataclass(frozen=True, slots=True)
class Recipe:
    """A recipe. price: of one base unit of yield on the menu [money]; target: food cost, 0 to 1; None = not said."""

    id: str
    name: str
    kind: str
    made: Fraction
    unit: str
    section: str = ""
    status: str = "active"
    price: Fraction | None = None
    target: Fraction | None = None
    from_on: str | None = None
    to_on: str | None = None
    shrink: Fraction = ZERO
    trim: Fraction = ZERO
    portion: Fraction | None = None

    def is_on_menu(self, day: str) -> bool:
        """Whether it is an active dish on its days."""
        dates = (self.from_on or "0") <= day <= (self.to_on or "9")
        return self.kind == "dish" and self.status == "active" and dates


@dataclass(frozen=True, slots=True)
class Component:
    """One line of a recipe for one batch; quantity is edible weight where a yield is known [base unit]."""

    id: int
    recipe: str
    item: str | None
    sub_recipe: str | None
    quantity: Fraction
    own_yield: Fraction | None
    text: str


@dataclass(frozen=True, slots=True)
class ByProduct:
    """What a cut leaves: quantity for one batch [unit of item]; credit: money for one unit, None = market price."""

    recipe: str
    item: str
    quantity: Fraction
    credit: Fraction | None


@dataclass(frozen=True)
class Breakdown:
    """One piece broken down, weights [g]. portions: what the cut is for; parts: by-products; the rest is loss."""

    code: str
    cut: str
    on: str
    came_in: Fraction
    portions: Fraction
    parts: Mapping[str, Fraction] = field(default_factory=dict)
    pieces: int = 0


@dataclass(frozen=True)
class House:
    """Everything at once."""

    items: Mapping[str, Item]
    recipes: Mapping[str, Recipe]
    components: Sequence[Component]
    by_products: Sequence[ByProduct]
    known: Mapping[str, Known]
    breakdowns: Sequence[Breakdown]


@dataclass(frozen=True, slots=True)
class Yield:
    """EP / AP of a line [0 to 1] and, in words, where it comes from."""

    share: Fraction
    source: str


@dataclass(frozen=True, slots=True)
class Measured:
    """Yield of the last breakdowns of a cut: portions over what was broken down, by weight; and its spread."""

    count: int
    share: Fraction
    low: Fraction
    high: Fraction
    parts: Mapping[str, Fraction]
    last_on: str

    @property
    def words(self) -> str:
        """'measured here, n 4, 63 to 68 %'."""
        return f"measured here, n {self.count}, {_pct(self.low)} to {_pct(self.high)} %"


def _pct(share: Fraction) -> str:
    return f"{float(share * 100):.1f}"


def measured(house: House, day: str) -> dict[str, Measured]:
    """Cut -> what its last breakdowns up to a day gave."""
    grouped: dict[str, list[Breakdown]] = {}
    for b in house.breakdowns:
        if b.on <= day and b.came_in > 0 and b.portions > 0:
            grouped.setdefault(b.cut, []).append(b)
    return {cut: _measured(found[-LAST_BREAKDOWNS:]) for cut, found in grouped.items()}


def _measured(last: Sequence[Breakdown]) -> Measured:
    whole = sum((b.came_in for b in last), ZERO)
    each = [b.portions / b.came_in for b in last]
    names = dict.fromkeys(name for b in last for name in b.parts)
    parts = {name: sum((b.parts.get(name, ZERO) for b in last), ZERO) / whole for name in names}
    share = sum((b.portions for b in last), ZERO) / whole
    return Measured(len(last), share, min(each), max(each), parts, last[-1].on)


def credit_key(recipe: str, item: str) -> str:
    """What stands for a by-product with a price of its own; no id of an item has a space."""
    return f"{item} of {recipe}"


def credits(house: House) -> dict[str, Fraction]:
    """Price of one base unit of each by-product that has one of its own."""
    return {credit_key(b.recipe, b.item): b.credit for b in house.by_products if b.credit is not None}


def worth_as_credited(house: House) -> dict[str, Fraction]:
    """Highest credit for one base unit of each by-product: what it costs where it is used, if it is never bought."""
    found: dict[str, Fraction] = {}
    for b in house.by_products:
        if b.credit:
            found[b.item] = max(b.credit, found.get(b.item, ZERO))
    return found


def item_of(key: str) -> tuple[str, str]:
    """(item, cut whose by-product it is or '') of a key."""
    item, _, cut = key.partition(" of ")
    return item, cut


def as_bought(house: House, day: str, yields: str = SPEC) -> tuple[list[Line], dict[int, Yield]]:
    """Every recipe's lines in quantities as bought, and the yield behind each line that has one.

    A line's own yield counts first; then the item's own figure, then what breakdowns of the item gave here, then the
    published one. A cut's shrink and trim are its own; with MEASURED its last breakdowns take the place of its trim.
    """
    seen = measured(house, day)
    cut_lines = {r.id: seen[r.id] for r in house.recipes.values() if r.kind == "cut" and r.id in seen}
    by_item = _by_input(house, cut_lines)
    lines, found = [], {}
    for c in house.components:
        recipe = house.recipes[c.recipe]
        quantity, said = c.quantity, None
        if recipe.kind == "cut":
            quantity, said = _cut_input(recipe, c, cut_lines.get(recipe.id) if yields == MEASURED else None)
        elif c.item is not None:
            said = _yield(c, house.items[c.item], by_item.get(c.item))
            quantity = quantity / said.share if said else quantity
        elif c.own_yield:
            said = Yield(c.own_yield, "of this line")
            quantity = quantity / c.own_yield
        lines.append(Line(c.recipe, c.id, c.item, c.sub_recipe, quantity))
        if said:
            found[c.id] = said
    return lines + _credit_lines(house, cut_lines if yields == MEASURED else {}, lines), found


def _by_input(house: House, seen: Mapping[str, Measured]) -> dict[str, Measured]:
    """What breakdowns gave, by the item that was broken down; items that several cuts begin from are left out."""
    inputs: dict[str, list[str]] = {}
    for c in house.components:
        if c.item is not None and house.recipes[c.recipe].kind == "cut":
            inputs.setdefault(c.item, []).append(c.recipe)
    return {item: seen[cuts[0]] for item, cuts in inputs.items() if len(cuts) == 1 and cuts[0] in seen}


def _yield(line: Component, item: Item, here: Measured | None) -> Yield | None:
    if line.own_yield:
        return Yield(line.own_yield, "of this line")
    if item.own_yield:
        return Yield(item.own_yield, "the kitchen's own figure")
    if here is not None:
        return Yield(here.share, here.words)
    return Yield(item.reference[0], f"published: {item.reference[1]}") if item.reference else None


def _cut_input(cut: Recipe, line: Component, here: Measured | None) -> tuple[Fraction, Yield]:
    """Weight bought for one portion, and the share of it that is sold."""
    kept = 1 - cut.shrink
    if here is None:
        words = f"as written: shrink {_pct(cut.shrink)} %, trim {_pct(cut.trim)} %"
        return line.quantity, Yield(kept * (1 - cut.trim), words)
    return line.quantity * (1 - cut.trim) / here.share, Yield(kept * here.share, here.words)


def _credit_lines(house: House, seen: Mapping[str, Measured], lines: Sequence[Line]) -> list[Line]:
    bought = {line.recipe: line.quantity for line in lines if line.recipe in seen}
    found = []
    for b in house.by_products:
        quantity = b.quantity
        if b.recipe in seen:
            shrink = house.recipes[b.recipe].shrink
            quantity = bought[b.recipe] * (1 - shrink) * seen[b.recipe].parts.get(b.item, ZERO)
        key = credit_key(b.recipe, b.item) if b.credit is not None else b.item
        if quantity:
            found.append(Line(b.recipe, BY_PRODUCT, key, None, -quantity))
    return found
