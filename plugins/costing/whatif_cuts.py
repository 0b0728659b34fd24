"""What if a cut gave another share of what was bought: its lines, and those of what is cut with it. Pure, exact."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from fractions import Fraction

from stillroom.db.graph import Line
from stillroom.plugins.costing.compute import Sheet
from stillroom.plugins.costing.house import (
    MEASURED,
    House,
    Measured,
    Piece,
    as_bought,
    by_products_of,
    piece_of,
    seen_cuts,
)
from stillroom.plugins.costing.prices import ZERO


class NotPossible(ValueError):
    """A change that cannot be reckoned; the words say why."""


def usable_now(house: House, sheet: Sheet, cut: str) -> Fraction:
    """What is sold of a cut as a share of what was bought [0 to 1], as the sheet reckons it."""
    piece = piece_of(house, house.recipes[cut], _seen(house, sheet))
    return piece.out[cut] * piece.kept


def of_item(house: House, sheet: Sheet, item: str, usable: Fraction) -> dict[str, Fraction]:
    """Cut -> its share of what was bought, if all cuts of a piece of the item together were `usable` of it."""
    found: dict[str, Fraction] = {}
    for c in house.components:
        if c.item == item and house.recipes[c.recipe].kind == "cut" and c.recipe not in found:
            now = {m.id: usable_now(house, sheet, m.id) for m in house.joint_of(c.recipe)}
            whole = sum(now.values(), ZERO)
            found |= {cut: share / whole * usable for cut, share in now.items()}
    return found


def cut_lines(house: House, sheet: Sheet, usable: Mapping[str, Fraction]) -> dict[str, list[Line]]:
    """Lines as bought of some cuts, and of what is cut with them, as if their files said another trim.

    Args:
        usable: cut -> what is sold of it as a share of what was bought, above 0.

    Raises:
        NotPossible: more would come out of a piece than went in.
    """
    seen = _seen(house, sheet)
    touched = {m.id for cut in usable for m in house.joint_of(cut)}
    trims = {cut: 1 - _share(house, piece_of(house, house.recipes[cut], seen), cut, usable) for cut in sorted(touched)}
    for cut in sorted(touched):
        _weigh(house, seen, cut, trims)
    lines, _ = as_bought(_rewritten(house, seen, trims), sheet.choice.day)
    return {cut: [x for x in lines if x.recipe == cut] for cut in touched}


def _seen(house: House, sheet: Sheet) -> dict[str, Measured]:
    return seen_cuts(house, sheet.choice.day) if sheet.choice.yields == MEASURED else {}


def _share(house: House, piece: Piece, cut: str, usable: Mapping[str, Fraction]) -> Fraction:
    """What is sold of a cut as a share of the weight after shrink."""
    if cut not in usable:
        return piece.out[cut]
    if not 0 < usable[cut] <= piece.kept:
        most = f"after shrink {float(piece.kept * 100):g} % is left, so a yield is above 0 % and at most that"
        raise NotPossible(most if piece.kept < 1 else "a yield is above 0 % and at most 100 %")
    return usable[cut] / piece.kept


def _weigh(house: House, seen: Mapping[str, Measured], cut: str, trims: Mapping[str, Fraction]) -> None:
    """Refuses a piece that would give more than it weighs."""
    kept = 1 - house.recipes[cut].shrink
    bought = {c.recipe: c.quantity for c in house.components}
    here = seen.get(cut)
    whole = sum(((1 - trims[m.id]) * kept for m in house.joint_of(cut)), ZERO)
    for b in by_products_of(house, cut, here is not None):
        if house.items[b.item].unit == "g":
            whole += here.parts.get(b.item, ZERO) * kept if here else b.quantity / bought[b.recipe]
    if whole > 1:
        raise NotPossible(f"portions and by-products would weigh {float(whole * 100):.1f} % of what was bought")


def _rewritten(house: House, seen: Mapping[str, Measured], trims: Mapping[str, Fraction]) -> House:
    """Only these cuts, as their files would say it: other trims, the same portions, the same shares of by-products."""
    before = {c.recipe: c.quantity for c in house.components if c.recipe in trims}
    after = {r: q * (1 - house.recipes[r].trim) / (1 - trims[r]) for r, q in before.items()}
    found = []
    for b in (b for cut in trims for b in by_products_of(house, cut, cut in seen) if b.recipe == cut):
        here = seen.get(b.recipe)
        share = here.parts.get(b.item, ZERO) * (1 - house.recipes[b.recipe].shrink) if here else None
        share = b.quantity / before[b.recipe] if share is None else share
        found.append(replace(b, quantity=share * after[b.recipe]))
    return replace(
        house,
        recipes={cut: replace(house.recipes[cut], trim=trim) for cut, trim in trims.items()},
        components=[replace(c, quantity=after[c.recipe]) for c in house.components if c.recipe in trims],
        by_products=found,
        breakdowns=[],
    )
