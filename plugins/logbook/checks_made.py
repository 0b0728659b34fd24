"""What can't be and what is asked of a batch that is made and of a batch that goes into the freezer or out. Pure."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

from stillroom.db.date_marks import Keeps, keeps, stays
from stillroom.plugins.core.format import day, near_day
from stillroom.plugins.logbook.checks import Says
from stillroom.plugins.logbook.fields import Book, Known, Within

Values = Mapping[str, Any]


def check_batch(values: Values, book: Book) -> Says:
    """Its last day of use lies between the day it is made and the rule's; the lots in it are known."""
    wrong: dict[str, str] = {}
    ask: dict[str, str] = {}
    recipe, on = values["of"], values["on"]
    if values["use_by"] and on and values["use_by"] < on:
        wrong["use_by"] = f"It was made {near_day(on, book.today)}: its last day can't come before that."
    elif values["use_by"] and on and isinstance(recipe, Known):
        _use_by(values["use_by"], keeps(date.fromisoformat(on), recipe.more["life"]), book, ask)
    check_lots(values, book, on or book.today.isoformat(), ask)
    return Says(wrong, ask)


def _use_by(said: str, rule: Keeps, book: Book, ask: dict[str, str]) -> None:
    """A day that is past, or later than the rule gives, is asked about."""
    if said < book.today.isoformat():
        ask["use_by"] = f"{day(said, book.today)} is past already: what is left of it is thrown away. Is it so?"
    elif rule.last_on is not None and said > rule.last_on.isoformat():
        ask["use_by"] = f"The rule ends on {day(rule.last_on, book.today)}. {rule.why} Is it later all the same?"


def check_lots(values: Values, book: Book, on: str, ask: dict[str, str]) -> None:
    """Lots that went in are written down somewhere, and were in date."""
    lots: Mapping[str, Within] = book.facts.get("lots within", {})
    unknown = [code for code in values["from"] or () if code not in lots]
    past = [(code, lots[code]) for code in values["from"] or () if code in lots and (lots[code].last_on or on) < on]
    words = []
    if unknown:
        words.append(f"No receipt and no batch with the lot code {' or '.join(unknown)} is written down.")
    words += [
        f"{lot.name} {code} was past its last day, {day(lot.last_on, book.today)}, when this was made."
        for code, lot in past
    ]
    if words:
        ask["from"] = f"{' '.join(words)} Did it go in?"


def check_freeze(values: Values, book: Book) -> Says:
    """A batch goes in when it is out and comes out when it is in, on days that follow one another."""
    batch, what, on = values["of"], values["what"], values["on"]
    if not isinstance(batch, Known) or not what or not on:
        return Says({}, {})
    moves: Sequence[tuple[str, str]] = batch.more["moves"]
    is_in = bool(stays(moves)) and stays(moves)[-1].thawed_on is None
    last = moves[-1][1] if moves else batch.more["made_on"]
    if what == "frozen" and is_in:
        return Says({"what": f"It is in the freezer already, since {near_day(last, book.today)}."}, {})
    if what == "thawed" and not is_in:
        out = f"it came out {near_day(last, book.today)}" if moves else "nobody wrote down that it was frozen"
        return Says({"what": f"It is not in the freezer: {out}."}, {})
    if on < last:
        did = {"frozen": "went into the freezer", "thawed": "came out"}[moves[-1][0]] if moves else "was made"
        return Says({"on": f"It {did} {near_day(last, book.today)}: this can't be before that."}, {})
    return Says({}, _unlikely_freeze(batch, what, on, moves, book))


def _unlikely_freeze(
    batch: Known, what: str, on: str, moves: Sequence[tuple[str, str]], book: Book
) -> dict[str, str]:
    """What is asked of a batch that goes into the freezer: a day that is past, a second time, nothing left of it."""
    if what != "frozen":
        return {}
    written = date.fromisoformat(batch.more["use_by"]) if batch.more["use_by"] else None
    rule = keeps(date.fromisoformat(batch.more["made_on"]), batch.more["life"], stays(moves), written)
    if rule.last_on is not None and on > rule.last_on.isoformat():
        return {"what": f"Its last day of use was {day(rule.last_on, book.today)}, and the freezer gives no day back:"
                        " throw it away. Did it go in all the same?"}  # fmt: skip
    if moves:
        return {"what": f"It was frozen before and came out {near_day(moves[-1][1], book.today)}. Again?"}
    if batch.more["left"] <= 0:
        return {"of": "By the records nothing is left of it. Did it go in?"}
    return {}
