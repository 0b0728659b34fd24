"""Published bands of doneness: where a prediction peaks among them, and where cores that were read lie."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

from stillroom.plugins.doneness.foods import bands_of
from stillroom.plugins.doneness.standing import reached_s
from stillroom.plugins.physics.programme import Prediction
from stillroom.plugins.physics.reference import rows, source_titles
from stillroom.plugins.physics.temperature import f_from_c


@dataclass(frozen=True)
class Band:
    """A named band [°F]. reached_s: when the likely core reaches its lower end [s]; is_peak: the peak lies in it.

    chart: which chart it is of; charts may have one kind and one word, and mean another temperature by it.
    """

    word: str
    low_f: float
    high_f: float | None
    kind: str
    source: str
    note: str
    reached_s: float | None
    is_peak: bool
    chart: str


def bands(food: str, prediction: Prediction, worked: str = "intact") -> tuple[Band, ...]:
    """Published bands of a food, with when the likely core reaches them."""
    peak = round(f_from_c(prediction.peak_core_c[0]), 2)
    return tuple(_band(row, reached_s(prediction, float(row["low_f"])), peak) for row in band_rows(food, worked))


@lru_cache(maxsize=64)
def band_rows(food: str, worked: str = "intact") -> tuple[dict[str, str], ...]:
    """Rows of the table of bands that are printed for a food, set by set."""
    found = []
    for start in bands_of(food, worked):
        found += [
            row | {"chart": start}
            for row in rows("doneness.csv")
            if row["id"].startswith(f"{start}_") or row["id"] == start
        ]
    return tuple(found)


def _band(row: dict[str, str], reached: float | None, peak_f: float) -> Band:
    low, high = float(row["low_f"]), float(row["high_f"]) if row["high_f"] else None
    inside = peak_f >= low and (high is None or peak_f < high)
    titles = source_titles(row["source_id"])
    source = {"read": titles, "memory": "from memory, no source read"}.get(row["basis"], row["basis"])
    return Band(row["band"], low, high, row["kind"], source, row["note"], reached, inside, row["chart"])


@dataclass(frozen=True)
class BandCount:
    """Readings in one set of published bands: how many in each, those in none last, under the word 'none of them'."""

    kind: str
    source: str
    counts: tuple[tuple[str, int], ...]


def band_counts(food: str, cores_f: Sequence[float], worked: str = "intact") -> tuple[BandCount, ...]:
    """Where cores that were read lie in the published bands of a food.

    Args:
        food: the kitchen's word.
        cores_f: cores [°F].
        worked: a key of `pieces.WORKED`.
    """
    sets: dict[tuple[str, str, str], list[Counter[str]]] = {}
    for row in band_rows(food, worked):
        each = [_band(row, None, core) for core in cores_f]
        key = (row["chart"], row["kind"], _band(row, None, 0.0).source)
        sets.setdefault(key, []).append(Counter({row["band"]: sum(band.is_peak for band in each)}))
    return tuple(_counted(key[1:], found, len(cores_f)) for key, found in sets.items())


def _counted(key: tuple[str, str], found: list[Counter[str]], total: int) -> BandCount:
    inside = [(word, count) for one in found for word, count in one.items() if count]
    left = total - sum(count for _, count in inside)
    return BandCount(*key, (*inside, *((("none of them", left),) if left > 0 else ())))
