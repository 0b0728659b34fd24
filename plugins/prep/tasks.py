"""From what must be made to a day's tasks: hands, waiting, equipment, what waits for what, by when. Pure.

What one run takes. Hands: the recipe's active time for the first batch, half of it for each further one made in the
same go (common practice, no source); a cut's is for the whole piece. Waiting: the passive time, once for each go.
Equipment: what a batch takes of it, from the start or from when it is said to be needed, for as long as is said, else
for the rest of the run but four hours at most. A run that is more than the equipment holds goes in several goes, one
after the other.

What waits for what: a run for the sub-recipes begun today that it uses, and for its equipment to be hot (`heat`) by the
time that it is needed.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from fractions import Fraction
from math import ceil

from stillroom.db.coming import Coming, Recipe, UnderWay
from stillroom.db.kitchen import at_clock
from stillroom.db.netting import PREP, Run
from stillroom.db.quantity import read_span
from stillroom.db.services import Service
from stillroom.plugins.prep.board import Hold, House, Place, Task, span
from stillroom.plugins.prep.day import (
    DAY_SLOTS,
    HORIZON,
    SLOT,
    Day,
    Facts,
    Kit,
    Take,
    Work,
    hands,
    slot_of,
    slots,
    uses,
)
from stillroom.plugins.prep.heat import put_heat

LONGEST_HOLD = 4 * 3600  # s, where a recipe does not say how long it holds its equipment
FURTHER = Fraction(1, 2)  # of the hands' time, for each batch after the first
THAW_S = 300
BATH_S = 600  # s of hands to bag and hang


def day_of_work(coming: Coming, facts: Facts, now: datetime) -> Day:
    """Today's tasks: what must be begun today, what is under way, equipment to light or switch on, baths to fill."""
    origin = at_clock(coming.today, coming.said["day starts"], coming.said)
    clock = max(0, slot_of(origin, now))
    day = Day(origin, clock, _house(coming, facts, origin))
    sure = {r.thing for r in coming.bare.runs if r.begin_on == coming.today}
    for run in (r for r in coming.plan.runs if r.begin_on == coming.today):
        for work in _works_of(run, coming, facts, day):
            day.works[work.key] = replace(work, can_wait=run.thing not in sure)
    for begun in coming.under_way:
        _put_under_way(begun, coming, facts, day)
    _put_baths(coming, facts, day)
    put_heat(coming, facts, day)
    _tie(coming, day)
    return day


def _house(coming: Coming, facts: Facts, origin: datetime) -> House:
    """Who is here when, today and tomorrow, and what the equipment holds in whole units."""
    people = {}
    for person in facts.people:
        here = 0
        for on in (coming.today, coming.today + timedelta(days=1)):
            here |= _presence(person, on, coming, facts, origin)
        people[person] = here
    return House(people, {k.id: max(1, int(k.capacity)) for k in facts.kits.values()}, HORIZON)


def _presence(person: str, on: date, coming: Coming, facts: Facts, origin: datetime) -> int:
    spans = [(b, e) for p, weekday, b, e in facts.shifts if (p, weekday) == (person, on.isoweekday())]
    times = [(at_clock(on, b, coming.said), at_clock(on, e, coming.said)) for b, e in spans]
    if not facts.shifts:
        times = [(s.prep_from, s.closes) for s in coming.services if s.on == on]
    bits = 0
    for begin, end in times:
        bits |= span(max(0, slot_of(origin, begin)), max(0, slot_of(origin, end)))
    for who, day, since in facts.absences:
        if (who, day) == (person, on):
            bits &= ~span(slot_of(origin, at_clock(on, since, coming.said)) if since else 0, 2 * HORIZON)
    return bits


def hands_s(recipe: Recipe, batches: Fraction) -> Fraction:
    """Seconds of hands for so many batches in one go; a part of a batch takes no less than half of it."""
    if recipe.kind == "cut":
        return Fraction(recipe.active_s)
    if batches <= 1:
        return recipe.active_s * max(batches, Fraction(1, 2))
    return recipe.active_s * (1 + (batches - 1) * FURTHER)


