"""A number that looks like a slip is asked about once: the form comes back with a box that confirms just that number.

How far is far is common practice, no source. As data: 400 with `sure`, fields to send again with what they then say.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

from datasette.utils.asgi import Response
from stillroom.db.quantity import ReadError
from stillroom.plugins.core.format import marked
from stillroom.plugins.core.pages import data

FAR = 4  # times what was to be expected; beyond, it is asked about
FIELD = "sure"


@dataclass(frozen=True)
class Ask:
    """A question about a number, and what its box says yes to: the number as it was typed."""

    question: str
    said: str


def far(said: str, number: Fraction, usual: Fraction, of: str, least: Fraction = Fraction(0)) -> Ask | None:
    """The question about a number far above what was to be expected of it; None for one that is near.

    Args:
        said: as it was typed.
        number, usual: in the same unit; where nothing usual is known (0), nothing is asked.
        of: what the usual is, 'the list'.
        least: below this many times over nothing is far, however little is usual [as `number`].
    """
    if usual <= 0 or number <= FAR * max(usual, least):
        return None
    times = number / usual
    many = "more than a million" if times > 10**6 else marked(f"{float(times):,.0f}")
    return Ask(f"{said}? That is {many} times {of}.", said)


def is_sure(fields: Mapping[str, str], one: Ask, name: str = FIELD) -> bool:
    """Whether the box was ticked for just this number."""
    return fields.get(name, "").strip() == one.said


def refusal(error: ReadError) -> str:
    """Why a text can't be read and what can be written instead, as sentences."""
    parts = (part.strip().rstrip(".") for part in (error.what, error.why, error.do))
    return " ".join(f"{part[0].upper()}{part[1:]}." for part in parts if part)


def refused(words: str, sure: Mapping[str, str] | None = None) -> Response:
    """A form as data that was not written: the words, and for a question the fields that would say yes to it."""
    return data({"written": False, "problem": words, "sure": dict(sure or {})}, 400)
