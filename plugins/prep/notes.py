"""What a list says beside its tasks: guests, what keeps it from being whole. Pure."""

from __future__ import annotations

from dataclasses import dataclass

from stillroom.db.coming import Coming
from stillroom.plugins.prep.state import State
from stillroom.plugins.prep.words import Words


@dataclass(frozen=True)
class Guests:
    """A service of today in a line."""

    service: str
    opens: str
    expected: str


def guests_of(state: State, words: Words) -> list[Guests]:
    """Today's services under way and ahead, and what is expected of them."""
    found = []
    for service, said in zip(state.coming.services, state.coming.expected, strict=True):
        if service.on != state.coming.today:
            continue
        if said.covers is None:
            text = "no sales yet to expect from: pars only"
        else:
            text = f"{round(said.covers)} covers expected ({round(said.low)} to {round(said.high)})"
        text += f", {said.booked} booked" if said.booked is not None else ""
        if said.by:
            text += f"; {said.by} said {round(said.covers or 0)}, the log {round(said.was or 0)}"
        sold = sum(n for (_, on, name), n in state.coming.sold.items() if (on, name) == (said.on, said.service))
        text += f"; {sold} plates sold so far" if sold else ""
        found.append(Guests(service.name, words.clock(service.opens), text))
    return found


def none_left(state: State) -> str:
    """What stands where no service of today is ahead."""
    names = [service.name for service in state.coming.over]
    said = f"{' and '.join(names).capitalize()} {'is' if len(names) == 1 else 'are'} over."
    return said if names else "No service today."


def _unwritten(coming: Coming) -> list[str]:
    """Services that are over and have no plates in the log: their food would still count as there."""
    written = {name for _, _, name in coming.sold}
    return [
        f"Nothing is written down as sold at {s.name}, which is over: what it used still counts as on hand. "
        "Write the plates, or count."
        for s in coming.over if s.name not in written and any(x.covers for x in coming.log)
    ]  # fmt: skip


def notes_of(state: State) -> list[str]:
    """What keeps the list from being whole."""
    coming, found = state.coming, []
    if not any(s.covers for s in coming.log):
        found.append("Nothing was sold yet that could tell what will be wanted: the list is made from pars alone.")
    found += _unwritten(coming)
    cut = [coming.recipes[run.thing].name for run in coming.plan.cut]
    if cut:
        found.append(f"Not made up to par, because it would go off before it is used: {', '.join(sorted(cut))}.")
    empty = [r.name for r in coming.recipes.values() if r.kind == "dish" and not any(
        n.by == r.id for needs in coming.plan.needs.values() for n in needs) and any(
        p.dish == r.id and p.ready for p in coming.plates)]  # fmt: skip
    found += [f"{name} has no recipe behind it: nothing is prepared for it." for name in empty]
    empty_handed = {w.station for w in state.day.works.values() if w.station and w.task.active and not w.task.people}
    names = dict(station_names(state))
    found += [f"Nobody holds {names.get(s, s)}: its tasks are in nobody's hands." for s in sorted(empty_handed)]
    guessed = [coming.recipes[p.dish].name for p in coming.plates if p.is_guess and p.on == coming.today and p.ready]
    if guessed:
        found.append(f"New on the menu, reckoned like the rest of their section: {', '.join(dict.fromkeys(guessed))}.")
    return found


def station_names(state: State) -> list[tuple[str, str]]:
    """(id, name) of the stations that have a task or a person today."""
    wanted = {w.station for w in state.day.works.values() if w.station}
    wanted |= {s for p in state.facts.people.values() for s in p.stations}
    return sorted((s, s.replace("-", " ").capitalize()) for s in wanted)
