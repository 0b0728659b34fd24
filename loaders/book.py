"""The recipe book: recipes and cuts with their lines, by-products, method, programmes, substitutes and pars."""

from __future__ import annotations

from collections import defaultdict
from fractions import Fraction
from typing import Any

from stillroom.db.exact import exact_text
from stillroom.db.graph import BY_PRODUCT, Line, LoopError, order
from stillroom.db.names import slug
from stillroom.db.problems import Place, quoted
from stillroom.db.quantity import ReadError
from stillroom.db.recipe_lines import Names, Thing, UnknownName
from stillroom.loaders.joints import check_joints, market
from stillroom.loaders.photos import photo_of
from stillroom.loaders.programmes import load_programmes
from stillroom.loaders.read import Cells, Known, Load, exact_or_none, texts, unique
from stillroom.loaders.recipe_names import NAMED, as_thing, line_names
from stillroom.loaders.source import Aside
from stillroom.loaders.stock import per_quantity

DAY_S = 86400


def load_book(load: Load, recipes: list[tuple[Cells, Known]]) -> None:
    """Rows of all recipe tables."""
    kinds = {known.id: cells["kind"] for cells, known in recipes}
    inputs: dict[str, Fraction] = {}
    for cells, known in recipes:
        _recipe(load, cells, known)
        if kinds[known.id] == "cut":
            _cut_line(load, cells, known, inputs)
    counts: dict[str, int] = defaultdict(int, dict.fromkeys(inputs, 1))
    names = line_names(load)
    for cells in load.cells("components"):
        _component(load, cells, names, counts, kinds)
    _weigh_inputs(load, inputs)
    for cells in load.cells("equipment needs"):
        _equipment_need(load, cells)
    for cells in load.cells("by products"):
        _by_product(load, cells, inputs, counts)
    check_joints(load, recipes)
    load_programmes(load)
    unique(load, "equipment needs")
    unique(load, "substitutes")
    for cells in load.cells("substitutes"):
        _substitute(load, cells)
    pars: dict[tuple[str, str], Place] = {}
    for cells in load.cells("pars"):
        _par(load, cells, pars)
    _refuse_loops(load, recipes)
    for cells, known in recipes:
        is_cut = kinds[known.id] == "cut"  # which has said already what it lacks
        if (
            counts[known.id] == 0
            and not is_cut
            and cells.text("status") != "draft"
            and "components" not in load.source.partial
        ):
            cells.problem(
                "recipe-empty", "name", f"{quoted(known.name)} has no components", "", "list what goes into it"
            )


def _recipe(load: Load, cells: Cells, known: Known) -> None:
    station, price, target = cells.ref("station"), cells["price"], cells["target cost"]
    life, shrink, trim, portion = cells["shelf life"], cells["shrink"], cells["trim"], cells["portion"]
    kind = cells["kind"]
    if cells["from"] and cells["to"] and cells["to"] < cells["from"]:
        cells.problem("menu-days", "to", f"{quoted(known.name)} leaves the menu before its first day on it",
                      f"From {cells['from']} to {cells['to']}.", "look at both days")  # fmt: skip
    active, passive, least = cells["active time"], cells["passive time"], cells["least batch"]
    if portion is not None:
        portion = 1 / known.measures["g"] if "g" in known.measures else None
    if "g" in known.measures:
        load.add(
            "recipe_measures", {"recipe_id": known.id, "measure": "g", "quantity": exact_text(known.measures["g"])}
        )
    load.add("recipes", {
        **texts(cells, section="section", storage="storage", no_date_mark="no date mark", note="note"), "id": known.id,
        "photo": photo_of(load, cells, known), "name": known.name,
        "kind": kind, "status": cells["status"] or "active",
        "yield_quantity": exact_text(known.batch or Fraction(1)),
        "yield_unit": known.unit, "yield_text": cells.text("yield") or "1 portion",
        "station_id": station.id if station else None,
        "shelf_life_days": None if life is None else life // DAY_S, "menu_price": None if price is None else str(price),
        "target_cost_pct": exact_or_none(None if target is None else target * 100), "from_on": cells["from"],
        "to_on": cells["to"], "active_s": active, "passive_s": passive, "least_batch": exact_or_none(least),
        "shrink": exact_or_none(shrink), "trim": exact_or_none(trim), "portion_quantity": exact_or_none(portion),
        **market(load, cells, kind == "cut"),
        "pan": exact_or_none(cells.quantity_of("pan", known)), "version": cells["version"],
        "first_called": "" if slug(known.name) == known.id else cells.text("first called"),
        "origin": str(cells.place()),
    })  # fmt: skip
    for surface in dict.fromkeys(s.id for s in cells.refs("surfaces")):
        load.add("recipe_surfaces", {"recipe_id": known.id, "surface_id": surface})
    for tool in dict.fromkeys(t.id for t in cells.refs("equipment")):
        load.add("recipe_equipment", {"recipe_id": known.id, "equipment_id": tool, "quantity": "1", "hold_s": None,
                                      "after_s": 0})  # fmt: skip


