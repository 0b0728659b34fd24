"""What each log table's columns are read from. A field looks at no other cells: `Memo` relies on it."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from typing import Any, NamedTuple

from stillroom.db.exact import NINE_PLACES, exact_text, nine_places
from stillroom.db.names import fold, slug
from stillroom.db.problems import quoted
from stillroom.db.quantity import ReadError, read_instant
from stillroom.loaders.read import Cells, Known, gone
from stillroom.loaders.stock import priced_quantity

NOT_KNOWN = "not known"


class Field(NamedTuple):
    """One column: the headers it is read from, the leading one first, and how.

    Without its leading header a column is the same on every row. is_plain: the text as typed. if_given: of the leading
    cell only whether it is empty matters. of: of this cell's item or recipe only unit and measures matter.
    """

    column: str
    reads: tuple[str, ...]
    value: Callable[[Cells], Any]
    is_plain: bool = False
    if_given: bool = False
    of: str = ""

    @property
    def leads(self) -> str:
        return self.reads[0]


def _plain(column: str, header: str) -> Field:
    return Field(column, (header,), lambda cells: cells.text(header), is_plain=True)


def _value(column: str, header: str, otherwise: Any = None, then: Callable[[Any], Any] = lambda value: value) -> Field:
    """A cell read by its kind, then as the database keeps it."""

    def value(cells: Cells) -> Any:
        found = cells[header]
        return otherwise if found is None else then(found)

    return Field(column, (header,), value)


def _ref(column: str, header: str) -> Field:
    return Field(column, (header,), lambda cells: _id(cells.ref(header)))


def _id(known: Known | None) -> str | None:
    return known.id if known else None


def _either(header: str) -> tuple[Field, Field]:
    """A reference to an item or a recipe; the first of the two columns tells what is wrong with it."""

    def item(cells: Cells) -> str | None:
        known = cells.ref(header)
        return known.id if known and known.table == "items" else None

    def recipe(cells: Cells) -> str | None:
        known = cells.known(header)
        return known.id if known and known.table == "recipes" else None

    return Field("item_id", (header,), item), Field("recipe_id", (header,), recipe)


def _unit(header: str) -> Field:
    def unit(cells: Cells) -> str | None:
        known = cells.known(header)
        return known.unit if known else None

    return Field("unit", (header,), unit)


def _amount(column: str, header: str, of: str, zero: bool = False) -> Field:
    """A quantity in the base unit of what another cell names."""
    return Field(column, (header, of), lambda cells: _text(cells.quantity_of(header, cells.known(of), zero)), of=of)


def _weight(column: str, header: str) -> Field:
    """A weight [g] as decimal text."""

    def weight(cells: Cells) -> str | None:
        return _text(cells.quantity_of(header, Known("items", "", "it", cells.place(header), "g")))

    return Field(column, (header,), weight)


def _text(amount: Fraction | None) -> str | None:
    if amount is None:
        return None
    return exact_text(amount if NINE_PLACES % amount.denominator == 0 else nine_places(amount))


def _rejected(cells: Cells) -> str | None:
    """What was sent back: no more than what came."""
    if not cells.text("rejected"):
        return "0"
    item = cells.known("item")
    rejected = cells.quantity_of("rejected", item, zero=True)
    came = cells.silently("received", item) if rejected else None
    if rejected and came is not None and rejected > came:
        cells.problem(
            "rejected-more", "rejected", "more was sent back than came", "", "write how much of what came was sent back"
        )
    return _text(rejected)


def _product(cells: Cells) -> Known | None:
    """The supplier's product that a delivery names; '' where the supplier itself is not known."""
    name, supplier = cells.text("product"), cells.known("supplier")
    if not name or supplier is None:
        return None
    return cells.load.names.get(f"products of {supplier.id}", {}).get(fold(name)) or gone("products", name)


