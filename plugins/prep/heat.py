"""Equipment that takes time to be hot: lit or switched on in time, held while it heats, hot a lead time later. Pure.

One rule for a fire's burn-down (45 to 60 min), an oven (20 min) and a bath of 28 litres (35 to 40 min; all common
practice, no source): nothing goes in before it is hot, and it is lit or on no sooner than it must be (`layout`). It is
lit once a day, for the first task that uses it, and to be hot when the doors open where dishes, or the cuts on them,
are cooked on it. What is in use is hot already; what goes in later, as a loaf that rises, needs it hot only then.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

from stillroom.db.coming import Coming
from stillroom.plugins.prep.board import Hold, Place, Task
from stillroom.plugins.prep.day import DAY_SLOTS, Day, Facts, Kit, Work, hands, slot_of, slots, uses

LIGHT_S = 300  # s of hands to light or switch on
OWN_HANDS = 45 * 60  # s; equipment that takes longer to be hot is a fire, and somebody lights it


def put_heat(coming: Coming, facts: Facts, day: Day) -> None:
    """One task for each piece of equipment that takes time to be hot, is wanted today, and is not in use already."""
    open_at = min((slot_of(day.origin, s.opens) for s in coming.services if s.on == coming.today), default=None)
    is_ahead = open_at is not None and open_at > day.now
    served = _cooked_on(coming, facts) if is_ahead else set()
    users: dict[str, list[tuple[Work, Hold]]] = {}
    for work in day.works.values():
        for use in work.task.uses:
            users.setdefault(use.equipment, []).append((work, use))
    for kit in facts.kits.values():
        mine = [pair for pair in users.get(kit.id, []) if _is_ahead(day, *pair)]
        if kit.lead_s and not any(_is_in_it(day, *pair) for pair in mine) and (mine or kit.id in served):
            can_wait = kit.id not in served and all(w.can_wait for w, _ in mine)
            dues = [day.pinned[w.key].start + use.begin for w, use in mine if w.key in day.pinned]
            dues += [open_at] if kit.id in served and open_at is not None else []
            task = _heat_up(kit, facts, day, min(dues, default=10**6))
            day.works[task.id] = Work(task, "light", kit.id, kit.station, can_wait=can_wait)


def _is_ahead(day: Day, work: Work, use: Hold) -> bool:
    """Whether equipment is needed today, now or later: what is under way may be out of it again."""
    start = day.pinned[work.key].start if work.key in day.pinned else day.now
    return start + use.begin < DAY_SLOTS and (work.key not in day.pinned or start + use.begin + use.slots > day.now)


def _is_in_it(day: Day, work: Work, use: Hold) -> bool:
    """Whether what is under way is in it now."""
    return work.key in day.pinned and day.pinned[work.key].start + use.begin <= day.now


def _heat_up(kit: Kit, facts: Facts, day: Day, due: int) -> Task:
    """Lighting or switching on, and the time until it is hot, in which it is held whole."""
    by_hand = kit.lead_s >= OWN_HANDS
    active, whole = slots(LIGHT_S) if by_hand else 0, slots(kit.lead_s)
    held = (Hold(kit.id, day.house.equipment[kit.id], whole),)
    who = hands(kit.station, facts) if by_hand else ()
    return Task(f"{kit.id}~light", active, whole - active, who, held, (), day.now, due)


def _cooked_on(coming: Coming, facts: Facts) -> set[str]:
    """Equipment that today's dishes, and the cuts on them, are cooked on while the doors are open."""
    plated = {p.dish for p in coming.plates if p.on == coming.today and p.ready}
    cuts = {r.id for r in coming.recipes.values() if r.kind == "cut" and any(uses(coming, d, r.id) for d in plated)}
    return {take.kit for thing in plated | cuts for take in facts.takes.get(thing, ())}


def is_on(day: Day, kit: Kit, hot_at: datetime) -> None:
    """Equipment was lit or switched on: it heats until it is hot, and is no task any more once it is.

    Args:
        day: changed in place.
        kit: the equipment.
        hot_at: when it is hot [UTC].
    """
    key = f"{kit.id}~light"
    if key not in day.works:
        return
    hot = slots((hot_at - day.origin).total_seconds())
    start = max(0, hot - slots(kit.lead_s))
    if hot <= day.now:
        del day.works[key]
        return
    task = day.works[key].task
    held = (Hold(kit.id, day.house.equipment[kit.id], hot - start),)
    heating = replace(task, active=0, passive=hot - start, people=(), uses=held, ready=start, due=hot)
    day.works[key] = replace(day.works[key], task=heating, kind="heating", can_wait=False)
    day.pinned[key] = Place(start)
