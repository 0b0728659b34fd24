"""The prep list in words, from the day as it stands. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from fractions import Fraction
from typing import Any

from stillroom.db.coming import shares_text
from stillroom.db.cook_units import say
from stillroom.db.doubts import DOUBTS
from stillroom.db.exact import exact_text
from stillroom.plugins.prep import ageing_words
from stillroom.plugins.prep.board import Place
from stillroom.plugins.prep.day import DAY_SLOTS, SLOT, Work
from stillroom.plugins.prep.late_words import cure_said, late_said
from stillroom.plugins.prep.layout import Late
from stillroom.plugins.prep.notes import Guests, guests_of, none_left, notes_of
from stillroom.plugins.prep.state import State
from stillroom.plugins.prep.words import Words, span_text

NOW_SLOTS = 3  # what begins within a quarter of an hour is now
STATES = {"started": "begun", "part": "part done", "done": "done", "burnt": "lost"}
HEAT = {"started": "on", "done": "hot"}


@dataclass(frozen=True)
class Row:
    """One task as a cook reads it. Times are the kitchen's clock."""

    key: str
    kind: str
    recipe: str
    name: str
    quantity: str
    made: str
    unit: str
    start: str
    start_by: str
    ready_by: str
    takes: str
    person: str
    station: str
    why: str
    lasts: str
    whom: str
    late: str = ""
    cures: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    card: str = ""
    lot: str = ""
    form: str = ""


@dataclass(frozen=True)
class Done:
    """Something ticked off today. batch: what it made, where that is still there to be labelled."""

    id: int
    name: str
    what: str
    quantity: str
    at: str
    by: str
    batch: int | None = None


@dataclass(frozen=True)
class Doubt:
    """What to count again, and why."""

    thing: str
    said: str


@dataclass(frozen=True)
class List:
    """A prep list: of a station, a person, or all."""

    title: str
    day: str
    clock: str
    version: str
    guests: list[Guests]
    no_guests: str
    stations: list[tuple[str, str]]
    people: list[tuple[str, str]]
    station: str
    person: str
    late: list[Row]
    now: list[Row]
    next: list[Row]
    ahead: list[Row]
    soon: list[Row]
    waits: list[Row]
    under_way: list[Row]
    done: list[Done]
    doubts: list[Doubt]
    notes: list[str]
    basis: str
    drawn: dict[Any, str] = field(default_factory=dict, compare=False)  # its page's tasks, once drawn


def rows_of(state: State, station: str = "", person: str = "") -> dict[str, list[Row]]:
    """Every task under its heading: late, now, next, ahead (for a later day), waits, under way."""
    words, late = Words(state), {one.key: one for one in state.late}
    headings = ("late", "now", "next", "ahead", "soon", "waits", "under way")
    found: dict[str, list[tuple[int, Row]]] = {h: [] for h in headings}
    for key, work in state.day.works.items():
        place = state.laid.places.get(key)
        if (station and work.station != station) or (person and (place is None or place.person != person)):
            continue
        start = place.start if place else work.task.ready
        found[_heading(state, work, start, key in late)].append((start, row_of(words, work, late.get(key))))
    for work in state.day.soon:
        if work.run and work.station == (station or work.station) and not person:
            found["soon"].append((work.run.begin_on.toordinal(), row_of(words, work, None)))
    return {heading: [row for _, row in sorted(rows, key=_by_start)] for heading, rows in found.items()}


def _by_start(pair: tuple[int, Row]) -> tuple[int, str]:
    return pair[0], pair[1].name


def _heading(state: State, work: Work, start: int, is_late: bool) -> str:
    if work.kind in {"under way", "heating"}:
        return "under way"
    if is_late:
        return "late"
    if work.can_wait and not (work.lot or work.hang):
        return "waits"
    if work.run is not None and work.run.ready_on > state.coming.today:
        return "ahead"
    return "now" if start <= state.day.now + NOW_SLOTS else "next"


def row_of(words: Words, work: Work, late: Late | None) -> Row:
    """One task in words."""
    state = words.state
    place = state.laid.places.get(work.key)
    by = None if work.is_heat else _start_by(state, work)  # it is on as late as its first use allows already
    is_food = work.thing in state.coming.recipes
    recipe = state.coming.recipes.get(work.thing)
    due = _ready_slot(state, work)
    quantity = words.quantity(work.thing, work.quantity) if is_food and work.quantity else ""
    return Row(
        work.key, work.kind, work.thing, _title(words, work), quantity, exact_text(work.quantity) if is_food else "",
        recipe.unit if recipe else "", _start(words, work, place),
        words.slot(by) if by is not None and place and by > place.start else "",
        words.slot(due) if due is not None else "", _takes(work), words.person(place.person) if place else "",
        work.station or "", _why(words, work), _lasts(words, work), _whom(words, work),
        late_said(words, late) if late else "", tuple(cure_said(words, work, c) for c in late.cures) if late else (),
        _notes(words, work), f"/recipe/{work.thing}?to={exact_text(work.quantity)}+{recipe.unit}" if recipe else "",
        work.lot, ageing_words.address(words, work),
    )  # fmt: skip