def _product_id(cells: Cells) -> str | None:
    name, supplier, item, known = cells.text("product"), cells.known("supplier"), cells.known("item"), _product(cells)
    if not name or supplier is None:
        return None
    alike = cells.load.alike.get((supplier.id, fold(name)))
    if alike:
        places = " and ".join(map(str, alike))
        cells.problem(
            "product-alike",
            "product",
            f"{quoted(name)} means more than one product",
            f"They stand at {places}.",
            "give each its own name",
        )
    elif known is None and fold(name) not in cells.load.failed and "products" not in cells.load.source.partial:
        cells.problem(
            "product-unknown", "product", f"{quoted(name)} is not among the products of {supplier.name}", "",
            "add it to products, or leave it empty",
        )  # fmt: skip
    elif known is not None and item is not None and known.of is not None and known.of.id != item.id:
        cells.problem(
            "product-other", "product", f"{quoted(name)} is not {item.name}", f"In products it is {known.of.name}.",
            "mend the item, or the product",
        )  # fmt: skip
    return _id(known)


def _buys(cells: Cells) -> str | None:
    """What the price is for, in the item's base unit."""
    item, product = cells.known("item"), _product(cells)
    if item is None or not cells.text("price") or (cells.text("product") and product is None):
        return None
    if cells.text("price per").lower() == NOT_KNOWN:  # weighed later, or never
        return None
    return _text(priced_quantity(cells.load, cells, item, product.batch if product else None))


def _origin(cells: Cells) -> str:
    said = cells.text("origin") or "file"
    if said not in {"file", "web", "load"}:
        cells.problem(
            "origin-bad",
            "origin",
            f"{quoted(said)} is not where a row can come from",
            "Allowed: file, web.",
            "leave it empty",
        )
    return said


def _recorded(cells: Cells) -> str:
    """When a row was written down [UTC]; the moment of the load where it does not say."""
    said = cells.text("recorded at")
    try:
        return read_instant(said, cells.load.settings["time zone"]) if said else cells.load.now
    except ReadError as error:
        cells.problem(error.code, "recorded at", error.what, error.why, "leave it empty")
        return ""


def _score(cells: Cells) -> int | None:
    score: int | None = cells["score"]
    if score is not None and not 1 <= score <= 10:
        cells.problem("score-bad", "score", f"{score} is not from 1 to 10", "", "write 1, the worst, to 10, the best")
    return score


def _trial(cells: Cells) -> str | None:
    """A trial's id: that of the recipe of its name, else made from the name."""
    name: str | None = cells["trial"]
    if not name:
        return None
    known = cells.load.find("recipes", name)
    return known.id if known else slug(name)


def _promoted(cells: Cells) -> str | None:
    """The recipe that a version becomes: one that is there, or one that the promotion makes."""
    name = cells.text("dish") or cells.text("trial")
    known = cells.load.find("recipes", name) if name else None
    return known.id if known else slug(name)


COMMON = (
    Field("recorded_at", ("recorded at",), _recorded),
    _value("actor", "actor", "from the files"),
    Field("origin", ("origin",), _origin),
    _value("stands", "stands", 1),
    _plain("voids_said", "voids"),
)
_NOTE = _plain("note", "note")

