"""What a form offers to the thumb: things written down last, orders that are due, lots that may have gone in."""

from __future__ import annotations

import sqlite3
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from stillroom.plugins.core.format import amount, near_day
from stillroom.plugins.logbook.book import ask, subject_of
from stillroom.plugins.logbook.entries import lots_offered
from stillroom.plugins.logbook.fields import OFFERED, Book, Field, Known, Typed
from stillroom.plugins.logbook.form import Form
from stillroom.plugins.logbook.hanging import prefilled
from stillroom.plugins.logbook.outputs import LINES

LOOKED_AT = 400  # newest rows of a log among which the last things are found
WHOLE = {"pans", "ageing", "shellstock", "batches"}  # few enough, newest first: offered as they are


@dataclass(frozen=True)
class Order:
    """Goods that were ordered and have not come. due: the day in words; is_late: it was promised for before today."""

    id: str
    supplier: str
    name: str
    amount: str
    due: str
    is_late: bool


def orders_of(book: Book) -> list[Order]:
    """Orders that are due, the nearest first."""
    found = []
    for order in {known.id: known for known in book.names.get("orders", {}).values()}.values():
        said = order.more
        found.append(
            Order(order.id, str(said["supplier_name"]), str(said["name"]),
                  amount(Fraction(str(said["ordered"])), order.unit, book.settings["units"]),
                  near_day(str(said["due_on"]), book.today), str(said["due_on"]) < book.today.isoformat())
        )  # fmt: skip
    return found


def taps_of(
    connection: sqlite3.Connection, form: Form, typed: Typed, book: Book
) -> dict[str, Sequence[tuple[str, str]]]:
    """(value, words) offered for each field of a form."""
    found: dict[str, Sequence[tuple[str, str]]] = {}
    for one in form.fields:
        if one.kind == "lots":
            subject = subject_of(form, typed, book)
            found[one.name] = [] if subject is None else lots_offered(connection, subject.id, book.today.isoformat())
        elif one.kind == "text" and one.to:
            found[one.name] = [(text, text) for kind in one.to for text in book.facts.get(kind, ())][:OFFERED]
        elif one.to == ("receipts",):
            item = subject_of(form, typed, book)
            found[one.name] = _receipts_of("" if item is None else item.id, book)
        elif one.name == "lot" and form.slug == "breakdown":
            found[one.name] = _lots_to_cut(subject_of(form, typed, book), book)
        elif one.kind == "pick" and not one.row:
            found[one.name] = _things(connection, form, one, book)
    return found


def _lots_to_cut(cut: Known | None, book: Book) -> list[tuple[str, str]]:
    """Lots that age of what a cut is made of, by their code; of anything, by name too, where no cut is said."""
    known = {k.id: k for k in book.names.get("ageing", {}).values() if cut is None or k.of == cut.of}
    if cut is None:
        return [(key, k.name) for key, k in known.items()][:OFFERED]
    return [(key, key) for key in known][: 2 * OFFERED]


def _receipts_of(item: str, book: Book) -> list[tuple[str, str]]:
    """The newest receipts of an item, of any where it is not said."""
    known = {k.id: k.name for k in book.names.get("receipts", {}).values() if item in ("", k.of)}
    return list(known.items())[:OFFERED]


def _things(connection: sqlite3.Connection, form: Form, one: Field, book: Book) -> list[tuple[str, str]]:
    whole = [kind for kind in one.to if kind in WHOLE]
    if whole:
        known = {k.id: k.name for kind in whole for k in book.names.get(kind, {}).values()}
        return list(known.items())[:OFFERED]
    if one.to == ("stations",):
        return list({k.id: k.name for k in book.names.get("stations", {}).values()}.items())
    return _lately(connection, form, one, book) if one.name in {form.subject, "supplier"} else []


def _lately(connection: sqlite3.Connection, form: Form, one: Field, book: Book) -> list[tuple[str, str]]:
    """The things that entries of this log were about lately, each once."""
    columns = [c for c in _columns(connection, form.table) if c in _COLUMNS.get(one.name, _COLUMNS["of"])]
    if not columns:
        return []
    thing = f"coalesce({', '.join(columns)})" if len(columns) > 1 else columns[0]
    rows = connection.execute(
        f"select thing from (select {thing} as thing, id from {form.table} order by id desc limit {LOOKED_AT})"
        f" where thing is not null group by thing order by max(id) desc limit {4 * OFFERED}"
    )
    known = {k.id: k.name for kind in one.to for k in book.names.get(kind, {}).values()}
    return [(key, known[key]) for (key,) in rows if key in known][:OFFERED]


_COLUMNS = {"of": ("item_id", "recipe_id", "cut_recipe_id"), "supplier": ("supplier_id",), "item": ("item_id",)}


def _columns(connection: sqlite3.Connection, table: str) -> list[str]:
    return [name for (name,) in connection.execute("select name from pragma_table_info(?)", (table,))]


def _outputs_first(connection: sqlite3.Connection, form: Form, typed: Typed, book: Book) -> dict[str, str]:
    """What a cut leaves, line by line, where the cut is said and no line of it is."""
    subject = subject_of(form, typed, book)
    if subject is None or any(typed.get(f"of{n}") for n in range(1, LINES + 1)):
        return {}
    return {f"of{n}": name for n, (_, name) in enumerate(ask(connection, "outputs_of", recipe=subject.id)[:LINES], 1)}


def cuts_of(form: Form, typed: Typed, book: Book) -> list[tuple[str, str]]:
    """Cuts to choose among (id, name) before a breakdown is written down; none where one is chosen."""
    if form.slug != "breakdown" or subject_of(form, typed, book) is not None:
        return []
    return sorted({known.id: known.name for known in book.names["cuts"].values()}.items(), key=lambda pair: pair[1])


def typed_first(connection: sqlite3.Connection, form: Form, typed: dict[str, str], book: Book) -> dict[str, str]:
    """What stands in a form to begin with: an order's own facts, a cut's outputs."""
    first: dict[str, Any] = {}
    if form.slug == "delivery" and typed.get("expected"):
        order = book.names["orders"].get(typed["expected"])
        if order is not None:
            said = order.more
            first = {"supplier": said["supplier"], "product": said["product"], "item": said["item"]}
    if form.slug == "hang":
        first = prefilled(subject_of(form, typed, book), book)
    if form.slug == "cooling" and typed.get("pan"):
        known = book.names["pans"].get(typed["pan"])
        first = {"rule": known.more["pan"].rule.key} if known else {}
    if form.slug == "breakdown":
        first = _outputs_first(connection, form, typed, book)
    return {**{k: str(v) for k, v in first.items() if v}, **{k: v for k, v in typed.items() if v}}
