"""/ageing/plan: where to cut a piece, beside what was cut last time."""

from __future__ import annotations

import sqlite3
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from stillroom.db.kitchen import settings
from stillroom.db.kitchen import today as kitchen_day
from stillroom.db.quantity import ReadError, read_number
from stillroom.plugins.core.format import amount, percent
from stillroom.plugins.core.pages import page, query
from stillroom.plugins.cuts.plan import NoPlan, Piece, Plan
from stillroom.plugins.cuts.plan import plan as make_plan
from stillroom.plugins.cuts.rows import Broken, ask, read_breakdowns

FIELDS = ("cut", "weight", "length", "taper", "ends", "portion")


@dataclass(frozen=True)
class CutPlan:
    """The form as filled in, the plan, and the last breakdown of that cut."""

    said: dict[str, str]
    cuts: list[tuple[str, str]]
    plan: Plan | None
    portion_g: Fraction | None
    last: Broken | None
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
    def last_words(self) -> str:
        """What the last breakdown of the cut gave."""
        if self.last is None:
            return ""
        code, on, came, out, pieces = self.last
        each = f", {amount(out / pieces, 'g', self.system)} each" if pieces else ""
        whole, sold = amount(came, "g", self.system), amount(out, "g", self.system)
        return f"{code} on {on}: {sold} in {pieces} portions{each}, {percent(out / came)} of {whole}"

    def as_json(self) -> dict[str, Any]:
        p = self.plan
        found = None if p is None else {"portions": p.portions, "cuts_cm": [round(x, 2) for x in p.cuts_cm],
                                        "ends_g": str(p.ends_g), "left_g": str(p.left_g)}  # fmt: skip
        return {"asked": self.said, "plan": found, "last": self.last_words or None, "yields": self.yields,
                "wrong": list(self.wrong)}  # fmt: skip


@page("cuts/plan.html", needs="ageing")
async def plan(datasette: Any, request: Any) -> CutPlan:
    answer: CutPlan = await query(datasette, lambda connection: _plan(connection, request.args))
    return answer


def _plan(connection: sqlite3.Connection, args: Any) -> CutPlan:
    said = {name: (args.get(name) or "").strip()[:60] for name in FIELDS}
    cuts = {i: (name, Fraction(g) if g else None, Fraction(trim)) for i, name, g, trim in ask(connection, "cuts")}
    broken = read_breakdowns(connection, kitchen_day(connection).isoformat())
    wrong: list[str] = []
    numbers = {name: _number(said[name], name, wrong) for name in FIELDS[1:]}
    portion = numbers["portion"] or (cuts[said["cut"]][1] if said["cut"] in cuts else None)
    found, weight, length = None, numbers["weight"], numbers["length"]
    if weight is not None and length is not None and portion is not None:
        taper = Fraction(1) if numbers["taper"] is None else numbers["taper"] / 100
        try:
            found = make_plan(Piece(weight * 1000, length, taper, numbers["ends"] or Fraction(0)), portion)
        except NoPlan as error:
            wrong.append(f"No plan: {error}.")
    elif weight is not None and length is not None:
        wrong.append("Choose a cut or write the weight of a portion.")
    yields = [_yield(cuts[cut], rows, settings(connection)["units"]) for cut, rows in broken.items() if cut in cuts]
    last = broken.get(said["cut"], [None])[0]
    names = [(i, name) for i, (name, _, _) in cuts.items()]
    return CutPlan(said, names, found, portion, last, yields, settings(connection)["units"], tuple(wrong))


def _yield(cut: tuple[str, Fraction | None, Fraction], rows: list[Broken], system: str) -> dict[str, str]:
    """Written against measured yield of the last five breakdowns of a cut, aged weight to portions."""
    last = rows[:5]
    shares = [out / came for _, _, came, out, _ in last]
    mean = sum((out for _, _, _, out, _ in last), Fraction(0)) / sum((came for _, _, came, _, _ in last), Fraction(0))
    spread = f"{percent(min(shares))} to {percent(max(shares))}" if len(shares) > 1 else "one only"
    return {"cut": cut[0], "written": percent(1 - cut[2]), "measured": percent(mean), "count": str(len(last)),
            "spread": spread, "off": f"{float((mean - 1 + cut[2]) * 100):+.1f}",
            "last": amount(last[0][2], "g", system)}  # fmt: skip


def _number(text: str, name: str, wrong: list[str]) -> Fraction | None:
    try:
        found = read_number(text) if text else None
    except ReadError as error:
        wrong.append(f"{name}: {error.what}. {error.fix}.")
        return None
    if found is not None and found > 10**5:
        wrong.append(f"{name} is too large.")
        return None
    return found
