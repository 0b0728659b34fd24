"""The forms of the logbook as data: what each asks for, and what its answer is written down as."""

from __future__ import annotations

from datetime import date

from stillroom.db.date_marks import keeps
from stillroom.db.log import instant
from stillroom.db.pieces import COOLS_AS, REHEATS
from stillroom.plugins.logbook.checks import (
    check_breakdown,
    check_cooling,
    check_short,
    check_use,
    check_weigh,
)
from stillroom.plugins.logbook.checks_made import check_batch, check_freeze
from stillroom.plugins.logbook.fields import Book, Field, Known
from stillroom.plugins.logbook.form import (
    AT,
    NOTE,
    ROOM,
    Form,
    Rows,
    Values,
    at_of,
    day,
    either,
    id_of,
    temp,
)
from stillroom.plugins.logbook.goods import DELIVERY, TAG
from stillroom.plugins.logbook.hanging import HANG
from stillroom.plugins.logbook.outputs import LINES, outputs
from stillroom.plugins.logbook.reading import kept


def _probe(values: Values, book: Book) -> Rows:
    row = {
        "recipe_id": id_of(values["of"]),
        "core_f": values["core"],
        "step": values["step"] or "",
        "read_at": at_of(values),
    }
    return [
        (
            "probe_readings",
            row | {name: values[name] or "" for name in ("piece", "note")} | {"lot_code": values["lot"] or ""},
        )
    ]


PROBE = Form(
    "probe", "Probe reading", "probe_readings", (
        temp("core", "Core, at the thickest part", True, "no food is that hot or that cold"),
        Field("of", "What", "pick", to=("dishes", "cuts", "subs")),
        Field("step", "While", "choice", options=(*((w, w) for w in ("bath", "grill", "pan", "oven", "rest")),
              *((w, w.replace(" ", ", ")) for w in REHEATS))),
        Field("piece", "Ticket, tray or piece", "text", aside=True),
        Field("lot", "Batch or lot code", "text", aside=True), AT, NOTE),
    _probe, subject="of",
)  # fmt: skip


def _cooling(values: Values, book: Book) -> Rows:
    pan: Known | None = values["pan"]
    of = either(values["of"]) if values["of"] or not pan else pan.more["of"]
    row = {"log_code": pan.id if pan else "", "temp_f": values["temp"], "read_at": at_of(values)}
    rule = values["rule"] or (pan.more["pan"].rule.key if pan else "cooked")
    started = None if rule == "cooked" else values["started"] or (pan.more["pan"].started if pan else None)
    row["started_at"] = None if started is None else instant(started)
    return [("cooling_readings", {**row, **of, "rule": rule, "note": values["note"] or ""})]


COOLING = Form(
    "cooling", "Cooling reading", "cooling_readings", (
        temp("temp", "At the warmest part", True, "no food is that hot or that cold"),
        Field("pan", "Pan that cools already", "pick", to=("pans",), note="a new pan: leave it, and say what is in it"),
        Field("of", "Something new that cools", "pick", to=("subs", "cuts", "dishes", "items")),
        Field("rule", "What it is", "choice", options=tuple(COOLS_AS.items()), first="cooked",
              note="not cooked: its clock starts as it is made or comes in; read it then, or say below when that was"),
        AT, Field("started", "Made, or came in, at", "before", of="at", only="not-cooked",
              note="10:05, or day and time; left empty: as it stands for the pan, else at its first reading"), NOTE),
    _cooling, check_cooling, code=("log_code", "P"), subject="of",
)  # fmt: skip


def _hold(values: Values, book: Book) -> Rows:
    row = {"place": values["place"], "direction": values["held"], "temp_f": values["temp"], "read_at": at_of(values)}
    return [("hold_checks", row | either(values["of"]) | {"note": values["note"] or ""})]


HOLD = Form(
    "hold", "Hold check", "hold_checks", (
        Field("place", "Where", "text", True, to=("places",)),
        Field("held", "Held", "choice", True, options=(("hot", "hot"), ("cold", "cold"), ("frozen", "frozen"))),
        temp("temp", "Measured", True, "look at the number and its scale"),
        Field("of", "What", "pick", to=("subs", "items", "dishes", "cuts")), AT, NOTE),
    _hold, subject="place",
)  # fmt: skip


def _count(values: Values, book: Book) -> Rows:
    row = {"counted_on": values["on"], "quantity": kept(values["quantity"]), "unit": values["of"].unit,
           "counted_at": instant(book.now) if values["on"] == book.today.isoformat() else None,
           "station_id": id_of(values["station"]), "note": values["note"] or ""}  # fmt: skip
    return [("counts", row | either(values["of"]))]


