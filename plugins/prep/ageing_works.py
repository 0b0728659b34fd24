"""Pieces to hang, and lots to cut up, as tasks of the day. Pure."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import timedelta
from fractions import Fraction

from stillroom.db.coming import DAYS, Coming
from stillroom.plugins.prep.ageing import Aged, Hang, to_cut, to_hang
from stillroom.plugins.prep.board import Task
from stillroom.plugins.prep.day import Day, Facts, Work, hands, slots
from stillroom.plugins.prep.tasks import due_slot, hands_s

HANG_S = 600  # s of hands to weigh a piece, tag it and hang it. Common practice, no source


def put_ageing(day: Day, coming: Coming, facts: Facts, cuts: Iterable[Aged]) -> None:
    """Puts what is hung today among the day's tasks, what is hung in the days ahead beside them, and lots to cut up
    where the day does not cut any of that cut yet."""
    cutting = {w.thing for w in day.works.values() if w.kind == "make"}
    for aged in cuts:
        for number, hang in enumerate(to_hang(aged, coming.today, coming.works)):
            work = _hang(aged, hang, number, coming, facts, day)
            if hang.run.begin_on <= coming.today:
                day.works[work.key] = work
            else:
                day.soon.append(work)
        for work in [] if aged.cut in cutting else _cuts(aged, coming, facts, day):
            day.works[work.key] = work


def _hang(aged: Aged, hang: Hang, number: int, coming: Coming, facts: Facts, day: Day) -> Work:
    station = coming.recipes[aged.cut].station
    active = slots(HANG_S) * int(hang.run.batches)
    task = Task(f"{aged.cut}~hang{number}", active, 0, hands(station, facts), (), (), day.now,
                due_slot(hang.run, coming, day, active, 0))  # fmt: skip
    return Work(task, "hang", aged.cut, station, hang.run, can_wait=True, hang=hang)


def _cuts(aged: Aged, coming: Coming, facts: Facts, day: Day) -> Iterable[Work]:
    """Lots that are ready, as far as they are wanted while what is cut today keeps; they wait for what is pressing."""
    recipe = coming.recipes[aged.cut]
    last = coming.today + timedelta(days=min(DAYS, recipe.life_days or DAYS) - 1)
    needs = [n for n in coming.bare.needs.get(aged.cut, ()) if n.on <= last]
    for lot, run in to_cut(aged, coming.today, needs):
        active, passive = max(1, slots(float(hands_s(recipe, Fraction(1))))), slots(recipe.passive_s)
        task = Task(f"{aged.cut}~lot {lot.code}", active, passive, hands(recipe.station, facts), (), (), day.now,
                    due_slot(run, coming, day, active, passive))  # fmt: skip
        yield Work(task, "make", aged.cut, recipe.station, run, lot.gives, can_wait=True, lot=lot.code)
