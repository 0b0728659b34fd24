"""A form's fields as data, and what the kitchen knows while they are read."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from fractions import Fraction
from typing import Any
from zoneinfo import ZoneInfo

Typed = Mapping[str, str]
OFFERED = 6  # things offered to the thumb


@dataclass(frozen=True)
class Known:
    """A thing with a name that a field may mean. unit: its base unit; batch: what one batch of it holds, in it."""

    table: str
    id: str
    name: str
    unit: str = ""
    measures: Mapping[str, Fraction] = field(default_factory=dict)
    batch: Fraction | None = None
    of: str = ""  # a product's item, a batch's recipe, a lot's item
    more: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True)
class Within:
    """A lot that is written down: what it is of, and its last day of use (ISO date); None: it has none."""

    name: str
    last_on: str | None = None


@dataclass(frozen=True)
class Field:
    """One thing that a form asks for.

    Attributes:
        name: of the input, and of the value read.
        label: the words beside it.
        kind: how it is read: a key of READERS.
        required: whether it may be left empty.
        to: what a pick may mean: keys of `Book.names`.
        of: a quantity's thing: the name of the pick that says it, or a base unit; the moment that another lies before.
        options: a choice's (value, words).
        low, high: what lies outside can't be [°F, or the number itself].
        sure_low, sure_high: what lies outside is asked about again.
        office: for those who may see money.
        note: a line below.
        row: fields of one row stand side by side.
        zero: whether a quantity may be none.
        aside: asked for less often: it stands under "More".
        fall: what stands for it where it is empty: this word of an earlier field's `Known.more`.
        first: what stands in it to begin with.
        only: a style that leaves it off the page while a choice has no use for it; what is wrong with it always shows.
    """

    name: str
    label: str
    kind: str
    required: bool = False
    to: tuple[str, ...] = ()
    of: str = ""
    options: tuple[tuple[str, str], ...] = ()
    low: float | None = None
    high: float | None = None
    sure_low: float | None = None
    sure_high: float | None = None
    office: bool = False
    note: str = ""
    row: str = ""
    zero: bool = False
    fall: str = ""
    aside: bool = False
    first: str = ""
    only: str = ""


@dataclass(frozen=True)
class Book:
    """What the kitchen knows while a form is read.

    Attributes:
        settings: the kitchen's.
        today: its day.
        now: the moment, UTC.
        names: kind -> folded name or id -> what is meant.
        usual: name of a field -> id of a thing -> quantities written down before [base unit].
        facts: what a form's own checks need, by name.
        replaces: the entry that is corrected; 0 for none.
    """

    settings: Mapping[str, str]
    today: date
    now: datetime
    names: Mapping[str, Mapping[str, Known]] = field(default_factory=dict)
    usual: Mapping[str, Mapping[str, tuple[Fraction, ...]]] = field(default_factory=dict)
    facts: Mapping[str, Any] = field(default_factory=dict)
    replaces: int = 0

    @property
    def mark(self) -> str:
        return self.settings["decimal mark"]

    @property
    def zone(self) -> ZoneInfo:
        return ZoneInfo(self.settings["time zone"])

    @property
    def system(self) -> str:
        said = self.settings["units"]
        return said if said in {"US", "metric", "imperial"} else "US"


class Wrong(Exception):
    """A field can't be taken as it is; the words say why and what to do."""


class Doubt(Exception):
    """A field can be so but seldom is: the words ask whether it is meant. value: what it would be."""

    def __init__(self, words: str, value: Any) -> None:
        super().__init__(words)
        self.value = value


@dataclass(frozen=True)
class Taken:
    """What a form's fields came to."""

    values: dict[str, Any]
    wrong: dict[str, str]
    ask: dict[str, str]
