"""A form that could not be written: why, in words, and all that was typed, ready to be sent again."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from stillroom.db.faults import Fault

NEVER_SHOWN = frozenset({"csrftoken", "pin", "password"})  # asked for anew
UNSEEN = frozenset({"request", "request_id", "voids", "expected", "made-at", "sent-at"})  # the form's own
SIGNER = "who"
LONGEST = 200_000  # characters kept; a file that was chosen is chosen again


@dataclass(frozen=True)
class Unwritten:
    """A form to be sent again.

    Attributes:
        address: where it goes.
        fields: names and values as they were sent, but for secrets.
        shown: those of them that a person typed, in plain words.
        is_cut: a file was too long to be kept here.
        signed_who: who was tapped to sign on a shared tablet.
        is_signed_out: whoever sends it must sign in first.
    """

    title: str
    words: str
    address: str
    fields: tuple[tuple[str, str], ...]
    shown: tuple[tuple[str, str], ...]
    is_cut: bool
    signed_who: str
    is_signed_out: bool = False


SIGNED_OUT = Fault(
    "Your sign-in has ended", "Your sign-in ended while this form was open.",
    "What you wrote is kept on this page: sign in on another one, come back here and send it again.",
)  # fmt: skip


def words_of(fault: Fault) -> str:
    """What a person at a form is told."""
    return f"{fault.what} Nothing was written. {fault.do}"


def form_of(fault: Fault, address: str, sent: Mapping[str, str]) -> Unwritten:
    """The form as it was sent, its secrets left out."""
    fields = {name: value for name, value in sent.items() if name not in NEVER_SHOWN}
    is_cut = sum(map(len, fields.values())) > LONGEST
    if is_cut:
        fields = {name: value for name, value in fields.items() if len(value) < LONGEST // 10}
    signer = fields.pop(SIGNER, "")
    shown = tuple((_words(name), value) for name, value in fields.items() if value and name not in UNSEEN)
    return Unwritten(fault.title, words_of(fault), address, tuple(fields.items()), shown, is_cut, signer,
                     fault is SIGNED_OUT)  # fmt: skip


def _words(name: str) -> str:
    return name.replace("_", " ").replace("-", " ")