def _start(words: Words, work: Work, place: Place | None) -> str:
    if place is not None:
        return words.slot(place.start)
    on = work.run.begin_on if work.hang and work.run else None
    return "not today" if on is None else f"{on:%a} {on.day}"


def _start_by(state: State, work: Work) -> int | None:
    """The last slot to begin in: in the plan, and not after the day it is wanted on, or its own last day of use."""
    by, run = state.laid.by.get(work.key), work.run
    if by is None or run is None:
        return by
    last = min(run.ready_on, run.use_by or run.ready_on)
    return min(by, ((last - state.coming.today).days + 1) * DAY_SLOTS - work.task.slots)


def _ready_slot(state: State, work: Work) -> int | None:
    """By when it must be ready; equipment by its first use, if that is before the doors open. None: nothing says."""
    if work.hang is not None:
        return None
    waiting = _waiting(state, work) if work.kind == "light" else []
    used = [state.laid.places[w.key].start + w.task.gap(work.key) for w in waiting]
    due = min([work.task.due, *used])
    return due if due < 10**6 else None


def _waiting(state: State, work: Work) -> list[Work]:
    """What waits for a task and has a place, the first of it first."""
    found = [w for w in state.day.works.values() if work.key in w.task.after and w.key in state.laid.places]
    return sorted(found, key=lambda w: (state.laid.places[w.key].start + w.task.gap(work.key), w.key))


def _title(words: Words, work: Work) -> str:
    name = words.name(work.thing)
    if work.hang:
        return ageing_words.title(words, work, work.hang)
    if work.lot:
        return ageing_words.lot_title(words, work)
    if work.kind == "light":
        return f"Light: {name}" if work.task.active else f"Switch on: {name}"
    if work.kind == "heating":
        return f"{name} is heating"
    if work.kind == "thaw":
        return f"{name}, out of the freezer"
    if work.kind == "bath":
        return f"{name}, into the bath"
    return f"{name}, {work.part + 1} of {work.parts}" if work.parts > 1 else name


def _takes(work: Work) -> str:
    active, passive = work.task.active * SLOT // 60, work.task.passive * SLOT // 60
    hands = f"{span_text(active)} of hands" if active else ""
    alone = f"{span_text(passive)} alone" if passive else ""
    return ", ".join(filter(None, (hands, alone)))


def _why(words: Words, work: Work) -> str:
    """'par 6 qt, on hand 1½, Friday 1.3 × usual', or the need where there is no par."""
    run = work.run
    if work.hang:
        return ageing_words.why(words, work, work.hang)
    if work.kind == "bath":
        return _why_bath(words, work)
    if run is not None and work.kind == "thaw":
        return f"{words.quantity(work.thing, run.needed)} short, and frozen"
    if run is None or work.kind != "make":
        return ""
    said = []
    if run.par:
        said.append(f"par {words.quantity(work.thing, run.par)}")
    if run.needed:
        said.append(f"need {words.quantity(work.thing, run.needed)}")
    said.append(f"on hand {words.quantity(work.thing, run.on_hand)}" if run.on_hand else "none on hand")
    first = next((e for e in words.state.coming.expected if e.on == run.ready_on), None)
    factor = shares_text(first) if first else ""
    return ", ".join([*said, *([factor] if factor else [])])


