"""Heat resistance: one organism in one food, with the range in which it was measured.

Records are never mixed: a result names the record it came from. Outside a record's range the question is refused.
"""

from __future__ import annotations

import csv
import io
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files

from .errors import HeatError, KineticsOutOfRange

# Beyond this no D-z line means anything; a larger figure is shown as "at least" this.
MOST_LOGS_SHOWN = 12.0


@dataclass(frozen=True)
class Kinetics:
    """Heat resistance of one organism in one food.

    Attributes:
        id: key in kinetics.csv.
        set: records that are read together (meat, poultry ...).
        organism: name.
        matrix: the food it was measured in.
        d_min: time for one tenfold reduction at ``tref_c`` [min].
        tref_c: temperature of ``d_min`` [°C].
        z_k: difference of temperature for a tenfold change of D [K].
        valid_low_c: lowest temperature a question may be asked at [°C].
        valid_high_c: highest [°C].
        credit_floor_c: below this a claim counts nothing [°C].
        credit_cap_c: above this a claim counts no more than here [°C].
        target_logs: reduction that the source aims at [-].
        basis: read, memory or fitted.
        source: where the numbers stand.
    """

    id: str
    set: str
    organism: str
    matrix: str
    d_min: float
    tref_c: float
    z_k: float
    valid_low_c: float
    valid_high_c: float
    credit_floor_c: float
    credit_cap_c: float
    target_logs: float
    basis: str
    source: str

    def check(self, temp_c: float) -> float:
        """The temperature itself [°C], when the record covers it.

        Args:
            temp_c: temperature asked about [°C].

        Raises:
            KineticsOutOfRange: naming the record and its range.
        """
        if not self.valid_low_c <= temp_c <= self.valid_high_c:
            raise KineticsOutOfRange(
                f"{temp_c:.1f} °C is outside {self.valid_low_c:g} to {self.valid_high_c:g} °C, the range of "
                f"{self.organism} in {self.matrix} ({self.id}); no answer there"
            )
        return temp_c

    def d_value_s(self, temp_c: float) -> float:
        """Time for one tenfold reduction [s] at a temperature the record covers.

        Args:
            temp_c: temperature [°C].

        Raises:
            KineticsOutOfRange: outside the record's range.
        """
        self.check(temp_c)
        return float(60.0 * self.d_min * 10.0 ** ((self.tref_c - temp_c) / self.z_k))

    def hold_s(self, temp_c: float, logs: float | None = None) -> float:
        """Hold at one temperature for a reduction [s].

        Args:
            temp_c: temperature of every part [°C].
            logs: tenfold reductions [-]; the record's own target when None.

        Raises:
            KineticsOutOfRange: outside the record's range.

        Example:
            >>> round(record("meat_listeria").hold_s(60) / 60, 2)
            21.79
        """
        return (self.target_logs if logs is None else logs) * self.d_value_s(temp_c)


@lru_cache(maxsize=1)
def records() -> dict[str, Kinetics]:
    """Every record, by id."""
    text = (files("stillroom.plugins.physics") / "kinetics.csv").read_text(encoding="utf-8")
    found = {}
    for row in csv.DictReader(io.StringIO(text)):
        words = {key: row[key] for key in ("id", "set", "organism", "matrix", "basis", "source")}
        numbers = {key: float(value) for key, value in row.items() if key not in words}
        found[row["id"]] = Kinetics(**words, **numbers)  # type: ignore[arg-type]
    return found


def record(key: str) -> Kinetics:
    """One record.

    Args:
        key: its id.

    Raises:
        HeatError: for an unknown id, listing the known ones.
    """
    known = records()
    if key not in known:
        raise HeatError(f'no heat-resistance record "{key}"; known are {", ".join(sorted(known))}')
    return known[key]


def record_set(name: str) -> tuple[Kinetics, ...]:
    """The records that are read together for a food.

    Args:
        name: meat, roast_law, poultry, fish_lean, fish_fatty ...

    Raises:
        HeatError: for an unknown set, listing the known ones.
    """
    found = tuple(entry for entry in records().values() if entry.set == name)
    if not found:
        known = sorted({entry.set for entry in records().values()})
        raise HeatError(f'no set of records "{name}"; known are {", ".join(known)}')
    return found


def shown_logs(logs: float) -> str:
    """Reduction as it may stand on a screen, rounded down.

    Args:
        logs: tenfold reductions [-].

    Example:
        >>> shown_logs(6.48), shown_logs(31.0), shown_logs(0.04)
        ('6.4', '≥ 12', '0.0')
    """
    if logs >= MOST_LOGS_SHOWN:
        return f"≥ {MOST_LOGS_SHOWN:.0f}"
    return f"{int(max(logs, 0.0) * 10 + 1e-9) / 10:.1f}"
