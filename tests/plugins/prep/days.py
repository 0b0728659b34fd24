"""Days drawn from a stated process, and an independent check of any plan: no bits, plain counting slot by slot."""

from __future__ import annotations

import random
from collections.abc import Mapping, Sequence
from dataclasses import replace

from stillroom.plugins.prep.board import Hold, House, Place, Task, span

STATIONS = 5


def drawn_day(
    seed: int, tasks: int = 60, people: int = 8, equipment: int = 12, slots: int = 600, heated: float = 0.0,
    baked: float = 0.0,
) -> tuple[list[Task], House]:  # fmt: skip
    """A day of so many tasks in slots of five minutes.

    Each person holds one station and, two times in three, a second. Every equipment belongs to a station and holds 1 to
    6. A task has 1 to 9 slots of hands at a station; half of them go on alone for 2 to 36; six in ten need a piece of
    their station's equipment, for all of it, 1 or 2 of its capacity; each waits for up to 2 of the 12 before it,
    every other time. heated: the share of the equipment that takes 2 to 12 slots to be hot; baked: the share of tasks
    that need theirs only for a part of their time, from some slot on. Both are drawn apart, so that the same seed is
    the same day but for that.
    """
    dice = random.Random(seed)
    skills = [{n % STATIONS} | ({dice.randrange(STATIONS)} if dice.random() < 2 / 3 else set()) for n in range(people)]
    capacity = {f"e{n}": dice.randint(1, 6) for n in range(equipment)}
    found: list[Task] = []
    for n in range(tasks):
        station = dice.randrange(STATIONS)
        active = dice.randint(1, 9)
        passive = dice.randint(2, 36) if dice.random() < 0.5 else 0
        mine = [e for k, e in enumerate(capacity) if k % STATIONS == station]
        uses = []
        if mine and dice.random() < 0.6:
            kit = dice.choice(mine)
            uses = [Hold(kit, min(capacity[kit], dice.randint(1, 2)), active + passive)]
        before = range(max(0, n - 12), n)
        after = dice.sample(list(before), min(len(before), dice.randint(1, 2))) if n and dice.random() < 0.5 else []
        hands = tuple(f"p{k}" for k, s in enumerate(skills) if station in s)
        found.append(Task(f"t{n}", active, passive, hands, tuple(uses), tuple(f"t{b}" for b in after)))
    house = House({f"p{n}": span(0, slots) for n in range(people)}, capacity, slots)
    apart = random.Random(seed + 2)
    return with_heat([_baked(t, baked, apart) for t in found], house, heated, random.Random(seed + 1)), house


def _baked(task: Task, share: float, dice: random.Random) -> Task:
    """A task whose equipment is held for a part of it only, as a loaf holds its oven."""
    if not task.uses or dice.random() >= share:
        return task
    begin = dice.randint(0, task.slots - 1)
    held = dice.randint(1, task.slots - begin)
    return replace(task, uses=tuple(replace(u, slots=held, begin=begin) for u in task.uses))


def with_heat(tasks: Sequence[Task], house: House, share: float, dice: random.Random) -> list[Task]:
    """The tasks with those that heat some of the equipment: held whole meanwhile, waited for by whoever uses it."""
    leads = {e: dice.randint(2, 12) for e in house.equipment if dice.random() < share}
    used = {u.equipment for t in tasks for u in t.uses} & leads.keys()
    heats = [Task(f"{e}~light", 0, leads[e], (), (Hold(e, house.equipment[e], leads[e]),)) for e in sorted(used)]
    waiting = []
    for task in tasks:
        hot = {f"{u.equipment}~light": u.begin for u in task.uses if u.equipment in used}
        waiting.append(replace(task, after=(*task.after, *hot), into=tuple(hot.items())))
    return [*heats, *waiting]


def cold(tasks: Sequence[Task], places: Mapping[str, Place], leads: Mapping[str, int]) -> list[str]:
    """What goes into equipment that is not hot yet, or while it heats: [] for a sound plan. Plain counting.

    leads: equipment -> slots until it is hot; what takes none is left out. A task 'X~light' makes X hot.
    """
    found = []
    for task in tasks:
        for use in task.uses:
            heat = f"{use.equipment}~light"
            if task.id == heat or use.equipment not in leads or task.id not in places:
                continue
            if heat not in places:
                found.append(f"{task.id} goes into {use.equipment}, which nobody lit")
            elif places[task.id].start + use.begin - places[heat].start < leads[use.equipment]:
                found.append(f"{task.id} goes into {use.equipment} before it is hot")
    return found


def faults(tasks: Sequence[Task], house: House, places: Mapping[str, Place]) -> list[str]:
    """What a plan breaks: precedence, release, skills, presence, one thing at a time, capacity. [] for a sound plan."""
    by_id = {t.id: t for t in tasks}
    placed = [(t, places[t.id]) for t in tasks if t.id in places]
    found = [f"{t.id} begins before it may" for t, place in placed if place.start < t.ready]
    for task, place in placed:
        for before in task.after:
            may_run = dict(task.into).get(before, 0)
            if before in places and places[before].start + by_id[before].slots > place.start + may_run:
                found.append(f"{task.id} does not wait for {before}")
    return found + _hands(placed, house) + _kit(placed, house)


def _hands(placed: Sequence[tuple[Task, Place]], house: House) -> list[str]:
    found = []
    taken: dict[tuple[str, int], str] = {}
    for task, place in placed:
        for slot in range(place.start, place.start + task.active):
            if place.person not in task.people:
                found.append(f"{place.person} can't do {task.id}")
            if not house.people[place.person] >> slot & 1:
                found.append(f"{place.person} is not here in {slot} for {task.id}")
            if (place.person, slot) in taken:
                found.append(f"{place.person} has {task.id} and {taken[place.person, slot]} in {slot}")
            taken[place.person, slot] = task.id
    return found


def _kit(placed: Sequence[tuple[Task, Place]], house: House) -> list[str]:
    found = []
    taken: dict[tuple[str, int], int] = {}
    for task, place in placed:
        for use in task.uses:
            for slot in range(place.start + use.begin, place.start + use.begin + use.slots):
                taken[use.equipment, slot] = taken.get((use.equipment, slot), 0) + use.amount
                if taken[use.equipment, slot] > house.equipment[use.equipment]:
                    found.append(f"{use.equipment} is over its capacity in {slot}")
    return found
