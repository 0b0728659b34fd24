"""The plan of a day: how far from the optimum, and how long it takes.

1. Days of 60 tasks (tests/plugins/prep/days.py) against OR-Tools CP-SAT, ten seconds each; the gap is to the proven
   optimum, or to the proven bound where the solver did not finish. Then with equipment that takes time to be hot, and
   with tasks that hold theirs for a part of their time, as a loaf its oven.
2. Published problems: j301_1 of PSPLIB, and classic job shops, which hold no kitchen but are known to be hard.
3. Time for 400 tasks, 12 people, 30 pieces of equipment, and for one change in such a plan; the same where two in
   three pieces of equipment take time to be hot and half of the tasks hold theirs for a part of their time.
"""

from __future__ import annotations

import sys
import time
from importlib.util import find_spec
from pathlib import Path

from stillroom.plugins.prep.board import House, Task
from stillroom.plugins.prep.schedule import plan, replan, worth

sys.path[:0] = [str(Path(__file__).parent), str(Path(__file__).parents[1] / "plugins" / "prep")]
from days import drawn_day, faults  # noqa: E402
from projects import J301, job_shop, job_shops, psplib  # noqa: E402

DAYS = 12
SECONDS = 10.0
HEATED = 2 / 3
BAKED = 1 / 2


def ends(tasks: list[Task], house: House) -> int:
    """The end of the last task in our plan, checked by plain counting."""
    said = plan(tasks, house)
    assert not said.unplaced and faults(tasks, house, said.places) == []
    return worth({t.id: t for t in tasks}, said)[2]


def days(heated: float = 0.0, baked: float = 0.0) -> None:
    """Table 1; heated: the share of equipment that takes time to be hot; baked: of tasks that hold it for a part."""
    from optimum import shortest

    kind = f"{'   heated' if heated else ''}{'   baked' if baked else ''}"
    print(f"{'day of 60 tasks':20}{'ours':>7}{'best known':>12}{'bound':>7}{'gap':>8}{kind}")
    gaps = []
    for seed in range(DAYS):
        tasks, house = drawn_day(seed, 60, 6, 10, 700, heated, baked)
        ours, (best, bound) = ends(tasks, house), shortest(tasks, house, SECONDS)
        gaps.append(ours / bound - 1)
        print(f"{seed:<20}{ours:7}{best:12}{bound:7}{100 * gaps[-1]:7.1f}%")
    mean = sum(gaps) / len(gaps)
    print(f"mean gap to the bound {100 * mean:.2f} % (at most 3 wanted), worst {100 * max(gaps):.1f} %")


def published() -> None:
    """Table 2."""
    tasks, house = psplib(J301.read_text("utf-8"))
    print(f"PSPLIB j301_1: ours {ends(tasks, house)}, optimum 43")
    gaps = {}
    for name, said in job_shops().items():
        best = said["metadata"]["optimum"]
        if name.startswith(("ft", "la")) and best:
            gaps[name] = ends(*job_shop(said)) / best - 1
    if gaps:
        mean = sum(gaps.values()) / len(gaps)
        worst, solved = max(gaps.values()), sum(g == 0 for g in gaps.values())
        print(f"{len(gaps)} job shops (ft, la): mean gap to the optimum {100 * mean:.1f} %, worst {100 * worst:.1f} %")
        print(f"{solved} of them solved to the optimum")


def times(heated: float = 0.0, baked: float = 0.0) -> None:
    """Table 3; heated, baked: as above."""
    tasks, house = drawn_day(1, 400, 12, 30, 1200, heated, baked)
    begin = time.perf_counter()
    said = plan(tasks, house)
    made = time.perf_counter() - begin
    burnt = [t for t in tasks if t.id != "t40"]
    burnt = [Task(**{**t.__dict__, "after": tuple(a for a in t.after if a != "t40")}) for t in burnt]
    begin = time.perf_counter()
    again = replan(burnt, house, said.places)
    changed = time.perf_counter() - begin
    moved = sum(again.places[t.id] != said.places[t.id] for t in burnt)
    lit = sum(t.id.endswith("~light") for t in tasks)
    print(f"400 tasks, 12 people, 30 pieces of equipment, {lit} to heat: {made:.2f} s (at most 1 wanted)")
    print(f"one task gone from it: {changed:.3f} s (at most 0.3 wanted), {moved} others moved")


def main() -> None:
    """Prints all three."""
    if find_spec("ortools"):
        days()
        days(HEATED)
        days(HEATED, BAKED)
    published()
    times()
    times(HEATED, BAKED)


if __name__ == "__main__":
    main()
