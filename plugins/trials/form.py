"""The form of a draft: fields to a draft and back, nothing that was typed lost. Pure."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from stillroom.db.drafts import MOST_LINES, Draft, DraftLine, read_lines, write_lines
from stillroom.db.names import slug
from stillroom.db.number import whole
from stillroom.db.problems import Place, Problem

SPARE = 4
MORE = 12
RESERVED = frozenset({"new", "start", "import"})
LONGEST_NAME = 80
LONGEST_TEXT = 20_000


@dataclass(frozen=True)
class Typed:
    """A form as it was sent.

    Attributes:
        act: 'save', 'check', or 'more': more lines.
        seen: the last version there was when the form was opened; based_on: the version that was changed.
        spare: how many empty lines stand below the others.
    """

    draft: Draft
    act: str
    seen: int
    based_on: int
    request: str
    who: str
    spare: int


def typed(fields: Mapping[str, str], name: str) -> Typed:
    """A draft out of a form's fields.

    Args:
        name: what it is called where the form does not say.
    """
    rows = [_row(fields, n) for n in range(1, min(_whole(fields, "rows"), MOST_LINES + SPARE) + 1)]
    lines = [line for line in rows if line.text]
    lines += read_lines(fields.get("paste", "")[: LONGEST_TEXT * 5])
    over = tuple(key[5:] for key in fields if key.startswith("over_"))
    draft = Draft(
        " ".join(fields.get("name", name).split()), fields.get("kind", "dish"), _text(fields, "section"),
        _text(fields, "yield"), _text(fields, "price"), _text(fields, "target"), _text(fields, "station"), over,
        tuple(lines), _steps(fields.get("method", "")), _text(fields, "note"),
    )  # fmt: skip
    act = fields.get("act", "save")
    spare = MORE if act == "more" else SPARE
    return Typed(
        draft, act, _whole(fields, "seen"), _whole(fields, "based_on"), fields.get("request", "")[:60],
        fields.get("who", ""), spare,
    )  # fmt: skip


def _row(fields: Mapping[str, str], n: int) -> DraftLine:
    """One line; what was typed behind a bar is read as in the files."""
    said = read_lines(" ".join(fields.get(f"line{n}", "").split()))
    line = said[0] if said else DraftLine("")
    return DraftLine(
        line.text, bool(fields.get(f"off{n}")) or line.can_be_left_off,
        _text(fields, f"edible{n}") or line.edible, _text(fields, f"scales{n}") or line.scales,
    )  # fmt: skip


def _text(fields: Mapping[str, str], name: str) -> str:
    return " ".join(fields.get(name, "").split())[:1000]


def _steps(text: str) -> tuple[str, ...]:
    return tuple(step for line in text[:LONGEST_TEXT].splitlines() if (step := line.strip()))


def _whole(fields: Mapping[str, str], name: str) -> int:
    return whole(fields.get(name, "")) or 0


def head_problems(draft: Draft, sent: Typed, taken: Sequence[str], was: str) -> dict[str, Problem]:
    """What is wrong with a form beside what `drafts.check` tells.

    Args:
        taken: what has the name already, in words; [] = nothing.
        was: what the trial was called before; '' where it is new.
    """
    wrong: dict[str, Problem] = {}
    if draft.name != was or not was:
        _name(draft.name, taken, wrong, is_new=not was)
    if not draft.lines:
        wrong["paste"] = _problem("paste", "nothing goes into it", "write one component at least")
    if len(draft.lines) > MOST_LINES:
        wrong["paste"] = _problem("paste", f"a recipe has {MOST_LINES:,} lines at most", "make sub-recipes of it")
    if draft.kind not in {"dish", "sub-recipe"}:
        wrong["kind"] = _problem("kind", "a trial is of a dish or of a sub-recipe", "choose one")
    if not sent.request:
        wrong["form"] = _problem("form", "the form was not whole", "open the page and send it again")
    return wrong


def _name(name: str, taken: Sequence[str], wrong: dict[str, Problem], *, is_new: bool) -> None:
    if not slug(name) or len(name) > LONGEST_NAME or not name.isprintable():
        words = f"a name has letters or numbers, and {LONGEST_NAME} characters at most"
        wrong["name"] = _problem("name", words, "write what it would be called on the menu")
    elif is_new and slug(name) in RESERVED:
        wrong["name"] = _problem("name", f"{name} is a page here", "give it another name")
    elif taken:
        fix = "begin from it, or rename it" if is_new else "give it another name"
        wrong["name"] = _problem("name", f"there is {' and '.join(taken)} of that name", fix)


def _problem(field: str, what: str, fix: str) -> Problem:
    return Problem("form", Place(field), what, "", fix)


def columns(
    draft: Draft, trial: tuple[str, str], version: int, based_on: int, began_from: str | None
) -> dict[str, object]:
    """The version as the log keeps it.

    Args:
        trial: its id and the name that this is made of; a version may call the dish otherwise.
    """
    return {
        "trial_id": trial[0], "trial": trial[1], "name": draft.name, "kind": draft.kind, "version": version,
        "based_on": based_on or None,
        "began_from": began_from, "section": draft.section, "yield_text": draft.yield_text, "price": draft.price,
        "target_cost": draft.target_cost, "station": draft.station, "surfaces": "; ".join(draft.surfaces),
        "lines": write_lines(draft.lines), "method": "\n".join(draft.method), "note": draft.note,
    }  # fmt: skip


def is_same(one: Draft, other: Draft) -> bool:
    """Whether two drafts say the same, their notes aside."""
    return replace(one, note="") == replace(other, note="")
