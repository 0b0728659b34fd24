"""The many ways in which a cook writes one recipe line, rewritten into one: number, unit, name, comma, preparation.

'half a lemon' is '1/2 lemon', '2 (14 oz) cans tomatoes' is '28 oz tomatoes', 'juice of 2 lemons' is '2 lemons, juice',
'2 cups + 2 tbsp flour' is '34 tbsp flour'. All of it exact; what has no exact meaning (a heaped spoon, a few, a range)
is refused in words by whoever reads the line. A line in the plain form comes back as it is.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from fractions import Fraction

from stillroom.db.exact import exact_text
from stillroom.db.number import VULGAR, ReadError, leading_number
from stillroom.db.problems import quoted
from stillroom.db.units import Unit, find_unit

IsUnit = Callable[[str], bool]
_N = rf"(?:[0-9]|[{VULGAR}]|[.,][0-9])"
_BULLET = re.compile(r"(?:[-–—•*·]\s+)+")
_ABOUT = re.compile(rf"(?i)(?:about|approx(?:imately|\.)?|around|roughly|circa|ca\.|c\.|~|≈)\s*(?={_N})")
_PART_OF = re.compile(
    r"(?i)(?:the\s+)?((?:finely\s+|freshly\s+)?(?:grated\s+|squeezed\s+)?(?:juice|zest|rind|peel|leaves)"
    r"(?:\s+and\s+(?:juice|zest))?)\s+(?:of|from)\s+(.+)"
)
NUMBER_WORDS = {
    "a": 1, "an": 1, "one": 1, "two": 2, "three": 3, "four": 4, "five": 5, "six": 6, "seven": 7, "eight": 8, "nine": 9,
    "ten": 10, "eleven": 11, "twelve": 12,
}  # fmt: skip
_PARTS = {"half": "1/2", "third": "1/3", "quarter": "1/4"}
_COUNTED = "|".join(NUMBER_WORDS)
_A_COUPLE = re.compile(r"(?i)a\s+couple\s+(?:of\s+)?")
_AND_A_HALF = re.compile(rf"(?i)({_COUNTED})\s+and\s+a\s+(half)\s+")
_THREE_QUARTERS = re.compile(r"(?i)(two|three)\s+(quarter|third)s\s+(?:of\s+(?:an?\s+)?)?")
_A_HALF = re.compile(r"(?i)(?:(?:a|one)\s+)?(half|third|quarter)\s+(?:of\s+)?(?:an?\s+)?")
_WORD = re.compile(rf"(?i)({_COUNTED})\s+(?!few\b|little\b|bit\b)")
_AND_PART = re.compile(rf"\s*(?:and|&)\s*([{VULGAR}]|[0-9]\s?[/⁄]\s?[0-9]{{1,2}})(?![0-9])")
_LEVEL = re.compile(r"(?i)\s*level\s+")
_LOOSE = re.compile(r"(?i)\s*(heap(?:ed|ing)|scant|generous|rounded|good|big|large|small)\s+(\S+)")
_BRACKETS = re.compile(r"\s*\(([^()]{0,60})\)\s*(.*)", re.S)
_TIMES = re.compile(r"\s*[x×]\s*(.+)", re.S)
_HOLDERS = re.compile(
    r"(?i)\s*(?:cans?|tins?|jars?|bottles?|bags?|packs?|packets?|packages?|pkgs?\.?|boxes|box|tubs?|cartons?|pots?|blocks?)"
    r"(?:\s+of)?\s+(?=\S)"
)
_COMMA = re.compile(rf"\s*([^\W\d_]+\.?),\s*(?={_N})")
_SLASH = re.compile(rf"\s*/\s*({_N}.*)", re.S)
_SUM = re.compile(rf"(?i)\s*,?\s*(\+|plus|and|&|minus|less)?\s*(?={_N})")
# As a rule a line is in the plain form already: one number, words, none of those that mean more.
_PLAIN = re.compile(
    rf"\s*[0-9{VULGAR}][0-9.,{VULGAR}/⁄]*(?:[\s-][0-9]+[/⁄][0-9]+|\s*[{VULGAR}])?[^0-9()/+×~≈{VULGAR}]*"
)
_MORE = re.compile(r"(?i)\b(?:and|plus|minus|less|level|heap\w+|scant|generous|rounded|good|big|large|small|x)\b|&")
_LIGHT = {"g", "oz", "ml", "fl oz", "tsp", "tbsp", "cup", "pt", "qt"}  # what may stand second in '2 lb 3 oz'


def plain_line(text: str, is_unit: IsUnit, mark: str = ".", system: str = "US") -> str:
    """A line in the plain form: '1 lb 3 oz leeks, washed' is '19 oz leeks, washed'.

    Args:
        text: as the cook wrote it.
        is_unit: whether a word (or two) is a unit or measure.
        mark: the kitchen's decimal mark.
        system: whose cups and pints.

    Raises:
        ReadError: line-bad where a word has no exact meaning, or there is no quantity.
    """
    if _PLAIN.fullmatch(text) and not _MORE.search(text):
        return text
    line = _BULLET.sub("", text.strip(), count=1) if _BULLET.match(text.strip()) else text.strip()
    behind: list[str] = []
    part = _PART_OF.fullmatch(line)
    if part:
        behind.append(part[1].lower())
        line = part[2]
    about = _ABOUT.match(line)
    if about:
        behind.append("about")
        line = line[about.end() :]
    line = _numbered(line)
    if not re.match(rf"[-−]?\s*{_N}", line) and re.match(r"[^\W\d_]", line) and not re.match(r"[oO][0-9]", line):
        word = "no number" if re.match(r"(?i)a\s+(?:few|little|bit)\b", line) else "no quantity"
        raise ReadError("line-bad", f"{quoted(text)} says {word}", "", 'write how much: "5 g salt"')
    return _Line(text, is_unit, mark, system).rewritten(line, behind)


def _numbered(line: str) -> str:
    """Words that are numbers, in digits."""
    for pattern in (_A_COUPLE, _AND_A_HALF, _THREE_QUARTERS, _A_HALF, _WORD):
        found = pattern.match(line)
        if found and line[found.end() :]:
            times = "x " if pattern is _WORD and re.match(_N, line[found.end() :]) else ""
            return f"{_digits(pattern, found)} {times}{line[found.end() :]}"
    return line


def _digits(pattern: re.Pattern[str], found: re.Match[str]) -> str:
    if pattern is _A_COUPLE:
        return "2"
    if pattern is _AND_A_HALF:
        return f"{NUMBER_WORDS[found[1].lower()]} 1/2"
    if pattern is _THREE_QUARTERS:
        return f"{NUMBER_WORDS[found[1].lower()]}/{_PARTS[found[2].lower()][-1]}"
    if pattern is _A_HALF:
        return _PARTS[found[1].lower()]
    return str(NUMBER_WORDS[found[1].lower()])


class _Line:
    """One line on its way into the plain form."""

    def __init__(self, text: str, is_unit: IsUnit, mark: str, system: str) -> None:
        self.text, self.is_unit, self.mark, self.system = text, is_unit, mark, system

    def rewritten(self, line: str, behind: list[str]) -> str:
        """Number and unit settled, brackets and second measures moved behind a comma."""
        number, written, rest = leading_number(line, self.mark)
        more = _AND_PART.match(rest)
        if more:
            number, rest = number + leading_number(more[1], self.mark)[0], rest[more.end() :]
            written = self._said(number)
        level = _LEVEL.match(rest)
        rest = f" {rest[level.end() :]}" if level else rest
        self._refuse_loose(rest)
        comma = _COMMA.match(rest)
        if comma and self.is_unit(comma[1].strip()):
            rest = f" {comma[1]} {rest[comma.end() :]}"
        packed = self._packed(number, rest)
        if packed:
            number, unit, rest = packed
            written = self._said(number)
        else:
            aside = _BRACKETS.match(rest)
            if aside:
                behind, rest = [aside[1], *behind], f" {aside[2]}"
            unit, rest = self._unit(rest)
        number, written, unit, rest, notes = self._after_unit(number, written, unit, rest)
        return self._joined(written, unit, rest, [*notes, *behind])

    def _said(self, number: Fraction) -> str:
        return exact_text(number).replace(".", self.mark)

    def _refuse_loose(self, rest: str) -> None:
        """A heaped spoon is no measure; a large egg is an egg."""
        found = _LOOSE.match(rest)
        if found and self.is_unit(found[2].rstrip(".")) and len(rest.split()) > 2:
            what = f"{found[1].lower()} {found[2]}"
            told = f"{quoted(self.text)}: a {what} has no size"
            raise ReadError("line-bad", told, "", "write it level, or by weight")

    def _packed(self, number: Fraction, rest: str) -> tuple[Fraction, str, str] | None:
        """'(14 oz) cans', 'x 400 g tins', '400 g tins': pieces times what each holds; None where it is not so."""
        brackets, times = _BRACKETS.match(rest), _TIMES.match(rest)
        inside = f"{brackets[1]} " if brackets else times[1] if times else rest
        each = self._measure(inside.lstrip().replace("-", " ", 1) if not times else inside)
        if each is None:
            return None
        size, unit, after = each
        tail = brackets[2] if brackets else after
        if brackets and after.strip():
            return None
        holder = _HOLDERS.match(tail)
        if not (brackets or times or holder):
            return None
        return number * size, unit, f" {tail[holder.end() :] if holder else tail.strip()}"

    def _measure(self, text: str) -> tuple[Fraction, str, str] | None:
        """A leading mass or volume: number, unit, rest; None where there is none."""
        if not re.match(_N, text):
            return None
        try:
            number, _, rest = leading_number(text, self.mark)
        except ReadError:
            return None
        unit, after = self._unit(rest)
        known = self._known(unit)
        return (number, unit, after) if known is not None and known.dimension != "count" else None

    def _unit(self, rest: str) -> tuple[str, str]:
        """The unit that a text begins with, one word or two, and what follows; '' where there is none."""
        words = rest.split()
        for count in (2, 1):
            unit = " ".join(words[:count])
            if len(words) >= count and self.is_unit(unit):
                return unit, " " + " ".join(words[count:])
        glued = re.match(r"\s*([^\W\d_]+\.?)(/.*|\(.*)", rest)
        if glued and self.is_unit(glued[1]):
            return glued[1], glued[2]
        return "", rest

    def _known(self, unit: str) -> Unit | None:
        try:
            return find_unit(unit, self.system) if unit else None
        except ReadError:
            return None

    def _after_unit(
        self, number: Fraction, written: str, unit: str, rest: str
    ) -> tuple[Fraction, str, str, str, list[str]]:
        """The same measure said twice goes behind the comma; another of the same kind is added or taken off."""
        notes: list[str] = []
        slash, brackets = _SLASH.match(rest), _BRACKETS.match(rest)
        if unit and slash and (second := self._twice(slash[1])) is not None:
            notes, rest = [slash[1][: len(slash[1]) - len(second)].strip()], second
        elif unit and brackets:
            notes, rest = [brackets[1]], f" {brackets[2]}"
        known, found = self._known(unit), _SUM.match(rest)
        if known is not None and found:
            added = self._added(number, known, found, rest[found.end() :])
            if added is not None:
                number, unit, rest = added
                written = self._said(number)
        return number, written, unit, rest, notes

    def _twice(self, text: str) -> str | None:
        """What follows a second way of saying the same measure, '1 lb 2 oz' among them; None where there is none."""
        first = self._measure(text)
        if first is None:
            return None
        second = self._measure(first[2].strip())
        return second[2] if second else first[2]

    def _added(
        self, number: Fraction, known: Unit, found: re.Match[str], behind: str
    ) -> tuple[Fraction, str, str] | None:
        second = self._measure(behind)
        if second is None or not second[2].strip():
            return None
        more, unit, rest = second
        other = self._known(unit)
        if other is None or other.dimension != known.dimension or other.factor >= known.factor:
            return None
        if not found[1] and other.name not in _LIGHT:
            return None
        sign = -1 if (found[1] or "").lower() in {"minus", "less"} else 1
        return number * known.factor / other.factor + sign * more, unit, rest

    def _joined(self, written: str, unit: str, rest: str, behind: list[str]) -> str:
        rest = " ".join(rest.split())
        gap = "" if unit.startswith("#") and not unit[1:2].isdigit() else " "
        head = f"{written}{gap}{unit} {rest}" if unit else f"{written} {rest}"
        notes = ", ".join(note.strip() for note in behind if note.strip())
        return f"{head.strip()}{', ' if notes and rest else ''}{notes if rest else ''}"