COUNT = Form(
    "count", "Count", "counts", (
        Field("of", "What", "pick", True, to=("items", "subs", "cuts")),
        Field("quantity", "On hand", "quantity", True, of="of", zero=True),
        Field("station", "Where", "pick", to=("stations",), aside=True), day("on", "Day"), NOTE),
    _count, subject="of", quantity=("quantity", "quantity"),
    note="A count of today is of now: what comes, is made or thrown away later changes it, and so do plates of a"
         " service that opens later. One of an earlier day is of its end. Stations are added up.",
)  # fmt: skip


def _batch(values: Values, book: Book) -> Rows:
    recipe: Known = values["of"]
    row = {"recipe_id": recipe.id, "made_on": values["on"], "quantity": kept(values["quantity"]), "unit": recipe.unit,
           "lot_code": values["lot"] or "", "use_by": values["use_by"] or _last_of_all(values, recipe, book),
           "frozen_on": values["on"] if values["frozen"] == "yes" else None, "thawed_on": None,
           "from_lots": ";".join(values["from"] or ()), "station_id": id_of(values["station"]),
           "note": values["note"] or "",
           "made_at": instant(book.now) if values["on"] == book.today.isoformat() else None}  # fmt: skip
    return [("batches", row)]


def _last_of_all(values: Values, recipe: Known, book: Book) -> str | None:
    """The last day of a batch that says none: its own, or an earlier one of a lot in it (Food Code 3-501.17(D))."""
    lots = book.facts.get("lots within", {})
    within = [lots[code].last_on for code in values["from"] or () if code in lots]
    ends = [on for on in (last_day(recipe, values["on"]), *within) if on is not None and on >= values["on"]]
    return min(ends, default=None)


def last_day(recipe: Known, made_on: str) -> str | None:
    """Last day of use of a recipe made on a day (`db.date_marks.keeps`), ISO date; None: nobody wrote one."""
    last = keeps(date.fromisoformat(made_on), recipe.more["life"]).last_on
    return None if last is None else last.isoformat()


BATCH = Form(
    "batch", "Batch made", "batches", (
        Field("of", "What", "pick", True, to=("subs", "cuts", "dishes")),
        Field("quantity", "How much", "quantity", True, of="of"),
        Field("from", "Lots that went in", "lots", note="lot codes with ; between them, or tick those offered"),
        Field("use_by", "Last day of use", "date", aside=True,
        note="left empty: by its shelf life or the date mark, whichever ends first, the day made being day 1"),
        Field("frozen", "Straight into the freezer", "choice", options=(("yes", "yes"), ("no", "no"))),
        Field("lot", "Own lot code", "text", note="left empty: the next one", aside=True),
        Field("station", "Station", "pick", to=("stations",), aside=True), day("on", "Made"), NOTE),
    _batch, check_batch, code=("lot_code", ""), subject="of", quantity=("quantity", "quantity"),
)  # fmt: skip


def _use(values: Values, book: Book) -> Rows:
    known: Known = values["of"]
    ids = {"item_id": None, "recipe_id": known.of} if known.table == "batches" else either(known)
    batch = known.more.get("batch_id") if known.table == "batches" else None
    return [("batch_uses", {**ids, "batch_id": batch, "used_on": values["on"], "quantity": kept(values["quantity"]),
                            "unit": known.unit, "what": values["what"], "reason": values["reason"] or "",
                            "note": values["note"] or ""})]  # fmt: skip


USE = Form(
    "use", "Used or thrown away", "batch_uses", (
        Field("of", "What", "pick", True, to=("batches", "subs", "cuts", "items")),
        Field("quantity", "How much", "quantity", True, of="of"),
        Field("what", "It was", "choice", True, options=(("used", "used"), ("discarded", "thrown away"))),
        Field("reason", "Why it was thrown away", "text", to=("reasons",)), day("on", "Day"), NOTE),
    _use, check_use, subject="of", quantity=("quantity", "quantity"),
)  # fmt: skip


def _freeze(values: Values, book: Book) -> Rows:
    batch: Known = values["of"]
    return [("batch_freezes", {"recipe_id": batch.of, "lot_code": batch.more["lot_code"], "what": values["what"],
                               "moved_on": values["on"], "note": values["note"] or ""})]  # fmt: skip


FREEZE = Form(
    "freeze", "Into the freezer, or out", "batch_freezes", (
        Field("of", "Which batch", "pick", True, to=("batches",)),
        Field("what", "It was", "choice", True, options=(("frozen", "frozen"), ("thawed", "thawed"))),
        day("on", "Day"), NOTE),
    _freeze, check_freeze, subject="of", alone=True,
    note="Freezing stops the days of the date mark; thawing starts them again with the days left.",
)  # fmt: skip


def _weigh(values: Values, book: Book) -> Rows:
    return [("weigh_ins", {"lot_code": values["of"].id, "weighed_on": values["on"], "weight_g": kept(values["weight"]),
                           "temp_f": values["room"], "humidity_pct": values["humidity"],
                           "note": values["note"] or ""})]  # fmt: skip


