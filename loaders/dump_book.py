"""The recipe book, written out: recipes as YAML with all that is theirs below them, and the tables beside them."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterator, Sequence
from fractions import Fraction
from itertools import groupby
from pathlib import Path

from stillroom.db.exact import read_exact
from stillroom.loaders.dump_house import DAYS, House, span, text
from stillroom.loaders.dump_text import Row, pair, scalar

A_FILE = 500  # recipes
FILES = {"dish": "dishes", "sub-recipe": "sub-recipes", "cut": "cuts"}
CUT_YIELD = "1 portion"  # what a cut's yield is called where nothing is said
Rows = list[Row]
Below = dict[str, list[sqlite3.Row]]


def write_recipes(house: House, folder: Path) -> int:
    """Recipes by kind, in the order of the kitchen; how many files."""
    below = {
        name: _grouped(house, question)
        for name, question in {
            "components": "select * from components order by recipe_id, position",
            "by products": "select * from by_products order by recipe_id, position",
            "method": "select * from method_steps order by recipe_id, position",
            "cooking steps": "select * from cooking_steps order by recipe_id, position",
            "piece": "select * from pieces order by recipe_id",
            "surfaces": "select * from recipe_surfaces order by recipe_id, rowid",
            "equipment": "select * from recipe_equipment order by recipe_id, rowid",
        }.items()
    }
    folder.mkdir()
    written = 0
    for kind, name in FILES.items():
        recipes = house.rows("select * from recipes where kind = ? order by rowid", kind)
        texts = [_recipe(house, r, {key: found.get(r["id"], []) for key, found in below.items()}) for r in recipes]
        parts = [texts[n : n + A_FILE] for n in range(0, len(texts), A_FILE)]
        for number, part in enumerate(parts, 1):
            path = folder / (f"{name}-{number:03}.yaml" if len(parts) > 1 else f"{name}.yaml")
            path.write_text("---\n".join(part), "utf-8")
        written += len(parts)
    return written


def _grouped(house: House, question: str) -> Below:
    return {key: list(rows) for key, rows in groupby(house.rows(question), lambda r: str(r["recipe_id"]))}


def _recipe(house: House, r: sqlite3.Row, below: Below) -> str:
    """One recipe as a YAML document."""
    own = {name: value for name, value in recipe_cells(house, r, below).items() if value}
    lines = [pair(name, value) for name, value in own.items()]
    for name, write in NESTED.items():
        rows = [] if name == "components" and r["kind"] == "cut" else below[name]
        entries = [write(house, row) for row in rows]
        if name == "piece":
            lines += _mapping("piece", entries[0]) if entries else []
        elif entries:
            lines += [f"{name}:\n", *(line for entry in entries for line in _entry(entry))]
    return "".join(lines)


def recipe_cells(house: House, r: sqlite3.Row, below: Below) -> dict[str, str]:
    """A recipe's own values by header."""
    is_cut = r["kind"] == "cut"
    primal = below["components"][0]["item_id"] if is_cut and below["components"] else None
    return {
        "name": r["name"], "first called": house.first_name(r), "kind": r["kind"],
        "yield": "" if is_cut and r["yield_text"] == CUT_YIELD else r["yield_text"],
        "section": r["section"], "status": r["status"], "version": text(r["version"]),
        "station": house.name("stations", r["station_id"]),
        "surfaces": "; ".join(house.name("surfaces", s["surface_id"]) for s in below["surfaces"]),
        "equipment": "; ".join(house.name("equipment", e["equipment_id"]) for e in below["equipment"]),
        "shelf life": span(r["shelf_life_days"], "days"), "no date mark": r["no_date_mark"], "storage": r["storage"],
        "price": house.money(r["menu_price"]),
        "target cost": "" if r["target_cost_pct"] is None else f"{house.number(r['target_cost_pct'])} %",
        "from": text(r["from_on"]), "to": text(r["to_on"]), "active time": span(r["active_s"], "s"),
        "passive time": span(r["passive_s"], "s"), "least batch": house.number(r["least_batch"]),
        "pan": house.quantity(r["pan"], r["yield_unit"]),
        "input": house.name("items", primal), "shrink": house.percent(r["shrink"]), "trim": house.percent(r["trim"]),
        "portion": house.quantity(r["portion_quantity"], "g"), "joint": r["joint"],
        "market price": house.money(r["market_price"]), "market price per": house.quantity(r["market_quantity"], "g"),
        "photo": r["photo"], "note": r["note"],
    }  # fmt: skip


def component_cells(house: House, r: sqlite3.Row) -> dict[str, str]:
    return {
        "line": r["line"], "yield": house.percent(r["edible_yield"]),
        "can be left off": "yes" if r["is_removable"] else "",
        "does not scale straight": "" if r["scales"] == "straight" else r["scales"],
    }  # fmt: skip


