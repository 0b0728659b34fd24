"""All figures, one after the other: python -m tests.bench [part of a name]."""

from __future__ import annotations

import runpy
import sys
from pathlib import Path


def main() -> None:
    """Runs every bench_*.py here whose name holds the argument."""
    wanted = sys.argv[1] if len(sys.argv) > 1 else ""
    for path in sorted(Path(__file__).parent.glob("bench_*.py")):
        if wanted in path.stem:
            print(f"== {path.stem.removeprefix('bench_')}")
            runpy.run_path(str(path), run_name="__main__")


if __name__ == "__main__":
    main()