FIELDS: dict[str, tuple[Field, ...]] = {
    "deliveries": (
        _value("received_on", "received on"), _ref("supplier_id", "supplier"), _ref("item_id", "item"), _unit("item"),
        Field("product_id", ("product", "supplier", "item"), _product_id), _value("kind", "kind", "goods"),
        _plain("document", "document"), _plain("credits", "credits"), _value("ordered_on", "ordered on"),
        _value("due_on", "due on"), _amount("ordered", "ordered", "item"),
        _amount("received", "received", "item", zero=True),
        Field("rejected", ("rejected", "received", "item"), _rejected, of="item"), _plain("reject_reason", "reason"),
        _value("door_temp_f", "door temperature", then=lambda temperature: temperature.f),
        _value("price", "price", then=str),
        Field("priced_quantity", ("price", "price per", "item", "product", "supplier"), _buys, if_given=True),
        _plain("lot_code", "lot"), _value("use_by", "use by"), _plain("certificate", "certificate"),
        _value("harvested_on", "harvested on"), _plain("harvest_area", "harvest area"),
        _plain("description", "description"), _plain("document_kind", "document kind"),
        _plain("shipped_from", "shipped from"), _plain("received_where", "received where"),
        _plain("lot_source", "lot source"), _NOTE,
    ),
    "counts": (
        _value("counted_on", "counted on"), _value("counted_at", "counted at"), *_either("of"), _unit("of"),
        _amount("quantity", "on hand", "of", zero=True), _ref("station_id", "station"), _NOTE,
    ),
    "batches": (
        _value("made_on", "made on"), _value("made_at", "made at"), _ref("recipe_id", "recipe"), _unit("recipe"),
        _amount("quantity", "made", "recipe"), _plain("lot_code", "lot"), _value("use_by", "use by"),
        _value("frozen_on", "frozen on"), _value("thawed_on", "thawed on"),
        _value("from_lots", "from lots", "", ";".join),
        _ref("station_id", "station"), _NOTE,
    ),
    "batch uses": (
        _value("used_on", "used on"), *_either("of"), _unit("of"), _amount("quantity", "quantity", "of"),
        _plain("lot_said", "lot"), _value("what", "what"), _plain("reason", "reason"), _NOTE,
    ),
    "batch freezes": (
        _value("moved_on", "moved on"), _ref("recipe_id", "recipe"), _value("lot_code", "lot"), _value("what", "what"),
        _NOTE,
    ),
    "shellfish tags": (
        _ref("item_id", "item"), _value("lot_code", "lot"), _plain("certificate", "certificate"),
        _value("harvested_on", "harvested on"), _value("last_served_on", "last served on"),
        _value("emptied_on", "emptied on"), _NOTE,
    ),
    "ageing lots": (
        _value("lot_code", "lot"), _ref("item_id", "item"), _ref("cut_recipe_id", "cut"),
        _value("started_on", "started on"),
        _weight("start_g", "weight"), _value("target_days", "days"), _plain("place", "place"),
        _value("length_cm", "length", then=lambda mm: float(mm) / 10), _value("price", "price", then=str),
        _plain("delivery_said", "delivery"), _NOTE,
    ),
    "weigh ins": (
        _value("lot_code", "lot"), _value("weighed_on", "weighed on"), _value("weighed_at", "weighed at"),
        _weight("weight_g", "weight"),
        _value("temp_f", "room", then=lambda temperature: temperature.f),
        _value("humidity_pct", "humidity", then=lambda share: float(share * 100)), _NOTE,
    ),
    "breakdowns": (
        _value("code", "code"), _ref("cut_recipe_id", "cut"), _plain("lot_code", "lot"),
        _value("broken_on", "broken on"),
        _weight("input_g", "input"), _plain("delivery_said", "delivery"), _NOTE,
    ),
    "breakdown outputs": (
        _value("breakdown_code", "code"), *_either("of"), _weight("weight_g", "weight"), _value("pieces", "pieces"),
        _NOTE,
    ),
    "probe readings": (
        _value("read_at", "read at"), _ref("recipe_id", "recipe"), _plain("lot_code", "lot"), _plain("piece", "piece"),
        _plain("step", "step"), _value("core_f", "core", then=lambda temperature: temperature.f),
        _plain("batch_said", "batch"), _NOTE,
    ),
    "cooling readings": (
        _value("log_code", "log"), _value("read_at", "read at"), _ref("recipe_id", "recipe"),
        _value("temp_f", "temperature", then=lambda temperature: temperature.f), _plain("batch_said", "batch"),
        _value("rule", "rule", ""), _value("started_at", "started at"), _ref("item_id", "item"), _NOTE,
    ),
    "hold checks": (
        _value("place", "place"), *_either("of"), _value("direction", "held"), _value("read_at", "read at"),
        _value("temp_f", "temperature", then=lambda temperature: temperature.f), _NOTE,
    ),
    "plates sold": (
        _value("sold_on", "sold on"), _ref("recipe_id", "dish"), _value("plates", "plates"),
        _value("service", "service", ""),
        _value("sales", "sales", then=str), _NOTE,
    ),
    "covers": (
        _value("served_on", "served on"), _value("service", "service", ""), _value("booked", "booked"),
        _value("covers", "covers"), _NOTE,
    ),
    "shortages": (
        _value("since_on", "since"), _value("since_at", "since when"), *_either("of"), _value("state", "state"),
        _value("expected_on", "expected"), _NOTE,
    ),
    "tastings": (
        _value("tasted_on", "tasted on"), _ref("recipe_id", "recipe"), _value("version", "version", 1),
        Field("score", ("score",), _score),
        _plain("words", "words"), _plain("decision", "decision"),
    ),
    "trial versions": (
        Field("trial_id", ("trial",), _trial), _plain("trial", "trial"), _value("version", "version"),
        _plain("name", "name"), _value("based_on", "based on"), _ref("began_from", "began from"),
        _value("kind", "kind", "dish"), _value("written_on", "written on"), _plain("section", "section"),
        _plain("yield_text", "yield"),
        _plain("price", "price"), _plain("target_cost", "target cost"), _plain("station", "station"),
        _plain("surfaces", "surfaces"), _plain("lines", "lines"), _plain("method", "method"), _NOTE,
    ),
    "promotions": (
        Field("trial_id", ("trial",), _trial), _plain("trial", "trial"), _value("version", "version"),
        Field("dish_id", ("trial", "dish"), _promoted), _value("decided_on", "decided on"),
        _value("from_on", "from"), _value("to_on", "to"), _NOTE,
    ),
    "forecast overrules": (
        _value("served_on", "served on"), _value("service", "service"), _ref("recipe_id", "dish"),
        _value("number", "number"), _NOTE,
    ),
    "task ticks": (
        _value("prep_on", "prep on"), _value("kind", "kind", "make"), _ref("recipe_id", "recipe"), _unit("recipe"),
        _ref("equipment_id", "equipment"), _value("state", "state"),
        _amount("quantity", "made", "recipe"), _amount("planned", "planned", "recipe"), _value("ends_at", "ends at"),
        _plain("batch_said", "batch"), _amount("cut_before", "cut before", "recipe", zero=True), _NOTE,
    ),
    "absences": (
        _ref("person_id", "person"), _value("on_date", "date"), _value("from_at", "from"), _NOTE,
    ),
    "order lines": (
        _ref("supplier_id", "supplier"), _value("due_on", "due on"), _ref("item_id", "item"), _unit("item"),
        Field("product_id", ("product", "supplier", "item"), _product_id), _value("packs", "packs", then=exact_text),
        _amount("quantity", "quantity", "item", zero=True), _value("state", "state"),
        _amount("sums", "sums said", "item", zero=True), _NOTE,
    ),
    "prep plans": (_value("prep_on", "prep on"), _plain("plan", "plan")),
    "till mappings": (_plain("lines", "lines"),),
    "lot reservations": (
        _value("lot_code", "lot"), _value("for_on", "for"), _value("portions", "portions"),
        _weight("portion_g", "portion"), _plain("what_for", "what for"), _NOTE,
    ),
    "book versions": (
        _value("what", "what"), _plain("of_id", "of"), _value("since_on", "since"), _plain("state", "state"),
    ),
    "allergen changes": (
        _value("changed_on", "changed on"), _plain("dish_id", "dish id"), _plain("dish_name", "dish"),
        _plain("allergen_id", "allergen"), _plain("was", "was"), _plain("now", "now"), _plain("because", "because"),
    ),
    "change reads": (_plain("change_said", "change"),),
}  # fmt: skip
