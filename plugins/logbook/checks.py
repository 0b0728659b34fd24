"""What the fields of a form come to together: what can't be, and what is asked again. Pure."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from fractions import Fraction
from typing import Any

from stillroom.db.exact import to_decimal
from stillroom.db.odd_price import is_odd, times_words, usual_price
from stillroom.db.pieces import COOLS_AS, UNLIKELY_START_H
from stillroom.db.quantity import read_percent
from stillroom.plugins.core.format import near_day
from stillroom.plugins.logbook.fields import Book, Known
from stillroom.plugins.logbook.outputs import LINES, is_within, outputs
from stillroom.plugins.logbook.rules import judged

Values = Mapping[str, Any]


@dataclass(frozen=True)
class Says:
    """Field -> why it can't be, and field -> what is asked."""

    wrong: Mapping[str, str]
    ask: Mapping[str, str]


Check = Callable[[Values, Book], Says]


def check_use(values: Values, book: Book) -> Says:
    """Something thrown away has a reason; more than there was of a batch is asked."""
    wrong, ask = {}, {}
    if values["what"] == "discarded" and not values["reason"]:
        wrong["reason"] = "Say why: past its date, dropped, spoiled, over-produced."
    known = values["of"]
    left = known.more.get("left") if isinstance(known, Known) else None
    if left is not None and values["quantity"] is not None and values["quantity"] > left:
        ask["quantity"] = f"That is more than the records have left of {known.name}. Is it so?"
    return Says(wrong, ask)


COOKED_F = 90.0  # food from ingredients at room temperature, or off a van, is no hotter; common practice, no source


def check_cooling(values: Values, book: Book) -> Says:
    """A reading is of a pan; another rule than the pan was begun under, and food too hot for its rule, are asked."""
    if values["pan"] is None and values["of"] is None:
        return Says({"of": "Say what is cooling, or tap a pan that cools already."}, {})
    known, said = values["pan"], values["rule"]
    begun = known.more["pan"].rule if isinstance(known, Known) else None
    ask: dict[str, str] = {}
    if begun is not None and said is not None and said != begun.key:
        ask["rule"] = f"{known.id} is written down as {begun.food}. Judge all of it as {COOLS_AS[said]}?"
    elif said not in {None, "cooked"} and values["temp"] is not None and values["temp"] > COOKED_F:
        ask["rule"] = f"{values['temp']:g} °F is hotter than a room or a van. Was it not cooked?"
    rule = said or ("cooked" if begun is None else begun.key)
    wrong = _start_of_cooked(values) if rule == "cooked" else _start(values, book, ask)
    return Says(wrong, ask)


def _start_of_cooked(values: Values) -> dict[str, str]:
    """Cooked food has a start of its own: nobody says it."""
    if values["started"] is None:
        return {}
    return {"started": "The clock of cooked food starts as it passes 135 °F going down: leave this empty, or say above"
                       " that it was not cooked."}  # fmt: skip


def _start(values: Values, book: Book, ask: dict[str, str]) -> dict[str, str]:
    """What was not cooked was made or came in by its first reading; half a day before it is asked."""
    known, at, started = values["pan"], values["at"], values["started"]
    more = known.more if isinstance(known, Known) else {}
    kept = more["pan"].started if more else None
    if started is None:
        if kept is not None and at is not None and at < kept:
            return {"at": f"{known.id} was made or came in after that: {_when(kept, book)}."}
        return {}
    read = [moment for moment in (at, more.get("first")) if moment is not None]
    if read and started > min(read):
        return {"started": f"It was read at {_when(min(read), book)}: it can't have been made or come in after that."
                           " If it was the day before, write the day too."}  # fmt: skip
    if read and min(read) - started > timedelta(hours=UNLIKELY_START_H):
        ask["started"] = f"{_when(started, book)}? That is more than {UNLIKELY_START_H} hours before its first reading."
    return {}


def _when(at: datetime, book: Book) -> str:
    """A UTC moment by the kitchen's clock: '14:05', with its day where that is not today."""
    local = at.astimezone(book.zone)
    day = "" if local.date() == book.now.astimezone(book.zone).date() else f"{local.day} {local:%B}, "
    return f"{day}{local:%H:%M}"


def check_weigh(values: Values, book: Book) -> Says:
    """A piece that ages loses weight: gaining is asked, and losing a quarter between two weighings."""
    known, weight = values["of"], values["weight"]
    last = known.more.get("last_g") if isinstance(known, Known) else None
    if last is None or weight is None:
        return Says({}, {})
    said = f"{to_decimal(last / 1000, 2):f} kg"
    if weight > last:
        return Says({}, {"weight": f"It weighed {said} last time and a piece that ages loses weight. Is it so?"})
    if weight < last * Fraction(3, 4):
        return Says({}, {"weight": f"It weighed {said} last time: more than a quarter is gone. Is it so?"})
    return Says({}, {})


