"""What a kitchen has and buys: stations, surfaces, people, suppliers, items and measures, products and labels."""

from __future__ import annotations

import sqlite3
from fractions import Fraction

from stillroom.db.exact import exact_text
from stillroom.db.names import fold, slug
from stillroom.db.problems import Place, quoted
from stillroom.db.quantity import Pack, ReadError, read_quantity
from stillroom.db.units import US_GALLON, as_measure
from stillroom.loaders.read import Cells, Known, Load, exact_or_none, named, texts

CUP_ML = US_GALLON / 16


def load_reference_names(load: Load, reference: sqlite3.Connection) -> None:
    """The names of published tables that a kitchen's rows may use."""
    shipped = Place("stillroom's own reference")
    for kind in ("holding_rules", "cooking_minimums"):
        ids = reference.execute(f"select id from {kind}")
        load.names[kind] = {fold(i): Known(kind, i, i, shipped) for (i,) in ids}
    _allergen_names(load, reference, shipped)


def _allergen_names(load: Load, reference: sqlite3.Connection, shipped: Place) -> None:
    """What each allergen is called; a word that is also said of several, shellfish, is none of them."""
    allergens: dict[str, Known] = {}
    also: dict[str, dict[str, Known]] = {}
    for i, name, words in reference.execute("select id, name, also_called from allergens"):
        known = Known("allergens", i, name, shipped)
        for word in (name, i, i.replace("_", " "), f"{name}s"):
            allergens.setdefault(fold(word), known)
        for word in filter(None, words.split("; ")):
            also.setdefault(fold(word), {})[i] = known
    for word, meant in also.items():
        if len(meant) == 1:
            allergens.setdefault(word, *meant.values())
        elif word not in allergens:
            load.several["allergens", word] = [known.name for known in meant.values()]
    load.names["allergens"] = allergens


def load_stock(load: Load, reference: sqlite3.Connection) -> None:
    """Rows of all stock tables; items are known by name afterwards, with their measures."""
    _places_and_people(load)
    for cells in load.cells("suppliers"):
        _supplier(load, cells)
    for cells in load.cells("holidays"):
        _holiday(load, cells)
    for cells in load.cells("items"):
        _item(load, cells, reference)


def _places_and_people(load: Load) -> None:
    for position, cells in enumerate(load.cells("stations")):
        if known := named(cells, "stations"):
            load.add("stations", {"id": known.id, "name": known.name, "position": position})
    for cells in load.cells("surfaces"):
        station = cells.ref("station")
        if known := named(cells, "surfaces"):
            load.add("surfaces", {"id": known.id, "name": known.name, "station_id": station.id if station else None})
    for cells in load.cells("equipment"):
        _equipment(load, cells)
    for cells in load.cells("people"):
        stations = ";".join(s.id for s in cells.refs("stations"))
        if known := named(cells, "people"):
            load.add("people", {"id": known.id, "name": known.name, "stations": stations, "note": cells["note"] or ""})
    shifts: dict[tuple[str, str, str], Place] = {}
    for cells in load.cells("shifts"):
        _shift(load, cells, shifts)
    days: dict[tuple[str, str], Place] = {}
    for cells in load.cells("service days"):
        _service(load, cells, days)


def _service(load: Load, cells: Cells, seen: dict[tuple[str, str], Place]) -> None:
    record = texts(cells, service="service", opens_at="opens", closes_at="closes", prep_from="prep from")
    for day in cells["weekday"] or "":
        here = cells.place("weekday")
        first = seen.setdefault((day, fold(record["service"])), here)
        if first is not here:
            what = f"{quoted(record['service'])} on one weekday stands twice in service days"
            cells.problem("row-twice", "weekday", what, f"First at {first}.", "keep one of them")
            return
        load.add("service_days", {**record, "weekday": int(day)})


