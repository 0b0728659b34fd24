"""Log tables from files: deliveries, counts, batches and the rest. Each row gets an id made from what it says."""

from __future__ import annotations

import hashlib
from collections import Counter
from collections.abc import Callable
from fractions import Fraction

from stillroom.db.exact import exact_text, nine_places
from stillroom.db.names import fold
from stillroom.loaders.read import Cells, Known, Load, Record, texts
from stillroom.loaders.stock import priced_quantity


def load_logs(load: Load, now: str) -> None:
    """Rows of all log tables; `now` [UTC] is when rows without their own instant were recorded."""
    for name, reader in READERS.items():
        seen: Counter[str] = Counter()
        table = name.replace(" ", "_")
        for cells in load.cells(name):
            record = reader(load, cells)
            if record is not None and cells.ok:
                load.add(table, {**record, **_common(table, cells, seen, now)})


def _common(table: str, cells: Cells, seen: Counter[str], now: str) -> Record:
    """Who, when, where from. The id of a row from a file is made of its text, so that a load is repeatable."""
    said = "\x1f".join([table, *cells.row.values])
    seen[said] += 1
    made = hashlib.sha256(f"{said}\x1f{seen[said]}".encode()).hexdigest()[:32]
    stands = cells["stands"]
    return {
        "request_id": cells.text("request id") or made, "recorded_at": cells.text("recorded at") or now,
        "actor": cells["actor"] or "from the files", "origin": cells.text("origin") or "file", "voids": None,
        "stands": 1 if stands is None else stands,
    }  # fmt: skip


def _text_of(amount: Fraction | None) -> str | None:
    return None if amount is None else exact_text(nine_places(amount))


def _either(known: Known | None) -> Record:
    return {
        "item_id": known.id if known and known.table == "items" else None,
        "recipe_id": known.id if known and known.table == "recipes" else None,
    }


def _id(known: Known | None) -> str | None:
    return known.id if known else None


def _delivery(load: Load, cells: Cells) -> Record | None:
    supplier, item, on = cells.ref("supplier"), cells.ref("item"), cells["received on"]
    received, ordered = cells.quantity_of("received", item, zero=True), cells.quantity_of("ordered", item)
    rejected = cells.quantity_of("rejected", item, zero=True) or Fraction(0)
    door, price = cells["door temperature"], cells["price"]
    if supplier is None or item is None or on is None or received is None:
        return None
    product = _product(load, cells, supplier)
    if rejected > received:
        cells.problem("rejected-more", "rejected", "more was sent back than came", "", "write how much of what came was sent back")
    buys = None
    if price is not None:
        buys = priced_quantity(load, cells, item, product.batch if product else None)
    return {
        **texts(cells, document="document", reject_reason="reason", lot_code="lot", certificate="certificate",
                harvest_area="harvest area", note="note"),
        "supplier_id": supplier.id, "product_id": _id(product), "item_id": item.id, "kind": cells["kind"] or "goods",
        "ordered_on": cells["ordered on"], "due_on": cells["due on"], "received_on": on, "unit": item.unit,
        "ordered": _text_of(ordered), "received": _text_of(received), "rejected": _text_of(rejected),
        "door_temp_f": door.f if door else None, "price": None if price is None else str(price),
        "priced_quantity": _text_of(buys), "use_by": cells["use by"], "harvested_on": cells["harvested on"],
    }  # fmt: skip


def _product(load: Load, cells: Cells, supplier: Known) -> Known | None:
    name = cells["product"]
    if not name:
        return None
    known = load.names.get(f"products of {supplier.id}", {}).get(fold(name))
    if known is None:
        cells.problem("product-unknown", "product", f'"{name[:60]}" is not among the products of {supplier.name}', "", "add it to products, or leave it empty")
    return known


def _count(load: Load, cells: Cells) -> Record | None:
    known, station, on = cells.ref("of"), cells.ref("station"), cells["counted on"]
    amount = cells.quantity_of("on hand", known, zero=True)
    if known is None or amount is None or on is None:
        return None
    return {**_either(known), "counted_on": on, "counted_at": cells["counted at"], "quantity": _text_of(amount),
            "unit": known.unit, "station_id": _id(station), "note": cells["note"] or ""}  # fmt: skip


def _batch(load: Load, cells: Cells) -> Record | None:
    known, station, on = cells.ref("recipe"), cells.ref("station"), cells["made on"]
    amount = cells.quantity_of("made", known)
    if known is None or amount is None or on is None:
        return None
    return {**texts(cells, lot_code="lot", note="note"), "recipe_id": known.id, "made_on": on, "made_at": cells["made at"],
            "quantity": _text_of(amount), "unit": known.unit, "use_by": cells["use by"], "frozen_on": cells["frozen on"],
            "thawed_on": cells["thawed on"], "from_lots": ";".join(cells["from lots"] or ()), "station_id": _id(station)}  # fmt: skip


