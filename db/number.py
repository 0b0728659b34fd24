"""Numbers as cooks write them, read exactly, and the one error for a text that can't be read."""

from __future__ import annotations

import re
import unicodedata
from fractions import Fraction
from functools import lru_cache

from stillroom.db.problems import quoted

LONGEST_MENDED = 60  # characters of a text that an error writes out again, mended
MOST = 10**12  # no log has as many entries, no kitchen as much of anything
VULGAR = "¼½¾⅐⅑⅒⅓⅔⅕⅖⅗⅘⅙⅚⅛⅜⅝⅞"
# Bounded runs of digits: nobody orders 10^15 of anything, and a cell may hold a million digits. Behind the mark there
# may be more, for an exact number that was reckoned is written out whole.
_NUMBER = re.compile(
    r"\s*(?P<sign>[-−]?)"
    r"(?:(?P<whole>[0-9]{1,15})(?:\s{1,9}|-)(?P<num>[0-9]{1,4})\s?[/⁄]\s?(?P<den>[0-9]{1,4})"
    r"|(?P<num2>[0-9]{1,60})\s?[/⁄]\s?(?P<den2>[0-9]{1,60})"
    rf"|(?P<vwhole>[0-9]{{0,15}})\s{{0,9}}(?P<vulgar>[{VULGAR}])"
    r"|(?P<decimal>[0-9]{1,15}(?:[.,][0-9]{1,60})?|[.,][0-9]{1,60}))"
)
_RUN = re.compile(r"[0-9][0-9.,'’]*|[.,][0-9]+")
_GOES_ON = re.compile(rf"[.,'’/⁄0-9{VULGAR}]|[oO][0-9oO.,]*(?![^\W\d_])")
_SPACED = re.compile(r"\s*[-−]?([0-9]{1,3})((?:\s[0-9]{3})+)(?![0-9/⁄])")
_LETTER_O = re.compile(r"(?<![^\W_])[0-9oO.,]*(?:[0-9][.,]?[oO]|[oO][.,]?[0-9])[0-9oO.,]*(?![^\W_])")


class ReadError(ValueError):
    """A text that can't be read. code, what, why and fix go into a Problem as they are.

    here is what whoever stands at a form does, where fix is for whoever keeps the kitchen's files.
    """

    def __init__(self, code: str, what: str, why: str = "", fix: str = "", here: str = "") -> None:
        super().__init__(what)
        self.code, self.what, self.why, self.fix, self.here = code, what, why, fix, here

    @property
    def do(self) -> str:
        """What to do about it on the spot."""
        return self.here or self.fix


@lru_cache(maxsize=65536)
def read_number(text: str, mark: str = ".") -> Fraction:
    """A whole text as one exact number [-]: 3, 2.5, 1 1/2, 2½, .5; `mark` is the kitchen's decimal mark.

    Raises:
        ReadError: number-bad.
    """
    number, _, rest = leading_number(text, mark)
    if rest.strip():
        raise bad_number(text, mark=mark)
    return number


def whole(text: str, most: int = MOST, least: int = 0) -> int | None:
    """A whole number in plain digits, from least (zero or more) to most; None for any other text, however long.

    Example:
        >>> whole(" 007 ", 10), whole("11", 10), whole("two", 10)
        (7, None, None)
    """
    digits = text.strip(" ")
    if not (digits.isascii() and digits.isdigit()):
        return None
    digits = digits.lstrip("0") or "0"
    number = int(digits) if len(digits) <= len(str(most)) else most + 1
    return number if least <= number <= most else None