def _shift(load: Load, cells: Cells, seen: dict[tuple[str, str, str], Place]) -> None:
    person, begins, ends = cells.ref("person"), cells["from"], cells["to"]
    for day in cells["days"] or "":
        if person is None or begins is None or ends is None:
            return
        here = cells.place("days")
        first = seen.setdefault((person.id, day, begins), here)
        if first is not here:
            what = f"{quoted(person.name)} begins at {begins} twice on one day"
            cells.problem("row-twice", "days", what, f"First at {first}.", "keep one of them")
            return
        record = {"person_id": person.id, "weekday": int(day), "begins_at": begins, "ends_at": ends}
        load.add("shifts", record)


def _holiday(load: Load, cells: Cells) -> None:
    supplier, on = cells.ref("supplier"), cells["date"]
    if on is not None and (supplier is not None or not cells.text("supplier")):
        load.add("holidays", {"on_date": on, "supplier_id": supplier.id if supplier else None,
                              "note": cells["note"] or ""})  # fmt: skip


def _equipment(load: Load, cells: Cells) -> None:
    station, capacity = cells.ref("station"), cells["capacity"]
    if known := named(cells, "equipment"):
        load.add("equipment", {
            "id": known.id, "name": known.name, "station_id": station.id if station else None,
            "capacity": exact_text(capacity or Fraction(1)), "capacity_unit": cells["capacity unit"] or "task",
            "lead_s": cells["lead time"] or 0, "note": cells["note"] or "",
        })  # fmt: skip


def _supplier(load: Load, cells: Cells) -> None:
    known = named(cells, "suppliers")
    least, lead, active = cells["minimum order"], cells["lead days"], cells["active"]
    record = texts(cells, kind="kind", place="place", contact="contact", phone="phone", email="email",
                   order_by="order by", delivers_on="delivers on", note="note")  # fmt: skip
    if known:
        load.add("suppliers", {
            **record, "id": known.id, "name": known.name, "lead_days": 1 if lead is None else lead,
            "minimum_order": None if least is None else str(least), "is_active": 1 if active is None else active,
        })  # fmt: skip


def _item(load: Load, cells: Cells, reference: sqlite3.Connection) -> None:
    name, unit, category = cells["name"], cells["unit"], cells["category"]
    if not name or not unit or not category:
        load.failed.add(fold(name or ""))
        return
    rule, life, own_yield = cells.ref("receiving rule"), cells["shelf life"], cells["yield"]
    measures = _reference_measures(load, cells, unit, reference)
    known = Known("items", slug(name), " ".join(name.split()), cells.place("name"), unit, measures)
    if not load.register(known, "items", "items or recipes"):
        return
    tags = [fold(tag) for tag in cells["tags"] or ()]
    load.add("items", {
        "id": known.id, "name": known.name, "category": category, "unit": unit,
        "receiving_rule_id": rule.id if rule else None, "shelf_life_days": None if life is None else life // 86400,
        "edible_yield": exact_or_none(own_yield), "reference_yield_id": _reference_yield(load, cells, reference),
        "tags": "; ".join(tags), "note": cells["note"] or "",
    })  # fmt: skip
    for tag in dict.fromkeys(tags):
        load.add("item_tags", {"item_id": known.id, "tag": tag})


def _reference_yield(load: Load, cells: Cells, reference: sqlite3.Connection) -> int | None:
    food = cells["reference yield"]
    if not food:
        return None
    row = reference.execute("select id from reference_yields where food = ? order by id", (food,)).fetchone()
    if row is None:
        _no_reference(cells, "reference yield", food, reference, "reference_yields")
    return None if row is None else int(row[0])


def _reference_measures(load: Load, cells: Cells, unit: str, reference: sqlite3.Connection) -> dict[str, Fraction]:
    """Grams per ml and per piece of the reference food that the item is said to be."""
    food = cells["reference density"]
    if not food:
        return {}
    row = reference.execute(
        "select g_per_us_cup, g_each, source, basis from reference_densities where food = ?", (food,)
    ).fetchone()
    if row is None:
        _no_reference(cells, "reference density", food, reference, "reference_densities")
        return {}
    found = {}
    if unit == "g" and row[0]:
        found["ml"] = Fraction(row[0]) / CUP_ML
    if unit == "g" and row[1]:
        found["each"] = Fraction(row[1])
    for measure, quantity in found.items():
        load.add("item_measures", {
            "item_id": slug(cells.text("name")), "measure": measure, "quantity": exact_text(quantity),
            "source": f"{food}: {row[2]}", "basis": row[3],
        })  # fmt: skip
    return found


