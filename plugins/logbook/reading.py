"""How each kind of field is read. Pure: text and what the kitchen knows in, values out."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable, Mapping, Sequence
from datetime import UTC, date, datetime, timedelta
from fractions import Fraction
from typing import Any

from stillroom.db import quantity as q
from stillroom.db.exact import exact_text, nine_places
from stillroom.db.log import instant
from stillroom.db.moments import comes_twice, read_before
from stillroom.db.names import fold, near_names
from stillroom.db.problems import quoted
from stillroom.db.units import to_base
from stillroom.plugins.core.sure import FAR, refusal
from stillroom.plugins.logbook.fields import Book, Doubt, Field, Known, Taken, Typed, Wrong

LONGEST = 60  # letters of a name, a number, a day
LONGEST_TEXT = 500
MOST_WHOLE = 1_000_000
FEW = 20  # plates of a dish up to which nobody asks. Common practice, no source
DAYS_AHEAD = 400  # a use-by or a promised day lies no further ahead
SLACK = timedelta(minutes=10)  # two clocks differ by no more
DAYS_BACK = 400  # and nothing is written down later than that
# Letters that turn the direction of what stands around them: on a screen they could show another number.
TURNING = frozenset("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")
Reader = Callable[[Field, str, Typed, Book, dict[str, Any]], Any]


def sure_of(name: str) -> str:
    """Name of the box that confirms a field."""
    return f"{name}-sure"


def typed_of(one: Field, typed: Typed) -> str:
    """What was typed into a field, or tapped among what is offered."""
    written = typed.get(one.name, "").strip()
    if one.kind == "lots":
        ticked = [text for name, text in typed.items() if name.startswith(f"{one.name}-tap-")]
        return ";".join(filter(None, [written, *ticked]))
    return written or typed.get(f"{one.name}-tap", "").strip()


def is_sure(one: Field, typed: Typed) -> bool:
    """Whether the box under a field confirms just what it says now."""
    return bool(typed.get(sure_of(one.name))) and typed[sure_of(one.name)] == said_of(one, typed)


def said_of(one: Field, typed: Typed) -> str:
    """A field as it would be said again: number and unit."""
    return " ".join(part for part in (typed_of(one, typed), typed.get(f"{one.name}-unit", "")) if part)


def read_fields(fields: tuple[Field, ...], typed: Typed, book: Book) -> Taken:
    """Every field read; what can't be is told under its name, what is unlikely is asked unless confirmed."""
    values: dict[str, Any] = {}
    wrong: dict[str, str] = {}
    ask: dict[str, str] = {}
    for one in fields:
        text = typed_of(one, typed)
        values[one.name] = None
        try:
            if text:
                _refuse_marks(one, text)
                values[one.name] = READERS[one.kind](one, text, typed, book, values)
            elif one.fall and (fallen := _fallen(one, values, book)) is not None:
                values[one.name] = fallen
            elif one.required:
                raise Wrong(EMPTY.get(one.kind, "Fill this in."))
            elif one.kind == "moment":
                values[one.name] = book.now
            elif one.kind == "today":
                values[one.name] = book.today.isoformat()
        except Doubt as doubt:
            values[one.name] = doubt.value
            if not is_sure(one, typed):
                ask[one.name] = str(doubt)
        except (Wrong, q.ReadError) as error:
            wrong[one.name] = str(error) if isinstance(error, Wrong) else refusal(error)
    return Taken(values, wrong, ask)


def _fallen(one: Field, values: Mapping[str, Any], book: Book) -> Known | None:
    """What an earlier field says this one is: an order its supplier, a product its item."""
    for known in values.values():
        if isinstance(known, Known) and known.more.get(one.fall):
            return book.names.get(one.to[0], {}).get(known.more[one.fall])
    return None


EMPTY = {
    "pick": "Say what it is.", "quantity": "Say how much.", "temperature": "Type the temperature.",
    "choice": "Choose one.", "text": "Fill this in.", "whole": "Type a number.",
}  # fmt: skip


def _refuse_marks(one: Field, text: str) -> None:
    longest = LONGEST_TEXT if one.kind in {"text", "lots"} or one.to == ("orders",) else 2 * LONGEST
    if len(text) > longest:
        raise Wrong(f"That is longer than {longest} letters. Shorten it.")
    bad = next((c for c in text if c in TURNING or unicodedata.category(c) in {"Cc", "Cs"}), None)
    if bad is not None and bad not in "\n\r\t":
        raise Wrong("There is a mark in it that can't be written down. Type it again.")


