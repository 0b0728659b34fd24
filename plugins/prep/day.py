"""What the house has to work with, and a day's tasks ready to be laid out. Pure."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from fractions import Fraction
from math import ceil

from stillroom.db.coming import Coming
from stillroom.db.netting import Run
from stillroom.plugins.prep.ageing import Hang
from stillroom.plugins.prep.board import House, Place, Task

SLOT = 300  # s
DAY_SLOTS = 24 * 12
HORIZON = 2 * DAY_SLOTS  # slots: today, and the next day for what does not fit


@dataclass(frozen=True)
class Kit:
    """A piece of equipment."""

    id: str
    name: str
    station: str | None
    capacity: Fraction
    unit: str
    lead_s: int


@dataclass(frozen=True)
class Take:
    """What a batch takes of a piece of equipment, and for how long [s]; None: the rest of the run, four hours at most.

    after_s: from how long after the start of the work on [s].
    """

    kit: str
    quantity: Fraction
    hold_s: int | None
    after_s: int = 0


@dataclass(frozen=True)
class Person:
    """Somebody who works here."""

    id: str
    name: str
    stations: tuple[str, ...]


@dataclass(frozen=True)
class Facts:
    """What the house has: equipment, what recipes take of it, people, when they work, when they are away.

    shifts: (person, ISO weekday, from, to); absences: (person, day, from or None). Clock times are local.
    """

    kits: Mapping[str, Kit]
    takes: Mapping[str, Sequence[Take]]
    people: Mapping[str, Person]
    shifts: Sequence[tuple[str, int, str, str]]
    absences: Sequence[tuple[str, date, str | None]]


@dataclass(frozen=True)
class Work:
    """A task with what a person wants to know of it.

    kind: 'make', 'thaw', 'light', 'heating' (lit, not hot yet), 'bath', 'hang', 'under way'. too_large: the equipment
    that not even one batch fits into. can_wait: the day's services are covered without it: only a par asks for it, or a
    later day. lot: the ageing lot that is cut up; hang: what is hung; order: number of the service that a bath is for.
    """

    task: Task
    kind: str
    thing: str
    station: str | None
    run: Run | None = None
    quantity: Fraction = Fraction(0)
    part: int = 0
    parts: int = 1
    too_large: str = ""
    can_wait: bool = False
    lot: str = ""
    hang: Hang | None = None
    order: int = 0

    @property
    def key(self) -> str:
        return self.task.id

    @property
    def is_heat(self) -> bool:
        """Whether it makes equipment hot, and no food."""
        return self.kind in {"light", "heating"}


@dataclass
class Day:
    """A day's tasks, ready to be laid out."""

    origin: datetime
    now: int
    house: House
    works: dict[str, Work] = field(default_factory=dict)
    pinned: dict[str, Place] = field(default_factory=dict)
    soon: list[Work] = field(default_factory=list)  # pieces to hang in the days ahead: nobody's task today

    @property
    def tasks(self) -> list[Task]:
        return [w.task for w in self.works.values()]

    def at(self, slot: int) -> datetime:
        """The instant at which a slot begins [UTC]."""
        return self.origin + timedelta(seconds=slot * SLOT)


def slot_of(origin: datetime, at: datetime) -> int:
    """The slot that an instant lies in."""
    return int((at - origin).total_seconds() // SLOT)


def slots(seconds: float) -> int:
    """Whole slots that a time takes."""
    return ceil(seconds / SLOT)


def hands(stations: str | None, facts: Facts) -> tuple[str, ...]:
    """People who hold a station; everybody where a recipe has none."""
    return tuple(p.id for p in facts.people.values() if stations is None or stations in p.stations)


def uses(coming: Coming, user: str, used: str) -> bool:
    """Whether one thing needs another in the days ahead."""
    return any(n.by == user for n in coming.plan.needs.get(used, ()))