def _no_reference(cells: Cells, column: str, food: str, reference: sqlite3.Connection, table: str) -> None:
    first = food.split(",")[0].split()[0]
    near = [r[0] for r in reference.execute(f"select food from {table} where food like ? limit 3", (f"%{first}%",))]
    cells.problem(
        "reference-unknown",
        column,
        f"{quoted(food)} is not a reference food",
        f"Near: {'; '.join(near) or 'none'}.",
        "use a name from the reference, or leave it empty",
    )


def load_measures(load: Load) -> None:
    """Measures of items and recipes; after both are known by name."""
    seen: dict[tuple[str, str], Place] = {}
    for cells in load.cells("measures"):
        known, text = cells.ref("of"), cells["measure"]
        amount = None if _lacks_unit(cells, known) else cells.quantity_of("is", known)
        if known is None or not text or amount is None:
            continue
        try:
            name, count = as_measure(text, load.system, load.mark)
        except ReadError as error:
            load.error(cells.place("measure"), error)
            continue
        here = cells.place("measure")
        first = seen.setdefault((known.id, name), here)
        if first is not here:
            cells.problem(
                "row-twice",
                "measure",
                f"{quoted(known.name)} has its {name} twice",
                f"First at {first}.",
                "keep one of them",
            )
            continue
        if known.table == "items" and name in known.measures:  # the kitchen's own figure over the reference
            load.rows["item_measures"] = [
                r for r in load.rows["item_measures"] if (r["item_id"], r["measure"]) != (known.id, name)
            ]
        known.measures[name] = amount / count
        record = {"measure": name, "quantity": exact_text(amount / count)}
        if known.table == "items":
            load.add(
                "item_measures",
                {**record, "item_id": known.id, "source": cells["source"] or "", "basis": "the kitchen's own"},
            )
        else:
            load.add("recipe_measures", {**record, "recipe_id": known.id})


def _lacks_unit(cells: Cells, known: Known | None) -> bool:
    """A bare number for what is kept by weight or volume: it would be pieces, 400 leeks to the bunch."""
    said = cells["is"]
    if known is None or said is None or said.unit_text or known.unit == "each":
        return False
    told = f"{known.name} is kept in {known.unit}; a number alone is pieces."
    cells.problem("unit-missing", "is", f"{quoted(cells.text('is'))} has no unit", told,
                  f"write {cells.text('is')} {known.unit}, if that is meant")  # fmt: skip
    return True


def load_products(load: Load) -> None:
    """Products, what their labels declare, and the prices asked."""
    for cells in load.cells("products"):
        _product(load, cells)


def _product(load: Load, cells: Cells) -> None:
    supplier, item, name = cells.ref("supplier"), cells.ref("item"), cells["product"]
    contains, may = cells.refs("contains"), cells.refs("may contain")
    reviewed, read = cells["reviewed"], cells["read"]
    if bool(cells.text("reviewed")) != bool(cells.text("read")):
        cells.problem(
            "review-half",
            "read" if cells.text("reviewed") else "reviewed",
            "a review needs its date and what was read",
            "",
            "fill in both, or neither",
        )
    if (contains or may) and not cells.text("reviewed"):
        cells.problem(
            "review-missing",
            "reviewed",
            "allergens are declared but nobody is said to have read the label",
            "",
            'fill in "reviewed", the day somebody read it, and "read": label, specification or letter',
        )
    if reviewed is not None and reviewed > load.latest:
        load.problem(
            "review-ahead", cells.place("reviewed"), f"{reviewed} is still to come",
            "Nobody has read the label on that day.", "write the day on which it was read", "warning",
        )  # fmt: skip
    pack = cells["pack"]
    content = pack_content(load, cells, item, pack) if item and pack else None
    code, active = cells["code"] or "", cells["active"]
    _ = cells["price"], cells["price date"]  # read here too: what is wrong with them is told with all the rest
    if supplier is None or item is None or not name or not cells.ok:
        load.failed.add(fold(name or ""))
        return
    known = Known(
        "products",
        slug(f"{supplier.id} {name} {code}"),
        name,
        cells.place("product"),
        item.unit,
        item.measures,
        content,
        item,
    )
    if not _offer(load, supplier, known):
        return
    load.add("products", {
        **texts(cells, brand="brand", note="note", ingredients="ingredients", reviewed_by="reviewed by"),
        "id": known.id,
        "supplier_id": supplier.id, "item_id": item.id, "name": name, "code": code, "pack": cells.text("pack"),
        "pack_quantity": exact_or_none(content), "is_active": 1 if active is None else active,
        "reviewed_on": reviewed, "read_what": read,
    })  # fmt: skip
    may_ids = {a.id for a in may} - {a.id for a in contains}
    for presence, ids in (("contains", {a.id for a in contains}), ("may contain", may_ids)):
        for allergen in sorted(ids):
            load.add("product_allergens", {"product_id": known.id, "allergen_id": allergen, "presence": presence})
    _quote(load, cells, item, known, content)


