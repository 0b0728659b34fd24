"""A day's work laid out in time: who does what when, on which equipment, ready for service. Pure, integers only.

The method is the standard one for projects whose tasks share scarce resources: serial schedule generation (each task in
turn, at the earliest moment at which its hands and its equipment are free), orders from priority rules, and forward-
backward improvement (everything pushed as late as its deadline allows, then as early as it goes, which closes gaps). On
top, for a fixed number of rounds, the best order is shaken and tried again; the dice are seeded, so the same day gives
the same plan. R. Kolisch and S. Hartmann, "Experimental investigation of heuristics for resource-constrained project
scheduling: an update", European Journal of Operational Research 174 (2006), find such methods within a few per cent of
proven optima (from memory); tests/bench/bench_schedule.py measures ours.
"""

from __future__ import annotations

import heapq
import random
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

from stillroom.plugins.prep.board import Board, House, Place, Schedule, Task

PLACEMENTS = 4000  # tasks placed in all while searching: a fixed effort, whatever the machine
SHAKE = 0.35


def followers(tasks: Iterable[Task]) -> dict[str, list[str]]:
    """Task -> those that wait for it."""
    found: dict[str, list[str]] = {}
    for task in tasks:
        for before in task.after:
            found.setdefault(before, []).append(task.id)
    return found


def in_turn(tasks: Mapping[str, Task], rank: Mapping[str, float]) -> list[str]:
    """All tasks, each after those it waits for, the lowest rank first."""
    waits = {t: sum(b in tasks for b in task.after) for t, task in tasks.items()}
    next_of = followers(tasks.values())
    heap = [(rank[t], t) for t, number in waits.items() if number == 0]
    heapq.heapify(heap)
    found = []
    while heap:
        _, task = heapq.heappop(heap)
        found.append(task)
        for after in next_of.get(task, ()):
            if after in waits:
                waits[after] -= 1
                if waits[after] == 0:
                    heapq.heappush(heap, (rank[after], after))
    if len(found) < len(tasks):
        raise ValueError(f"tasks wait for each other in a ring: {sorted(set(tasks) - set(found))}")
    return found


def forward(tasks: Mapping[str, Task], house: House, order: Sequence[str], pinned: Mapping[str, Place]) -> Schedule:
    """Each task in turn as early as it goes; pinned ones stand where they are."""
    board = Board(house)
    places = dict(pinned)
    for task, place in pinned.items():
        board.put(tasks[task], place)
    unplaced: dict[str, str] = {}
    for name in order:
        if name in places:
            continue
        _place(board, tasks, name, places, unplaced)
    return Schedule(places, unplaced)


def backward(
    tasks: Mapping[str, Task], house: House, said: Schedule, pinned: Mapping[str, Place], ends: Mapping[str, int]
) -> Schedule:
    """Each task of a schedule as late as it goes, the last to end first; none ends after its slot in `ends`."""
    board, next_of, slots = Board(house, True), followers(tasks.values()), house.slots
    places: dict[str, Place] = {}
    for name, stands in pinned.items():
        board.put(tasks[name], Place(slots - stands.start - tasks[name].slots, stands.person))
        places[name] = stands
    rest = {t: tasks[t] for t in said.places if t not in pinned}
    waits = {t: tuple(f for f in next_of.get(t, ()) if f in rest) for t in rest}
    mirrored = {t: replace(task, after=waits[t]) for t, task in rest.items()}
    last = {t: float(-(said.places[t].start + tasks[t].slots)) for t in rest}
    for name in in_turn(mirrored, last):
        task = tasks[name]
        before = [places[f].start + tasks[f].gap(name) for f in next_of.get(name, ()) if f in places]
        place = board.earliest(task, slots - min([ends[name], slots, *before]))
        if place is None or slots - place.start - task.slots < said.places[name].start:
            start = said.places[name]
            place = Place(slots - start.start - task.slots, start.person)
        board.put(task, place)
        places[name] = Place(slots - place.start - task.slots, place.person)
    return Schedule(places, said.unplaced)


Worth = tuple[int, int, int]


def worth(tasks: Mapping[str, Task], said: Schedule) -> Worth:
    """How good a plan is, less is better: what is not placed, slots late in all, the end of the last task."""
    ends = {t: p.start + tasks[t].slots for t, p in said.places.items()}
    late = sum(max(0, end - tasks[t].due) for t, end in ends.items())
    return len(said.unplaced), late, max(ends.values(), default=0)


def latest_starts(tasks: Mapping[str, Task]) -> dict[str, int]:
    """The last slot in which each task may start for everything behind it to end in time, resources aside."""
    next_of = followers(tasks.values())
    found: dict[str, int] = {}
    for name in reversed(in_turn(tasks, dict.fromkeys(tasks, 0.0))):
        end = min([tasks[name].due, *(found[f] + tasks[f].gap(name) for f in next_of.get(name, ()) if f in found)])
        found[name] = end - tasks[name].slots
    return found