def _works_of(run: Run, coming: Coming, facts: Facts, day: Day) -> list[Work]:
    recipe = coming.recipes[run.thing]
    if run.is_thaw:
        due, who = due_slot(run, coming, day, 1, 0), hands(recipe.station, facts)
        task = Task(f"{run.thing}~thaw", slots(THAW_S), 0, who, ready=day.now, due=due)
        return [Work(task, "thaw", run.thing, recipe.station, run, run.quantity)]
    goes, holds, too_large = _holds(recipe, run.batches, facts)
    each = run.batches / goes
    active, passive = max(1, slots(float(hands_s(recipe, each)))), slots(recipe.passive_s)
    found: list[Work] = []
    for part in range(goes):
        name = run.thing if goes == 1 else f"{run.thing}~{part + 1}"
        uses = tuple(_hold(recipe, each, take, amount, active + passive) for take, amount in holds)
        after = (found[-1].key,) if found else ()
        task = Task(name, active, passive, hands(recipe.station, facts), uses, after, day.now,
                    due_slot(run, coming, day, active, passive))
        found.append(Work(task, "make", run.thing, recipe.station, run, run.quantity / goes, part, goes, too_large))
    return found


def _hold(recipe: Recipe, batches: Fraction, take: Take, amount: int, whole: int) -> Hold:
    """Equipment as one go keeps it busy; needed after the hands' part, it is so later by as much as that is longer."""
    more = hands_s(recipe, batches) - recipe.active_s if take.after_s and take.after_s >= recipe.active_s else 0
    after = take.after_s + more
    begin = max(0, min(int(after // SLOT), whole - 1))
    end = slots(float(after + (LONGEST_HOLD if take.hold_s is None else take.hold_s)))
    return Hold(take.kit, amount, max(1, min(whole, end) - begin), begin)


def _holds(recipe: Recipe, batches: Fraction, facts: Facts) -> tuple[int, list[tuple[Take, int]], str]:
    """In how many goes a run is made, what each go holds, and the equipment that not even one batch fits into."""
    if recipe.kind == "cut":
        return 1, [], ""
    goes, too_large = 1, ""
    wanted = []
    for take in facts.takes.get(recipe.id, ()):
        kit = facts.kits.get(take.kit)
        if kit is None:
            continue
        need = _amount(take, kit, recipe, batches)
        least = _amount(take, kit, recipe, min(batches, Fraction(1)))
        if least > kit.capacity:
            too_large = kit.name
        goes = max(goes, ceil(need / kit.capacity))
        wanted.append((take, kit, need))
    held = [(take, max(1, min(int(k.capacity), ceil(need / goes)))) for take, k, need in wanted]
    return goes, held, too_large


def _amount(take: Take, kit: Kit, recipe: Recipe, batches: Fraction) -> Fraction:
    """How much of a piece of equipment so many batches take [its unit]. Litres are the batch's own where not said."""
    if kit.unit == "task":
        return take.quantity
    if kit.unit == "litre" and take.quantity == 1 and recipe.unit == "ml":
        return recipe.batch * batches / 1000
    return take.quantity * max(batches, Fraction(1))


def due_slot(run: Run, coming: Coming, day: Day, active: int, passive: int) -> int:
    """The slot by which a run must be ready: its service, or, for a later day, the end of the hands' own day."""
    last = _ready_slot(coming, day, run.ready_on, run.order)
    if run.ready_on == coming.today:
        return last
    leaves = max((m.bit_length() for m in (_today_only(b, day) for b in day.house.people.values())), default=HORIZON)
    return min(last, leaves + passive) if leaves else last


def _today_only(bits: int, day: Day) -> int:
    return bits & span(0, DAY_SLOTS)


def _ready_slot(coming: Coming, day: Day, on: date, order: int) -> int:
    """When everything for a service must stand there; a need of the day's own work has its date from what waits."""
    services = [s for s in coming.services if s.on == on]
    if order == PREP and on == coming.today:
        return 10**6
    service = next((s for s in services if s.order == order), services[0] if services else None)
    if service is None:
        return HORIZON
    return slot_of(day.origin, service.opens - _margin(coming))


def _margin(coming: Coming) -> timedelta:
    return timedelta(seconds=read_span(coming.said["ready before opening"]))


def _put_under_way(work: UnderWay, coming: Coming, facts: Facts, day: Day) -> None:
    """Work that was begun stands where it is, for as long as it takes."""
    recipe = coming.recipes.get(work.recipe)
    if recipe is None:
        return
    began = slot_of(day.origin, _instant(work.began_at))
    whole = slots(recipe.active_s + recipe.passive_s)
    ends = slot_of(day.origin, _instant(work.ends_at)) + 1 if work.ends_at else began + whole
    total = max(1, ends - began, -began)
    active = min(total, max(1, slots(recipe.active_s)))
    who = next((p.id for p in facts.people.values() if p.name == work.by), "")
    start = max(0, began)
    gone = start - began
    left = max(0, active - gone) if who else 0
    uses = tuple(_held_still(recipe, work.quantity, facts, total, gone))
    task = Task(f"{work.recipe}~under way", left, total - gone - left, (who,) if who else (), uses, (), start)
    day.works[task.id] = Work(task, "under way", work.recipe, recipe.station, None, work.quantity)
    day.pinned[task.id] = Place(start, who if task.active else "")


def _held_still(recipe: Recipe, quantity: Fraction, facts: Facts, whole: int, gone: int) -> Iterable[Hold]:
    """Equipment that work of so many slots still keeps busy, so many slots after it began."""
    goes, holds, _ = _holds(recipe, quantity / recipe.batch, facts)
    for take, amount in holds:
        held = _hold(recipe, quantity / recipe.batch / goes, take, amount, whole)
        end = held.begin + held.slots
        if end > gone:
            yield replace(held, begin=max(0, held.begin - gone), slots=end - max(gone, held.begin))


def _instant(text: str) -> datetime:
    return datetime.fromisoformat(text.replace("Z", "+00:00")).astimezone(UTC)


def _put_baths(coming: Coming, facts: Facts, day: Day) -> None:
    """Portions that go into a bath for today's services: hung so long before that they are done when the doors open."""
    for service in (s for s in coming.services if s.on == coming.today):
        for cut, number in _portions(coming, service).items():
            recipe = coming.recipes[cut]
            takes = [t for t in facts.takes.get(cut, ()) if t.kit in facts.kits and facts.kits[t.kit].unit == "litre"]
            due = slot_of(day.origin, service.opens)
            uses = tuple(Hold(t.kit, 1, slots(BATH_S + recipe.bath_s)) for t in takes)
            after = tuple(w.key for w in day.works.values() if w.thing == cut and w.kind == "make")
            who = hands(recipe.station, facts)
            name, passive = f"{cut}~bath{service.order}", slots(recipe.bath_s)
            task = Task(name, slots(BATH_S), passive, who, uses, after, day.now, due)
            day.works[task.id] = Work(task, "bath", cut, recipe.station, None, Fraction(number), order=service.order)


def _portions(coming: Coming, service: Service) -> dict[str, int]:
    """Cut with a bath -> portions of it that a service is expected to want."""
    found: dict[str, int] = {}
    for thing, needs in coming.plan.needs.items():
        recipe = coming.recipes.get(thing)
        if recipe is None or not recipe.bath_s or recipe.kind != "cut":
            continue
        number = sum((n.quantity for n in needs if (n.on, n.order) == (service.on, service.order)), Fraction(0))
        if number:
            found[thing] = ceil(number)
    return found


def _tie(coming: Coming, day: Day) -> None:
    """What waits for what: a run for the sub-recipes begun today that it uses, and for its equipment to be hot.

    What needs its equipment tomorrow waits for no fire of today's.
    """
    for key, work in list(day.works.items()):
        after = [*work.task.after, *_before(work, coming, day)]
        hot = {f"{u.equipment}~light": u.begin for u in work.task.uses if day.now + u.begin < DAY_SLOTS}
        after += [light for light in hot if light in day.works]
        ties = tuple(dict.fromkeys(a for a in after if a != key and (work.can_wait or not day.works[a].can_wait)))
        into = tuple((light, begin) for light, begin in hot.items() if begin and light in ties)
        day.works[key] = replace(work, task=replace(work.task, after=ties, into=into))


def _before(work: Work, coming: Coming, day: Day) -> Iterable[str]:
    if work.run is None or work.kind != "make":
        return []
    return [
        other.key
        for other in day.works.values()
        if (other.kind == "under way" and uses(coming, work.thing, other.thing))
        or (other.run is not None and other.run.ready_on == coming.today and work.thing in other.run.by)
    ]
