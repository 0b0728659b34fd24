"""From the kitchen's file to what a form's reading takes."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from fractions import Fraction
from typing import Any

from stillroom.db.date_marks import Life
from stillroom.db.kitchen import day_of, settings
from stillroom.db.kitchen import moment as kitchen_moment
from stillroom.db.limits import Rule
from stillroom.db.log import instant
from stillroom.db.lots import usual_days
from stillroom.db.named_sql import asker
from stillroom.db.names import fold
from stillroom.db.number import whole
from stillroom.plugins.core.format import day
from stillroom.plugins.logbook.fields import Book, Known, Typed, Within, Wrong
from stillroom.plugins.logbook.form import Form
from stillroom.plugins.logbook.reading import find, lot_codes, product_key, typed_of
from stillroom.plugins.logbook.rules import Minimum, Pan, pan
from stillroom.plugins.physics.editions import in_edition
from stillroom.plugins.physics.rules import cooling_rule

KIND = {"dish": "dishes", "cut": "cuts", "sub-recipe": "subs"}
ORDERS_SINCE, ORDERS_UNTIL = timedelta(days=3), timedelta(days=14)
BATCHES_SINCE, TAGS_SINCE, PANS_SINCE = timedelta(days=21), timedelta(days=60), timedelta(hours=48)
RECEIPTS_SINCE = timedelta(days=60)
NEARLY = Fraction(9, 10)  # of a delivery that hangs: no more of it is looked for
REMEMBERED = 30
CHILLED = {"meat", "poultry", "fish", "shellfish", "dairy"}  # asked about where they come warm and name no rule
Names = dict[str, dict[str, Known]]


ask = asker("stillroom.plugins.logbook")


def moment(at: str) -> datetime:
    """A UTC instant of a log."""
    return datetime.fromisoformat(at.replace("Z", "+00:00")).astimezone(UTC)


def now_of(connection: sqlite3.Connection) -> datetime:
    """The moment it is in the kitchen, UTC; where a demonstration stands still, that of its own day and clock."""
    return kitchen_moment(settings(connection))


def open_book(connection: sqlite3.Connection, form: Form, typed: Typed, now: datetime) -> Book:
    """Everything that reading one form needs."""
    said = settings(connection)
    book = Book(said, day_of(said, now), now, replaces=entry_of(typed.get("voids", "")) or 0)
    needs = {kind for one in form.fields for kind in one.to} | set(form.facts)
    names = _names(connection, needs, book)
    book = replace(book, names=names)
    book = replace(book, facts=_facts(connection, needs, book) | _lots_within(connection, form, typed, book))
    return replace(book, usual=_usual(connection, form, typed, book))


def entry_of(text: str) -> int | None:
    """The number of an entry; None where it is none."""
    return whole(text)


_STATIC: dict[tuple[Any, ...], Names] = {}  # what only a load changes, of the newest loads read
LOADS_KEPT = 4


def _names(connection: sqlite3.Connection, needs: set[str], book: Book) -> Names:
    static = _static(connection, book)
    found: Names = {kind: static[kind] for kind in needs if kind in static}
    if "orders" in needs:
        found["items"] = static["items"]
    for kind, read in READ.items():
        if kind in needs:
            found[kind] = by_name(read(connection, book))
    return found


def _static(connection: sqlite3.Connection, book: Book) -> Names:
    """Items, recipes, suppliers, products and stations: read once a load."""
    (path,) = connection.execute("select file from pragma_database_list where name = 'main'").fetchone()
    key = (path, *connection.execute("select count(*), max(id), max(loaded_at) from loads").fetchone())
    found = _STATIC.get(key) if path else None
    if found is None:
        found = {"items": by_name(_items(connection, book)), **{kind: {} for kind in KIND.values()}}
        for kind, known in _recipes(connection):
            found[kind] |= by_name([known])
        found["suppliers"] = by_name(_suppliers(connection))
        found["stations"] = by_name(_stations(connection))
        found["products"] = _products(connection)
        if len(_STATIC) >= LOADS_KEPT:
            _STATIC.clear()
        _STATIC[key] = found
    return found


def by_name(things: Iterable[Known]) -> dict[str, Known]:
    """Things by folded name and by id; the first of two with one name is meant."""
    found: dict[str, Known] = {}
    for known in things:
        found.setdefault(fold(known.name), known)
        found.setdefault(known.id, known)
    return found


def _measures(connection: sqlite3.Connection, question: str) -> dict[str, dict[str, Fraction]]:
    found: dict[str, dict[str, Fraction]] = {}
    for key, measure, quantity in ask(connection, question):
        found.setdefault(key, {})[measure] = Fraction(quantity)
    return found


def _items(connection: sqlite3.Connection, book: Book) -> list[Known]:
    measures = _measures(connection, "item_measures")
    edition = book.settings["food code"]
    cold = rules_of(connection).get("recv_cold")
    found = []
    for key, name, unit, cut, category, is_ruled, *rule in ask(connection, "items"):
        read = Rule(*rule) if rule[0] is not None else None
        followed = read if read and in_edition(read.edition, edition) else None
        chilled = cold if not is_ruled and category in CHILLED and cold and in_edition(cold.edition, edition) else None
        more = {"rule": followed, "cold": chilled, "cut": cut}
        found.append(Known("items", key, name, unit, measures.get(key, {}), more=more))
    return found


def _recipes(connection: sqlite3.Connection) -> list[tuple[str, Known]]:
    measures = _measures(connection, "recipe_measures")
    return [
        (KIND[kind], Known("recipes", key, name, unit, measures.get(key, {}), Fraction(batch), of=piece or "",
                           more={"life": Life(days, unmarked), "minimum": minimum, "food": food}))
        for key, name, kind, unit, batch, days, unmarked, minimum, food, piece in ask(connection, "recipes")
    ]  # fmt: skip


def _products(connection: sqlite3.Connection) -> dict[str, Known]:
    found: dict[str, Known] = {}
    for key, name, supplier, item, pack, reviewed in ask(connection, "products"):
        known = Known("products", key, name, batch=Fraction(pack) if pack else None, of=item,
                      more={"supplier": supplier, "item": item, "reviewed_on": reviewed})  # fmt: skip
        found[key] = found[product_key(supplier, name)] = known
    return found


def _suppliers(connection: sqlite3.Connection) -> list[Known]:
    return [Known("suppliers", key, name, more={"place": place}) for key, name, place in ask(connection, "suppliers")]


def _stations(connection: sqlite3.Connection) -> list[Known]:
    return [Known("stations", key, name) for key, name in ask(connection, "stations")]


def _orders(connection: sqlite3.Connection, book: Book) -> list[Known]:
    span = {"since": (book.today - ORDERS_SINCE).isoformat(), "until": (book.today + ORDERS_UNTIL).isoformat()}
    found = []
    for key, supplier, supplier_name, item, name, product, product_name, unit, ordered, on, due in ask(
        connection, "orders", **span
    ):
        name_of = str(key) if key is not None else f"{supplier} {item} {due}"
        more = {"id": key, "supplier": supplier, "item": item, "product": product or "", "ordered": ordered,
        "unit": unit,
                "ordered_on": on, "due_on": due, "supplier_name": supplier_name,
                "name": product_name or name}  # fmt: skip
        found.append(Known("orders", name_of, f"{product_name or name}, {supplier_name}", unit, of=item, more=more))
    return found


def _batches(connection: sqlite3.Connection, book: Book) -> list[Known]:
    found = []
    moves: dict[tuple[str, str], list[tuple[str, str]]] = {}
    for recipe, lot, what, on in ask(connection, "freezes", but=book.replaces):
        moves.setdefault((recipe, lot), []).append((what, on))
    for key, recipe, name, lot, on, unit, quantity, use_by, frozen, thawed, used, days, unmarked in ask(
        connection, "batches", since=(book.today - BATCHES_SINCE).isoformat()
    ):
        own = [move for move in (("frozen", frozen), ("thawed", thawed)) if move[1]]
        since = [move for move in moves.get((recipe, lot), ()) if move not in own]
        left = Fraction(quantity) - sum((Fraction(part) for part in used.split(";") if part), Fraction(0))
        more = {"batch_id": key, "lot_code": lot, "left": left, "made_on": on, "use_by": use_by,
                "life": Life(days, unmarked), "moves": [*own, *since]}  # fmt: skip
        found.append(Known("batches", f"batch {key}", f"{name}, {lot or on}", unit, of=recipe, more=more))
    return found


def _ageing(connection: sqlite3.Connection, book: Book) -> list[Known]:
    return [
        Known("ageing", lot, f"{lot}, {name}", "g", of=item, more={"last_g": Fraction(last or start), "started_on": on})
        for lot, name, item, start, last, on in ask(connection, "ageing")
    ]


def _receipts(connection: sqlite3.Connection, book: Book) -> list[Known]:
    since = (book.today - RECEIPTS_SINCE).isoformat()
    found = []
    for key, lot, name, item, supplier, on, received, rejected, hung, ages in ask(
        connection, "receipts_to_hang", since=since, but=book.replaces
    ):
        weights = sum((Fraction(part) for part in hung.split(";") if part), Fraction(0))
        more = {"delivery_id": key, "item": item, "received_on": on, "hung_g": weights,
                "came_g": Fraction(received) - Fraction(rejected), "ages": ages}  # fmt: skip
        words = ", ".join(filter(None, (name, lot, supplier, day(on, book.today))))
        found.append(Known("receipts", f"receipt {key}", words, "g", of=item, more=more))
    # of those that age, what hangs whole comes last
    return sorted(found, key=lambda x: (not x.more["ages"], x.more["hung_g"] >= x.more["came_g"] * NEARLY))


def _shellstock(connection: sqlite3.Connection, book: Book) -> list[Known]:
    rows = ask(connection, "shellstock", since=(book.today - TAGS_SINCE).isoformat())
    return [
        Known("shellstock", f"tag {lot}", f"{name}, {lot}", of=item,
              more={"lot_code": lot, "certificate": certificate, "harvested_on": harvested, "received_on": on})
        for lot, name, item, certificate, harvested, on in rows
    ]  # fmt: skip


def _open_pans(connection: sqlite3.Connection, book: Book) -> list[Known]:
    """Pans that cool, and the one whose reading is corrected; first: its first reading, but for that one."""
    found = [pair for pair in pans(connection, book.now) if pair[0].is_open]
    for (code,) in ask(connection, "pan_of", entry=book.replaces):
        found += [] if any(one.code == code for one, _ in found) else pans(connection, book.now, code)
    return [
        Known("pans", one.code, f"{one.name or 'pan'}, {one.code}",
              more={"pan": one, "of": of, "first": _first_read(connection, one.code, book.replaces)})
        for one, of in found
    ]  # fmt: skip


def _first_read(connection: sqlite3.Connection, code: str, but: int) -> datetime | None:
    ((first,),) = ask(connection, "pan_first", code=code, but=but)
    return moment(first) if first else None


READ = {
    "orders": _orders, "batches": _batches, "ageing": _ageing, "shellstock": _shellstock, "pans": _open_pans,
    "receipts": _receipts,
}  # fmt: skip


def pans(connection: sqlite3.Connection, now: datetime, code: str = "") -> list[tuple[Pan, dict[str, str | None]]]:
    """Cooling pans of the last two days, or one pan, each with the id of the recipe or item in it."""
    rows = (
        ask(connection, "pan", code=code)
        if code
        else ask(connection, "pans", since=instant(now - PANS_SINCE))
    )
    found: dict[str, list[tuple[Any, ...]]] = {}
    for row in rows:
        found.setdefault(row[0], []).append(row)
    out = []
    for key, readings in found.items():
        of = {"recipe_id": _first(readings, 1) or None, "item_id": _first(readings, 7) or None}
        points = [(moment(row[3]), row[4]) for row in readings]
        rule = cooling_rule(last_said([(row[6], row[5]) for row in readings]) or "cooked")
        started = last_said([(row[6], row[8] or "") for row in readings])
        out.append((pan(key, _first(readings, 2), points, rule, now, moment(started) if started else None), of))
    return out


def _first(readings: Sequence[tuple[Any, ...]], column: int) -> str:
    return next((row[column] for row in readings if row[column]), "")


def last_said(said: Iterable[tuple[int, str]]) -> str:
    """What was written down last about a cooling log: it holds for all of it. '' where nobody said.

    Args:
        said: number in the log, and the word there; '' for none.
    """
    words = [one for one in said if one[1]]
    return max(words)[1] if words else ""


def _facts(connection: sqlite3.Connection, needs: set[str], book: Book) -> dict[str, Any]:
    found: dict[str, Any] = {
        name: tuple(text for (text,) in ask(connection, name) if text)
        for name in ("places", "services", "reasons", "hooks")
        if name in needs
    }
    if "hung" in needs:
        lots = ask(connection, "hung")
        found["hung"] = frozenset(fold(code) for entry, code, _, _ in lots if entry != book.replaces)
        days: dict[str, list[int]] = {}
        for _, _, item, planned in lots:
            if planned is not None:
                days.setdefault(item, []).append(planned)
        found["usual days"] = {item: usual_days(planned) for item, planned in days.items()}
    return found


def _lots_within(connection: sqlite3.Connection, form: Form, typed: Typed, book: Book) -> dict[str, Any]:
    """The lots typed as gone in that are written down: each with what it is of and its earliest last day."""
    made = subject_of(form, typed, book)
    codes = [code for one in form.fields if one.kind == "lots" for code in lot_codes(typed_of(one, typed))]
    found: dict[str, Within] = {}
    asked = {"codes": json.dumps(codes), "recipe": made.id if made else ""}
    for code, name, last_on in ask(connection, "lots_known", **asked) if codes else ():
        before = found.get(code)
        if before is None or (last_on or "9") < (before.last_on or "9"):
            found[code] = Within(name, last_on)
    return {"lots within": found}


def _usual(
    connection: sqlite3.Connection, form: Form, typed: Typed, book: Book
) -> dict[str, dict[str, tuple[Fraction, ...]]]:
    """Quantities of the thing meant that were written down before, the newest thirty."""
    name, column = form.quantity
    known = subject_of(form, typed, book)
    if not name or known is None:
        return {}
    which = "item_id" if known.table == "items" else "recipe_id"
    key = known.of if known.table == "batches" else known.id
    rows = connection.execute(
        f"select {column} from standing_{form.table} where {which} = ? order by id desc limit {REMEMBERED}", (key,)
    )
    found = {name: {known.id: tuple(number for (text,) in rows if text and (number := Fraction(text)) > 0)}}
    if form.table == "deliveries":
        paid = ask(connection, "paid", item=known.id, replaces=book.replaces)
        found["price"] = {known.id: tuple(Fraction(p) / Fraction(q) for p, q in paid if Fraction(p) and Fraction(q))}
    return found


def subject_of(form: Form, typed: Typed, book: Book) -> Known | None:
    """The thing that a form is about, as far as it was said."""
    one = next((f for f in form.fields if f.name == form.subject and f.kind == "pick"), None)
    if one is None:
        return None
    said = (("product", ("products",)), ("expected", ("orders",)), ("receipt", ("receipts",)))
    for name, kinds in ((one.name, one.to), *said):
        field = next((f for f in form.fields if f.name == name), None)
        text = "" if field is None else typed_of(field, typed)
        if not text or len(text) > 120:
            continue
        try:
            known = find(kinds, text, book)
        except Wrong:
            continue
        return known if name == one.name else book.names.get("items", {}).get(known.of)
    return None


def rules_of(connection: sqlite3.Connection) -> dict[str, Rule]:
    """Rules of receiving, holding and reheating, by id."""
    return {row[0]: Rule(*row) for row in ask(connection, "rules")}


def minimums_of(connection: sqlite3.Connection, start: str, edition: str) -> list[Minimum]:
    """The cooking minimums of a class in an edition; rows of one class stand side by side."""
    for family in ("cook_comminuted", "cook_poultry"):
        start = family if start.startswith(family) else start
    return [
        Minimum(name, temp, hold, section, basis)
        for key, name, temp, hold, printed, section, basis in ask(connection, "minimums")
        if start and key.startswith(start) and in_edition(printed, edition)
    ]


def today_of(connection: sqlite3.Connection, now: datetime) -> tuple[Mapping[str, str], date]:
    """The settings and the kitchen's day."""
    said = settings(connection)
    return said, day_of(said, now)
