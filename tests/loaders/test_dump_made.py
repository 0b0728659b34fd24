"""Kitchens made up at random, written out and built again: names, texts and numbers that nobody would think of."""

from __future__ import annotations

import csv
import sqlite3
import string
import tempfile
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from stillroom.db import log
from stillroom.db.connect import open_kitchen, transaction
from stillroom.db.names import fold, slug
from stillroom.loaders.build import build
from stillroom.loaders.dump import write_out
from stillroom.loaders.dump_text import scalar
from stillroom.loaders.same import differences

pytestmark = pytest.mark.slow
LETTERS = string.ascii_letters + "éßÅøłż ½'-.,:;#&*!|>%@`\"{}[]()/\\?~"
NAMES = st.text(LETTERS, min_size=1, max_size=25).map(lambda t: " ".join(t.split())).filter(
    lambda t: slug(t) and t[0].isalpha() and not t.startswith("#")
)  # fmt: skip
TEXTS = st.one_of(
    st.text(st.characters(exclude_categories=("Cs",), exclude_characters="\0\r"), max_size=60),
    st.sampled_from(["", "=1+1", "two\nlines", "# no remark", "\u202ertl", "🧈", "a;b; c", "yes", "1:30", "\u2028"]),
).map(str.strip)
NUMBERS = st.one_of(
    st.integers(1, 10**9).map(lambda n: str(n / 1000)),
    st.sampled_from(["1/3", "2 1/2", "½", "0.000001", "12345678.123456789"]),
)
UNITS = {"g": ("g", "kg", "oz", "lb"), "ml": ("ml", "l", "qt", "tsp", "fl oz"), "each": ("ea", "dozen")}


@st.composite
def kitchens(draw: Any) -> dict[str, Any]:
    """Items with measures and labels, sub-recipes and dishes of them, counts of files and of the web."""
    names = draw(st.lists(NAMES, min_size=3, max_size=9, unique_by=(fold, slug)))
    cut = draw(st.integers(1, len(names) - 1))
    units = st.sampled_from(tuple(UNITS))
    items = [{"name": n, "category": "other", "unit": draw(units), "note": draw(TEXTS)} for n in names[:cut]]
    recipes = []
    for place, name in enumerate(names[cut:]):
        lines = [
            f"{draw(NUMBERS)} {draw(st.sampled_from(UNITS[i['unit']]))} {i['name']}"
            for i in draw(st.lists(st.sampled_from(items), min_size=1, max_size=4))
        ]
        if place and draw(st.booleans()):
            lines.append(f"1 batch {names[cut]}")
        recipes.append({
            "name": name, "kind": "sub-recipe" if place == 0 else "dish", "lines": lines,
            "yield": draw(st.sampled_from(["1 plate", "3 ea", "450 g", "1.5 qt"])), "note": draw(TEXTS),
            "method": [t for t in draw(st.lists(TEXTS, max_size=3)) if t], "off": draw(st.booleans()),
        })  # fmt: skip
    counts = [
        {"of": i["name"], "on hand": f"{draw(NUMBERS)} {draw(st.sampled_from(UNITS[i['unit']]))}", "note": draw(TEXTS)}
        for i in draw(st.lists(st.sampled_from(items), max_size=4))
    ]
    web = [
        {"item": i, "quantity": draw(st.integers(1, 10**12)) / 10**draw(st.integers(0, 9)), "note": draw(TEXTS)}
        for i in draw(st.lists(st.sampled_from(items), max_size=4))
    ]
    return {"items": items, "recipes": recipes, "counts": counts, "web": web, "mark": draw(st.sampled_from(".,"))}


def files(folder: Path, kitchen: dict[str, Any]) -> None:
    """The kitchen's own files."""
    (folder / "recipes").mkdir(parents=True)
    mark = kitchen["mark"]
    (folder / "kitchen.yaml").write_text(f"name: Made up\ndecimal mark: {scalar(mark)}\n")
    write(folder / "items.csv", ["category", "name", "unit", "note"], kitchen["items"])
    rows = [{"counted on": "2026-11-24", **c, "on hand": c["on hand"].replace(".", mark)} for c in kitchen["counts"]]
    write(folder / "counts.csv", ["counted on", "of", "on hand", "note"], rows)
    (folder / "recipes" / "all.yaml").write_text("---\n".join(document(r, mark) for r in kitchen["recipes"]), "utf-8")


def write(path: Path, columns: list[str], rows: list[dict[str, Any]]) -> None:
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, columns, lineterminator="\n")
        writer.writeheader()
        writer.writerows(rows)


def document(recipe: dict[str, Any], mark: str) -> str:
    def lines() -> Iterator[str]:
        for name in ("name", "kind", "yield", "note"):
            if recipe[name]:
                yield f"{name}: {scalar(recipe[name].replace('.', mark) if name == 'yield' else recipe[name])}"
        yield "components:"
        for line in recipe["lines"]:
            number, _, rest = line.partition(" ")
            yield f"  - line: {scalar(number.replace('.', mark) + ' ' + rest)}"
            if recipe["off"]:
                yield "    can be left off: yes"
        if recipe["method"]:
            yield "method:"
            yield from (f"  - {scalar(step)}" for step in recipe["method"])

    return "\n".join(lines()) + "\n"


def enter(database: Path, kitchen: dict[str, Any]) -> None:
    """Counts on the web, the last of them taken back."""
    entry = None
    with closing(open_kitchen(database)) as connection, transaction(connection):
        for number, said in enumerate(kitchen["web"]):
            quantity = f"{said['quantity']:.9f}".rstrip("0").rstrip(".")
            entry = log.append(connection, "counts", {
                "request_id": f"made-{number}", "actor": "Åse", "origin": "web", "item_id": slug(said["item"]["name"]),
                "counted_on": "2026-11-25", "unit": said["item"]["unit"], "quantity": quantity, "note": said["note"],
            })  # fmt: skip
        if entry is not None:
            log.take_back(connection, "counts", entry, "Marit")


def written(database: Path, folder: Path) -> dict[str, bytes]:
    folder.mkdir()
    write_out(database, folder)
    return {str(p.relative_to(folder)): p.read_bytes() for p in sorted(folder.rglob("*")) if p.is_file()}


@settings(max_examples=12, deadline=None, derandomize=True, suppress_health_check=list(HealthCheck))
@given(kitchen=kitchens())
def test_a_kitchen_made_up_comes_back(kitchen: dict[str, Any]) -> None:
    """Every table the same, and the second writing the same to the byte. Kitchens with mistakes are passed over."""
    with tempfile.TemporaryDirectory() as name:
        place = Path(name)
        files(place / "k", kitchen)
        first, again = place / "first.db", place / "again.db"
        if build(place / "k", first).errors:
            return
        enter(first, kitchen)
        once = written(first, place / "one")
        result = build(place / "one", again)
        assert result.errors == 0, result.problems
        assert differences(first, again) == []
        assert written(again, place / "two") == once
        with closing(sqlite3.connect(again)) as connection:
            COME.append(connection.execute("select count(*) from recipes").fetchone()[0])


COME: list[int] = []


def test_most_kitchens_made_up_are_right() -> None:
    """Or the test above would test nothing."""
    assert len(COME) >= 4 and max(COME) >= 2, COME
