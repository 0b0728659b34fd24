"""How recipes are made: the method in words, the piece that is cooked, and the steps of its cooking programme."""

from __future__ import annotations

from collections import defaultdict

from stillroom.db import pieces
from stillroom.db.problems import quoted
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
        end = cells["ends at"]
        if recipe is None or kind is None or at is None or not _has_end(cells) or not _runs(cells):
            continue
        steps[recipe.id] += 1
        load.add("cooking_steps", {
            "recipe_id": recipe.id, "position": steps[recipe.id], "kind": kind, "temp_f": at.f, "temp_c": at.c,
            "end_f": end.f if end else None, "end_c": end.c if end else None,
            "seconds": cells["time"], "until_core_f": until.f if until else None, "flips": cells["turns"] or 0,
            "humidity": cells["humidity"] or "", "minimum_id": None, "note": cells["note"] or "",
        })  # fmt: skip


def _has_end(cells: Cells) -> bool:
    """A step lasts some time, or until a core; one that does neither never ends."""
    if cells.text("time") or cells.text("until core"):
        return True
    what, fix = f"{quoted(cells.text('step'))} has no end", "write time: 20 min, or until core: 130 °F"
    cells.problem("step-endless", "step", what, "It has neither a time nor a core to reach.", fix)
    return False


def _runs(cells: Cells) -> bool:
    """A step that runs from one temperature to another does so over its time, and over all of it."""
    if not cells.text("ends at") or (cells.text("time") and not cells.text("until core")):
        return True
    fix = "write time: 30 min, and a second step that goes on until the core"
    what = f"{quoted(cells.text('step'))} runs to {quoted(cells.text('ends at'))} over no time of its own"
    cells.problem("step-ramp", "ends at", what, "How fast it runs would not be known.", fix)
    return False


def _piece(load: Load, cells: Cells) -> None:
    recipe, shape, rule = cells.ref("recipe"), cells["shape"], cells.ref("rule")
    low, high, fat, water = cells["band low"], cells["band high"], cells["fat"], cells["water"]
    if low and high and low.f > high.f:
        cells.problem("piece-band", "band high", f"{quoted(cells.text('band high'))} is below the band's lower end",
                      f"It begins at {quoted(cells.text('band low'))}.", "write the lower one first")  # fmt: skip
    start, frozen = _start(cells)
    sizes, own = _sizes(cells, shape), _own_rule(cells)
    if recipe is None or not cells.ok:
        return
    load.add("pieces", {
        "recipe_id": recipe.id, "food": cells["food"] or "", "cut": cells["cut"] or "", "shape": shape, **sizes,
        "fat_pct": None if fat is None else float(fat * 100),
        "water_pct": None if water is None else float(water * 100),
        "start_c": start, "is_frozen": frozen, "minimum_id": rule.id if rule else None,
        "band_low_f": low.f if low else None, "band_high_f": high.f if high else None, "organism": "", **own,
        "worked": cells["worked"] or "",
    })  # fmt: skip


def _start(cells: Cells) -> tuple[float, int]:
    """Core before the first step [°C], and whether that is frozen."""
    said, frozen = cells["start"], cells["frozen"]
    start = said.c if said else pieces.FREEZER_C if frozen else pieces.FRIDGE_C
    if not pieces.COLDEST_START_C <= start <= pieces.HOTTEST_START_C:
        cells.problem("piece-start", "start", f"{quoted(cells.text('start'))} is no start of a piece",
                      "It lies between -40 and 60 °C (-40 and 140 °F).", "write the core as it comes out")  # fmt: skip
    elif frozen is not None and bool(frozen) != (start < pieces.FREEZING_C):
        state = "frozen" if frozen else "not frozen"
        what = f"{quoted(cells.text('start'))} is not the core of a piece that is {state}"
        why = f"It freezes at {pieces.FREEZING_C:g} °C (30 °F)."
        cells.problem("piece-start", "frozen", what, why, "mend one of the two")
    return start, int(start < pieces.FREEZING_C)


def _own_rule(cells: Cells) -> dict[str, object]:
    """The kitchen's own rule: a core, how long, and where it stands; none of it, or at least the core and the place."""
    core, hold, stands = cells["own core"], cells["own hold"], cells["own rule"]
    if bool(cells.text("own core")) != bool(stands) or (hold is not None and not cells.text("own core")):
        missing = "own core" if not cells.text("own core") else "own rule"
        cells.problem("own-rule-half", missing, f"{quoted(missing)} is empty", "A rule is a core and where it stands.",
                      "write own core: 70 °C, own hold: 2 min, own rule: house plan 3")  # fmt: skip
    return {"own_core_f": core.f if core else None, "own_hold_s": hold, "own_rule": stands or ""}


def _sizes(cells: Cells, shape: str | None) -> dict[str, float | None]:
    """Lengths [mm] and shape factor, those that the shape needs among them."""
    found = {name: cells[name] for name in ("thickness", "width", "length", "shape factor")}
    for name, size in found.items():
        most = {"thickness": pieces.THICKEST_MM, "shape factor": pieces.MOST_FACTOR}.get(name, pieces.LONGEST_MM)
        least, unit = (0.0, "") if name == "shape factor" else (pieces.THINNEST_MM, " mm")
        if size is not None and not least <= size <= most:
            cells.problem("piece-size", name, f"{quoted(cells.text(name))} is no {name} of a piece",
                          f"It lies between {least:g} and {most:g}{unit}.", "measure it again")  # fmt: skip
    needed = ("shape factor",) if shape == "factor" else pieces.SIZES.get(shape or "", ())
    for name in needed:
        if not cells.text(name):
            cells.problem("piece-shape", "shape", f"{quoted(shape or '')} needs its {name}", "", f"write {name}")
    if shape and shape != "factor" and cells.text("shape factor"):
        cells.problem("piece-shape", "shape factor", f"a shape factor goes with shape factor, not with {quoted(shape)}",
                      "It would count for nothing.", "take it out, or write shape: factor")  # fmt: skip
    plain = {name: None if size is None else float(size) for name, size in found.items()}
    return {"shape_factor": plain["shape factor"], "thickness_mm": plain["thickness"], "width_mm": plain["width"],
            "length_mm": plain["length"]}  # fmt: skip