def leading_number(text: str, mark: str) -> tuple[Fraction, str, str]:
    """The number a text begins with, that number as written, and what follows it.

    Raises:
        ReadError: number-bad.
    """
    found = _NUMBER.match(text)
    if not found:
        raise bad_number(text, mark=mark)
    run = _RUN.search(text)
    if found.group("decimal") and run:
        _refuse_marks(run.group(), text, mark)
    spaced = _SPACED.match(text)
    if spaced:
        plain = spaced.group(1) + "".join(spaced.group(2).split())
        raise _marked(text, " ", f"{plain}{text[spaced.end() :].rstrip()}" if len(text) <= LONGEST_MENDED else plain)
    rest = text[found.end() :]
    if _GOES_ON.match(rest):
        raise bad_number(text, mark=mark)
    number = _value(found, text, mark)
    return (-number if found.group("sign") else number), found.group().strip(), rest


def bad_number(text: str, code: str = "number-bad", mark: str = ".") -> ReadError:
    """The error for a text that is no number; names the letter O where one stands for a zero."""
    found = _LETTER_O.search(text[:1000])
    if found:
        mended = re.sub("[oO]", "0", found.group())
        ends = found.group()[-1] in "oO"
        why = "The last character is the letter O." if ends else "There is a letter O where a zero should be."
        if ends and found.group() != text.strip():
            why = f"{quoted(found.group())} ends in the letter O."
        return ReadError(
            code,
            f"{quoted(text)} is not a number",
            why,
            f"write {text[:1000].strip().replace(found.group(), mended)}",
        )
    if any(unicodedata.category(c) == "Sc" for c in text[:1000]):
        return ReadError(
            code,
            f"{quoted(text)} is not a number",
            "There is a currency sign in it.",
            "write the number alone",
        )
    ways = "write 3, 2.5, 1 1/2 or 2½" if mark == "." else "write 3 or 2,5 or 2½"
    return ReadError(code, f"{quoted(text)} is not a number", "", ways)


def _refuse_marks(run: str, text: str, mark: str) -> None:
    """Refuses thousands marks, and the mark that is not the kitchen's: 1,250 is 1250 or one and a quarter."""
    run = run.rstrip(".,'’") or run
    other = "," if mark == "." else "."
    if "'" in run or "’" in run or (run.count(mark) > 1 and other not in run):
        raise _marked(text, next(c for c in run if not c.isdigit()), re.sub(r"[.,'’]", "", run))
    if other not in run:
        return
    name = "point" if mark == "." else "comma"

    def so(number: str) -> str:  # with its unit: a bare number is refused where one is needed
        return text.strip().replace(run, number) if len(text) <= LONGEST_MENDED else number

    whole = run.replace(other, "")
    if mark in run and run.rindex(mark) < run.rindex(other):
        fix = "write it without thousands marks"
    elif mark in run or run.count(other) > 1:
        fix = f"write {so(whole)}, without thousands marks"
    elif re.fullmatch(r"[1-9][0-9]{0,2}[.,][0-9]{3}", run):
        fix = f"write {so(whole)} if it marks thousands, {so(run.replace(other, mark))} if it marks decimals"
    else:
        fix = f"write {so(run.replace(other, mark))}"
    raise ReadError(
        "number-bad",
        f'{quoted(text)} has a "{other}" in its number',
        f"The decimal mark here is a {name}.",
        fix,
    )


def _marked(text: str, mark: str, plain: str) -> ReadError:
    name = "space" if mark == " " else f'"{mark}"'
    return ReadError(
        "number-bad",
        f"{quoted(text)} has a {name} in its number",
        "Numbers have no thousands marks here.",
        f"write {plain}",
    )


def _value(found: re.Match[str], text: str, mark: str) -> Fraction:
    part = found.groupdict()
    if part["decimal"]:
        return Fraction(part["decimal"].replace(mark, "."))
    if part["vulgar"]:
        tail = Fraction(unicodedata.normalize("NFKC", part["vulgar"]).replace("⁄", "/"))
        return int(part["vwhole"] or 0) + tail
    below = int(part["den"] or part["den2"])
    if below == 0:
        raise bad_number(text)
    return int(part["whole"] or 0) + Fraction(int(part["num"] or part["num2"]), below)
