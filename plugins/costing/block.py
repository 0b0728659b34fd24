"""The butcher test's form: weights with their units, what came out, and what nobody accounts for. Pure."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

from stillroom.db.exact import to_decimal
from stillroom.db.quantity import ReadError, Said, read_number, read_quantity
from stillroom.db.units import find_unit
from stillroom.plugins.costing.butcher import ZERO, ButcherTest, Part, Product, Refused, butcher_test, share_cost

PARTS = 6
MOST_DIGITS = 30


@dataclass(frozen=True)
class Read:
    """The form read. unit: of all weights, '' = any one; sold: portions; left: by-products and losses."""

    weight: Fraction
    unit: str
    price: Fraction
    sold: tuple[Product, ...]
    left: tuple[Part, ...]


@dataclass(frozen=True)
class Reckoned:
    """What the form gives. said: what was assumed, in words; ask: what must be answered before there are figures."""

    test: ButcherTest | None
    shares: tuple[tuple[str, int], ...] = ()
    said: str = ""
    ask: str = ""


def read(said: Mapping[str, str], mark: str, wrong: list[str]) -> Read | None:
    """The form's figures; None where the whole has no weight or price yet, or a figure is wrong (which is said)."""
    whole, price = _weight(said, "weight", "weight of the whole", mark, wrong), _money(said, "price", mark, wrong)
    rows = [(n, *_row(said, n, mark, wrong)) for n in range(1, PARTS + 1)]
    if whole is None or price is None or wrong:
        return None
    if whole.number == 0 or price == 0:
        wrong.append("Refused: the whole piece has no weight or no price.")
        return None
    sold: list[Product] = []
    left: list[Part] = []
    for n, weight, worth in rows:
        each = None if weight is None else _in_unit(weight, whole.unit_text, f"weight of line {n}", wrong)
        name = said.get(f"name{n}") or f"part {n}"
        if each and said.get(f"use{n}") == "sold":
            sold.append(Product(name, each, worth))
        elif each:
            left.append(Part(name, each, worth or ZERO))
    return None if wrong else Read(whole.number, whole.unit_text, price, tuple(sold), tuple(left))


def _row(said: Mapping[str, str], n: int, mark: str, wrong: list[str]) -> tuple[Said | None, Fraction | None]:
    weight = _weight(said, f"weight{n}", f"weight of line {n}", mark, wrong)
    worth = _money(said, f"price{n}", mark, wrong)
    if not said.get(f"weight{n}") and (worth is not None or said.get(f"name{n}")):
        wrong.append(f"Line {n}: say what it weighs, 0 if nothing.")
    return weight, worth


def _weight(said: Mapping[str, str], field: str, name: str, mark: str, wrong: list[str]) -> Said | None:
    """A weight of zero or more, with its unit if one is written; None where it is empty or wrong."""
    text = said.get(field, "").strip()
    if not text:
        return None
    try:
        found = read_quantity(text, mark) if len(text) <= MOST_DIGITS else None
        unit = find_unit(found.unit_text) if found and found.unit_text else None
    except ReadError as error:
        wrong.append(f"The {name}: {error.what}. {error.fix}.")
        return None
    if found is None or found.number < 0:
        wrong.append(f"The {name}: {text[:MOST_DIGITS]} is no weight. Write 0 or more: 28 lb, 12.5 kg.")
        return None
    if unit is not None and unit.dimension != "mass":
        wrong.append(f"The {name}: {unit.name} is not a unit of weight. Write g, kg, oz or lb.")
        return None
    return Said(found.number, found.number_text, unit.name if unit else "")


def _money(said: Mapping[str, str], field: str, mark: str, wrong: list[str]) -> Fraction | None:
    """Money for one unit of weight, zero or more; None where it is empty or wrong."""
    text = said.get(field, "").strip()
    if not text:
        return None
    name = f"market price of line {field.removeprefix('price')}" if field != "price" else "price of the whole"
    try:
        found = read_number(text, mark) if len(text) <= MOST_DIGITS else None
    except ReadError as error:
        wrong.append(f"The {name}: {error.what}. {error.fix}.")
        return None
    if found is None or found < 0:
        wrong.append(f"The {name}: {text[:MOST_DIGITS]} is below nothing, or too long. Write 0 or more.")
        return None
    return found


def _in_unit(weight: Said, unit: str, name: str, wrong: list[str]) -> Fraction | None:
    """A weight in the unit of the whole: one without a unit is in it already."""
    if weight.unit_text in ("", unit):
        return weight.number
    if not unit:
        wrong.append(f"The {name} is in {weight.unit_text}: say the unit of the whole too.")
        return None
    return weight.number * find_unit(weight.unit_text).factor / find_unit(unit).factor


def reckon(form: Read, method: str, tolerance: Fraction, is_loss: bool) -> Reckoned:
    """The test, and its cost shared by what is sold.

    Where portions are listed, all that is usable is among them: what is missing is loss, unasked within the kitchen's
    tolerance, else asked first. Without portions, what by-products and losses leave is usable.

    Args:
        tolerance: share of the whole that may be missing or over unasked, 0 to 1.
        is_loss: the answer: what is missing is loss.

    Raises:
        Refused: more came out than went in, nothing is usable, or credits are above what the whole cost.
    """
    left, said = list(form.left), ""
    if form.sold:
        lost = form.weight - sum((x.weight for x in form.sold), ZERO) - sum((x.weight for x in form.left), ZERO)
        words = f"{weighed(abs(lost), form.unit)} of {weighed(form.weight, form.unit)}"
        words += f", {to_decimal(abs(lost) / form.weight * 100, 1):f} %"
        if lost < -form.weight * tolerance:
            raise Refused(f"more came out than went in: {words} too much")
        if lost > form.weight * tolerance and not is_loss:
            return Reckoned(None, (), "", f"{words}, is not accounted for. Is it loss?")
        if lost > 0:
            left.append(Part("not accounted for", lost, ZERO))
            said = f"{words}, is not accounted for: counted as loss."
        elif lost < 0:
            said = f"{words}, came out more than went in: within what the kitchen lets pass, shared as it is."
    test = butcher_test(form.weight, form.price, left)
    if not form.sold:
        said = f"What is left, {weighed(test.usable, form.unit)}, is taken as usable."
    cents = share_cost(round(test.cost * 100), form.sold, method) if form.sold else []
    return Reckoned(test, tuple(zip([p.name for p in form.sold], cents, strict=True)), said)


def weighed(number: Fraction, unit: str) -> str:
    """'12.5 lb'."""
    return f"{float(number):g} {unit}".strip()


ROWS = tuple(f"{k}{n}" for n in range(1, PARTS + 1) for k in ("name", "weight", "price", "use"))
FIELDS = ("weight", "price", *ROWS, "loss")