def _text(one: Field, text: str, typed: Typed, book: Book, values: dict[str, Any]) -> str:
    return " ".join(text.split())


def _choice(one: Field, text: str, typed: Typed, book: Book, values: dict[str, Any]) -> str:
    if text not in {value for value, _ in one.options}:
        raise Wrong("Choose one of those offered.")
    return text


def _pick(one: Field, text: str, typed: Typed, book: Book, values: dict[str, Any]) -> Known:
    return find(one.to, text, book)


def find(kinds: tuple[str, ...], text: str, book: Book) -> Known:
    """What a name or an id means.

    Raises:
        Wrong: nothing; the nearest is named.
    """
    key = fold(text)
    for kind in kinds:
        known = book.names.get(kind, {})
        found = known.get(key) or known.get(text)
        if found is not None:
            return found
    hint = " or ".join(quoted(name) for name in _near(kinds, key, book))
    raise Wrong(f"There is no {quoted(text)} here." + (f" Is it {hint}?" if hint else " Choose from the list."))


def _product(one: Field, text: str, typed: Typed, book: Book, values: dict[str, Any]) -> Known | str:
    """One of the supplier's products; a text where it is seen for the first time."""
    supplier = values.get("supplier")
    known = book.names.get("products", {})
    found = known.get(text) or (known.get(product_key(supplier.id, text)) if isinstance(supplier, Known) else None)
    if found is not None and isinstance(supplier, Known) and found.more.get("supplier") == supplier.id:
        return found
    if len(text) > LONGEST * 2:
        raise Wrong("Write its name as printed, in 120 letters at most.")
    return " ".join(text.split())


def product_key(supplier: str, name: str) -> str:
    """How a supplier's product is found by its name."""
    return f"{supplier}/{fold(name)}"


def _near(kinds: tuple[str, ...], key: str, book: Book) -> list[str]:
    """Names that may be meant."""
    known = {text: one.name for kind in kinds for text, one in book.names.get(kind, {}).items()}
    return [known[text] for text in near_names(key, known)]


def _quantity(one: Field, text: str, typed: Typed, book: Book, values: dict[str, Any]) -> Fraction:
    """A quantity in the base unit of what it is of; a unit typed with the number wins over the one beside it."""
    if len(text) > LONGEST:
        raise Wrong("Write one number and one unit: 2½ qt.")
    said = q.read_quantity(text, book.mark, book.system)
    unit = said.unit_text or typed.get(f"{one.name}-unit", "")[:LONGEST]
    if said.number < 0 or (said.number == 0 and not one.zero):
        raise Wrong(f"Write how much there is: {'0 or more' if one.zero else 'a number above zero'}.")
    known = _thing(one, values)
    number = _based(said.number, unit, known, book)
    if number > 10**12:
        raise Wrong("No kitchen holds that much. Look at the number and its unit.")
    _doubt_quantity(one, said.number_text, unit, number, known, book)
    return number


def _thing(one: Field, values: dict[str, Any]) -> Known:
    if one.of in {"g", "ml", "each"}:
        return Known("", "", "it", one.of)
    known = values.get(one.of)
    if not isinstance(known, Known):
        raise Wrong("Say what it is first: then its unit is known.")
    return known


def _based(number: Fraction, unit: str, known: Known, book: Book) -> Fraction:
    if unit.lower() in {"batch", "batches"} and known.batch:
        return number * known.batch
    if not unit and known.unit != "each":
        raise Wrong(f"Say the unit: {known.name} is kept by {'weight' if known.unit == 'g' else 'volume'}.")
    return to_base(number, unit, known.unit, known.measures, book.system)


def _doubt_quantity(one: Field, number_text: str, unit: str, number: Fraction, known: Known, book: Book) -> None:
    """Asks where a quantity is far from what was written down of the thing before. Common practice, no source."""
    before = book.usual.get(one.name, {}).get(known.id, ())
    said = f"{number_text} {unit}".strip()
    if len(before) >= 3 and number and number > FAR * max(before):
        raise Doubt(f"{said}? {_most(number, before, known.name)}", number)
    most = {"g": 60_000, "ml": 80_000, "each": 1_000}[known.unit]
    if len(before) < 3 and number > most:
        raise Doubt(f"{said}? That is a great deal of {known.name}.", number)


