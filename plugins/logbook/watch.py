"""What must not be forgotten: pans that cool, days that end, tags without a date. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from fractions import Fraction
from zoneinfo import ZoneInfo

from stillroom.db.date_marks import Tag, keep_until
from stillroom.db.stock import Lot
from stillroom.plugins.logbook.rules import Pan

TAG_FRESH_DAYS = 14  # a container in the house longer than this has been emptied by any kitchen's reckoning


@dataclass(frozen=True)
class Cooling:
    """A pan that cools.

    Attributes:
        left: time to its next limit in words.
        rule: what it is held to.
        is_late: that limit has passed.
        began: from when it is counted, in words; '' where the rule's own temperature starts its clock.
    """

    code: str
    name: str
    recipe_id: str
    item_id: str
    last: str
    left: str
    verdict: str
    is_late: bool
    rule: str
    began: str = ""


def cooling(found: Iterable[tuple[Pan, Mapping[str, str | None]]], now: datetime, zone: str = "UTC") -> list[Cooling]:
    """Pans that still cool, the one with least time first.

    Args:
        found: each with the id of what is in it, under recipe_id or item_id.
        now: the moment [UTC].
        zone: of the kitchen's clock.
    """
    open_ = sorted((p for p in found if p[0].is_open), key=lambda p: p[0].left_s(now) or 0.0)
    return [_cooling(one, of, now, zone) for one, of in open_]


def _cooling(one: Pan, of: Mapping[str, str | None], now: datetime, zone: str) -> Cooling:
    left = one.left_s(now)
    minutes = int((now - one.last_at).total_seconds() // 60)
    last = f"{one.last_f:g} °F {ago(minutes)}"
    if left is None:
        words = "nobody saw it at 135 °F: how long is left can't be told"
    elif left < 0:
        words = f"should have been at {one.next_f:g} °F {span(-left)} ago"
    else:
        words = f"{span(left)} left to {one.next_f:g} °F"
    rule = f"{one.rule.food}: {one.rule.named}"
    is_late = left is not None and left < 0
    recipe, item = (of.get(key) or "" for key in ("recipe_id", "item_id"))
    return Cooling(one.code, one.name or "pan", recipe, item, last, words, one.answer.verdict, is_late, rule,
                   _began(one, zone))  # fmt: skip


def _began(one: Pan, zone: str) -> str:
    if one.rule.start_f is not None:
        return ""
    if one.started is None:
        return "counted from its first reading"
    return f"counted from {one.started.astimezone(ZoneInfo(zone)):%H:%M}, when it was made or came in"


def ago(minutes: int) -> str:
    """How long ago, in words [min]."""
    return "just now" if minutes < 1 else f"{span(minutes * 60)} ago"


def span(seconds: float) -> str:
    """A length of time, whole minutes, rounded down [s]: what is left is never said to be more."""
    minutes = int(seconds // 60)
    return f"{minutes} min" if minutes < 60 else f"{minutes // 60} h {minutes % 60:02d}"


@dataclass(frozen=True)
class Due:
    """Part of a batch, or of what a breakdown gave, whose last day is near. quantity [base unit].

    of: what the form of uses knows it by; lot_code: the batch's own, or the breakdown's; batch_id: None without one.
    """

    recipe_id: str
    name: str
    lot_code: str
    batch_id: int | None
    last_on: str
    quantity: Fraction
    unit: str
    is_past: bool

    @property
    def of(self) -> str:
        return self.recipe_id if self.batch_id is None else f"batch {self.batch_id}"


def due(
    lots: Mapping[str, Iterable[Lot]],
    names: Mapping[str, tuple[str, str]],
    codes: Mapping[int, str],
    until: date,
    today: date,
) -> list[Due]:
    """Lots whose last day of use is `until` or before, the earliest first.

    Args:
        lots: recipe id -> what is on hand of it.
        names: recipe id -> (name, base unit).
        codes: batch id -> its own lot code.
    """
    found = [
        Due(recipe, names[recipe][0], lot.cut if lot.lot is None else codes.get(lot.lot, ""), lot.lot, lot.use_by,
            lot.quantity, names[recipe][1], lot.use_by < today.isoformat())
        for recipe, held in lots.items()
        for lot in held
        if lot.use_by is not None and (lot.lot is not None or lot.cut) and lot.use_by <= until.isoformat()
        and recipe in names
    ]  # fmt: skip
    return sorted(found, key=lambda one: (one.last_on, one.name, one.batch_id or 0, one.lot_code))


@dataclass(frozen=True)
class Kept:
    """A shellfish tag. until: the last day it must be at hand, None: its clock has not begun; state in words."""

    lot_code: str
    name: str
    certificate: str
    harvested_on: str
    area: str
    received_on: str
    last_served_on: str | None
    until: date | None
    state: str


def tags(
    rows: Iterable[tuple[str, str, str, str, str, str, str | None, str | None]], clock: str, today: date
) -> list[Kept]:
    """Every tag with how long it is kept, in order of its own date as the rule asks.

    Args:
        rows: lot, item, number, harvested, area, received, last served, emptied; ISO dates.
        clock: where the 90 days begin, see `db.date_marks.keep_until`.
    """
    found = []
    for lot, name, certificate, harvested, area, received, served, emptied in rows:
        days = [None if text is None else date.fromisoformat(text) for text in (harvested, served, emptied)]
        until = keep_until(Tag(*days), clock)
        found.append(
            Kept(lot, name, certificate, harvested, area, received, served, until, _state(until, clock, today))
        )
    return sorted(found, key=lambda one: (one.until is not None, one.until or today, one.received_on))


def _state(until: date | None, clock: str, today: date) -> str:
    if until is None:
        return {"last served": "no day of last service on it yet", "emptied": "not written down as empty yet"}.get(
            clock, "no day of harvest on it"
        )
    return "may go" if until < today else "keep"


def forgotten(kept: Iterable[Kept], today: date) -> list[Kept]:
    """Tags of containers that came long ago and carry no day of last service."""
    return [
        one for one in kept
        if one.until is None and (today - date.fromisoformat(one.received_on)).days > TAG_FRESH_DAYS
    ]  # fmt: skip
