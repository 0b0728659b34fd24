"""Times and temperatures that are law or published tables, looked up in °F as printed.

A temperature between two rows takes the cooler row, which asks for the longer time. Below the first row there is no
answer. Confirm with the edition that the jurisdiction has adopted.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache

from stillroom.db.pieces import COOLS_AS

from .errors import HeatError, OutOfRange
from .reference import rows


@dataclass(frozen=True)
class Minimum:
    """A cooking or holding minimum.

    Attributes:
        id: key in the reference table.
        food_class: which foods.
        temp_f: temperature to reach in every part [°F].
        hold_s: time to stay there [s].
        edition: editions that print it.
        section: section of the Food Code.
        note: remarks.
        basis: read or memory.
        source_id: where it was read.
    """

    id: str
    food_class: str
    temp_f: Fraction
    hold_s: int
    edition: str
    section: str
    note: str
    basis: str
    source_id: str


@lru_cache(maxsize=1)
def minimums() -> dict[str, Minimum]:
    """Every cooking minimum that states a temperature and a hold, by id."""
    return {
        row["id"]: Minimum(
            id=row["id"],
            food_class=row["food_class"],
            temp_f=Fraction(row["min_temp_f"]),
            hold_s=int(row["hold_seconds"]),
            edition=row["edition"],
            section=row["section"],
            note=row["note"],
            basis=row["basis"],
            source_id=row["source_id"],
        )
        for row in rows("cooking_minimums.csv")
        if row["min_temp_f"] and row["hold_seconds"]
    }


def minimum(key: str) -> Minimum:
    """One cooking minimum.

    Args:
        key: its id.

    Raises:
        HeatError: for an unknown id.
    """
    if key not in minimums():
        raise HeatError(f'no cooking minimum "{key}"')
    return minimums()[key]


def own_minimum(temp_f: float, hold_s: float, stands: str) -> Minimum:
    """A kitchen's own rule in the shape of a minimum.

    Args:
        temp_f: what every part reaches, as written [°F].
        hold_s: how long it stays there [s].
        stands: where the rule is written down.
    """
    hold, name = math.ceil(hold_s), "this kitchen's own rule"
    return Minimum("own", name, Fraction(repr(temp_f)), hold, "", stands, "", "own", "")


@dataclass(frozen=True)
class TimeTable:
    """Hold times against temperature.

    Attributes:
        name: what table it is.
        temps_f: temperatures of the rows, rising [°F].
        times_s: hold of each row [s].
        at_most: rows printed as "less than" [-].
    """

    name: str
    temps_f: tuple[Fraction, ...]
    times_s: tuple[float, ...]
    at_most: tuple[bool, ...]

    def _row(self, temp_f: Fraction | float | int) -> int:
        row = bisect_right(self.temps_f, Fraction(temp_f)) - 1
        if row < 0:
            raise OutOfRange(
                f"{float(temp_f):g} °F is below {float(self.temps_f[0]):g} °F, the first row of {self.name}; no answer"
            )
        return row

    def hold_s(self, temp_f: Fraction | float | int) -> float:
        """Hold as printed in the row at or just below a temperature [s].

        Args:
            temp_f: temperature of every part [°F].

        Raises:
            OutOfRange: below the first row.
        """
        return self.times_s[self._row(temp_f)]

    def between_s(self, temp_f: Fraction | float | int) -> float:
        """Hold on the straight line through the logarithms of the two rows around a temperature [s].

        A model of the table, not the table; at and above the last row, and where a row prints 0, the row itself.

        Args:
            temp_f: temperature of every part [°F].

        Raises:
            OutOfRange: below the first row.
        """
        row = self._row(temp_f)
        if row + 1 == len(self.temps_f) or not self.times_s[row + 1] or not self.times_s[row]:
            return self.times_s[row]
        share = (Fraction(temp_f) - self.temps_f[row]) / (self.temps_f[row + 1] - self.temps_f[row])
        low, high = math.log(self.times_s[row]), math.log(self.times_s[row + 1])
        return math.exp(low + float(share) * (high - low))


@lru_cache(maxsize=1)
def roast_rows() -> tuple[Minimum, ...]:
    """Whole meat roasts: the rows of Food Code 3-401.11(B), the coldest first, of every edition on record."""
    found = (entry for key, entry in minimums().items() if key.startswith("roast_") and key[6:].isdigit())
    return tuple(sorted(found, key=lambda entry: entry.temp_f))


@lru_cache(maxsize=1)
def roast_table() -> TimeTable:
    """Whole meat roasts: temperature and hold of Food Code 3-401.11(B)."""
    found = roast_rows()
    return TimeTable(
        "the roast table of Food Code 3-401.11(B)",
        tuple(entry.temp_f for entry in found),
        tuple(float(entry.hold_s) for entry in found),
        (False,) * len(found),
    )


def roast_law_s(temp_f: float) -> float:
    """Hold by the one law behind the roast table, 112 min at 130 °F with z 10 °F [s].

    A model of the table: it knows nothing of the table's step to 0 s at 158 °F.

    Args:
        temp_f: temperature of every part [°F], 130 to 158.

    Raises:
        OutOfRange: outside the table.

    Example:
        >>> round(roast_law_s(140) / 60, 2)
        11.2
    """
    if not 130 <= temp_f <= 158:
        raise OutOfRange(f"{temp_f:g} °F is outside 130 to 158 °F, the range of the roast table")
    return 112 * 60 * 10 ** (-(temp_f - 130) / 10)


def part_holds(holds: tuple[tuple[float, float], ...]) -> Fraction:
    """Sum of each hold over the hold the roast table asks for at its temperature [-]; 1 or more is enough.

    The model behind the table, not law: the code prints no rule for adding holds.

    Args:
        holds: pairs of temperature [°F] and time [s].

    Example:
        >>> part_holds(((135, 1800), (140, 120)))
        Fraction(1, 1)
    """
    total = Fraction(0)
    for temp_f, time_s in holds:
        asked = roast_table().hold_s(temp_f)
        if not asked:
            return Fraction(1)
        total += Fraction(time_s) / Fraction(asked)
    return total


@lru_cache(maxsize=4)
def meat_table(column: str = "6.5") -> TimeTable:
    """Cooked meat of the federal inspection service: hold for 6.5 or 7 logs of Salmonella.

    Args:
        column: "6.5" or "7".

    Raises:
        HeatError: for another column.
    """
    names = {"6.5": "time_6_5_log_s", "7": "time_7_log_s"}
    if column not in names:
        raise HeatError(f'meat table column "{column}"; allowed are 6.5 and 7')
    found = rows("lethality_meat.csv")
    return TimeTable(
        f"the FSIS meat table, {column} log",
        tuple(Fraction(row["temp_f"]) for row in found),
        tuple(float(row[names[column]]) for row in found),
        (False,) * len(found),
    )


@lru_cache(maxsize=8)
def poultry_table(species: str, fat_pct: int) -> TimeTable:
    """Cooked poultry of the federal inspection service: hold for 7 logs of Salmonella.

    Args:
        species: chicken or turkey.
        fat_pct: a printed fat level [%].

    Raises:
        HeatError: where no such column is on file, naming those that are.
    """
    table = rows("lethality_poultry.csv")
    found = [row for row in table if row["species"] == species and row["fat_pct"] == str(fat_pct)]
    if not found:
        known = sorted({f"{row['species']} {row['fat_pct']} %" for row in table})
        raise HeatError(f"no poultry table for {species} {fat_pct} %; known are {', '.join(known)}")
    found.sort(key=lambda row: int(row["temp_f"]))
    return TimeTable(
        f"the FSIS poultry table, {species} {fat_pct} % fat",
        tuple(Fraction(row["temp_f"]) for row in found),
        tuple(float(row["time_s"]) for row in found),
        tuple(row["operator"] == "<" for row in found),
    )


@dataclass(frozen=True)
class CoolingStage:
    """One limit of a cooling rule. temp_f: to be at or below [°F]; within_s: counted from the rule's start [s]."""

    temp_f: Fraction
    within_s: int