def _most(number: Fraction, before: Sequence[Fraction], name: str) -> str:
    return f"That is {_times(number / max(before))} the most of {name} written down before."


def _times(times: Fraction) -> str:
    return f"{float(times):.0f} times" if times < 10_000 else "more than 10,000 times"


def _temperature(one: Field, text: str, typed: Typed, book: Book, values: dict[str, Any]) -> float:
    """°F. A number without a scale takes the one beside it, which is always chosen."""
    if len(text) > LONGEST:
        raise Wrong("Write one temperature: 38 °F.")
    scale = typed.get(f"{one.name}-unit", "")
    with_scale = text if re.search(r"[FfCc]\.?\s*$", text) or scale not in {"F", "C"} else f"{text} °{scale}"
    temp = q.read_temperature(with_scale, book.mark).f
    if (one.low is not None and temp < one.low) or (one.high is not None and temp > one.high):
        raise Wrong(f"{_both(temp, book)} can't be: {one.note or 'look at the number and its scale'}.")
    if (one.sure_low is not None and temp < one.sure_low) or (one.sure_high is not None and temp > one.sure_high):
        raise Doubt(f"{_both(temp, book)}? That is unusual here.", temp)
    return temp


def _both(temp_f: float, book: Book) -> str:
    """A temperature in both scales, that of the kitchen first."""
    first, second = f"{temp_f:.1f}".removesuffix(".0") + " °F", f"{(temp_f - 32) / 1.8:.1f} °C"
    if book.system == "metric":
        first, second = second.replace(".0 ", " "), first
    return f"{first} ({second})".replace(".", book.mark)


def _day(one: Field, text: str, typed: Typed, book: Book, values: dict[str, Any]) -> str:
    on = q.read_date(text, book.settings["date order"])
    away = (date.fromisoformat(on) - book.today).days
    if away > DAYS_AHEAD or away < -DAYS_BACK:
        raise Wrong(f"{on} is too far from today. Look at the year.")
    return on


def _past_day(one: Field, text: str, typed: Typed, book: Book, values: dict[str, Any]) -> str:
    on = _day(one, text, typed, book, values)
    away = (date.fromisoformat(on) - book.today).days
    if away > 1:
        raise Wrong(f"{on} has not come yet.")
    if away < -31:
        raise Doubt(f"{on}? That is {-away} days ago.", on)
    return on


def _moment(one: Field, text: str, typed: Typed, book: Book, values: dict[str, Any]) -> datetime:
    """A UTC moment from a clock time of today (or of last night), or day and time.

    A clock time of the hour that comes twice in autumn is the later of the two once that has come, and is asked about:
    as the earlier one food would seem to have cooled an hour sooner than it did.
    """
    plain, local = _spaced(text), book.now.astimezone(book.zone)
    is_clock = re.fullmatch(r"[0-9]{1,2}[:.][0-9]{2}", plain) is not None
    said = f"{local:%Y-%m-%d} {plain}" if is_clock else plain
    at = _instant(said, book)
    if is_clock and at > book.now + SLACK:
        said = f"{local - timedelta(days=1):%Y-%m-%d} {plain}"
        at = _instant(said, book)
    if at > book.now + SLACK:
        raise Wrong("That time has not come yet.")
    if at < book.now - timedelta(days=DAYS_BACK):
        raise Wrong("That is too long ago. Look at the year.")
    if comes_twice(said, book.settings["time zone"], book.settings["date order"]):
        _doubt_twice(at, book)
    if not book.replaces:
        _doubt_long_ago(at, book, LAST_NIGHT if is_clock else A_DAY)
    return at


LAST_NIGHT = timedelta(hours=12)  # a clock time alone is of no longer ago. Common practice, no source
A_DAY = timedelta(hours=36)


def _doubt_twice(first: datetime, book: Book) -> None:
    """Asks about the later of two moments that a clock showed, where that has come."""
    shown = first.astimezone(book.zone)
    later = shown.replace(fold=1).astimezone(UTC)
    if later <= book.now + SLACK:
        raise Doubt(
            f"{shown:%H:%M} came twice that night, and this is the second, after the clocks went back. If it was the"
            f" first, write {first:%Y-%m-%dT%H:%MZ}.", later)  # fmt: skip


