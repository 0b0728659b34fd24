"""/ageing/plan: where to cut a piece, what it leaves, beside what was cut last time."""

from __future__ import annotations

import sqlite3
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from stillroom.db.kitchen import settings
from stillroom.db.kitchen import today as kitchen_day
from stillroom.db.lots import Broken, CutFacts, Lot, read_breakdowns, read_cuts, read_lots, usable_g
from stillroom.db.named_sql import asker
from stillroom.db.quantity import ReadError, read_number
from stillroom.plugins.core.format import amount, money, percent
from stillroom.plugins.core.pages import page, query
from stillroom.plugins.cuts.asked import weight_of
from stillroom.plugins.cuts.compute import by_code
from stillroom.plugins.cuts.plan import Left, NoPlan, Piece, Plan, left_of
from stillroom.plugins.cuts.plan import plan as make_plan

FIELDS = ("cut", "lot", "weight", "length", "taper", "ends", "portion")
ZERO = Fraction(0)
NOTHING = "–"
ask = asker("stillroom.plugins.cuts")


@dataclass(frozen=True)
class Last:
    """The last breakdown of a cut, and the by-products that came of it."""

    broken: Broken
    left: tuple[tuple[str, Fraction], ...]


@dataclass(frozen=True)
class CutPlan:
    """The form as filled in, the plan, what it leaves, and the last breakdown of that cut.

    said: as typed; used: what the plan was made with, a lot's figures filled in.
    """

    said: dict[str, str]
    used: dict[str, str]
    cuts: list[tuple[str, str]]
    lots: list[str]
    plan: Plan | None
    portion_g: Fraction | None
    left: Left | None
    last: Last | None
    yields: list[dict[str, str]]
    system: str
    wrong: tuple[str, ...]

    @property
    def rows(self) -> list[tuple[int, str, str, str]]:
        """Number, from, to and thickness of each portion [cm]."""
        p = self.plan
        if p is None:
            return []
        ends = zip(p.cuts_cm, p.cuts_cm[1:], p.thick_cm, strict=False)
        return [(n, f"{a:.1f}", f"{b:.1f}", f"{t:.1f}") for n, (a, b, t) in enumerate(ends, 1)]

    @property
    def figures(self) -> list[tuple[str, str]]:
        p = self.plan
        if p is None:
            return []
        return [("Portions", str(p.portions)), ("End pieces", amount(p.ends_g, "g", self.system)),
                ("Left over", amount(p.left_g, "g", self.system))]  # fmt: skip

    @property
    def compared(self) -> list[tuple[str, str, str]]:
        """What, planned, last time; '–' where the one side says nothing of it."""
        p, left, last = self.plan, self.left, self.last
        if p is None or left is None or self.portion_g is None:
            return []

        def g(weight: Fraction | None) -> str:
            return NOTHING if weight is None else amount(weight, "g", self.system)

        _, _, came, out, pieces = last.broken if last else ("", "", ZERO, ZERO, 0)
        was = dict(last.left) if last else {}
        whole = left.whole_g
        rows = [
            ("Before trimming", g(whole), g(came or None)),
            ("Portions", str(p.portions), str(pieces) if pieces else NOTHING),
            ("One portion", g(self.portion_g), g(out / pieces if pieces else None)),
            ("Portions together", g(left.sold_g), g(out or None)),
            ("Sold of the piece", percent(left.sold_g / whole), percent(out / came) if came else NOTHING),
            ("End pieces and left over", g(p.ends_g + p.left_g), NOTHING),
        ]
        parts = {name: (weight, worth) for name, weight, worth in left.parts}
        for name in {**parts, **was}:
            planned, worth = parts.get(name, (None, None))
            priced = f", worth {money(worth)}" if worth is not None else ""
            rows.append((name + priced, g(planned), g(was.get(name))))
        lost = came - out - sum(was.values(), ZERO) if last else None
        return [*rows, ("Loss and other trim", g(left.loss_g), g(lost))]

    @property
    def last_words(self) -> str:
        """What the last breakdown of the cut gave."""
        if self.last is None:
            return ""
        code, on, came, out, pieces = self.last.broken
        each = f", {amount(out / pieces, 'g', self.system)} each" if pieces else ""
        whole, sold = amount(came, "g", self.system), amount(out, "g", self.system)
        return f"{code} on {on}: {sold} in {pieces} portions{each}, {percent(out / came)} of {whole}"

    def as_json(self) -> dict[str, Any]:
        p, left = self.plan, self.left
        found = None if p is None else {"portions": p.portions, "cuts_cm": [round(x, 2) for x in p.cuts_cm],
                                        "ends_g": str(p.ends_g), "left_g": str(p.left_g)}  # fmt: skip
        parts = None if left is None else [{"name": n, "weight_g": str(w), "worth": None if m is None else str(m)}
                                           for n, w, m in left.parts]  # fmt: skip
        compared = [{"what": a, "planned": b, "last": c} for a, b, c in self.compared]
        return {"asked": self.said, "plan": found, "by_products": parts, "compared": compared,
                "last": self.last_words or None, "yields": self.yields, "wrong": list(self.wrong)}  # fmt: skip


