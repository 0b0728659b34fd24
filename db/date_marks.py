"""Date marks and shellfish tags: the last day a thing may be served, and the day until which a tag is kept. Pure.

`keeps` is the one rule by which the log, the prep list, labels and a batch's page date what is made here.

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


def stays(moves: Iterable[tuple[str, str]]) -> list[Freeze]:
    """Moves of a batch, ('frozen' or 'thawed', ISO date) in order, as stays in the freezer.

    A thaw without a freeze before it is passed over, and so is a freeze of what is frozen.
    """
    found: list[Freeze] = []
    for what, text in moves:
        on, is_in = date.fromisoformat(text), bool(found) and found[-1].thawed_on is None
        if what == "frozen" and not is_in:
            found.append(Freeze(on))
        elif what == "thawed" and is_in:
            found[-1] = Freeze(found[-1].frozen_on, on)
    return found


SHELF_LIFE, DATE_MARK, WRITTEN = "shelf life", "date mark", "as written"
NOT_FOLLOWING = "Its days in the freezer don't follow one another: ask who wrote them down."
_MARKED = f"Food Code 3-501.17: {MARK_DAYS} days at 41 °F or below, the day of preparation being the first"


@dataclass(frozen=True)
class Life:
    """What the kitchen's records say of how long a recipe keeps once made.

    Attributes:
        own_days: the recipe's own shelf life [d]; None: nobody wrote one.
        unmarked: why the seven days of the date mark don't apply, in the kitchen's words: not temperature controlled,
            eaten only after it is cooked, kept frozen. '' = they do: what nobody has said is taken to need them.
    """

    own_days: int | None
    unmarked: str = ""

    @property
    def days(self) -> int | None:
        """Days it keeps, the day it is made being day 1 [d]; None: no rule gives any."""
        own = None if self.own_days is None else max(self.own_days, 1)
        if self.unmarked:
            return own
        return MARK_DAYS if own is None else min(own, MARK_DAYS)

    @property
    def by(self) -> str:
        """Which of the two decides: 'shelf life' or 'date mark'; '' where neither gives a day."""
        if self.own_days is None:
            return "" if self.unmarked else DATE_MARK
        return SHELF_LIFE if self.unmarked or self.own_days <= MARK_DAYS else DATE_MARK

    @property
    def why(self) -> str:
        """The same in words."""
        own = None if self.own_days is None else count(max(self.own_days, 1))
        if self.by == SHELF_LIFE:
            more = f" No date mark: {self.unmarked}." if self.unmarked else ""
            return f"Keeps {own} by the kitchen's shelf life, the day of preparation being the first.{more}"
        if self.by == DATE_MARK and own is None:
            return f"{_MARKED}. No shelf life is written down for this recipe."
        if self.by == DATE_MARK:
            return f"{_MARKED}. The kitchen's own {own} count once the recipe says why there is no date mark."
        return f"No shelf life is written down for this recipe, and no date mark: {self.unmarked}."


def count(days: int) -> str:
    """A number of days in words."""
    return f"{days} day" if days == 1 else f"{days} days"


@dataclass(frozen=True)
class Keeps:
    """How long a thing keeps.

    Attributes:
        last_on: last day of use; None: no rule gives one, or it is frozen.
        why: why that day, in words.
        by: what decided: 'shelf life', 'date mark', 'as written'; '' where nothing did.
        is_past_mark: it runs past the seven days of the Food Code's mark.
    """

    last_on: date | None
    why: str
    by: str = ""
    is_past_mark: bool = False


def keeps(made_on: date, life: Life, freezes: Iterable[Freeze] = (), use_by: date | None = None) -> Keeps:
    """The last day of use of a thing made on a day.

    Args:
        made_on: the day of preparation, day 1.
        life: what its recipe says.
        freezes: stays in the freezer, in order; they stop the clock.
        use_by: the day that was written down when it was made; it counts before the rule's.
    """
    days, by, why = life.days, life.by, life.why
    if use_by is not None and use_by >= made_on:
        written = (use_by - made_on).days + 1
        if written != days:
            days, by, why = written, WRITTEN, f"Keeps {count(written)}, as it was written down when it was made. {why}"
    if days is None:
        return Keeps(None, why)
    try:
        found = mark(made_on, freezes, days)
    except ValueError:
        return Keeps(None, NOT_FOLLOWING)
    if found.last_on is None:
        return Keeps(None, f"Frozen with {found.days_left} of {count(days)} left: date it again when it is thawed.", by)
    return Keeps(found.last_on, why, by, days > MARK_DAYS)


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