def _doubt_long_ago(at: datetime, book: Book, most: timedelta) -> None:
    """Asks about a moment longer ago than one writes down without a day."""
    if book.now - at > most:
        local = at.astimezone(book.zone)
        hours = (book.now - at) // timedelta(hours=1)
        ago = "more than a day" if at < book.now - A_DAY else f"{hours} hours"
        raise Doubt(f"{local.day} {local:%B, %H:%M}? That is {ago} ago.", at)


def _before(one: Field, text: str, typed: Typed, book: Book, values: dict[str, Any]) -> datetime:
    """A UTC moment before another field's, from a clock time alone or day and time."""
    until = values.get(one.of) or book.now
    said = instant(until)
    read = read_before(_spaced(text), said, book.settings["time zone"], book.settings["date order"])
    at = datetime.fromisoformat(read.replace("Z", "+00:00")).astimezone(UTC)
    if at > book.now + SLACK:
        raise Wrong("That time has not come yet.")
    if at < book.now - timedelta(days=DAYS_BACK):
        raise Wrong("That is too long ago. Look at the year.")
    return at


def _spaced(text: str) -> str:
    """A day and time with a blank between them; one in UTC ('...Z') stays as it is."""
    return text if text.endswith("Z") else text.replace("T", " ")


def _instant(text: str, book: Book) -> datetime:
    read = q.read_instant(text, book.settings["time zone"], book.settings["date order"])
    return datetime.fromisoformat(read.replace("Z", "+00:00")).astimezone(UTC)


def _whole(one: Field, text: str, typed: Typed, book: Book, values: dict[str, Any]) -> int:
    number = q.read_number(text[:LONGEST], book.mark)
    if number.denominator != 1 or number < 0:
        raise Wrong(f"{quoted(text)} is not a whole number. Write 0, 1, 2 and so on.")
    top = MOST_WHOLE if one.high is None else int(one.high)
    if not int(one.low or 0) <= number <= top:
        raise Wrong(f"Write a number from {int(one.low or 0)} to {top}.")
    _doubt_whole(one, number, values.get(one.of), book)
    return int(number)


def _doubt_whole(one: Field, number: Fraction, known: Any, book: Book) -> None:
    """Asks where a number is far from what was written down of the thing before, or is large where nothing was."""
    before = book.usual.get(one.name, {}).get(known.id, ()) if isinstance(known, Known) else ()
    if len(before) < 3 and one.sure_high is not None and number > one.sure_high:
        raise Doubt(f"{int(number)}? That is more than usual.", int(number))
    if len(before) >= 3 and number > FEW and number > FAR * max(before):
        raise Doubt(f"{int(number)}? {_most(number, before, known.name)}", int(number))


def _percent(one: Field, text: str, typed: Typed, book: Book, values: dict[str, Any]) -> float:
    return float(q.read_percent(text[:LONGEST], book.mark) * 100)


def _money(one: Field, text: str, typed: Typed, book: Book, values: dict[str, Any]) -> str:
    return str(q.read_money(text[:LONGEST], book.mark))


def _lots(one: Field, text: str, typed: Typed, book: Book, values: dict[str, Any]) -> tuple[str, ...]:
    """Lot codes, typed with a ; between them or ticked among those offered."""
    return lot_codes(text)


def lot_codes(text: str) -> tuple[str, ...]:
    """The codes of a text with ; between them, each once."""
    codes = [" ".join(part.split()) for part in re.split(r"[;\n]", text)]
    return tuple(dict.fromkeys(code for code in codes if code))


READERS: dict[str, Reader] = {
    "lots": _lots, "product": _product, "text": _text, "choice": _choice, "pick": _pick, "quantity": _quantity,
    "temperature": _temperature,
    "date": _day, "today": _past_day, "moment": _moment, "before": _before, "whole": _whole,
    "percent": _percent, "money": _money,
}  # fmt: skip


def kept(number: Fraction | None) -> str | None:
    """A quantity as a log keeps it: decimal text, nine places at most."""
    return None if number is None else exact_text(nine_places(number))