def _offer(load: Load, supplier: Known, product: Known) -> bool:
    """Gives a product its name among its supplier's; of two with one name, neither is known by it."""
    twin = load.ids.setdefault("products", {}).setdefault(product.id, product)
    if twin is not product:
        load.problem(
            "name-twice",
            product.place,
            f"{quoted(product.name)} is there already",
            f"First at {twin.place}.",
            "give one of them another code",
        )
        return False
    offered = load.names.setdefault(f"products of {supplier.id}", {})
    same = offered.setdefault(fold(product.name), product)
    if same is not product:
        load.alike.setdefault((supplier.id, fold(product.name)), [same.place]).append(product.place)
    return True


def pack_content(load: Load, cells: Cells, item: Known, pack: Pack) -> Fraction | None:
    """What one pack holds in the item's base unit; None for catch weight."""
    if pack.is_catch_weight:
        return None
    load.ask_pint(pack.unit_text, item.measures, cells.place("pack"))
    amount = load.in_unit(item, pack.count * pack.size, pack.unit_text, cells.place("pack"))
    cells.ok = cells.ok and amount is not None
    return amount


def priced_quantity(load: Load, cells: Cells, item: Known, content: Fraction | None) -> Fraction | None:
    """What one price buys, in the item's base unit: a pack, or one of the unit named."""
    per = (cells["price per"] or "pack").lower()
    if per == "pack":
        if content is None:
            cells.problem(
                "price-per-pack",
                "price per",
                "the price is for a pack whose content is not known",
                "",
                "write the unit that the price is for: kg, lb, ea",
            )
        return content
    buys = per_quantity(load, item, per, cells.place("price per"))
    cells.ok = cells.ok and buys is not None
    return buys


def per_quantity(load: Load, item: Known, per: str, place: Place) -> Fraction | None:
    """What a price is for, in the item's base unit: one of the unit named (`kg`), or a quantity (`2.5 kg`)."""
    if not per[:1].isdigit():
        return load.in_unit(item, Fraction(1), per, place)
    try:
        said = read_quantity(per, load.mark)
    except ReadError as error:
        load.error(place, error)
        return None
    if said.number <= 0:
        load.problem("quantity-low", place, f"{quoted(per)} is not above zero", "", "write what the price is for")
        return None
    return load.in_unit(item, said.number, said.unit_text, place)


def _quote(load: Load, cells: Cells, item: Known, product: Known, content: Fraction | None) -> None:
    price, on = cells["price"], cells["price date"]
    if price is None:
        return
    if on is None and cells.text("price date"):
        return  # told already
    if on is None:
        cells.problem("price-undated", "price date", "a price needs its date", "", "write when it was asked")
        return
    buys = priced_quantity(load, cells, item, content)
    if buys is not None:
        load.add("price_quotes", {
            "product_id": product.id, "quoted_on": on, "price": str(price), "priced_quantity": exact_text(buys),
            "origin": str(cells.place()),
        })  # fmt: skip