def _rules(tasks: Mapping[str, Task]) -> list[dict[str, float]]:
    """Orders to begin with: latest start, latest end, most work waiting behind it, scarcest hands."""
    last, next_of = latest_starts(tasks), followers(tasks.values())
    behind: dict[str, float] = {}
    for name in reversed(in_turn(tasks, dict.fromkeys(tasks, 0.0))):
        behind[name] = tasks[name].slots + sum(behind[f] for f in next_of.get(name, ()) if f in behind)
    return [
        {t: float(s) for t, s in last.items()},
        {t: float(s + tasks[t].slots) for t, s in last.items()},
        {t: -b for t, b in behind.items()},
        {t: last[t] - 3.0 * task.slots + len(task.people) for t, task in tasks.items()},
    ]


def improved(
    tasks: Mapping[str, Task], house: House, said: Schedule, pinned: Mapping[str, Place]
) -> tuple[Worth, Schedule]:
    """Pushed late, then early, as long as that makes it better."""
    best = worth(tasks, said), said
    while True:
        end = best[0][2]
        ends = {t: max(p.start + tasks[t].slots, min(tasks[t].due, end)) for t, p in said.places.items()}
        late = backward(tasks, house, said, pinned, ends)
        rank = {t: float(p.start) for t, p in late.places.items()} | dict.fromkeys(said.unplaced, 1e9)
        said = forward(tasks, house, in_turn(tasks, rank), pinned)
        found = worth(tasks, said), said
        if found[0] >= best[0]:
            return best
        best = found


def plan(tasks: Sequence[Task], house: House, pinned: Mapping[str, Place] | None = None) -> Schedule:
    """The best plan found with a fixed effort; the same input gives the same plan.

    Args:
        tasks: everything to do; a task may only wait for tasks that are in here.
        house: people and equipment.
        pinned: what is under way already, where it stands.
    """
    pinned = pinned or {}
    by_id = {t.id: t for t in tasks}
    best: tuple[Worth, Schedule] | None = None
    for rank in _rules(by_id):
        found = improved(by_id, house, forward(by_id, house, in_turn(by_id, rank), pinned), pinned)
        best = found if best is None or found[0] < best[0] else best
    if best is None or len(by_id) <= len(pinned):
        return Schedule({}, {}) if best is None else best[1]
    return _shaken(by_id, house, pinned, best)[1]


def _shaken(
    tasks: Mapping[str, Task], house: House, pinned: Mapping[str, Place], best: tuple[Worth, Schedule]
) -> tuple[Worth, Schedule]:
    """The best order tried again with its ranks shaken, until the effort is spent or no better can be."""
    dice, spent = random.Random(len(tasks)), 12 * len(tasks)
    bound = lower_bound(tasks, house, pinned)
    while spent < PLACEMENTS and best[0] > (len(best[1].unplaced), 0, bound):
        spread = SHAKE * dice.random() * max(1, best[0][2])
        rank = {t: p.start + dice.uniform(-spread, spread) for t, p in best[1].places.items()}
        rank |= dict.fromkeys(best[1].unplaced, 1e9)
        found = improved(tasks, house, forward(tasks, house, in_turn(tasks, rank), pinned), pinned)
        spent += 4 * len(tasks)
        if found[0] <= best[0]:
            best = found
    return best


