"""The butcher test of a cut as its page shows it: as written, and as the last breakdowns gave."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from stillroom.plugins.core.format import marked, money, percent
from stillroom.plugins.costing.butcher import ButcherTest, Part, Refused, butcher_test
from stillroom.plugins.costing.compute import Sheet
from stillroom.plugins.costing.house import MEASURED, House, Measured, Piece, as_bought, credit_key, measured, piece_of
from stillroom.plugins.costing.prices import ZERO
from stillroom.plugins.costing.sweep import again

KILO = 1000


@dataclass(frozen=True)
class CutTest:
    """One kilogram of a cut's input through the butcher test, all cuts of its piece together.

    spec: as the recipe says; here: as measured (None without breakdowns); weekly: money a week that the measured yield
    costs beyond the written one at the present mix; refused: why a test could not be made; carries: this cut's part of
    the piece's cost, as written, and mates: the other cuts of the piece.
    """

    input: str
    spec: ButcherTest | None
    here: ButcherTest | None
    measured: Measured | None
    weekly: Fraction | None
    refused: str
    carries: Fraction = Fraction(1)
    mates: tuple[str, ...] = ()

    @property
    def rows(self) -> list[tuple[str, str, str]]:
        """What, as written, as measured."""

        def both(name: str, says: Any) -> tuple[str, str, str]:
            return name, says(self.spec) if self.spec else "not known", says(self.here) if self.here else "not measured"

        return [
            both("Paid for 1 kg", lambda t: money(t.paid)),
            both("Credits of by-products", lambda t: money(t.credits)),
            both("Usable", lambda t: percent(t.share)),
            both("Cost of 1 kg usable", lambda t: money(t.each)),
            both("Cost factor", lambda t: marked(f"{float(t.factor):.3f}")),
        ]

    @property
    def dearer(self) -> Fraction | None:
        """Money that one usable kg costs more than written [money]."""
        return self.here.each - self.spec.each if self.here and self.spec else None

    def as_json(self) -> dict[str, Any]:
        def plain(t: ButcherTest | None) -> dict[str, str] | None:
            return None if t is None else {k: str(getattr(t, k)) for k in t.__dataclass_fields__}

        return {"input": self.input, "as_written": plain(self.spec), "as_measured": plain(self.here),
                "breakdowns": self.measured.count if self.measured else 0,
                "weekly_money": None if self.weekly is None else str(self.weekly),
                "carries": str(self.carries), "cut_with": list(self.mates),
                "refused": self.refused or None}  # fmt: skip


def cut_test(house: House, sheet: Sheet, cut: str, plates: Mapping[str, Fraction]) -> CutTest | None:
    """The butcher test of a cut with one input; None where its input is not bought by weight.

    plates: dish -> plates a week.
    """
    lines = [c for c in house.components if c.recipe == cut]
    if len(lines) != 1 or lines[0].item is None or house.items[lines[0].item].unit != "g":
        return None
    recipe, item = house.recipes[cut], house.items[lines[0].item]
    worth = sheet.prices.get(item.id)
    seen = measured(house, sheet.choice.day)
    here = seen.get(cut)
    if worth is None:
        return CutTest(item.name, None, None, here, None, f"no price for {item.name}")
    piece, own = piece_of(house, recipe, {}), {cut: here} if here else {}
    mates = [m for m in piece.cuts if m.id != cut]
    own |= {m.id: seen[m.id] for m in mates if m.id in seen}
    try:
        spec = _test(house, sheet, piece, worth.each, _written(house, piece))
        real = _test(house, sheet, piece_of(house, recipe, own), worth.each, _found(here, piece)) if here else None
    except Refused as error:
        return CutTest(item.name, None, None, here, None, str(error))
    weekly = _weekly(house, sheet, cut, plates) if here else None
    return CutTest(item.name, spec, real, here, weekly, "", piece.carries[cut], tuple(m.name for m in mates))


def _written(house: House, piece: Piece) -> dict[str, Fraction]:
    """By-products of a piece, as shares of what went in."""
    lines = {c.recipe: c.quantity for c in house.components}
    found: dict[str, Fraction] = {}
    for b in house.by_products:
        if any(b.recipe == m.id for m in piece.cuts):
            found[b.item] = found.get(b.item, ZERO) + b.quantity / lines[b.recipe]
    return found


def _found(here: Measured, piece: Piece) -> dict[str, Fraction]:
    return {name: share * piece.kept for name, share in here.parts.items()}


def _weekly(house: House, sheet: Sheet, cut: str, plates: Mapping[str, Fraction]) -> Fraction:
    """Money a week more if this one cut yields as measured and not as written; below zero: less."""
    written, _ = as_bought(house, sheet.choice.day)
    real, _ = as_bought(house, sheet.choice.day, MEASURED)
    costs = []
    for lines in (written, real):
        book = sheet.book.with_lines({cut: [x for x in lines if x.recipe == cut]})
        costs.append(again(book, sheet.costs, sheet.worth, sheet.book.reach([cut])))
    moved = ZERO
    for dish, count in plates.items():
        before, after = costs[0].of(dish), costs[1].of(dish)
        if before is not None and after is not None:
            moved += (after - before) * count
    return moved


def _test(house: House, sheet: Sheet, piece: Piece, each: Fraction, shares: Mapping[str, Fraction]) -> ButcherTest:
    """One kilogram: by-products at their credit, the rest that is not sold as loss. each: money for one gram."""
    cuts, usable = [m.id for m in piece.cuts], sum(piece.out.values(), ZERO) * piece.kept
    named = [
        Part(house.items[i].name, share, _credit(house, sheet, cuts, i))
        for i, share in shares.items() if house.items[i].unit == "g"
    ]  # fmt: skip
    loss = 1 - usable - sum((p.weight for p in named), ZERO)
    if loss < 0:
        raise Refused(f"portions and by-products weigh {float(1 - loss):.1%} of what went in")
    return butcher_test(Fraction(1), each * KILO, [*named, Part("loss", loss, ZERO)])


def _credit(house: House, sheet: Sheet, cuts: list[str], item: str) -> Fraction:
    keys = [credit_key(cut, item) for cut in cuts]
    found = next((sheet.prices[k] for k in (*keys, item) if k in sheet.prices), None)
    if found is None:
        raise Refused(f"no price for {house.items[item].name}")
    return found.each * KILO
