"""A day laid out: first what its services need, then what can wait, nothing lit or on sooner than it must be. Pure.

What is late is told with what breaks it and what would mend it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from stillroom.plugins.prep.board import Board, Place, Schedule
from stillroom.plugins.prep.cures import Cure, Trial, chain_late, cures_of, trial
from stillroom.plugins.prep.day import DAY_SLOTS, Day, Work
from stillroom.plugins.prep.schedule import fill, plan, replan, start_by


@dataclass(frozen=True)
class Laid:
    """The plan of a day: where each task stands, the last slot it may start in, and what can't be placed and why."""

    places: Mapping[str, Place]
    by: Mapping[str, int]
    unplaced: Mapping[str, str]


@dataclass(frozen=True)
class Late:
    """A task that will not be ready in time.

    Attributes:
        slots: how late; None: it can't be done today at all.
        why: 'long' takes longer than there is time; 'wait' for `what`; 'kit' is full: `what`; 'hands' nobody is free;
            'nobody' holds the station; 'large' a batch is more than `what` holds.
        holds_up: dishes that wait for it.
    """

    key: str
    slots: int | None
    why: str
    what: str = ""
    holds_up: tuple[str, ...] = ()
    cures: tuple[Cure, ...] = ()


def lay_out(day: Day, before: Mapping[str, Place] | None = None) -> Laid:
    """The day's plan: `before`, changed as little as possible, where there is one."""
    must = [w.task for w in day.works.values() if not w.can_wait]
    said = replan(must, day.house, before, day.pinned) if before else plan(must, day.house, day.pinned)
    waiting = [w.task for w in day.works.values() if w.can_wait]
    by_id = {t.id: t for t in day.tasks}
    full = fill(by_id, day.house, said, [t.id for t in waiting], before or {})
    places = _late_fires(day, dict(full.places), before or {})
    return Laid(places, start_by(by_id, day.house, Schedule(places, full.unplaced), day.pinned), full.unplaced)


def _late_fires(day: Day, places: dict[str, Place], before: Mapping[str, Place]) -> dict[str, Place]:
    """Each fire, oven and bath as late as the first task that needs it, or the doors, allow: it burns nothing before.

    One that had its place already keeps it.
    """
    board = Board(day.house)
    for key, place in places.items():
        board.put(day.works[key].task, place)
    for key, work in day.works.items():
        if work.kind != "light" or key not in places or key in before:
            continue
        waiting = [w for w in day.works.values() if key in w.task.after and w.key in places]
        users = [places[w.key].start + w.task.gap(key) for w in waiting]
        last = min([work.task.due, *users]) - work.task.slots
        if last > day.house.slots:  # nothing can go into it
            continue
        board.put(work.task, places[key], False)
        found = None
        for start in range(last, places[key].start, -1):
            found = board.earliest(work.task, start)
            if found is not None and found.start == start:
                break
            found = None
        places[key] = found or places[key]
        board.put(work.task, places[key])
    return places


def late_tasks(day: Day, laid: Laid, dishes: Mapping[str, Sequence[str]]) -> list[Late]:
    """What of the day's needs will not be ready in time, the worst first, each with what breaks it and cures.

    Args:
        day: the tasks.
        laid: their plan.
        dishes: thing -> dishes of today that it ends up in.
    """
    found: list[Late] = []
    plain: Trial | None = None
    for key, work in day.works.items():
        if work.can_wait or work.kind in {"under way", "heating"}:
            continue
        place = laid.places.get(key)
        late = None if place is None else place.start + work.task.slots - work.task.due
        is_behind = work.run is not None and work.run.is_late and work.kind == "make"
        if late is not None and late <= 0 and not (is_behind and chain_late(day, laid.places, laid.unplaced, key) > 0):
            continue  # what should have begun earlier is late where something that waits for it is
        why, what = _why(day, laid, work)
        off = tuple(dishes.get(work.thing, ()) if _is_for_today(day, work) else ())
        plain = plain or trial(day)
        cures = cures_of(day, work, off, chain_late(day, laid.places, laid.unplaced, key), plain)
        found.append(Late(key, late if late is None else max(0, late), why, what, off, cures))
    return sorted(found, key=lambda one: (one.slots is not None, -(one.slots or 0), one.key))


def _is_for_today(day: Day, work: Work) -> bool:
    """Whether a service of today waits for it, over others' work of today where need be."""
    if work.task.due < DAY_SLOTS:
        return True
    users = [w for w in day.works.values() if work.key in w.task.after]
    return any(_is_for_today(day, user) for user in users)


def _why(day: Day, laid: Laid, work: Work) -> tuple[str, str]:
    """The first thing that breaks a task: size, people, sheer length, what it waits for, equipment, hands."""
    task = work.task
    missing = laid.unplaced.get(task.id, "")
    if work.too_large:
        return "large", work.too_large
    if missing == "people":
        return "nobody", work.station or ""
    if missing.startswith("task:"):
        return "wait", missing.removeprefix("task:")
    if task.slots > task.due - max(task.ready, day.now) or (work.run is not None and work.run.is_late):
        return "long", ""
    freed = {b: laid.places[b].start + day.works[b].task.slots - task.gap(b) for b in task.after if b in laid.places}
    waits = [b for b, start in freed.items() if start + task.slots > task.due]
    if waits:
        return "wait", waits[0]
    others = Board(day.house)
    for key, place in laid.places.items():
        if key != task.id:
            others.put(day.works[key].task, place)
    for use in task.uses:
        alone = others.earliest(replace(task, uses=tuple(u for u in task.uses if u != use)), max(task.ready, day.now))
        if alone is not None and alone.start + task.slots <= task.due:
            return "kit", use.equipment
    return "hands", work.station or ""
