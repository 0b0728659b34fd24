"""Forms for what comes to the door: a line of goods, and the tag of a container of shellfish."""

from __future__ import annotations

from stillroom.plugins.logbook.checks import check_delivery
from stillroom.plugins.logbook.fields import Book, Field, Known
from stillroom.plugins.logbook.form import NOTE, Form, Rows, Values, day, id_of, temp
from stillroom.plugins.logbook.reading import kept


def _tag(values: Values, book: Book) -> Rows:
    lot: Known = values["of"]
    return [("shellfish_tags", {"item_id": lot.of, "lot_code": lot.more["lot_code"],
                                "certificate": values["certificate"] or lot.more.get("certificate", ""),
                                "harvested_on": lot.more.get("harvested_on"), "last_served_on": values["served"],
                                "emptied_on": values["emptied"], "note": values["note"] or ""})]  # fmt: skip


TAG = Form(
    "tag", "Shellfish tag", "shellfish_tags", (
        Field("of", "Which container", "pick", True, to=("shellstock",)),
        Field("served", "The last of it was served on", "today", note="write the same day on the tag"),
        Field("emptied", "Container empty on", "date"),
        Field("certificate", "Number on the tag", "text", aside=True), NOTE),
    _tag, subject="of", note="The tag stays on until the container is empty, then it is kept in order of date.",
)  # fmt: skip


def _delivery(values: Values, book: Book) -> Rows:
    product: Known | None = values["product"] if isinstance(values["product"], Known) else None
    item: Known = values["item"]
    order: Known | None = values["expected"]
    said = order.more if order else {}
    plain = {name: values[name] or "" for name in (
        "document", "document_kind", "certificate", "harvest_area", "shipped_from", "lot_source", "note")}  # fmt: skip
    row = {"supplier_id": values["supplier"].id, "product_id": id_of(product), "item_id": item.id, "kind": "goods",
           "ordered_on": said.get("ordered_on"), "due_on": said.get("due_on"), "received_on": values["on"],
           "unit": item.unit, "ordered": kept(values["ordered"]) or said.get("ordered"),
           "received": kept(values["received"]), "rejected": kept(values["rejected"]) or "0",
           "reject_reason": values["reason"] or "", "door_temp_f": values["door"], "price": values["price"],
           "priced_quantity": kept(values["price_per"]) if values["price"] else None, "lot_code": values["lot"] or "",
           "use_by": values["use_by"], "harvested_on": values["harvested"],
           "description": "" if product else values["product"] or "", "received_where": "", **plain}  # fmt: skip
    return [("deliveries", row | ({"voids": order.more["id"]} if order and order.more["id"] is not None else {}))]


DOCUMENTS = tuple((word, word) for word in ("delivery note", "invoice", "bill of lading"))

DELIVERY = Form(
    "delivery", "Goods at the door", "deliveries", (
        Field("expected", "Ordered", "pick", to=("orders",)),
        Field("supplier", "From", "pick", True, to=("suppliers",), fall="supplier"),
        Field("product", "Product, as printed", "product", to=("products",), fall="product"),
        Field("item", "It is", "pick", True, to=("items",), fall="item", note="needed where the product is new here"),
        Field("received", "Came off the van", "quantity", True, of="item", zero=True),
        temp("door", "Temperature at the door", False, "look at the number and its scale"),
        Field("lot", "Lot code, as printed", "text"),
        Field("use_by", "Use by, as printed", "date"),
        Field("rejected", "Sent back", "quantity", of="item", zero=True),
        Field("reason", "Why it was sent back", "text", to=("reasons",)),
        Field("document", "Number of the delivery note or invoice", "text"),
        Field("document_kind", "It is a", "choice", options=DOCUMENTS, aside=True),
        Field("ordered", "Ordered", "quantity", of="item", note="only where no order was written down", aside=True),
        Field("price", "Price", "money", office=True, aside=True),
        Field("price_per", "for", "quantity", of="item", office=True, aside=True),
        Field("certificate", "Shellfish: number on the tag", "text", aside=True),
        Field("harvested", "Shellfish: harvested on", "date", aside=True),
        Field("harvest_area", "Shellfish: growing area", "text", aside=True),
        Field("shipped_from", "Came from", "text", note="where that is not the supplier's own place", aside=True),
        Field("lot_source", "Who gave the lot code", "text", note="where that is not the supplier", aside=True),
        day("on", "Came"), NOTE),
    _delivery, check_delivery, subject="item", quantity=("received", "received"),
)  # fmt: skip
