"""How numbers, dates and money are shown: the only place that turns them into words."""

from __future__ import annotations

import re
from contextvars import ContextVar
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from fractions import Fraction

from stillroom.db.exact import to_decimal

LARGE = {"g": ("kg", Fraction(1000)), "ml": ("l", Fraction(1000)), "each": ("ea", Fraction(1))}
KEPT = re.compile(r"(?<=\d) (?=(?:°[CF]|min|h|s|kg|g|ml|l|mm|cm|ea)\b)")
# Not behind its °C, nor before a closing quote: that is what may be typed, and "38 °F (3.3 °C)" may not.
PRINTED = re.compile(r'(?<![\d.,-])(?<!°C \()(-?\d+(?:\.\d+)?)(?: (to|and) (-?\d+(?:\.\d+)?))? °F(?! \(|["”])')
SMALL = {"g": "g", "ml": "ml", "each": "ea"}
US = {
    "g": (("lb", Fraction(45359237, 100000)), ("oz", Fraction(45359237, 1600000))),
    "ml": (("qt", Fraction(946352946, 1000000)), ("fl oz", Fraction(295735295625, 10**10))),
    "each": (("ea", Fraction(1)),),
}


@dataclass(frozen=True)
class Way:
    """How the kitchen that is answered for writes: its decimal mark, and whose units it reads."""

    mark: str = "."
    system: str = "metric"


PLAIN = Way()
OWN_WAY: ContextVar[Way] = ContextVar("own way", default=PLAIN)  # set by `core.pages.query` for each answer
SWAPPED = str.maketrans({".": ",", ",": "\u202f"})


def marked(text: str) -> str:
    """A number in words, '1,234.50', with the kitchen's decimal mark: '1 234,50' where that is a comma."""
    return text.translate(SWAPPED) if OWN_WAY.get().mark == "," else text


def large(unit: str) -> tuple[str, Fraction]:
    """What the kitchen that is answered for buys and prices by, and how many base units that is: kg, l, ea; lb, qt, ea.

    Args:
        unit: g, ml or each; anything else is its own.
    """
    return US[unit][0] if OWN_WAY.get().system == "US" and unit in US else LARGE.get(unit, (unit, Fraction(1)))


def amount(number: Fraction | None, unit: str, system: str = "metric") -> str:
    """A quantity [unit: g, ml or each] as a cook reads it; 'not known' for None."""
    if number is None:
        return "not known"
    if system == "US":
        name, factor = next((p for p in US[unit] if abs(number) >= p[1]), US[unit][-1])
        return f"{_short(number / factor)} {name}"
    name, thousand = LARGE[unit]
    if abs(number) >= thousand and thousand > 1:
        return f"{_short(number / thousand)} {name}"
    return f"{_short(number)} {SMALL[unit]}"


def _short(number: Fraction) -> str:
    """Three figures at most behind which nothing is read: 1.25, 12.5, 340."""
    places = 0 if abs(number) >= 100 else 1 if abs(number) >= 10 else 2
    text = f"{to_decimal(number, places):,f}"
    return marked(text.rstrip("0").rstrip(".") if "." in text else text)


def day(on: date | str | None, today: date | str | None = None) -> str:
    """A date as people say it: '25 November', with the year where it is another."""
    if on is None:
        return "never"
    on = date.fromisoformat(on) if isinstance(on, str) else on
    today = date.fromisoformat(today) if isinstance(today, str) else today
    said = f"{on.day} {on:%B}"
    return said if today is None or on.year == today.year else f"{said} {on.year}"


def near_day(on: date | str, today: date | str) -> str:
    """A day as people say it beside today: 'today', 'yesterday', 'Friday' within six days, else '25 November'.

    A weekday is said with 'last' where it lies behind, so that no name means two days.
    """
    on, today = (date.fromisoformat(d) if isinstance(d, str) else d for d in (on, today))
    days = (on - today).days
    if abs(days) <= 1:
        return ("yesterday", "today", "tomorrow")[days + 1]
    if abs(days) <= 6:
        return f"{on:%A}" if days > 0 else f"last {on:%A}"
    return day(on, today)


def money(number: Fraction | Decimal | None, currency: str = "") -> str:
    """An amount, rounded once to two places; 'no price' for None."""
    if number is None:
        return "no price"
    return f"{marked(f'{to_decimal(Fraction(number), 2):,f}')} {currency}".strip()


def percent(share: Fraction | None, places: int = 1) -> str:
    """A share [0 to 1] as per cent; 'not known' for None."""
    return "not known" if share is None else f"{marked(f'{to_decimal(share * 100, places):f}')} %"


def fahrenheit(temp_f: float | None) -> str:
    """A temperature [°F] as the law prints it, °C beside it in a metric kitchen; 'not measured' for None."""
    return "not measured" if temp_f is None else beside_celsius(f"{temp_f:g} °F", OWN_WAY.get().system)


def beside_celsius(text: str, system: str = "metric") -> str:
    """Words with temperatures as the law prints them; a metric kitchen reads '145 °F (62.8 °C)'."""
    return PRINTED.sub(_beside, text) if system == "metric" else text


def _beside(found: re.Match[str]) -> str:
    low, word, high = found.groups()
    parts = [marked(plain((float(part) - 32) / 1.8, 1)) for part in (low, high) if part]
    return f"{found[0]} ({f' {word} '.join(parts)} °C)"


def unbroken(text: str) -> str:
    """Words in which a number and its unit stay on one line."""
    return KEPT.sub("\u00a0", text)


def plain(number: float, places: int) -> str:
    """A number with at most so many decimals; no minus before a zero."""
    text = f"{number:.{places}f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return "0" if text == "-0" else text


FILTERS = {
    "beside_celsius": beside_celsius,
    "unbroken": unbroken,
    "spoken_day": day,
    "near_day": near_day,
    "share": percent,
    "fahrenheit": fahrenheit,
    "marked": marked,
}