def _use(load: Load, cells: Cells) -> Record | None:
    known, on, what = cells.ref("of"), cells["used on"], cells["what"]
    amount = cells.quantity_of("quantity", known)
    if known is None or amount is None:
        return None
    return {**_either(known), "batch_id": None, "used_on": on, "quantity": _text_of(amount), "unit": known.unit, "what": what,
            "reason": cells["reason"] or "", "note": cells["note"] or ""}  # fmt: skip


def _weight(cells: Cells, name: str) -> str | None:
    """A weight [g] as decimal text."""
    anything = Known("items", "", "it", cells.place(name), "g")
    return _text_of(cells.quantity_of(name, anything))


def _ageing_lot(load: Load, cells: Cells) -> Record | None:
    item, cut, price, length = cells.ref("item"), cells.ref("cut"), cells["price"], cells["length"]
    return {
        **texts(cells, lot_code="lot", place="place", note="note"), "item_id": _id(item), "cut_recipe_id": _id(cut), "delivery_id": None,
        "started_on": cells["started on"], "start_g": _weight(cells, "weight"), "target_days": cells["days"],
        "length_cm": float(length) / 10 if length else None, "price": None if price is None else str(price),
    }  # fmt: skip


def _weigh_in(load: Load, cells: Cells) -> Record | None:
    room, humidity = cells["room"], cells["humidity"]
    return {"lot_code": cells["lot"], "weighed_on": cells["weighed on"], "weighed_at": None, "weight_g": _weight(cells, "weight"),
            "temp_f": room.f if room else None, "humidity_pct": None if humidity is None else float(humidity * 100),
            "note": cells["note"] or ""}  # fmt: skip


def _breakdown(load: Load, cells: Cells) -> Record | None:
    cut = cells.ref("cut")
    return {"code": cells["code"], "cut_recipe_id": _id(cut), "lot_code": cells["lot"] or "", "delivery_id": None,
            "broken_on": cells["broken on"], "input_g": _weight(cells, "input"), "note": cells["note"] or ""}  # fmt: skip


def _breakdown_output(load: Load, cells: Cells) -> Record | None:
    known = cells.ref("of") if cells.text("of") else None
    return {**_either(known), "breakdown_code": cells["code"], "weight_g": _weight(cells, "weight"), "pieces": cells["pieces"],
            "note": cells["note"] or ""}  # fmt: skip


def _probe(load: Load, cells: Cells) -> Record | None:
    recipe, core = cells.ref("recipe") if cells.text("recipe") else None, cells["core"]
    return {**texts(cells, lot_code="lot", piece="piece", step="step", note="note"), "recipe_id": _id(recipe), "batch_id": None,
            "read_at": cells["read at"], "core_f": core.f if core else None}  # fmt: skip


def _cooling(load: Load, cells: Cells) -> Record | None:
    recipe, temp = cells.ref("recipe") if cells.text("recipe") else None, cells["temperature"]
    return {"log_code": cells["log"], "recipe_id": _id(recipe), "batch_id": None, "read_at": cells["read at"],
            "temp_f": temp.f if temp else None, "note": cells["note"] or ""}  # fmt: skip


def _hold(load: Load, cells: Cells) -> Record | None:
    known, temp = cells.ref("of") if cells.text("of") else None, cells["temperature"]
    return {**_either(known), "place": cells["place"], "direction": cells["held"], "read_at": cells["read at"],
            "temp_f": temp.f if temp else None, "note": cells["note"] or ""}  # fmt: skip


def _sold(load: Load, cells: Cells) -> Record | None:
    dish, sales = cells.ref("dish"), cells["sales"]
    return {"recipe_id": _id(dish), "sold_on": cells["sold on"], "service": cells["service"] or "", "plates": cells["plates"],
            "sales": None if sales is None else str(sales), "note": cells["note"] or ""}  # fmt: skip


def _covers(load: Load, cells: Cells) -> Record | None:
    return {"served_on": cells["served on"], "service": cells["service"] or "", "booked": cells["booked"],
            "covers": cells["covers"], "note": cells["note"] or ""}  # fmt: skip


def _shortage(load: Load, cells: Cells) -> Record | None:
    return {**_either(cells.ref("of")), "state": cells["state"], "since_on": cells["since"], "since_at": None,
            "expected_on": cells["expected"], "note": cells["note"] or ""}  # fmt: skip


def _tasting(load: Load, cells: Cells) -> Record | None:
    recipe, version = cells.ref("recipe"), cells["version"]
    return {**texts(cells, words="words", decision="decision"), "recipe_id": _id(recipe), "version": 1 if version is None else version,
            "tasted_on": cells["tasted on"], "score": cells["score"]}  # fmt: skip


READERS: dict[str, Callable[[Load, Cells], Record | None]] = {
    "deliveries": _delivery, "counts": _count, "batches": _batch, "batch uses": _use, "ageing lots": _ageing_lot,
    "weigh ins": _weigh_in, "breakdowns": _breakdown, "breakdown outputs": _breakdown_output, "probe readings": _probe,
    "cooling readings": _cooling, "hold checks": _hold, "plates sold": _sold, "covers": _covers, "shortages": _shortage,
    "tastings": _tasting,
}  # fmt: skip