def _why_bath(words: Words, work: Work) -> str:
    """'dinner wants 12, 14 on hand, 2 h 30 min in the bath before 17:00'."""
    coming = words.state.coming
    service, of = coming.service_on(coming.today, work.order), coming.stocks.get(work.thing)
    if service is None:
        return ""
    there = of.on_hand if of is not None else None
    held = "not counted" if there is None else "none on hand"
    held = f"on hand {words.quantity(work.thing, there)}" if there else held
    bath = span_text(coming.recipes[work.thing].bath_s // 60)
    return f"{service.name} wants {words.quantity(work.thing, work.quantity)}, {held}, {bath} in the bath"


def _lasts(words: Words, work: Work) -> str:
    run = work.run
    if run is None or work.kind != "make" or run.use_by is None:
        return ""
    place = words.state.laid.places.get(work.key)
    # the mark begins on the day that the work does
    later = place.start // DAY_SLOTS if place and run.begin_on == words.state.coming.today else 0
    return f"use by {words.near(run.use_by + timedelta(days=later))}"


def _whom(words: Words, work: Work) -> str:
    """What wants it, and for which day where that is not today."""
    run = work.run
    if work.is_heat:
        names = list(dict.fromkeys(words.name(w.thing) for w in _waiting(words.state, work)))
        if not names:
            return "for the service" if work.task.due < 10**6 else ""
        return f"for {'; '.join(names[:3])}" + (" and others" if len(names) > 3 else "")
    if work.kind == "bath":
        coming = words.state.coming
        needs = [n for n in coming.plan.needs.get(work.thing, ()) if (n.on, n.order) == (coming.today, work.order)]
        names = list(dict.fromkeys(words.name(n.by) for n in sorted(needs, key=lambda n: -n.quantity)))
        return f"for {'; '.join(names[:3])}" + (" and others" if len(names) > 3 else "")
    if run is None:
        return ""
    whom = "; ".join(words.name(by) for by in run.by[:3]) + (" and others" if len(run.by) > 3 else "")
    day = "" if run.ready_on == words.state.coming.today else words.near(run.ready_on)
    return f"for {day}: {whom}" if day and whom else f"for {day}" if day else f"for {whom}" if whom else ""


def _notes(words: Words, work: Work) -> tuple[str, ...]:
    """What is worth knowing: more than will be used, a par that can't be kept, a batch too large for its equipment."""
    run, found = work.run, _goes_in(words, work)
    if work.hang:
        return ageing_words.notes(words, work, work.hang)
    if run is None:
        return tuple(found)
    if work.kind == "make" and work.thing in words.state.aged:  # its piece hangs, and is no part of what is counted
        found += filter(None, [ageing_words.lots_note(words, work)])
    elif work.kind == "make" and work.part == 0:
        found += [*_doubtful(words, work), *_lacking(words, work)]
    if run.over * 10 >= run.quantity and work.part == 0:
        found.append(f"smallest batch: {words.quantity(work.thing, run.over)} more than will be used in time")
    if run.par_cut and work.part == 0:
        found.append(f"the par and the shelf life disagree: {words.quantity(work.thing, run.par_cut)} less is made, "
                     "it would not be used in time")  # fmt: skip
    if work.too_large:
        found.append(f"one batch is more than {work.too_large} holds: in {work.parts} goes")
    return tuple(found)


def _goes_in(words: Words, work: Work) -> list[str]:
    """When it goes into what it needs only later, and for how long."""
    place, found = words.state.laid.places.get(work.key), list[str]()
    for use in work.task.uses if place else ():
        if use.begin and place:
            begin = place.start + use.begin
            found.append(f"{words.name(use.equipment)} from {words.slot(begin)}, {span_text(use.slots * SLOT // 60)}")
    return found


def _doubtful(words: Words, work: Work) -> list[str]:
    """Whatever is doubtful about the numbers behind it: what is there of it, and of what today's work takes."""
    coming = words.state.coming
    used = [t for t in coming.doubts if any(
        n.by == work.thing and n.on == coming.today for n in coming.plan.needs.get(t, ()))]  # fmt: skip
    own = [work.thing] if work.thing in coming.doubts else []
    return [f"in doubt: {words.name(t)}: {DOUBTS[coming.doubts[t]]}" for t in own + used]


def _lacking(words: Words, work: Work) -> list[str]:
    """Bought items that today's work wants more of than is there."""
    coming, found = words.state.coming, []
    for item, needs in coming.plan.needs.items():
        of = coming.stocks.get(item)
        if item in coming.recipes or of is None or of.on_hand is None or not any(n.by == work.thing for n in needs):
            continue
        wanted = sum((n.quantity for n in needs if n.on == coming.today), Fraction(0))
        is_mine = any(n.by == work.thing and n.on == coming.today for n in needs)
        if is_mine and wanted > of.on_hand:
            name, unit = words.state.items[item]
            there = say(of.on_hand, unit, words.style).text if of.on_hand else "none"
            found.append(f"not enough {name}: {there} there, {say(wanted, unit, words.style).text} wanted today")
    return found


def done_of(state: State, names: Words) -> list[Done]:
    """What was ticked off today, newest first."""
    found = []
    for ident, kind, recipe, kit, what, quantity, _, at, by, batch, _ in state.ticks:
        thing = recipe or kit
        said = names.quantity(thing, Fraction(quantity)) if quantity and thing in state.coming.recipes else ""
        moment = datetime.fromisoformat(at.replace("Z", "+00:00"))
        word = HEAT.get(what, what) if kind == "light" else STATES[what]
        clock = f"{moment.astimezone(names.zone):%H:%M}"
        found.append(Done(ident, names.name(thing), word, said, clock, by, None if what == "burnt" else batch))
    return found


def list_of(state: State, stations: Sequence[tuple[str, str]], station: str = "", person: str = "") -> List:
    """The whole answer for a station, a person, or everybody."""
    words = Words(state)
    rows = rows_of(state, station, person)
    people = [(p.id, p.name) for p in state.facts.people.values()]
    title = dict(stations).get(station) or dict(people).get(person) or "Prep"
    doubts = [
        Doubt(thing, f"{words.name(thing)}: {DOUBTS[why]}")
        for thing, why in state.coming.doubts.items() if thing in state.coming.plan.needs
    ]  # fmt: skip
    return List(
        title, state.coming.today.isoformat(), words.clock(state.now), state.version, guests_of(state, words),
        none_left(state), list(stations), people, station, person,
        rows["late"], rows["now"], rows["next"], rows["ahead"], rows["soon"],
        rows["waits"], rows["under way"], done_of(state, words), doubts, notes_of(state) + ageing_words.unknown(words),
        ageing_words.BASIS if any(row.kind == "hang" for found in rows.values() for row in found) else "",
    )  # fmt: skip
