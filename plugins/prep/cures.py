"""What would mend a late task: tried in a plan made anew, and offered only where it helps. Pure.

A cure helps where what is late, the task and all that waits for it, is then in time or late by no more than half as
much, and the day as a whole is no later. Where none does that is said, with what is left to do.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from math import ceil

from stillroom.plugins.prep.board import Place, Schedule, Task
from stillroom.plugins.prep.day import DAY_SLOTS, Day, Work
from stillroom.plugins.prep.schedule import followers, forward, in_turn, latest_starts, worth

SMALLER = 2  # a smaller batch is one of half, in whole batches and whole pieces


@dataclass(frozen=True)
class Cure:
    """What would mend a late task.

    kind: 'hands' who; 'smaller' share of the run; 'off' dishes of today; 'none': neither hands nor size helps. late:
    slots by which what is late is late all the same.
    """

    kind: str
    who: str = ""
    things: tuple[str, ...] = ()
    late: int = 0
    share: Fraction = Fraction(1)


def chain_late(day: Day, places: Mapping[str, Place], unplaced: Mapping[str, str], key: str) -> int:
    """Slots by which a task, or the latest of what waits for it, is late in a plan; 0 for in time.

    What only a par asks for is never late.
    """
    next_of, found, seen = followers(day.tasks), 0, [key]
    for name in seen:
        work = day.works[name]
        seen += [f for f in next_of.get(name, ()) if f not in seen]
        if work.can_wait and name != key:
            continue
        if name in places:
            found = max(found, places[name].start + work.task.slots - work.task.due)
        elif name in unplaced:
            found = max(found, DAY_SLOTS)
    return found


Trial = tuple[Schedule, int]  # a plan of what the day needs, made in one pass, and slots late in all


def trial(day: Day, changed: Task | None = None) -> Trial:
    """The day planned in one pass, one task changed."""
    tasks = {t.id: t for t in day.tasks if not day.works[t.id].can_wait}
    if changed is not None:
        tasks[changed.id] = changed
    rank = {t: float(s) for t, s in latest_starts(tasks).items()}
    said = forward(tasks, day.house, in_turn(tasks, rank), day.pinned)
    found = worth(tasks, said)
    return said, found[0] * DAY_SLOTS + found[1]


def cures_of(day: Day, work: Work, dishes: Sequence[str], base: int, plain: Trial) -> tuple[Cure, ...]:
    """What helps, cheapest first: other hands from a station that has time, a smaller batch, dishes off the menu.

    Args:
        day: the tasks.
        work: the late one.
        dishes: those of today that wait for it.
        base: slots by which it, or what waits for it, is late.
        plain: the trial of the day as it is.
    """
    said, now = plain
    base = max(base, chain_late(day, said.places, said.unplaced, work.key))
    found: list[Cure] = []
    alone = max(work.task.ready, day.now) + work.task.slots - work.task.due  # late by so much whoever begins it now
    can_help = work.task.active and alone * 2 <= base
    for person in sorted(p for p in day.house.people if p not in work.task.people) if can_help else ():
        late, total = _replanned(day, replace(work.task, people=(person, *work.task.people)))
        if late * 2 <= base and total <= now:
            found.append(Cure("hands", who=person, late=late))
            if late == 0:
                break
    found = sorted(found, key=lambda cure: (cure.late, cure.who))[:1]
    share = smaller_share(work)
    if share < 1:
        late, total = _replanned(day, _smaller(work.task, share))
        if late * 2 <= base and total <= now:
            found.append(Cure("smaller", late=late, share=share))
    found = found or [Cure("none")]
    return (*found, Cure("off", things=tuple(dishes))) if dishes else tuple(found)


def smaller_share(work: Work) -> Fraction:
    """How much of a run a smaller one is: half of its batches, whole ones; 1 where it can't be smaller."""
    if work.run is None or work.run.is_thaw or work.run.batches <= 1:
        return Fraction(1)
    return min(Fraction(1), Fraction(ceil(work.run.batches / SMALLER)) / work.run.batches)


def _smaller(task: Task, share: Fraction) -> Task:
    """A smaller batch: less of hands' time, and what it needs after them sooner by as much."""
    active = max(1, ceil(task.active * share))
    sooner = task.active - active
    uses = tuple(replace(u, begin=u.begin - sooner) if u.begin >= task.active else u for u in task.uses)
    into = tuple((before, slots - sooner if slots >= task.active else slots) for before, slots in task.into)
    return replace(task, active=active, uses=uses, into=into)


def _replanned(day: Day, changed: Task) -> tuple[int, int]:
    """(slots by which a task or what waits for it is late, slots late in all), planned in one pass with it changed."""
    said, total = trial(day, changed)
    works = {**day.works, changed.id: replace(day.works[changed.id], task=changed)}
    return chain_late(replace(day, works=works), said.places, said.unplaced, changed.id), total
