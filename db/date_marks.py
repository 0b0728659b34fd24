"""Date marks and shellfish tags: the last day a thing may be served, and the day until which a tag is kept. Pure.

Source: Food Code 3-501.17 (seven days at 41 °F or below, the day of preparation or opening is day 1; freezing stops the
clock; a mixed dish takes the earliest date of its parts) and 3-203.12 (tags 90 calendar days). Local code may differ.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

MARK_DAYS = 7  # Food Code 3-501.17(A)
TAG_DAYS = 90  # Food Code 3-203.12(B)
# Where the 90 days of a shellfish tag begin: the model code; California (Health and Safety Code 114039.4); Indiana.
TAG_CLOCKS = ("last served", "harvested", "emptied")


@dataclass(frozen=True)
class Freeze:
    """One stay in the freezer; thawed_on None: still there."""

    frozen_on: date
    thawed_on: date | None = None


@dataclass(frozen=True)
class Mark:
    """A date mark.

    Attributes:
        last_on: last day of use; None while it is frozen.
        days_left: whole days of the mark not used up yet on the day it went into the freezer [d]; None unless frozen.
    """

    last_on: date | None
    days_left: int | None = None


def mark(made_on: date, freezes: Iterable[Freeze] = (), days: int = MARK_DAYS) -> Mark:
    """The date mark of a thing made or opened on a day.

    The day it goes into the freezer is not counted and the day it comes out is, as in the worked case of North
    Carolina's sheet on date marks; the day of preparation always is, whatever happens on it. What was past its date
    when it was frozen stays past it.

    Args:
        made_on: day 1.
        freezes: stays in the freezer, in order.
        days: days that the mark runs, 7 by the Food Code; less where the kitchen says so [d].

    Raises:
        ValueError: days below 1, or freezes that don't follow one another.

    Example:
        >>> mark(date(2026, 10, 1), [Freeze(date(2026, 10, 3), date(2026, 10, 10))]).last_on
        datetime.date(2026, 10, 14)
    """
    if days < 1:
        raise ValueError(f"a mark of {days} days; it runs one day at least")
    begins, used = made_on, 0  # the stretch outside the freezer that runs now, and days used before it
    for stay in freezes:
        if stay.frozen_on < begins or (stay.thawed_on is not None and stay.thawed_on < stay.frozen_on):
            raise ValueError(f"frozen on {stay.frozen_on}, which does not follow {begins}")
        spent = used + (stay.frozen_on - begins).days
        if spent > days:
            break
        used = max(spent, used, 1)
        if stay.thawed_on is None:
            return Mark(None, days - used)
        begins = stay.thawed_on
        if used >= days:
            return Mark(begins - timedelta(days=1))
    return Mark(begins + timedelta(days=days - used - 1))


def earliest(days: Iterable[date | None]) -> date | None:
    """The mark of a thing mixed from others: the earliest of theirs; None where none has one."""
    return min((day for day in days if day is not None), default=None)


@dataclass(frozen=True)
class Tag:
    """What is known of one container of shellstock; None: not written down yet."""

    harvested_on: date | None = None
    last_served_on: date | None = None
    emptied_on: date | None = None


def keep_until(tag: Tag, clock: str = TAG_CLOCKS[0], days: int = TAG_DAYS) -> date | None:
    """The last of the days on which a tag must be at hand; None where its clock has not begun.

    The day the clock begins is not counted: 90 calendar days from 1 January end on 1 April.

    Args:
        tag: the container.
        clock: 'last served', 'harvested' or 'emptied': the jurisdiction's rule.
        days: days it is kept [d].

    Raises:
        ValueError: no such clock.
    """
    if clock not in TAG_CLOCKS:
        raise ValueError(f'a tag\'s clock begins at one of {", ".join(TAG_CLOCKS)}, not at "{clock}"')
    begins = {"last served": tag.last_served_on, "harvested": tag.harvested_on, "emptied": tag.emptied_on}[clock]
    return None if begins is None else begins + timedelta(days=days)