def by_product_cells(house: House, r: sqlite3.Row) -> dict[str, str]:
    return {
        "item": house.name("items", r["item_id"]), "share": house.percent(r["share"]),
        "credit": house.money(r["credit_price"]),
        "credit per": house.quantity(r["priced_quantity"], house.unit_of(r["item_id"], None)),
    }  # fmt: skip


def method_cells(_: House, r: sqlite3.Row) -> dict[str, str]:
    return {"step": r["text"]}


def step_cells(house: House, r: sqlite3.Row) -> dict[str, str]:
    return {
        "step": r["kind"], "at": house.temperature(r["temp_f"], r["temp_c"]),
        "ends at": "" if r["end_c"] is None else house.temperature(r["end_f"], r["end_c"]),
        "time": span(r["seconds"], "s"),
        "until core": house.temperature(r["until_core_f"]), "turns": text(r["flips"]) if r["flips"] else "",
        "humidity": r["humidity"], "note": r["note"],
    }  # fmt: skip


def piece_cells(house: House, r: sqlite3.Row) -> dict[str, str]:
    return {
        "food": r["food"], "cut": r["cut"], "thickness": house.real(r["thickness_mm"], "mm"), "shape": r["shape"],
        "shape factor": house.real(r["shape_factor"]), "width": house.real(r["width_mm"], "mm"),
        "length": house.real(r["length_mm"], "mm"), "fat": house.real(r["fat_pct"], "%"),
        "water": house.real(r["water_pct"], "%"), "start": house.temperature(None, r["start_c"]),
        "frozen": "yes" if r["is_frozen"] else "", "worked": r["worked"], "rule": text(r["minimum_id"]),
        "band low": house.temperature(r["band_low_f"]), "band high": house.temperature(r["band_high_f"]),
        "own core": house.temperature(r["own_core_f"]), "own hold": span(r["own_hold_s"], "s"),
        "own rule": r["own_rule"],
    }  # fmt: skip


NESTED: dict[str, Callable[[House, sqlite3.Row], dict[str, str]]] = {
    "components": component_cells, "by products": by_product_cells, "method": method_cells, "piece": piece_cells,
    "cooking steps": step_cells,
}  # fmt: skip


def _entry(cells: dict[str, str]) -> Iterator[str]:
    """One member of a list: its first value alone where it has no other, else its values below each other."""
    said = [(name, value) for name, value in cells.items() if value]
    if len(said) == 1 and said[0][0] in {"line", "step", "item"}:
        yield f"  - {scalar(said[0][1])}\n"
        return
    for number, (name, value) in enumerate(said):
        yield pair(name, value, "    " if number else "  - ")


def _mapping(name: str, cells: dict[str, str]) -> Sequence[str]:
    return [f"{name}:\n", *(pair(key, value, "  ") for key, value in cells.items() if value)]


def substitutes(house: House) -> Rows:
    return [_substitute(house, r) for r in house.rows("select * from substitutes order by id")]


def _substitute(house: House, r: sqlite3.Row) -> Row:
    ratio: Fraction = read_exact(r["ratio"])
    said = {
        "for": house.either(r["for_item_id"], r["for_recipe_id"]),
        "with": house.either(r["with_item_id"], r["with_recipe_id"]),
        "in": house.name("recipes", r["in_recipe_id"]), "note": r["note"],
    }  # fmt: skip
    if not r["ratio_unit"]:
        return {**said, "ratio": house.number(ratio)}
    old, new = (house.unit_of(r[f"{side}_item_id"], r[f"{side}_recipe_id"]) for side in ("for", "with"))
    return {**said, "instead of": f"{ratio.denominator} {old}", "use": f"{ratio.numerator} {new}"}


def equipment_needs(house: House) -> Rows:
    return [
        {
            "recipe": house.name("recipes", r["recipe_id"]), "equipment": house.name("equipment", r["equipment_id"]),
            "amount": house.number(r["quantity"]), "for": span(r["hold_s"], "s"),
            "after": span(r["after_s"] or None, "s"),
        }
        for r in house.rows(
            "select * from recipe_equipment where quantity <> '1' or hold_s is not null or after_s > 0 order by rowid"
        )
    ]  # fmt: skip


def pars(house: House) -> Rows:
    return [
        {
            "of": house.either(r["item_id"], r["recipe_id"]),
            "par": house.quantity(r["quantity"], house.unit_of(r["item_id"], r["recipe_id"])),
            "days": "" if r["weekday"] is None else DAYS[r["weekday"] - 1],
        }
        for r in house.rows("select * from pars order by id")
    ]  # fmt: skip


TABLES: dict[str, Callable[[House], Rows]] = {
    "equipment needs": equipment_needs, "substitutes": substitutes, "pars": pars,
}  # fmt: skip