def _equipment_need(load: Load, cells: Cells) -> None:
    """How much of it, for how long and from when on, in place of what the recipe's own list says."""
    recipe, tool, amount, hold = cells.ref("recipe"), cells.ref("equipment"), cells["amount"], cells["for"]
    after = cells["after"] or 0
    if recipe is None or tool is None:
        return
    if amount is not None and amount <= 0:
        cells.problem("quantity-low", "amount", "an amount of nothing", "", "write how much of it a batch takes")
        return
    made = next((r for r in load.rows.get("recipes", []) if r["id"] == recipe.id), None)
    whole = (made["active_s"] or 0) + (made["passive_s"] or 0) if made else 0
    if after and made and after >= whole:
        cells.problem(
            "need-late", "after", f"{quoted(recipe.name)} is done before it needs its equipment",
            f"active and passive time of a batch are {whole // 60} min together",
            "write a shorter time after the start of the work, or the recipe's own times",
        )  # fmt: skip
        return
    rows = load.rows.setdefault("recipe_equipment", [])
    rows[:] = [r for r in rows if (r["recipe_id"], r["equipment_id"]) != (recipe.id, tool.id)]
    load.add("recipe_equipment", {"recipe_id": recipe.id, "equipment_id": tool.id,
                                  "quantity": exact_text(amount or Fraction(1)), "hold_s": hold,
                                  "after_s": after})  # fmt: skip


def _cut_line(load: Load, cells: Cells, known: Known, inputs: dict[str, Fraction]) -> None:
    """A cut's one component: the primal that one portion takes, ageing and trimming included."""
    primal, shrink, trim = cells.ref("input"), cells["shrink"] or Fraction(0), cells["trim"] or Fraction(0)
    if not cells.text("input"):
        cells.problem(
            "cut-input", "input", "a cut needs the primal it comes from", "", "write input: and the item's name"
        )
    if max(shrink, trim) == 1:
        column = "shrink" if shrink == 1 else "trim"
        cells.problem("cut-input", column, "a cut that loses all of it leaves nothing", "", "write less than 100 %")
    if primal is None or max(shrink, trim) == 1:
        return
    weight = 1 / known.measures["g"] / ((1 - shrink) * (1 - trim))
    amount = load.in_unit(primal, weight, "g", cells.place("input"))
    if amount is not None:
        inputs[known.id] = weight
        _add_component(
            load,
            known.id,
            1,
            as_thing(primal),
            amount,
            {"line": primal.name, "said_quantity": exact_text(weight), "said_unit": "g"},
        )


