"""Expected covers on held-back weeks: stillroom's sum beside "same as last week" and "mean of the last four".

Two logs: the demonstration's, and one of 60 weeks from a stated process: a level that wanders 3 % a week, weekdays from
0.7 to 1.4 of the mean, a season of one year with +-15 %, a noise of 9 %, 5 % of services disturbed by -35 to +30 %
(weather, a party), bookings that are 88 % of what comes, off by 7 %.
Error: sum of |expected - came| over the sum of what came.
"""

from __future__ import annotations

import csv
import math
import random
from collections.abc import Sequence
from datetime import date, timedelta
from pathlib import Path

from stillroom.db.demand import Served, expect

DEMO = Path(__file__).parents[2] / "db" / "demo" / "covers.csv"
HELD_BACK = 8  # weeks


def demo_log() -> list[Served]:
    """The demonstration's services."""
    rows = csv.DictReader(DEMO.open(encoding="utf-8"))
    return [
        Served(date.fromisoformat(r["served on"]), r["service"], int(r["booked"]) if r["booked"] else None,
               int(r["covers"]) if r["covers"] else None)
        for r in rows
    ]  # fmt: skip


def generated(seed: int, weeks: int = 60) -> list[Served]:
    """The process above."""
    dice = random.Random(seed)
    week = {3: 0.7, 4: 0.8, 5: 1.25, 6: 1.4, 7: 0.9}
    first, level, found = date(2025, 9, 29), 60.0, []
    for n in range(weeks):
        level *= math.exp(dice.gauss(0, 0.03))
        for weekday, share in week.items():
            on = first + timedelta(days=7 * n + weekday - 1)
            season = 1 + 0.15 * math.sin(2 * math.pi * on.timetuple().tm_yday / 365)
            upset = dice.uniform(0.65, 1.3) if dice.random() < 0.05 else 1.0
            came = max(1, round(level * share * season * upset * math.exp(dice.gauss(0, 0.09))))
            found.append(Served(on, "dinner", max(0, round(came * 0.88 * math.exp(dice.gauss(0, 0.07)))), came))
    return found


def errors(log: Sequence[Served], with_bookings: bool) -> dict[str, float]:
    """Error of the three ways over the held-back weeks [-]."""
    served = [s if with_bookings else Served(s.on, s.service, None, s.covers) for s in log if s.covers]
    begins = served[-1].on - timedelta(days=7 * HELD_BACK)
    by = {(s.on, s.service): s.covers or 0 for s in served}
    off, came = {"stillroom": 0.0, "last week": 0.0, "mean of four": 0.0}, 0
    for s in (s for s in served if s.on > begins):
        before = [by[d, s.service] for n in range(1, 5) if (d := s.on - timedelta(days=7 * n), s.service) and
                  (d, s.service) in by]  # fmt: skip
        if len(before) < 4:
            continue
        said = expect(served, s.on, s.service, s.on).covers or 0.0
        came += s.covers or 0
        for name, value in (("stillroom", said), ("last week", before[0]), ("mean of four", sum(before) / 4)):
            off[name] += abs(value - (s.covers or 0))
    return {name: total / came for name, total in off.items()}


def in_band(log: Sequence[Served]) -> float:
    """Share of the held-back services that came within their band."""
    served = [s for s in log if s.covers][-40:]
    said = [(expect(log, s.on, s.service, s.on), s.covers or 0) for s in served]
    return sum(e.low <= came <= e.high for e, came in said) / len(said)


def main() -> None:
    """Prints both tables."""
    print(f"{'error on held-back weeks':34}{'stillroom':>11}{'last week':>11}{'mean of 4':>11}")
    logs = [("demonstration", [demo_log()]), ("generated, 20 logs", [generated(seed) for seed in range(20)])]
    for name, many in logs:
        for words, booked in (("bookings known", True), ("no bookings", False)):
            found = [errors(log, booked) for log in many]
            means = [sum(f[k] for f in found) / len(found) for k in ("stillroom", "last week", "mean of four")]
            print(f"{name + ', ' + words:34}" + "".join(f"{100 * m:10.1f}%" for m in means))
        print(f"{name}: {100 * sum(in_band(log) for log in many) / len(many):.0f} % came within the band (80 meant)")


if __name__ == "__main__":
    main()
