"""From the kitchen's file to the cuts that age: what hangs for each, what is cut already, what will be wanted."""

from __future__ import annotations

import sqlite3
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from fractions import Fraction
from statistics import median

from stillroom.db.coming import Coming, Recipe, far_plates
from stillroom.db.lots import USUAL, CutFacts, Lot, read_cuts, read_lots, read_promises, usual_days
from stillroom.plugins.physics.drying import WeighIn, forecast
from stillroom.plugins.physics.errors import HeatError
from stillroom.plugins.prep.ageing import WEEK, Aged, Hanging, needs_of, per_plate
from stillroom.plugins.prep.rows import ask

ZERO = Fraction(0)


def read_aged(connection: sqlite3.Connection, coming: Coming) -> tuple[dict[str, Aged], list[str]]:
    """Cut -> what is known of it, for every cut that lots hung for; and cuts that age, nobody knows how long."""
    today = coming.today
    cuts = {cut: facts for cut, facts in read_cuts(connection, today.isoformat()).items() if cut in coming.recipes}
    lots: dict[str, list[Lot]] = {}
    for lot in read_lots(connection, today, cuts):
        if lot.cut is not None:
            lots.setdefault(lot.cut.id, []).append(lot)
    usual = {cut: usual_days([x.target_days for x in reversed(mine) if x.target_days]) for cut, mine in lots.items()}
    yields = {cut: Yields(coming.recipes[cut], cuts[cut], days, today) for cut, days in usual.items() if days}
    known = {cut: one for cut, one in yields.items() if one.of_piece(lots[cut]) > 0}
    unknown = [cut for cut, facts in cuts.items() if (facts.shrink or cut in lots) and cut not in known]
    if not known:
        return {}, unknown
    furthest = max(one.days for one in known.values()) + WEEK
    plates = [(p.dish, p.on, p.ready) for p in far_plates(connection, coming, furthest)]
    takes = per_plate(coming.things, known)
    cut_up, promised = _cut_up(connection), _promised(connection, today)
    found = {}
    for cut, item, name in ask(connection, "pieces_of_cuts"):
        if cut in known:
            hanging = tuple(known[cut].hanging(x, promised.get(x.code, ZERO)) for x in lots[cut]
                            if x.broken_on is None and x.code not in cut_up)  # fmt: skip
            found[cut] = Aged(cut, item, name, known[cut].days, known[cut].of_piece(lots[cut]), hanging,
                              tuple(coming.held.get(cut, ())), needs_of(plates, takes, cut))  # fmt: skip
    return found, unknown


def _cut_up(connection: sqlite3.Connection) -> set[str]:
    """Codes of lots that a batch of a cut names: what they gave is that batch."""
    return {code for (codes,) in ask(connection, "lots_cut_up") for code in codes.split(";")}


def _promised(connection: sqlite3.Connection, today: date) -> Mapping[str, Fraction]:
    """Lot -> what is promised of it to services still to come [g]."""
    found: dict[str, Fraction] = {}
    for promise in read_promises(connection, today):
        found[promise.lot] = found.get(promise.lot, ZERO) + promise.portions * promise.each_g
    return found


@dataclass(frozen=True)
class Yields:
    """What pieces give of one cut [its base unit]: whole portions where it is counted, else its weight.

    days: how long one usually hangs [d].
    """

    recipe: Recipe
    facts: CutFacts
    days: int
    today: date

    def of_piece(self, lots: Sequence[Lot]) -> Fraction:
        """What one more piece will give: as heavy as the middle one of the newest ten, less what ageing takes."""
        start = median(lot.start_g for lot in lots[-USUAL:])
        return self._of(start * (1 - self.facts.shrink), ZERO)

    def hanging(self, lot: Lot, promised_g: Fraction) -> Hanging:
        """A lot with the day it is ready, one without a day after the usual number of them."""
        ready = lot.target or lot.started + timedelta(days=self.days)
        weight = weight_then(lot, max(ready, self.today), self.facts.shrink)
        return Hanging(lot.code, ready, self._of(weight, promised_g))

    def _of(self, weight_g: Fraction, promised_g: Fraction) -> Fraction:
        trim = self.facts.measured[0] if self.facts.measured else self.facts.trim
        usable = max(ZERO, weight_g * (1 - trim) * self.facts.share - promised_g)
        if self.recipe.unit == "g":
            return usable
        return Fraction(usable // self.facts.portion_g) if self.facts.portion_g else ZERO


def weight_then(lot: Lot, on: date, shrink: Fraction) -> Fraction:
    """Weight of a lot on a day [g]: as weighed, as its weighings forecast it, else as such pieces end.

    Args:
        lot: the lot.
        on: the day.
        shrink: what such pieces lose while they age [0 to 1].
    """
    if on <= lot.last.on:
        return lot.last.weight_g
    try:
        weighed = tuple(WeighIn(day, weight) for day, weight in lot.weighed)
        return Fraction(round(forecast(lot.start_g, weighed, float(lot.days(on))).weight_g))
    except HeatError:  # too few weighings, or too far ahead
        return min(lot.last.weight_g, lot.start_g * (1 - shrink))
