"""How recipes are made: the method in words, the piece that is cooked, and the steps of its cooking programme."""

from __future__ import annotations

from collections import defaultdict

from stillroom.loaders.read import Cells, Load, unique


def load_programmes(load: Load) -> None:
    """Rows of method, pieces and cooking steps; after recipes are known by name."""
    _method(load)
    _programmes(load)


def _method(load: Load) -> None:
    steps: dict[str, int] = defaultdict(int)
    for cells in load.cells("method"):
        recipe, text = cells.ref("recipe"), cells["step"]
        if recipe and text:
            steps[recipe.id] += 1
            load.add("method_steps", {"recipe_id": recipe.id, "position": steps[recipe.id], "text": text})


def _programmes(load: Load) -> None:
    unique(load, "pieces")
    for cells in load.cells("pieces"):
        _piece(load, cells)
    steps: dict[str, int] = defaultdict(int)
    for cells in load.cells("cooking steps"):
        recipe, kind, at, until = cells.ref("recipe"), cells["step"], cells["at"], cells["until core"]
        if recipe is None or kind is None:
            continue
        steps[recipe.id] += 1
        load.add("cooking_steps", {
            "recipe_id": recipe.id, "position": steps[recipe.id], "kind": kind, "temp_f": at.f if at else None,
            "temp_c": at.c if at else None, "seconds": cells["time"], "until_core_f": until.f if until else None,
            "flips": cells["turns"] or 0, "humidity": cells["humidity"] or "", "minimum_id": None,
            "note": cells["note"] or "",
        })  # fmt: skip


def _piece(load: Load, cells: Cells) -> None:
    recipe, thick, shape, rule = cells.ref("recipe"), cells["thickness"], cells["shape"], cells.ref("rule")
    start, low, high, factor = cells["start"], cells["band low"], cells["band high"], cells["shape factor"]
    width, length, fat, water = cells["width"], cells["length"], cells["fat"], cells["water"]
    if recipe is None or thick is None or shape is None:
        return
    load.add("pieces", {
        "recipe_id": recipe.id, "food": cells["food"] or "", "cut": cells["cut"] or "", "shape": shape,
        "shape_factor": None if factor is None else float(factor), "thickness_mm": float(thick),
        "width_mm": None if width is None else float(width), "length_mm": None if length is None else float(length),
        "fat_pct": None if fat is None else float(fat * 100),
        "water_pct": None if water is None else float(water * 100),
        "start_c": start.c if start else 5.0, "is_frozen": cells["frozen"] or 0,
        "minimum_id": rule.id if rule else None,
        "band_low_f": low.f if low else None, "band_high_f": high.f if high else None, "organism": "",
    })  # fmt: skip
