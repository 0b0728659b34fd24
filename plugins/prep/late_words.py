"""What is late, why, and what would mend it, in words. Pure."""

from __future__ import annotations

from fractions import Fraction
from math import ceil

from stillroom.plugins.prep.cures import Cure
from stillroom.plugins.prep.day import SLOT, Work
from stillroom.plugins.prep.layout import Late
from stillroom.plugins.prep.notes import station_names
from stillroom.plugins.prep.words import Words, span_text


def late_said(words: Words, late: Late) -> str:
    """How late, what breaks it, what it holds up."""
    work = words.state.day.works[late.key]
    what = words.state.day.works[late.what].thing if late.what in words.state.day.works else late.what
    stations = dict(station_names(words.state))
    why = {
        "long": "it takes longer than there is time; it should have begun earlier" if work.run and work.run.is_late
                else "it takes longer than there is time",
        "wait": f"it waits for {words.name(what)}{' to be hot' if what in words.state.facts.kits else ''}",
        "kit": f"{words.name(what)} is full",
        "hands": f"nobody at {stations.get(what, what)} has a hand to spare" if what else "nobody has a hand to spare",
        "nobody": f"nobody who holds {stations.get(what, what)} is here",
        "large": f"one batch is more than {what} holds",
    }[late.why]  # fmt: skip
    minutes = (late.slots or 0) * SLOT // 60
    size = "not possible today" if late.slots is None else f"{span_text(minutes)} late" if minutes else "late"
    held = f"; holds up {' · '.join(late.holds_up[:3])}" if late.holds_up else ""
    return f"{size}: {why}{held}"


def cure_said(words: Words, work: Work, cure: Cure) -> str:
    """What would mend it, and what is late all the same."""
    left = f", still {span_text(cure.late * SLOT // 60)} late" if cure.late else ""
    if cure.kind == "hands":
        return f"{words.person(cure.who)} takes it{left}"
    if cure.kind == "off":
        return f"take off the menu: {' · '.join(cure.things[:3])}"
    if cure.kind == "none":
        return _no_cure(words, work)
    quantity = work.quantity * cure.share
    if words.state.coming.recipes[work.thing].unit == "each":  # nobody makes half a portion
        quantity = Fraction(ceil(quantity))
    enough = work.run is not None and work.run.needed - work.run.on_hand <= quantity
    return f"make only {words.quantity(work.thing, quantity)}{', enough for the day' if enough else ''}{left}"


def _no_cure(words: Words, work: Work) -> str:
    """That neither hands nor size helps, when it is ready all the same, and what is left: what is there, buying in."""
    place, run = words.state.laid.places.get(work.key), work.run
    ready = f"begun as planned it is ready {words.slot(place.start + work.task.slots)}" if place else "it can't be done"
    said = [f"no other hands and no smaller batch make it in time: {ready}"]
    if run is None or work.kind != "make":
        return said[0]
    if run.on_hand:
        there, need = words.quantity(work.thing, run.on_hand), words.quantity(work.thing, run.needed)
        said.append(f"make do with the {there} there, of {need}")
    made = words.state.coming.recipes[work.thing]
    if made.kind != "cut":
        said.append("buy it in")
    later = [words.name(by) for by in run.by[:3] if run.ready_on > words.state.coming.today]
    said += [f"or {words.near(run.ready_on)} without: {' · '.join(later)}"] if later else []
    return "; ".join(said)
