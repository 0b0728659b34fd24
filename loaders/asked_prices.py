"""Suppliers' price lists into quoted prices of the products that the kitchen buys."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from stillroom.db.exact import exact_text
from stillroom.db.names import fold
from stillroom.db.problems import quoted
from stillroom.db.quantity import ReadError, read_date
from stillroom.loaders.read import Cells, Known, Load, View
from stillroom.loaders.source import PriceList
from stillroom.loaders.stock import pack_content, priced_quantity

Product = dict[str, Any]


def load_price_lists(load: Load) -> None:
    """Prices from every list; after products are known. Lines for goods that are not bought here are passed over."""
    quoted_before = {(q["product_id"], q["quoted_on"]): q for q in load.rows.get("price_quotes", [])}
    items = {known.id: known for known in load.names.get("items", {}).values()}
    for listed in load.source.price_lists:
        supplier = load.need("suppliers", listed.supplier.text.strip(), listed.supplier.place)
        on = _day(load, listed)
        if supplier is not None and on is not None:
            _prices(load, listed, supplier, on, items, quoted_before)


def _day(load: Load, listed: PriceList) -> str | None:
    try:
        return read_date(listed.date.text, load.settings["date order"])
    except ReadError as error:
        load.error(listed.date.place, error)
        return None


def _prices(
    load: Load,
    listed: PriceList,
    supplier: Known,
    on: str,
    items: dict[str, Known],
    before: dict[tuple[str, str], Any],
) -> None:
    own = [p for p in load.rows.get("products", []) if p["supplier_id"] == supplier.id]
    by_code: dict[str, list[Product]] = {}
    for p in own:
        by_code.setdefault(_code(p["code"]), []).append(p)
    by_code.pop("", None)
    by_name = {fold(p["name"]): p for p in own if (supplier.id, fold(p["name"])) not in load.alike}
    matched, view = 0, View(listed.sheet)
    for row in listed.sheet.rows:
        cells = Cells(load, view, row)
        coded = _coded(by_code, cells.text("code"))
        named = by_name.get(fold(cells.text("product")))
        matched += bool(coded or named)
        if len(coded) > 1 and named not in coded:
            _tell_shared(cells, coded)
            continue
        product = coded[0] if len(coded) == 1 else named
        if product is None:
            continue
        quote = _quote(load, cells, product, items[product["item_id"]], on)
        if quote is None:
            continue
        first = before.setdefault((product["id"], on), quote)
        if first is quote:
            load.add("price_quotes", quote)
        elif (first["price"], first["priced_quantity"]) != (quote["price"], quote["priced_quantity"]):
            cells.problem(
                "price-twice",
                "price",
                f"{product['name']} has another price on {on}",
                f"First at {first['origin']}.",
                "keep one of them",
            )
    if own and not matched and not load.failed:
        load.problem(
            "price-list-unused", listed.supplier.place,
            f"no line of {listed.sheet.path} is a product of {supplier.name}",
            "Lines are matched by code, then by the product's name.",
            "write the supplier's codes into products", "warning",
        )  # fmt: skip


def _code(text: str) -> str:
    """A code as it is compared: a spreadsheet that takes it for a number drops the zeros before it."""
    return fold(text).lstrip("0") or fold(text)


def _coded(by_code: dict[str, list[Product]], text: str) -> list[Product]:
    """Products of a code: as it is written before those that differ in leading zeros, bought now before others."""
    found = by_code.get(_code(text), [])
    found = [p for p in found if fold(p["code"]) == fold(text)] or found
    return [p for p in found if p["is_active"]] or found


def _tell_shared(cells: Cells, products: list[Product]) -> None:
    """A code under which the kitchen buys several things, on a line that names none of them."""
    cells.problem(
        "product-alike",
        "code",
        f"{quoted(cells.text('code'))} is the code of {' and of '.join(quoted(p['name']) for p in products)}",
        "Which of them the line means can't be told.",
        "write each product's own code into products",
    )


def _quote(load: Load, cells: Cells, product: Product, item: Known, on: str) -> dict[str, str] | None:
    """What the line asks, for how much of the item; the list's own pack comes before the one in products."""
    price, pack = cells["price"], cells["pack"]
    content = Fraction(product["pack_quantity"]) if product["pack_quantity"] else None
    if pack is not None:
        content = pack_content(load, cells, item, pack)
    if price is None or not cells.ok:
        return None
    buys = priced_quantity(load, cells, item, content)
    if buys is None:
        return None
    return {
        "product_id": product["id"], "quoted_on": on, "price": str(price), "priced_quantity": exact_text(buys),
        "origin": str(cells.place("price")),
    }  # fmt: skip