@dataclass(frozen=True)
class CoolingRule:
    """How food of one kind is to be cooled.

    Attributes:
        key: which of `stillroom.db.pieces.COOLS_AS`.
        food: the food it is for, in words.
        start_f: its clock starts as the food passes this going down [°F]; None: as the food is made or comes in.
        stages: its limits, in order; every one is counted from the same start.
        section: paragraph of the Food Code.
        edition: editions that print it.
        basis: read or memory.
    """

    key: str
    food: str
    start_f: Fraction | None
    stages: tuple[CoolingStage, ...]
    section: str
    edition: str
    basis: str

    def span(self, stage: CoolingStage) -> str:
        """What a limit is about: '135 to 70 °F', or 'to 41 °F' where no temperature starts the clock.

        Args:
            stage: one of its limits.
        """
        begins = "" if self.start_f is None else f"{float(self.start_f):g} "
        return f"{begins}to {float(stage.temp_f):g} °F"

    @property
    def named(self) -> str:
        """Every limit in one line: '135 to 70 °F in 2 h, to 41 °F in 6 h in all'."""
        first, *later = (f"to {float(s.temp_f):g} °F in {s.within_s / 3600:g} h" for s in self.stages)
        begins = "" if self.start_f is None else f"{float(self.start_f):g} "
        return ", ".join([begins + first, *(f"{one} in all" for one in later)])


# Food Code 3-501.14: (A) cooked food, from 135 °F; (B) made from ingredients at room temperature; (C) received above
# 41 °F in compliance with the law of its shipment. (B) and (C) name no temperature that starts the clock.
_COOLING = {
    "cooked": (Fraction(135), ("cool_stage1", "cool_total"), "3-501.14(A)"),
    "ambient": (None, ("cool_ambient_ingredients",), "3-501.14(B)"),
    "received": (None, ("cool_received_warm",), "3-501.14(C)"),
}


@lru_cache(maxsize=4)
def cooling_rule(key: str = "cooked") -> CoolingRule:
    """The limits by which one kind of food is cooled.

    Args:
        key: which of `stillroom.db.pieces.COOLS_AS`.

    Raises:
        HeatError: for another key.
    """
    if key not in _COOLING:
        raise HeatError(f'no cooling rule "{key}"; known are {", ".join(_COOLING)}')
    start, ids, section = _COOLING[key]
    table = {row["id"]: row for row in rows("cooling_holding.csv")}
    found = [table[one] for one in ids]
    stages = tuple(CoolingStage(Fraction(row["temp_f"]), int(row["time_seconds"])) for row in found)
    return CoolingRule(key, COOLS_AS[key], start, stages, section, found[-1]["edition"], found[-1]["basis"])
