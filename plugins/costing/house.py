"""What the kitchen's file says that a cost is reckoned from, and the lines it makes: quantities as bought. Pure."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from functools import cached_property

from stillroom.db.graph import BY_PRODUCT, Line
from stillroom.plugins.costing.butcher import BY_WEIGHT, cost_shares
from stillroom.plugins.costing.prices import ZERO, Known

SPEC, MEASURED = "as written", "as measured"
LAST_BREAKDOWNS = 5


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
    """A recipe. price: of one base unit of yield on the menu [money]; target: food cost, 0 to 1; None = not said.

    joint: the same word for cuts that come out of one piece; market: of one gram ready cut [money].
    """

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
    joint: str = ""
    market: Fraction | None = None

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
    """One piece broken down, weights [g]. out: portions by their cut; parts: by-products; the rest is loss."""

    code: str
    cut: str
    on: str
    came_in: Fraction
    out: Mapping[str, Fraction]
    parts: Mapping[str, Fraction] = field(default_factory=dict)
    pieces: Mapping[str, int] = field(default_factory=dict)
    lot: str = ""
    note: str = ""


@dataclass(frozen=True)
class House:
    """Everything at once."""

    items: Mapping[str, Item]
    recipes: Mapping[str, Recipe]
    components: Sequence[Component]
    by_products: Sequence[ByProduct]
    known: Mapping[str, Known]
    breakdowns: Sequence[Breakdown]
    joint_method: str = BY_WEIGHT

    @cached_property
    def left_by(self) -> dict[str, list[ByProduct]]:
        """By-products by the recipe that leaves them."""
        found: dict[str, list[ByProduct]] = {}
        for b in self.by_products:
            found.setdefault(b.recipe, []).append(b)
        return found

    def joint_of(self, cut: str) -> list[Recipe]:
        """The cuts that come out of one piece with a cut, itself among them."""
        word = self.recipes[cut].joint
        return [r for r in self.recipes.values() if r.joint == word] if word else [self.recipes[cut]]


@dataclass(frozen=True, slots=True)
class Yield:
    """EP / AP of a line [0 to 1] and, in words, where it comes from.

    said: as it is shown where that is another: a cut that carries little of its piece's cost takes little of the piece.
    """

    share: Fraction
    source: str
    said: Fraction | None = None


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
    """Cut -> what the last breakdowns of its piece up to a day gave of it."""
    grouped: dict[str, list[Breakdown]] = {}
    for b in house.breakdowns:
        if b.on <= day and b.came_in > 0 and any(b.out.values()) and b.cut in house.recipes:
            for cut in house.joint_of(b.cut):
                grouped.setdefault(cut.id, []).append(b)
    found = {cut: _measured(cut, those[-LAST_BREAKDOWNS:]) for cut, those in grouped.items()}
    return {cut: m for cut, m in found.items() if m.share > 0}


def _measured(cut: str, last: Sequence[Breakdown]) -> Measured:
    whole = sum((b.came_in for b in last), ZERO)
    each = [b.out.get(cut, ZERO) / b.came_in for b in last]
    names = dict.fromkeys(name for b in last for name in b.parts)
    parts = {name: sum((b.parts.get(name, ZERO) for b in last), ZERO) / whole for name in names}
    share = sum((b.out.get(cut, ZERO) for b in last), ZERO) / whole
    return Measured(len(last), share, min(each), max(each), parts, last[-1].on)


def seen_cuts(house: House, day: str) -> dict[str, Measured]:
    """Cut -> what breakdowns gave, of pieces of which every cut was measured."""
    seen = measured(house, day)
    cuts = (r.id for r in house.recipes.values() if r.kind == "cut" and r.id in seen)
    return {cut: seen[cut] for cut in cuts if all(m.id in seen for m in house.joint_of(cut))}


def by_products_of(house: House, cut: str, is_measured: bool) -> list[ByProduct]:
    """By-products of the piece that a cut comes out of, or of a recipe.

    Measured parts are of the whole piece: where two of its cuts name the same by-product, only the first counts.
    """
    is_joint = house.recipes[cut].kind == "cut" and house.recipes[cut].joint
    mates = [m.id for m in house.joint_of(cut)] if is_joint else [cut]
    named = [b for mate in mates for b in house.left_by.get(mate, ())]
    first = {b.item: b for b in reversed(named)}
    return [b for b in named if first[b.item] is b] if is_measured else named


def credit_key(recipe: str, item: str) -> str:
    """What stands for a by-product with a price of its own; no id of an item has a space."""
    return f"{item} of {recipe}"


def credits(house: House) -> dict[str, Fraction]:
    """Price of one base unit of each by-product that has one of its own."""
    return {credit_key(b.recipe, b.item): b.credit for b in house.by_products if b.credit is not None}


def worth_as_credited(house: House) -> dict[str, Fraction]:
    """Highest credit for one base unit of each by-product: what it costs where it is used and was not bought."""
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
    cut_lines = seen_cuts(house, day)
    by_item = _by_input(house, cut_lines)
    lines, found = [], {}
    for c in house.components:
        recipe = house.recipes[c.recipe]
        quantity, said = c.quantity, None
        if recipe.kind == "cut":
            quantity, said = _cut_input(house, recipe, c, cut_lines if yields == MEASURED else {})
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


def yield_of(house: House, item: str, day: str) -> Yield | None:
    """EP / AP of an item where a line says none of its own; None = not known."""
    return _item_yield(house.items[item], _by_input(house, seen_cuts(house, day)).get(item))


def _yield(line: Component, item: Item, here: Measured | None) -> Yield | None:
    return Yield(line.own_yield, "of this line") if line.own_yield else _item_yield(item, here)


def _item_yield(item: Item, here: Measured | None) -> Yield | None:
    if item.own_yield:
        return Yield(item.own_yield, "the kitchen's own figure")
    if here is not None:
        return Yield(here.share, here.words)
    return Yield(item.reference[0], f"published: {item.reference[1]}") if item.reference else None


@dataclass(frozen=True)
class Piece:
    """One piece and what it gives: share of the aged weight that each cut is, and that each carries of the cost."""

    cuts: Sequence[Recipe]
    out: Mapping[str, Fraction]
    carries: Mapping[str, Fraction]
    kept: Fraction
    method: str


def piece_of(house: House, cut: Recipe, seen: Mapping[str, Measured]) -> Piece:
    """The piece that a cut comes out of, as written or, where it has been measured, as measured.

    Where its cost is to be shared by market value and a cut has none, it is shared by weight.
    """
    cuts = house.joint_of(cut.id)
    is_seen = all(c.id in seen for c in cuts)
    out = {c.id: seen[c.id].share if is_seen else 1 - c.trim for c in cuts}
    method = house.joint_method if all(c.market for c in cuts) else BY_WEIGHT
    shares = cost_shares([(c.name, out[c.id], c.market) for c in cuts], method)
    return Piece(cuts, out, dict(zip(out, shares, strict=True)), 1 - cut.shrink, method)


def _cut_input(house: House, cut: Recipe, line: Component, seen: Mapping[str, Measured]) -> tuple[Fraction, Yield]:
    """Weight bought for one portion, and the share of it that is sold."""
    piece = piece_of(house, cut, seen)
    share = piece.out[cut.id] * piece.kept / piece.carries[cut.id]
    portion = line.quantity * (1 - cut.shrink) * (1 - cut.trim)
    here = seen.get(cut.id)
    words = here.words if here else f"as written: shrink {_pct(cut.shrink)} %, trim {_pct(cut.trim)} %"
    if len(piece.cuts) > 1:
        words += f"; of its piece's cost it carries {_pct(piece.carries[cut.id])} %, by {piece.method}"
    return portion / share, Yield(share, words, piece.out[cut.id] * piece.kept)


def _credit_lines(house: House, seen: Mapping[str, Measured], lines: Sequence[Line]) -> list[Line]:
    """By-products, each of the cuts of a piece with its part of all that the piece leaves."""
    bought = {line.recipe: line.quantity for line in lines}
    written = {c.recipe: c.quantity for c in house.components if house.recipes[c.recipe].kind == "cut"}
    found = []
    for r in house.recipes.values():
        for b in by_products_of(house, r.id, r.id in seen):
            quantity = b.quantity
            if r.kind == "cut":
                here = seen.get(r.id)
                share = here.parts.get(b.item, ZERO) * (1 - r.shrink) if here else b.quantity / written[b.recipe]
                quantity = bought[r.id] * share
            key = credit_key(b.recipe, b.item) if b.credit is not None else b.item
            if quantity:
                found.append(Line(r.id, BY_PRODUCT, key, None, -quantity))
    return found
