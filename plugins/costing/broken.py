"""One breakdown in money: what was paid, what by-products give back, and what each cut that came out carries. Pure."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

from stillroom.plugins.costing.butcher import ButcherTest, Part, Product, Refused, butcher_test, share_cost
from stillroom.plugins.costing.compute import Sheet
from stillroom.plugins.costing.house import Breakdown, House, credit_key
from stillroom.plugins.costing.prices import ZERO

KILO = 1000


@dataclass(frozen=True)
class Bought:
    """The piece as it came: weight [g] and money for it; source: where both come from."""

    weight: Fraction
    paid: Fraction
    source: str


@dataclass(frozen=True)
class Carried:
    """A cut that came out: weight [g], portions (0 = not counted), and the smallest units of money it carries."""

    id: str
    name: str
    weight: Fraction
    pieces: int
    cents: int

    @property
    def each(self) -> Fraction | None:
        """Money for one portion."""
        return Fraction(self.cents, 100) / self.pieces if self.pieces else None


@dataclass(frozen=True)
class Broken:
    """A breakdown reckoned. test: None where refused; lost: of drying and of cutting [g]."""

    breakdown: Breakdown
    bought: Bought | None
    test: ButcherTest | None
    parts: tuple[Part, ...]
    carried: tuple[Carried, ...]
    method: str
    refused: str


def bought_as(house: House, sheet: Sheet, breakdown: Breakdown) -> Bought | None:
    """A piece that was no ageing lot: its weight before shrink, at its item's price; None where there is none."""
    cut = house.recipes.get(breakdown.cut)
    line = next((c for c in house.components if c.recipe == breakdown.cut), None)
    if cut is None or line is None or line.item is None or house.items[line.item].unit != "g":
        return None
    worth = sheet.prices.get(line.item)
    weight = breakdown.came_in / (1 - cut.shrink)
    source = f"{house.items[line.item].name}, {worth.basis}" if worth else ""
    return None if worth is None else Bought(weight, weight * worth.each, source)


def reckon(house: House, sheet: Sheet, breakdown: Breakdown, bought: Bought | None, method: str) -> Broken:
    """The butcher test of a breakdown, and its cost shared by its cuts to the smallest unit."""
    try:
        if bought is None:
            raise Refused("no price for the piece that was broken down")
        parts = _parts(house, sheet, breakdown, bought)
        test = butcher_test(bought.weight / KILO, bought.paid / bought.weight * KILO, parts)
        products = [_product(house, cut, weight) for cut, weight in breakdown.out.items()]
        shares = share_cost(round(test.cost * 100), products, method)
    except Refused as error:
        return Broken(breakdown, bought, None, (), (), method, str(error))
    carried = tuple(
        Carried(cut, p.name, breakdown.out[cut], breakdown.pieces.get(cut, 0), cents)
        for cut, p, cents in zip(breakdown.out, products, shares, strict=True)
    )
    return Broken(breakdown, bought, test, tuple(parts), carried, method, "")


def _product(house: House, cut: str, weight: Fraction) -> Product:
    known = house.recipes.get(cut)
    market = known.market * KILO if known is not None and known.market is not None else None
    return Product(known.name if known else cut, weight / KILO, market)


def _parts(house: House, sheet: Sheet, breakdown: Breakdown, bought: Bought) -> list[Part]:
    """By-products at their credit or market price, drying, and what is lost at the block [kg]."""
    lost = breakdown.came_in - sum(breakdown.out.values(), ZERO) - sum(breakdown.parts.values(), ZERO)
    if lost < 0:
        came, out = float(breakdown.came_in), float(breakdown.came_in - lost)
        raise Refused(f"what came out weighs {out:,.0f} g, what went in {came:,.0f} g")
    if bought.weight < breakdown.came_in:
        raise Refused("the piece weighed more at the block than when it was bought")
    mates = [m.id for m in house.joint_of(breakdown.cut)] if breakdown.cut in house.recipes else [breakdown.cut]
    found = [_part(house, sheet, mates, item, weight) for item, weight in breakdown.parts.items()]
    dried = bought.weight - breakdown.came_in
    rest = {"dried away": dried, "loss at the block": lost}
    return found + [Part(name, weight / KILO, ZERO) for name, weight in rest.items() if weight]


def _part(house: House, sheet: Sheet, cuts: list[str], item: str, weight: Fraction) -> Part:
    keys = [credit_key(cut, item) for cut in cuts]
    worth: Mapping[str, Fraction] = sheet.worth
    each = next((worth[k] for k in (*keys, item) if k in worth), None)
    name = house.items[item].name if item in house.items else item
    if each is None:
        raise Refused(f"no price for {name}")
    return Part(name, weight / KILO, each * KILO)