def _add_component(load: Load, recipe: str, position: int, used: Thing, amount: Fraction, more: dict[str, Any]) -> None:
    load.add("components", {
        "id": len(load.rows.get("components", ())) + 1, "recipe_id": recipe, "position": position,
        "item_id": None if used.is_recipe else used.id, "sub_recipe_id": used.id if used.is_recipe else None,
        "quantity": exact_text(amount), "amount": float(amount), "unit": used.unit, "edible_yield": None,
        "is_removable": 0,
        "scales": "straight", "prep": "", **more,
    })  # fmt: skip


def _component(load: Load, cells: Cells, names: Names, counts: dict[str, int], kinds: dict[str, str]) -> None:
    recipe, text = cells.ref("recipe"), cells["line"]
    if recipe is None or not text:
        return
    if kinds.get(recipe.id) == "cut":
        cells.problem(
            "cut-lines",
            "line",
            f"{quoted(recipe.name)} is a cut: its one component is its input",
            "",
            "take the line out",
        )
        return
    counts[recipe.id] += 1
    share, off, scales = cells["yield"], cells["can be left off"], cells["does not scale straight"]
    try:
        read = names.read(text)
    except UnknownName as error:
        if not load.is_told(NAMED, error.name):
            load.unknown(NAMED, error.name, error.near, cells.place("line"))
        return
    except ReadError as error:
        load.error(cells.place("line"), error)
        return
    if read.thing.is_recipe and read.thing.id == recipe.id:
        cells.problem(
            "recipe-itself", "line", f"{quoted(recipe.name)} uses itself", "", "name the sub-recipe that is meant"
        )
    elif "left off" in read.prep.lower():  # words nobody reads: the dish would answer "cannot be left off"
        cells.problem(
            "left-off-in-line",
            "line",
            f"{quoted(read.prep)} in the line itself is read by nobody",
            "",
            'take it out of the line, and say beside it: can be left off: yes',
        )
    elif share is not None and share == 0:
        cells.problem("percent-bad", "yield", "a yield of 0 % leaves nothing", "", "write the edible part")
    else:
        load.ask_pint(read.unit_text, read.thing.measures, cells.place("line"))
        if read.prep:
            load.asides.append(Aside(recipe.id, read.thing.name, read.prep, cells.place("line")))
        _add_component(load, recipe.id, counts[recipe.id], read.thing, read.quantity, {
            "line": text, "said_quantity": read.number_text, "said_unit": read.unit_text,
            "edible_yield": exact_or_none(share),
            "is_removable": off or 0, "scales": scales or "straight", "prep": read.prep,
        })  # fmt: skip


def _weigh_inputs(load: Load, inputs: dict[str, Fraction]) -> None:
    """Weight that goes into one batch of every recipe, by its lines in grams: what by-products are a share of."""
    cuts = frozenset(inputs)
    for row in load.rows.get("components", ()):
        if row["unit"] == "g" and row["recipe_id"] not in cuts:
            inputs[row["recipe_id"]] = inputs.get(row["recipe_id"], Fraction(0)) + Fraction(row["quantity"])


def _by_product(load: Load, cells: Cells, inputs: dict[str, Fraction], counts: dict[str, int]) -> None:
    recipe, item, share, credit = cells.ref("recipe"), cells.ref("item"), cells["share"], cells["credit"]
    if recipe is None or item is None or share is None:
        return
    if recipe.id not in inputs:
        cells.problem(
            "by-product-weight",
            "item",
            f"nothing in {quoted(recipe.name)} is by weight",
            "",
            "give its lines in g, kg, oz or lb",
        )
        return
    amount = load.in_unit(item, inputs[recipe.id] * share, "g", cells.place("share"))
    per = None
    if credit is not None:
        per = per_quantity(load, item, cells["credit per"] or "kg", cells.place("credit per"))
    earlier = [r for r in load.rows.get("by_products", ()) if r["recipe_id"] == recipe.id]
    position = len(earlier) + 1
    if sum((Fraction(r["share"]) for r in earlier), share) > 1:
        cells.problem(
            "by-product-share",
            "share",
            f"the by-products of {quoted(recipe.name)} are more than what went in",
            "",
            "shares add up to 100 % at most",
        )
    elif amount is not None:
        load.add("by_products", {
            "recipe_id": recipe.id, "position": position, "item_id": item.id, "share": exact_text(share),
            "quantity": exact_text(amount), "credit_price": None if credit is None else str(credit),
            "priced_quantity": exact_or_none(per),
        })  # fmt: skip