WEIGH = Form(
    "weigh", "Weigh-in", "weigh_ins", (
        Field("of", "Which piece", "pick", True, to=("ageing",)),
        Field("weight", "It weighs", "quantity", True, of="g"),
        temp("room", "The room", False, "look at the number and its scale", ROOM),
        Field("humidity", "Humidity, %", "percent"), day("on", "Day"), NOTE),
    _weigh, check_weigh, subject="of",
)  # fmt: skip


def _breakdown(values: Values, book: Book) -> Rows:
    head = {"code": "", "cut_recipe_id": values["of"].id, "lot_code": id_of(values["lot"]) or "",
            "broken_on": values["on"], "input_g": kept(values["input"]), "note": values["note"] or ""}  # fmt: skip
    lines, lost = outputs(values)
    rows: Rows = [("breakdowns", head)]
    for line in lines:
        rows.append(("breakdown_outputs", {**either(line.of), "breakdown_code": "", "weight_g": kept(line.weight),
                                           "pieces": line.pieces, "note": ""}))  # fmt: skip
    if lost > 0:
        rows.append(("breakdown_outputs", {**either(None), "breakdown_code": "", "weight_g": kept(lost),
                                           "pieces": None, "note": "not accounted for"}))  # fmt: skip
    return rows


BREAKDOWN = Form(
    "breakdown", "Breakdown", "breakdowns", (
        Field("of", "Cut into", "pick", True, to=("cuts",)),
        Field("input", "Weight on the board", "quantity", True, of="g"),
        Field("lot", "Ageing lot it came from", "pick", to=("ageing",)),
        *(field for n in range(1, LINES + 1) for field in (
            Field(f"of{n}", "Came out", "pick", to=("cuts", "items", "subs"), row=f"out{n}"),
            Field(f"weight{n}", "Weight", "quantity", of="g", row=f"out{n}"),
            Field(f"pieces{n}", "Pieces", "whole", row=f"out{n}", high=10_000, sure_high=500))),
        day("on", "Day"), NOTE),
    _breakdown, check_breakdown, code=("code", "B"), subject="of",
    note="What comes out must add up to what went on the board.",
)  # fmt: skip


def _plates(values: Values, book: Book) -> Rows:
    return [("plates_sold", {"recipe_id": values["of"].id, "sold_on": values["on"], "service": values["service"] or "",
                             "plates": values["plates"], "sales": values["sales"],
                             "note": values["note"] or ""})]  # fmt: skip


PLATES = Form(
    "plates", "Plates sold", "plates_sold", (
        Field("of", "Dish", "pick", True, to=("dishes",)),
        Field("plates", "Plates", "whole", True, high=100_000, sure_high=200, of="of"),
        Field("service", "Service", "text", to=("services",)),
        Field("sales", "Money taken, tax excluded", "money", office=True), day("on", "Day"), NOTE),
    _plates, subject="of", quantity=("plates", "plates"),
)  # fmt: skip


def _short(values: Values, book: Book) -> Rows:
    return [("shortages", {**either(values["of"]), "state": values["state"], "since_on": values["on"],
                           "since_at": instant(book.now), "expected_on": values["expected"],
                           "note": values["note"] or ""})]  # fmt: skip


SHORT = Form(
    "short", "Short, out or back", "shortages", (
        Field("of", "What", "pick", True, to=("items", "dishes", "subs", "cuts")),
        Field("state", "It is", "choice", True, options=(("short", "short"), ("out", "out (86)"), ("back", "back"))),
        Field("expected", "Expected back", "date"), day("on", "Since"), NOTE),
    _short, check_short, subject="of",
)  # fmt: skip


def _tasting(values: Values, book: Book) -> Rows:
    return [("tastings", {"recipe_id": values["of"].id, "version": values["version"] or 1, "score": values["score"],
                          "tasted_on": values["on"], "words": values["words"] or "",
                          "decision": values["decision"] or ""})]  # fmt: skip


TASTING = Form(
    "tasting", "Tasting", "tastings", (
        Field("of", "What", "pick", True, to=("dishes", "subs", "cuts")),
        Field("version", "Version", "whole", low=1, high=1000, note="1 unless you say another"),
        Field("score", "1 the worst, 10 the best", "whole", low=1, high=10),
        Field("words", "What it tastes like", "text", True),
        Field("decision", "What follows", "text"), day("on", "Day")),
    _tasting, subject="of", needs="taste",
)  # fmt: skip


FORMS: dict[str, Form] = {
    form.slug: form
    for form in (
        PROBE,
        COOLING,
        HOLD,
        DELIVERY,
        COUNT,
        BATCH,
        USE,
        SHORT,
        PLATES,
        HANG,
        WEIGH,
        BREAKDOWN,
        FREEZE,
        TAG,
        TASTING,
    )
}
BY_TABLE: dict[str, Form] = {form.table: form for form in FORMS.values()}
