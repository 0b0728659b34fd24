"""The house and what it buys, written out: one function a table, each row as the files say it."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from stillroom.loaders.dump_house import DAYS, House, span, text, yes
from stillroom.loaders.dump_text import Row, pair, write_rows
from stillroom.loaders.table_shapes import Column
from stillroom.loaders.tables import SETTINGS

Rows = list[Row]


def settings(house: House) -> str:
    """kitchen.yaml: every setting that says something."""
    return "".join(pair(name, house.settings[name]) for name in SETTINGS if house.settings.get(name))


def stations(house: House) -> Rows:
    return [{"name": r["name"]} for r in house.rows("select * from stations order by position")]


def surfaces(house: House) -> Rows:
    found = house.rows("select * from surfaces order by rowid")
    return [{"name": r["name"], "station": house.name("stations", r["station_id"])} for r in found]


def equipment(house: House) -> Rows:
    return [
        {
            "name": r["name"], "station": house.name("stations", r["station_id"]),
            "capacity": house.number(r["capacity"]), "capacity unit": r["capacity_unit"],
            "lead time": span(r["lead_s"], "s"), "note": r["note"],
        }
        for r in house.rows("select * from equipment order by rowid")
    ]  # fmt: skip


def people(house: House) -> Rows:
    def held(ids: str) -> str:
        return "; ".join(house.name("stations", i) for i in ids.split(";") if i)

    found = house.rows("select * from people order by rowid")
    return [{"name": r["name"], "stations": held(r["stations"]), "note": r["note"]} for r in found]


def shifts(house: House) -> Rows:
    return [
        {
            "person": house.name("people", r["person_id"]), "days": DAYS[r["weekday"] - 1], "from": r["begins_at"],
            "to": r["ends_at"],
        }
        for r in house.rows("select * from shifts order by rowid")
    ]  # fmt: skip


def holidays(house: House) -> Rows:
    found = house.rows("select * from holidays order by rowid")
    return [
        {"date": r["on_date"], "supplier": house.name("suppliers", r["supplier_id"]), "note": r["note"]} for r in found
    ]


def service_days(house: House) -> Rows:
    return [
        {
            "weekday": DAYS[r["weekday"] - 1], "service": r["service"], "opens": r["opens_at"],
            "closes": r["closes_at"], "prep from": r["prep_from"],
        }
        for r in house.rows("select * from service_days order by rowid")
    ]  # fmt: skip


def suppliers(house: House) -> Rows:
    return [
        {
            "name": r["name"], "kind": r["kind"], "place": r["place"], "contact": r["contact"], "phone": r["phone"],
            "email": r["email"], "order by": r["order_by"], "lead days": text(r["lead_days"]),
            "delivers on": weekdays(r["delivers_on"]), "minimum order": house.money(r["minimum_order"]),
            "active": yes(r["is_active"]), "note": r["note"],
        }
        for r in house.rows("select * from suppliers order by rowid")
    ]  # fmt: skip


def weekdays(numbers: str) -> str:
    """'135' as 'mon wed fri'."""
    return " ".join(DAYS[int(n) - 1] for n in numbers)


def items(house: House) -> Rows:
    densities = {
        r["item_id"]: r["food"]
        for r in house.rows(
            "select m.item_id, d.food from item_measures as m join reference_densities as d"
            " on m.source = d.food || ': ' || d.source where m.basis <> 'the kitchen''s own'"
        )
    }
    question = (
        "select i.*, y.food from items as i left join reference_yields as y on y.id = i.reference_yield_id"
        " order by i.rowid"
    )
    return [
        {
            "name": r["name"], "category": r["category"], "unit": r["unit"],
            "receiving rule": text(r["receiving_rule_id"]), "shelf life": span(r["shelf_life_days"], "days"),
            "yield": house.percent(r["edible_yield"]), "reference yield": text(r["food"]),
            "reference density": densities.get(r["id"], ""), "tags": r["tags"], "note": r["note"],
        }
        for r in house.rows(question)
    ]  # fmt: skip


def measures(house: House) -> Rows:
    own = house.rows("select * from item_measures where basis = 'the kitchen''s own' order by rowid")
    found: Rows = [
        {
            "of": house.name("items", r["item_id"]), "measure": r["measure"],
            "is": house.quantity(r["quantity"], house.unit_of(r["item_id"], None)), "source": r["source"],
        }
        for r in own
    ]  # fmt: skip
    of_recipes = house.rows(
        "select m.* from recipe_measures as m join recipes as r on r.id = m.recipe_id"
        " where r.kind <> 'cut' or m.measure <> 'g' order by m.rowid"  # a cut's weight is its portion
    )
    return found + [
        {
            "of": house.name("recipes", r["recipe_id"]), "measure": r["measure"],
            "is": house.quantity(r["quantity"], house.unit_of(None, r["recipe_id"])),
        }
        for r in of_recipes
    ]  # fmt: skip


def products(house: House) -> Rows:
    declared: dict[tuple[str, str], list[str]] = {}
    for r in house.rows("select * from product_allergens order by product_id, presence, allergen_id"):
        key = (r["product_id"], r["presence"])
        declared.setdefault(key, []).append(house.name("allergens", r["allergen_id"]))
    quotes = {r["product_id"]: r for r in house.rows("select * from price_quotes order by product_id, quoted_on")}
    found: Rows = []
    for r in house.rows("select * from products order by rowid"):
        quote = quotes.get(r["id"])
        unit = house.unit_of(r["item_id"], None)
        found.append({
            "supplier": house.name("suppliers", r["supplier_id"]), "item": house.name("items", r["item_id"]),
            "product": r["name"], "brand": r["brand"], "code": r["code"], "pack": r["pack"],
            "price": "" if quote is None else house.money(quote["price"]),
            "price per": "" if quote is None else house.quantity(quote["priced_quantity"], unit),
            "price date": "" if quote is None else quote["quoted_on"],
            "contains": "; ".join(declared.get((r["id"], "contains"), ())),
            "may contain": "; ".join(declared.get((r["id"], "may contain"), ())),
            "reviewed": text(r["reviewed_on"]), "read": text(r["read_what"]), "reviewed by": r["reviewed_by"],
            "ingredients": r["ingredients"], "active": yes(r["is_active"]), "note": r["note"],
        })  # fmt: skip
    return found


def write_price_lists(house: House, folder: Path) -> int:
    """Prices before a product's last one, as a list for each supplier and day; how many files."""
    question = """
        select q.*, p.supplier_id, p.item_id, p.name, case when (
            select count(*) from products as o where o.supplier_id = p.supplier_id and lower(o.code) = lower(p.code)
        ) = 1 then p.code else '' end as code
        from price_quotes as q join products as p on p.id = q.product_id
        where exists (select 1 from price_quotes as l where l.product_id = q.product_id and l.quoted_on > q.quoted_on)
        order by p.supplier_id, q.quoted_on, p.rowid
    """
    lists: dict[tuple[str, str], Rows] = {}
    for r in house.rows(question):
        per = house.quantity(r["priced_quantity"], house.unit_of(r["item_id"], None))
        line = {"product": r["name"], "code": r["code"], "price": house.money(r["price"]), "price per": per}
        lists.setdefault((r["supplier_id"], r["quoted_on"]), []).append(line)
    if lists:
        folder.mkdir()
    for (supplier, on), rows in lists.items():
        listed = f"{supplier}-{on}"
        columns = ("product", "code", "price", "price per")
        said = [pair("file", f"{listed}.csv"), pair("supplier", house.name("suppliers", supplier)), pair("date", on)]
        said += ["columns:\n", *(pair(name, name, "  ") for name in columns)]
        (folder / f"{listed}.yaml").write_text("".join(said), "utf-8")
        write_rows(folder / f"{listed}.csv", columns, rows)
    return 2 * len(lists)


TABLES: dict[str, Callable[[House], Rows]] = {
    "stations": stations, "surfaces": surfaces, "equipment": equipment, "people": people,
    "shifts": shifts, "holidays": holidays,
    "service days": service_days, "suppliers": suppliers, "items": items, "measures": measures, "products": products,
}  # fmt: skip


def required(columns: tuple[Column, ...]) -> list[str]:
    """Headers that a file of these columns needs."""
    return [column.name for column in columns if column.required]