def _substitute(load: Load, cells: Cells) -> None:
    old, new, within, ratio = cells.ref("for"), cells.ref("with"), cells.ref("in"), cells["ratio"]
    before, after = cells.quantity_of("instead of", old), cells.quantity_of("use", new)
    if bool(cells.text("instead of")) != bool(cells.text("use")):
        cells.problem(
            "substitute-half", "use", "one of the two quantities is missing", "", 'fill in both "instead of" and "use"'
        )
    if old is None or new is None or not cells.ok:
        return
    exact = after / before if before and after else (ratio or Fraction(1))
    load.add("substitutes", {
        "id": len(load.rows.get("substitutes", ())) + 1, "for_item_id": old.id if old.table == "items" else None,
        "for_recipe_id": old.id if old.table == "recipes" else None, "in_recipe_id": within.id if within else None,
        "with_item_id": new.id if new.table == "items" else None,
        "with_recipe_id": new.id if new.table == "recipes" else None,
        "ratio": exact_text(exact), "ratio_unit": new.unit if before else "", "note": cells["note"] or "",
    })  # fmt: skip


def _par(load: Load, cells: Cells, seen: dict[tuple[str, str], Place]) -> None:
    known, days = cells.ref("of"), cells["days"] or ""
    amount = cells.quantity_of("par", known)
    if known is None or amount is None:
        return
    for day in days or (None,):
        here = cells.place("of")
        first = seen.setdefault((known.id, day or ""), here)
        if first is not here:
            cells.problem(
                "row-twice",
                "of",
                f"{quoted(known.name)} has two pars for one day",
                f"First at {first}.",
                "keep one of them",
            )
            return
        load.add("pars", {
            "id": len(load.rows.get("pars", ())) + 1, "item_id": known.id if known.table == "items" else None,
            "recipe_id": known.id if known.table == "recipes" else None, "weekday": int(day) if day else None,
            "quantity": exact_text(amount), "amount": float(amount),
        })  # fmt: skip


def graph_of(load: Load) -> tuple[dict[str, Fraction], list[Line]]:
    """Yields and lines of all recipes, by-products as lines below zero: what the recipe graph takes."""
    yields = {r["id"]: Fraction(r["yield_quantity"]) for r in load.rows.get("recipes", ())}
    lines = [
        Line(r["recipe_id"], r["id"], r["item_id"], r["sub_recipe_id"], Fraction(r["quantity"]),
             None if r["edible_yield"] is None else Fraction(r["edible_yield"]), bool(r["is_removable"]))
        for r in load.rows.get("components", ())
    ]  # fmt: skip
    credits = load.rows.get("by_products", ())
    return yields, lines + [
        Line(r["recipe_id"], BY_PRODUCT, r["item_id"], None, -Fraction(r["quantity"])) for r in credits
    ]


def _refuse_loops(load: Load, recipes: list[tuple[Cells, Known]]) -> None:
    names = {known.id: known for _, known in recipes}
    yields, lines = graph_of(load)
    try:
        order(yields, [x for x in lines if x.recipe in yields])
    except LoopError as error:
        loop = [names[i] for i in error.loop]
        said = " > ".join(f"{k.name} ({k.place})" if n else k.name for n, k in enumerate(loop))
        place: Place = loop[0].place
        load.problem("loop", place, f"a recipe uses itself: {said}", "", "take one of these lines out")
