"""A version checked, held against three others and put on the menu, beside what a whole load of the kitchen takes.

And the pages of a trial with hundreds of versions.
"""

from __future__ import annotations

import sqlite3
import tempfile
import time
import urllib.request
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

from tests.bench.bench_explosion import best
from tests.bench.serving import kitchen

DEMO = Path(__file__).parents[2] / "db" / "demo"
LINES = 200
VERSIONS, ASKED = 400, 60


def put(db: sqlite3.Connection) -> None:
    """One promotion into force, in one transaction as the web does it."""
    with transaction(db):
        apply_due(db, date(2026, 11, 25), "2026-11-25T12:00:00Z")


def pages(path: Path) -> dict[str, float]:
    """Page of a trial with hundreds of versions -> time that 95 of 100 requests are within [s]."""
    found = {}
    with kitchen(path) as (port, _):
        for page in ("", "?v=7", "/edit", "/compare?v=1&v=7&v=50&v=399"):
            took = []
            for _ in range(ASKED):
                begun = time.perf_counter()
                urllib.request.urlopen(f"http://127.0.0.1:{port}/trials/venison-haunch-damson{page}").read()
                took.append(time.perf_counter() - begun)
            found[page or "/"] = sorted(took)[ASKED * 95 // 100]
    return found


def many(db: sqlite3.Connection) -> None:
    """Hundreds of versions of a trial of the demonstration's."""
    row = {"actor": "x", "origin": "web", "trial_id": "venison-haunch-damson", "trial": "Venison haunch, damson"}
    with transaction(db):
        for n in range(4, VERSIONS + 1):
            said = {"request_id": f"many-{n}", "version": n, "written_on": "2026-11-01", "yield_text": "1 plate"}
            lines = f"1 ea Venison haunch portion\n{n} g Swede mash\n80 g Kale with bacon\n30 ml Beef glaze"
            append(db, "trial_versions", {**row, **said, "lines": lines})


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
        many(db)
        db.close()
        opened = pages(path)
    print(f"check of {LINES} lines: {checked * 1000:.1f} ms; four versions of {LINES} lines: {held * 1000:.1f} ms")
    print(f"put on the menu: {min(took) * 1000:.0f} ms; a load of the demonstration: {load * 1000:.0f} ms,"
          f" {load / min(took):.0f} times that")  # fmt: skip
    said = ", ".join(f"{page} {seconds * 1000:.0f} ms" for page, seconds in opened.items())
    print(f"a trial with {VERSIONS} versions, 95 of 100 requests within: {said}")


if __name__ == "__main__":
    main()
