"""What an address of the ageing pages asks for; a wrong figure is said and left out."""

from __future__ import annotations

import sqlite3
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from typing import Any
from urllib.parse import urlencode

from stillroom.db.kitchen import day_of, settings
from stillroom.db.quantity import ReadError, read_date, read_number, read_quantity
from stillroom.db.units import to_base
from stillroom.plugins.core.format import large
from stillroom.plugins.cuts.compute import KILO, Keep

FIELDS = ("on", "need", "interest", "space", "cut", "portion")


@dataclass(frozen=True)
class Asked:
    """The kitchen's day, the service asked about, portions needed, costs of keeping; wrong: what could not be read.

    cut: only its lots, '' = all; portion_g: weight of a portion [g], None = each cut's own.
    """

    today: date
    service: date
    needed: int
    keep: Keep
    currency: str
    system: str
    said: dict[str, str]
    wrong: tuple[str, ...]
    cut: str = ""
    portion_g: Fraction | None = None

    @property
    def degree(self) -> str:
        """The scale that the kitchen's temperatures are read in."""
        return "°C" if self.system == "metric" else "°F"

    @property
    def per(self) -> str:
        """What a cost of meat is for: kg or lb."""
        return large("g")[0]

    @property
    def query(self) -> str:
        """The same question as part of an address; '' where nothing was asked."""
        return urlencode({name: words for name, words in self.said.items() if words})


def read_asked(connection: sqlite3.Connection, args: Any) -> Asked:
    """What an address or a form asks for."""
    house = settings(connection)
    today = day_of(house)
    wrong: list[str] = []
    said = {name: (args.get(name) or "").strip()[:60] for name in FIELDS}
    service = _day(said["on"], today, wrong)
    mark = house["decimal mark"]
    need, interest, space = (_figure(said[name], name, wrong, mark) for name in ("need", "interest", "space"))
    if need.denominator != 1:
        wrong.append("Portions are whole.")
    portion = weight_of(said["portion"], house, wrong)
    keep = Keep(interest / 100, space * KILO / large("g")[1])
    return Asked(today, service, int(need), keep, house["currency"], house["units"], said, tuple(wrong), said["cut"],
                 portion)  # fmt: skip


def _day(text: str, today: date, wrong: list[str]) -> date:
    try:
        service = date.fromisoformat(read_date(text)) if text else today
    except ReadError as error:
        wrong.append(f"{error.what}: {error.do}.")
        return today
    if service < today:
        wrong.append("That service is past: today is taken.")
        return today
    return service


def weight_of(text: str, house: Mapping[str, str], wrong: list[str], bare: str = "g") -> Fraction | None:
    """A weight as a cook writes it, '16 oz' or '450 g' [g]; a bare number is in `bare`; None where there is none.

    house: the kitchen's settings: its units and its decimal mark.
    """
    if not text:
        return None
    try:
        said = read_quantity(text, house["decimal mark"], house["units"])
        found = to_base(said.number, said.unit_text or bare, "g", {}, house["units"])
    except ReadError as error:
        wrong.append(f"{error.what}. {error.do}.")
        return None
    if not 0 < found <= 10**6:
        wrong.append("A weight is above 0 and at most 1,000 kg.")
        return None
    return found


def _figure(text: str, name: str, wrong: list[str], mark: str) -> Fraction:
    try:
        found = read_number(text, mark) if text else Fraction(0)
        if found < 0 or found > 10**6:
            raise ReadError("number-range", f"{name} is from 0 to 1,000,000", "", "write it so")
        return found
    except ReadError as error:
        wrong.append(f"{error.what}: {error.do}.")
        return Fraction(0)