def check_breakdown(values: Values, book: Book) -> Says:
    """Outputs and by-products add up to the input within the kitchen's tolerance, or the rest is asked as loss."""
    wrong: dict[str, str] = {}
    for n in range(1, LINES + 1):
        if values[f"weight{n}"] is None and (values[f"pieces{n}"] is not None):
            wrong[f"weight{n}"] = "Say what it weighs."
    put_in = values["input"]
    if put_in is None or wrong:
        return Says(wrong, {})
    wrong |= _lot_of_cut(values, book)
    lines, lost = outputs(values)
    if not lines:
        return Says(wrong | {"weight1": "Say what came out, line by line."}, {})
    asked = _unlike_lot(values, put_in)
    if is_within(lost, put_in, read_percent(book.settings["breakdown tolerance"], book.mark)):
        return Says(wrong, {"input": asked} if asked else {})
    share = f"{to_decimal(abs(lost) / 1000, 3):f} kg, {to_decimal(abs(lost) / put_in * 100, 1)} %"
    if lost < 0:
        wrong["input"] = f"More came out than went in: {share} too much. Weigh again, or mend a line."
        return Says(wrong, {})
    loss = f"{share} of what went in is not accounted for. Write the difference down as loss?"
    return Says(wrong, {"input": f"{asked} {loss}".strip()})


SCALES = Fraction(1, 50)  # two scales differ by no more of a weight. Common practice, no source


def _lot_of_cut(values: Values, book: Book) -> dict[str, str]:
    """The ageing lot is of what the cut is made of, and hung before it was cut."""
    lot, cut = values["lot"], values["of"]
    if not isinstance(lot, Known):
        return {}
    if values["on"] and lot.more["started_on"] and values["on"] < lot.more["started_on"]:
        return {"on": f"{lot.id} was hung {near_day(lot.more['started_on'], book.today)}: it can't be cut before."}
    if isinstance(cut, Known) and cut.of and lot.of != cut.of:
        return {"lot": f"{lot.name} is not what {cut.name} is cut from. Choose another lot, or leave this empty."}
    return {}


def _unlike_lot(values: Values, put_in: Fraction) -> str:
    """What is asked where a weight on the board is not that of its lot as it was weighed last; '' where it may be."""
    lot = values["lot"]
    last = lot.more.get("last_g") if isinstance(lot, Known) else None
    if last is None:
        return ""
    said = f"{lot.id} weighed {to_decimal(last / 1000, 2):f} kg last time"
    if put_in > last * (1 + SCALES):
        return f"{said}, and a piece that ages loses weight. Is it so?"
    return f"{said}: more than a quarter is gone. Is it so?" if put_in < last * Fraction(3, 4) else ""


def check_short(values: Values, book: Book) -> Says:
    """A day on which it should be back lies ahead."""
    if values["expected"] and values["expected"] < (values["on"] or ""):
        return Says({"expected": "It can't be back before it ran short."}, {})
    return Says({}, {})


def check_delivery(values: Values, book: Book) -> Says:
    """A line of goods: sent back no more than came, a reason for it, the right item, its temperature at the door."""
    wrong: dict[str, str] = {}
    ask: dict[str, str] = {}
    product, item = values["product"], values["item"]
    rejected, received = values["rejected"], values["received"]
    if isinstance(product, Known) and isinstance(item, Known) and product.more.get("item") != item.id:
        wrong["item"] = f"{product.name} is not {item.name} in the kitchen's list of products. Leave this empty."
    if isinstance(product, str) and product:
        ask["product"] = (
            f"Nobody has seen {product} from this supplier before. It goes in as not reviewed: read its label"
            " before it is served to a guest who asks."
        )
    if rejected and received is not None and rejected > received:
        wrong["rejected"] = "More was sent back than came. Write how much of what came was sent back."
    if rejected and not values["reason"]:
        wrong["reason"] = "Say why it was sent back."
    if values["use_by"] and values["use_by"] < (values["on"] or ""):
        ask["use_by"] = "That day is past already. Is it printed so?"
    _door(values, item, rejected, received, ask)
    _price(values, item, book, ask)
    return Says(wrong, ask)


def _price(values: Values, item: Any, book: Book, ask: dict[str, str]) -> None:
    """A price of nothing is asked about, and one far from what the item usually costs."""
    price, per = values.get("price"), values.get("price_per")
    if price is None or not per or not isinstance(item, Known):
        return
    each, usual = Fraction(price) / per, usual_price(book.usual.get("price", {}).get(item.id, ()))
    if each == 0:
        ask["price"] = f"Nothing was asked for {item.name}. Is it so? Without a price it has no cost."
    elif usual is not None and is_odd(each, usual):
        ask["price"] = f"That is {times_words(each, usual)} what {item.name} usually costs. Is it so?"


def _door(values: Values, item: Any, rejected: Any, received: Any, ask: dict[str, str]) -> None:
    """Goods outside their receiving rule that are taken in whole are asked about."""
    rule = (item.more.get("rule") or item.more.get("cold")) if isinstance(item, Known) else None
    if rule is None or values["door"] is None or (rejected and rejected == received):
        return
    found = judged(values["door"], rule)
    if found.verdict == "not met":
        unruled = f" No receiving rule of its own is named for {item.name}: this is that of refrigerated food."
        own = "" if item.more.get("rule") else unruled
        ask["door"] = f"{found.reason}.{own} {found.do} Is it taken in all the same?"
