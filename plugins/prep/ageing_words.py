"""Pieces to hang and lots to cut up, in words. Pure."""

from __future__ import annotations

from datetime import date
from urllib.parse import urlencode

from stillroom.plugins.prep.ageing import Hang, lots_for, next_ready
from stillroom.plugins.prep.day import Work
from stillroom.plugins.prep.words import Words

BASIS = (
    "When to hang is reckoned from the guests expected so far ahead (half of such weeks want more), from what each lot"
    " will weigh on its day (by its own weighings, where there are three, else as the last such pieces ended), less"
    " trim and what is promised of it, and from portions that are cut already by counts and batches."
)


def title(words: Words, work: Work, hang: Hang) -> str:
    """'Hang 1 × beef rib, bone in, by today'."""
    item = words.state.aged[work.thing].item
    return f"Hang {int(hang.run.batches)} × {item}, by {words.near(hang.run.begin_on)}"


def lot_title(words: Words, work: Work) -> str:
    """'Cut lot B-0158: Beef rib steak, ready today'."""
    aged = words.state.aged[work.thing]
    ready = next(x.ready_on for x in aged.lots if x.code == work.lot)
    return f"Cut lot {work.lot}: {words.name(work.thing)}, ready {_since(words, ready)}"


def why(words: Words, work: Work, hang: Hang) -> str:
    """'lots in hand end about Saturday, need 8, 4 left of them'; a later piece counts on those before it."""
    run = hang.run
    left = words.quantity(work.thing, run.on_hand) if run.on_hand else "none"
    ends = f"lots in hand end about {words.near(hang.ends_on)}, " if hang.ends_on else ""
    return f"{ends}need {words.quantity(work.thing, run.needed)}, {left} left by then"


def notes(words: Words, work: Work, hang: Hang) -> tuple[str, ...]:
    """What the lead rests on, and what is short before it that hanging can't mend."""
    aged = words.state.aged[work.thing]
    found = [f"{aged.days} days as most of the last lots; one gives about {words.quantity(work.thing, aged.piece)}"]
    if hang.lacking:
        since, lacking = hang.lacking
        found.append(
            f"not enough before that: {words.quantity(work.thing, lacking)} short from {words.near(since)} on, and"
            " nothing hung now is ready for it"
        )
    return tuple(found)


def lots_note(words: Words, work: Work) -> str:
    """Which lots today's cutting comes out of; '' where the cut is of no aged piece, or the lot is named."""
    aged, today = words.state.aged.get(work.thing), words.state.coming.today
    if aged is None or work.lot:
        return ""
    found = lots_for(aged, today, work.quantity)
    said = " and ".join(f"{x.code}, ready {_since(words, x.ready_on)}" for x in found)
    if sum(x.gives for x in found) >= work.quantity:
        return f"from lot {said}"
    after = next_ready(aged, today)
    more = f"; {after.code} is next, {words.near(after.ready_on)}" if after else ""
    return f"not enough lots: {said or 'none is ready'}{more}"


def _since(words: Words, on: date) -> str:
    return "today" if on == words.state.coming.today else f"since {words.near(on)}"


def address(words: Words, work: Work) -> str:
    """The form of the log that writes down what was hung; '' where a tick does."""
    if work.hang is None:
        return ""
    return f"/log/hang?{urlencode({'of': words.state.aged[work.thing].item_id, 'cut': work.thing})}"


def unknown(words: Words) -> list[str]:
    """Cuts that the days ahead want and that age, nobody knows how long."""
    coming = words.state.coming
    return [
        f"{words.name(cut)} comes from a piece that ages. By when to hang the next can't be told: no lot of it says for"
        " how many days, or a piece gives not one portion."
        for cut in words.state.unknown
        if cut in coming.plan.needs
    ]