def lower_bound(tasks: Mapping[str, Task], house: House, pinned: Mapping[str, Place]) -> int:
    """A slot before which the last task can't end: the longest chain, or the fullest equipment [slot]."""
    ends: dict[str, int] = {}
    for name in in_turn(tasks, dict.fromkeys(tasks, 0.0)):
        task = tasks[name]
        waits = [ends[b] - task.gap(b) for b in task.after if b in ends]
        start = pinned[name].start if name in pinned else max([task.ready, *waits])
        ends[name] = start + task.slots
    work: dict[str, int] = {}
    for task in tasks.values():
        for use in task.uses:
            work[use.equipment] = work.get(use.equipment, 0) + use.amount * use.slots
    first = min((t.ready for t in tasks.values()), default=0)
    full = [first - (-w // max(1, house.equipment.get(e, 1))) for e, w in work.items()] if not pinned else []
    return max([*ends.values(), *full], default=0)


def start_by(tasks: Mapping[str, Task], house: House, said: Schedule, pinned: Mapping[str, Place]) -> dict[str, int]:
    """The last slot in which each task may start with the rest as planned: the plan pushed against its deadlines."""
    ends = {t: max(p.start + tasks[t].slots, tasks[t].due) for t, p in said.places.items()}
    return {t: p.start for t, p in backward(tasks, house, said, pinned, ends).places.items()}


def replan(
    tasks: Sequence[Task], house: House, before: Mapping[str, Place], pinned: Mapping[str, Place] | None = None
) -> Schedule:
    """The plan again after something changed, moving as little as possible.

    What can stay where it was stays; what is new, or can't stay, goes into the first gap behind what it waits for, and
    pushes only what waits for it. Only where that makes something later than a plan from nothing would, that one is
    taken.
    """
    pinned = pinned or {}
    by_id = {t.id: t for t in tasks}
    kept = _kept(by_id, house, before, pinned)
    if len(kept) == len(by_id):
        return Schedule(kept, {})
    said = _inserted(by_id, house, kept, pinned, before)
    if worth(by_id, said)[:2] == (0, 0):
        return said
    fresh = plan(tasks, house, pinned)
    return fresh if worth(by_id, fresh)[:2] < worth(by_id, said)[:2] else said


def _kept(
    tasks: Mapping[str, Task], house: House, before: Mapping[str, Place], pinned: Mapping[str, Place]
) -> dict[str, Place]:
    """Tasks that can stand exactly where they stood."""
    board, kept = Board(house), dict(pinned)
    for name, stands in pinned.items():
        board.put(tasks[name], stands)
    rank = {t: float(before[t].start) if t in before else 1e9 for t in tasks}
    for name in in_turn(tasks, rank):
        task, place = tasks[name], before.get(name)
        if name in kept or place is None or place.start < task.ready:
            continue
        if task.active and place.person not in task.people:
            continue
        waits = [b for b in task.after if b in tasks]
        is_behind = all(b in kept and _freed(tasks, kept, task, b) <= place.start for b in waits)
        if is_behind and not board.missing(task) and board.is_free(task, place):
            board.put(task, place)
            kept[name] = place
    return kept


def fill(
    tasks: Mapping[str, Task], house: House, said: Schedule, more: Sequence[str], before: Mapping[str, Place]
) -> Schedule:
    """A schedule with more tasks put into its gaps: where they stood before, if they still can, else the first gap."""
    board, places, unplaced = Board(house), dict(said.places), dict(said.unplaced)
    for name, place in places.items():
        board.put(tasks[name], place)
    wanted = {name: tasks[name] for name in more}
    last = latest_starts(tasks)
    rank = {t: float(before[t].start if t in before else 10**4 + last[t]) for t in wanted}
    for name in in_turn(wanted, rank):
        _place(board, tasks, name, places, unplaced, before.get(name))
    return Schedule(places, unplaced)


def _freed(tasks: Mapping[str, Task], places: Mapping[str, Place], task: Task, before: str) -> int:
    """The first slot in which a task may start for the sake of one that it waits for."""
    return places[before].start + tasks[before].slots - task.gap(before)


def _ready(tasks: Mapping[str, Task], places: Mapping[str, Place], task: Task) -> int:
    """The first slot in which a task may start for the sake of all that has a place already."""
    return max([task.ready, *(_freed(tasks, places, task, b) for b in task.after if b in places)])


def _place(
    board: Board, tasks: Mapping[str, Task], name: str, places: dict[str, Place], unplaced: dict[str, str],
    stood: Place | None = None,
) -> None:  # fmt: skip
    """One task into a board: where it stood, if it still can, else as early as it goes."""
    task = tasks[name]
    ready = _ready(tasks, places, task)
    why = board.missing(task) or next((f"task:{b}" for b in task.after if b in unplaced), "")
    may_stay = stood is not None and stood.start >= ready and (not task.active or stood.person in task.people)
    if not why and may_stay and stood is not None and board.is_free(task, stood):
        place: Place | None = stood
    else:
        place = None if why else board.earliest(task, ready)
    if place is None:
        unplaced[name] = why or "time"
    else:
        places[name] = place
        board.put(task, place)


def _inserted(
    tasks: Mapping[str, Task], house: House, kept: Mapping[str, Place], pinned: Mapping[str, Place],
    before: Mapping[str, Place],
) -> Schedule:  # fmt: skip
    """The kept tasks where they are, the others in the first gaps, in the order of their latest starts."""
    board, places = Board(house), dict(kept)
    unplaced: dict[str, str] = {}
    for name, place in kept.items():
        board.put(tasks[name], place)
    last = latest_starts(tasks)
    rank = {t: float(before[t].start if t in before else last[t]) for t in tasks}
    for name in in_turn(tasks, rank):
        task = tasks[name]
        ready = _ready(tasks, places, task)
        if name in pinned or (name in places and places[name].start >= ready):
            continue
        if name in places:
            board.put(task, places.pop(name), False)
        _place(board, tasks, name, places, unplaced)
    return Schedule(places, unplaced)
