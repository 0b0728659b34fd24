"""A version checked, held against three others and put on the menu, beside what a whole load of the kitchen takes."""

from __future__ import annotations

import sqlite3
import tempfile
import time
from collections.abc import Callable
from datetime import date
from fractions import Fraction
from pathlib import Path

from stillroom.db.connect import transaction
from stillroom.db.drafts import Draft, DraftLine, check_in
from stillroom.db.log import append
from stillroom.db.promotions import apply_due
from stillroom.db.recipe_lines import names_of
from stillroom.loaders.build import build
from stillroom.plugins.trials.compute import Part, diff

DEMO = Path(__file__).parents[2] / "db" / "demo"
LINES = 200


def best(work: Callable[[], object], times: int = 5) -> float:
    """Least time of some [s]."""
    found = []
    for _ in range(times):
        begun = time.perf_counter()
        work()
        found.append(time.perf_counter() - begun)
    return min(found)


def put(db: sqlite3.Connection) -> None:
    """One promotion into force, in one transaction as the web does it."""
    with transaction(db):
        apply_due(db, date(2026, 11, 25), "2026-11-25T12:00:00Z")


def main() -> None:
    """Prints the table."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "kitchen.db"
        load = best(lambda: build(DEMO, path), 1)
        db = sqlite3.connect(path, isolation_level=None)
        db.execute("pragma foreign_keys = on")
        names = names_of(db)
        draft = Draft("Long", yield_text="1 plate", lines=tuple(DraftLine(f"{n} g leeks") for n in range(1, LINES + 1)))
        checked = best(lambda: check_in(db, draft, "long", names))
        parts = [[Part(f"{n}", f"{n}", f"{n} g", Fraction(n + v)) for n in range(LINES)] for v in range(4)]
        held = best(lambda: diff(parts))
        row = {"actor": "x", "origin": "web", "trial_id": "long", "trial": "Long"}
        lines = "\n".join(str(line) for line in draft.lines)
        for v in range(1, 6):
            append(db, "trial_versions", {**row, "request_id": f"v{v}", "version": v, "written_on": "2026-11-01",
                                          "yield_text": "1 plate", "lines": lines})  # fmt: skip
        took = []
        for v in range(1, 6):
            append(db, "promotions", {**row, "request_id": f"p{v}", "version": v, "dish_id": "long",
                                      "decided_on": "2026-11-01", "from_on": f"2026-11-0{v}"})  # fmt: skip
            took.append(best(lambda: put(db), 1))
        db.close()
    print(f"check of {LINES} lines: {checked * 1000:.1f} ms; four versions of {LINES} lines: {held * 1000:.1f} ms")
    print(f"put on the menu: {min(took) * 1000:.0f} ms; a load of the demonstration: {load * 1000:.0f} ms,"
          f" {load / min(took):.0f} times that")  # fmt: skip


if __name__ == "__main__":
    main()