@page("cuts/plan.html", needs="ageing")
async def plan(datasette: Any, request: Any) -> CutPlan:
    answer: CutPlan = await query(datasette, lambda connection: _plan(connection, request.args))
    return answer


def _plan(connection: sqlite3.Connection, args: Any) -> CutPlan:
    said = {name: (args.get(name) or "").strip()[:60] for name in FIELDS}
    on = kitchen_day(connection)
    house, wrong = settings(connection), list[str]()
    system = house["units"]
    cuts, broken = read_cuts(connection, on.isoformat()), read_breakdowns(connection, on.isoformat())
    hanging = {code: x for code, x in by_code(read_lots(connection, on, cuts)).items() if x.broken_on is None}
    lot = hanging.get(said["lot"])
    if said["lot"] and lot is None:
        wrong.append("No lot of that name hangs.")
    used = _filled(said, lot, house["decimal mark"])
    cut = cuts.get(used["cut"])
    made, portion = _made(used, cut, house, wrong)
    left = None
    if made is not None and portion is not None:
        trimmed = weight_of(used["weight"], house, [], "kg") or ZERO
        left = _left(made, portion, trimmed, cut, lot)
    yields = [_yield(cuts[c], rows, system) for c, rows in broken.items() if c in cuts]
    newest = broken.get(used["cut"], [None])[0]
    last = Last(newest, _left_over(connection, newest[0])) if newest else None
    names = [(i, known.name) for i, known in cuts.items()]
    return CutPlan(said, used, names, sorted(hanging), made, portion, left, last, yields, system, tuple(wrong))


def _filled(said: dict[str, str], lot: Lot | None, mark: str) -> dict[str, str]:
    """The form with what a lot says where nothing was typed: cut, length, and its last weighing less trim."""
    used = dict(said)
    if lot is None:
        return used
    usable = usable_g(lot, lot.last.weight_g)
    used["cut"] = said["cut"] or (lot.cut.id if lot.cut else "")
    if not said["weight"] and usable is not None:
        used["weight"] = f"{float(usable / 1000):.3f}".rstrip("0").rstrip(".").replace(".", mark)
    if not said["length"] and lot.length_cm:
        used["length"] = f"{lot.length_cm:g}".replace(".", mark)
    return used


def _made(
    used: dict[str, str], cut: CutFacts | None, house: Mapping[str, str], wrong: list[str]
) -> tuple[Plan | None, Fraction | None]:
    """The plan, and the weight of a portion [g]."""
    weight = weight_of(used["weight"], house, wrong, "kg")
    portion = weight_of(used["portion"], house, wrong) or (cut.portion_g if cut else None)
    mark = house["decimal mark"]
    length, taper, ends = (_number(used[name], name, wrong, mark) for name in ("length", "taper", "ends"))
    if weight is None or length is None or wrong:
        return None, portion
    if portion is None:
        wrong.append("Choose a cut or write the weight of a portion.")
        return None, None
    try:
        piece = Piece(weight, length, Fraction(1) if taper is None else taper / 100, ends or ZERO)
        return make_plan(piece, portion), portion
    except NoPlan as error:
        wrong.append(f"No plan: {error}.")
        return None, portion


def _left(made: Plan, portion: Fraction, trimmed: Fraction, cut: CutFacts | None, lot: Lot | None) -> Left:
    """What the piece leaves: by-products of its cut by their written share of what was bought."""
    trim = cut.trim if cut and cut.measured is None else cut.measured[0] if cut and cut.measured else ZERO
    whole = lot.last.weight_g if lot is not None else trimmed / (1 - trim)
    bought = lot.start_g if lot is not None else whole
    parts = [(name, share * bought, each) for name, share, each in (cut.parts if cut else ())]
    return left_of(whole, made.portions * portion, made.ends_g + made.left_g, parts)


def _left_over(connection: sqlite3.Connection, code: str) -> tuple[tuple[str, Fraction], ...]:
    found: dict[str, Fraction] = {}
    for name, weight in ask(connection, "left_over", code=code):
        found[name] = found.get(name, ZERO) + Fraction(weight)
    return tuple(found.items())


def _yield(cut: CutFacts, rows: list[Broken], system: str) -> dict[str, str]:
    """Written against measured yield of the last five breakdowns of a cut, aged weight to portions."""
    last = rows[:5]
    shares = [out / came for _, _, came, out, _ in last]
    mean = sum((out for _, _, _, out, _ in last), ZERO) / sum((came for _, _, came, _, _ in last), ZERO)
    spread = f"{percent(min(shares))} to {percent(max(shares))}" if len(shares) > 1 else "one only"
    return {"cut": cut.name, "written": percent(1 - cut.trim), "measured": percent(mean), "count": str(len(last)),
            "spread": spread, "off": f"{float((mean - 1 + cut.trim) * 100):+.1f}",
            "last": amount(last[0][2], "g", system)}  # fmt: skip


def _number(text: str, name: str, wrong: list[str], mark: str) -> Fraction | None:
    try:
        found = read_number(text, mark) if text else None
    except ReadError as error:
        wrong.append(f"{name}: {error.what}. {error.do}.")
        return None
    if found is not None and found > 10**5:
        wrong.append(f"{name} is too large.")
        return None
    return found
