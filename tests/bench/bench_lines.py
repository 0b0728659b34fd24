"""Recipe lines read right, as a share of those written for the tests, and how many a second."""

from __future__ import annotations

import importlib.util
import time
from fractions import Fraction
from pathlib import Path
from typing import Any

ROUNDS = 20


def _tests() -> Any:
    path = Path(__file__).parents[1] / "db" / "test_ingredient_lines.py"
    spec = importlib.util.spec_from_file_location("ingredient_lines", path)
    assert spec is not None and spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def main() -> None:
    """The share of lines read in all their parts, of lines refused that must be, and lines a second."""
    from stillroom.db.quantity import ReadError, read_line

    tests = _tests()
    right = 0
    for row in tests.LINES:
        want = (Fraction(row["quantity"]), row["unit"], (row["name"], row["prep"]))
        try:
            right += tests.read(row["line"]) == want
        except ReadError as error:
            print(f"refused: {error.what}")
    print(f"{right} of {len(tests.LINES)} lines read in all their parts: {100 * right / len(tests.LINES):.1f} %")
    wrong = 0
    refused = tests.rows("ingredient_lines_refused.csv")
    for row in refused:
        try:
            read_line(row["line"], tests.cooks_unit)
            wrong += 1
        except ReadError:
            pass
    print(f"{len(refused) - wrong} of {len(refused)} lines without an exact meaning refused")
    print("no openly licensed corpus of recipe lines was found in the package registries")
    began = time.perf_counter()
    for _ in range(ROUNDS):
        for row in tests.LINES:
            tests.read(row["line"])
    print(f"{ROUNDS * len(tests.LINES) / (time.perf_counter() - began):,.0f} lines a second")


if __name__ == "__main__":
    main()
