"""Tasks, people, equipment, and what of them is busy when. Pure, integers only.

Time is cut into slots. What is busy is one big integer a resource, a bit a slot; "free for n slots" is a few shifts.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass


@dataclass(frozen=True)
class Hold:
    """Equipment that a task keeps busy: how much of it, for so many slots, `begin` slots after its start."""

    equipment: str
    amount: int
    slots: int
    begin: int = 0


@dataclass(frozen=True)
class Task:
    """Something to do: hands first, then it goes on alone.

    Attributes:
        active: slots of somebody's hands, from its start; passive: slots after them.
        people: who can do it; nobody is needed where active is 0.
        uses: equipment.
        after: tasks that must have ended.
        ready: first slot it may start in; due: slot by which it should have ended.
        into: (task of `after`, slots that this one may have run when that one ends); 0 for the others.
    """

    id: str
    active: int
    passive: int = 0
    people: tuple[str, ...] = ()
    uses: tuple[Hold, ...] = ()
    after: tuple[str, ...] = ()
    ready: int = 0
    due: int = 10**6
    into: tuple[tuple[str, int], ...] = ()

    @property
    def slots(self) -> int:
        return self.active + self.passive

    def gap(self, before: str) -> int:
        """Slots that it may have run when one that it waits for ends: an oven is hot when the loaf goes in."""
        return next((slots for task, slots in self.into if task == before), 0)


@dataclass(frozen=True)
class Place:
    """Where a task stands: its first slot, and whose hands ('' where none are needed)."""

    start: int
    person: str = ""


@dataclass(frozen=True)
class House:
    """What the day has to work with.

    Attributes:
        people: person -> bits of the slots in which they are here.
        equipment: its capacity.
        slots: end of time; nobody is here after it.
    """

    people: Mapping[str, int]
    equipment: Mapping[str, int]
    slots: int


@dataclass(frozen=True)
class Schedule:
    """A plan. unplaced: tasks that can't be done at all with these people and this equipment, with what is missing."""

    places: Mapping[str, Place]
    unplaced: Mapping[str, str]


def span(first: int, last: int) -> int:
    """Bits of the slots from first up to, not including, last."""
    return ((1 << max(0, last - first)) - 1) << first if last > first else 0


def _any_of(mask: int, slots: int) -> int:
    """Bits of every start from which one of the next `slots` slots is set."""
    done = 1
    while done < slots:
        step = min(done, slots - done)
        mask |= mask >> step
        done += step
    return mask


class Board:
    """What is busy. Forward, time runs as it does; backward it is mirrored at the end of time."""

    def __init__(self, house: House, is_backward: bool = False) -> None:
        self.house, self.is_backward = house, is_backward
        full = span(0, house.slots)
        here = {p: m & full for p, m in house.people.items()}
        if is_backward:
            here = {p: _mirror(m, house.slots) for p, m in here.items()}
        self.busy = {p: ~m for p, m in here.items()}
        self.levels: dict[str, list[int]] = {e: [0] * c for e, c in house.equipment.items()}
        self.load = dict.fromkeys(house.people, 0)

    def missing(self, task: Task) -> str:
        """Why a task can never be placed; '' where it can."""
        for use in task.uses:
            if use.amount > self.house.equipment.get(use.equipment, 0):
                return f"equipment:{use.equipment}"
        if task.active and not any(p in self.busy for p in task.people):
            return "people"
        return ""

    def earliest(self, task: Task, ready: int, only: str = "") -> Place | None:
        """The first place from a slot on that is free in every way; the least loaded hands among equals.

        only: no other person's hands.
        """
        blocked = span(0, ready)
        for use in task.uses:
            blocked |= self._blocked(self.levels[use.equipment][-use.amount], task, use.slots, use.begin)
        if not task.active:
            return Place(_lowest(~blocked))
        best: tuple[int, int, str] | None = None
        for person in (only,) if only else task.people:
            if person not in self.busy:
                continue
            free = ~(blocked | self._blocked(self.busy[person], task, task.active))
            start = _lowest(free) if free > 0 else -1
            if start >= 0 and (best is None or (start, self.load[person]) < best[:2]):
                best = (start, self.load[person], person)
        return None if best is None else Place(best[0], best[2])

    def _blocked(self, mask: int, task: Task, slots: int, begin: int = 0) -> int:
        """Starts of the task at which something busy lies in so many of its slots, from one on (mirrored, backward)."""
        return _any_of(mask >> self._offset(task, slots, begin), slots) if slots > 0 else 0

    def _offset(self, task: Task, slots: int, begin: int) -> int:
        return task.slots - slots - begin if self.is_backward else begin

    def put(self, task: Task, place: Place, on: bool = True) -> None:
        """Makes a place busy, or free again."""
        for use in task.uses:
            self._level(self.levels[use.equipment], self._bits(task, place.start, use.slots, use.begin), use.amount, on)
        if place.person in self.busy:
            bits = self._bits(task, place.start, task.active)
            self.busy[place.person] = self.busy[place.person] | bits if on else self.busy[place.person] & ~bits
            self.load[place.person] += task.active if on else -task.active

    def _bits(self, task: Task, start: int, slots: int, begin: int = 0) -> int:
        first = start + self._offset(task, slots, begin)
        return span(max(0, first), first + slots)  # what ends beyond time begins before it, backward

    @staticmethod
    def _level(levels: list[int], bits: int, amount: int, on: bool) -> None:
        """levels[k] has the slots in which more than k of the equipment is taken."""
        if on:
            for k in range(len(levels) - 1, -1, -1):
                levels[k] |= bits & (levels[k - amount] if k >= amount else bits)
        else:
            for k in range(len(levels)):
                above = levels[k + amount] if k + amount < len(levels) else 0
                levels[k] = (levels[k] & ~bits) | (above & bits)

    def is_free(self, task: Task, place: Place) -> bool:
        """Whether a task can stand exactly there."""
        found = self.earliest(task, place.start, place.person)
        return found is not None and found.start == place.start


def _mirror(mask: int, slots: int) -> int:
    return int(bin(mask | (1 << slots))[3:][::-1] or "0", 2)


def _lowest(bits: int) -> int:
    return (bits & -bits).bit_length() - 1
