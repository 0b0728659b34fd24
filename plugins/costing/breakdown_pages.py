"""/cost/cuts and /cost/breakdown/CODE: what cuts give against what is written, and one breakdown in money."""

from __future__ import annotations

import sqlite3
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Any
from urllib.parse import unquote

from stillroom.plugins.core.format import amount, marked, money, percent
from stillroom.plugins.core.pages import NotFound, page, query
from stillroom.plugins.costing.asked import Asked, read_asked
from stillroom.plugins.costing.broken import KILO, Bought, Broken, bought_as, reckon
from stillroom.plugins.costing.butcher import BY_VALUE, BY_WEIGHT
from stillroom.plugins.costing.cut_pages import CutTest, cut_test
from stillroom.plugins.costing.files import page_or_file
from stillroom.plugins.costing.house import Breakdown, House, Recipe, measured
from stillroom.plugins.costing.prices import ZERO
from stillroom.plugins.costing.rows import SOLD, ask, costed_from, once, read_house, read_sheet, read_weekly
from stillroom.plugins.costing.said import UNKNOWN, cash, signed

SHOWN = 40
METHODS = (BY_WEIGHT, BY_VALUE)


@dataclass(frozen=True)
class Cut:
    """A cut: written and measured yield of what went in, and what the difference costs a week."""

    recipe: Recipe
    test: CutTest | None

    @property
    def row(self) -> list[Any]:
        """Under COLUMNS."""
        t, r = self.test, self.recipe
        here = t.measured if t else None
        kept = 1 - r.shrink
        written = cash(kept * (1 - r.trim) * 100, 2)
        spread: list[Any] = [None] * 4
        if here is not None:
            seen, low, high = (cash(kept * x * 100, 2) for x in (here.share, here.low, here.high))
            spread = [seen, here.count, low, high]
        return [r.name, t.input if t else None, written, *spread, cash(t.dearer, 4) if t else None,
                cash(t.weekly) if t else None, r.joint or None]  # fmt: skip

    @property
    def said(self) -> dict[str, str]:
        t, r = self.test, self.recipe
        here, kept = (t.measured if t else None), 1 - self.recipe.shrink
        ends = [percent(kept * x) for x in (here.low, here.high)] if here and here.count > 1 else []
        return {
            "id": r.id, "name": r.name, "input": t.input if t else UNKNOWN, "written": percent(kept * (1 - r.trim)),
            "measured": percent(kept * here.share) if here else UNKNOWN, "count": str(here.count) if here else "0",
            "spread": " to ".join(ends) or UNKNOWN,
            "dearer": signed(t.dearer) if t else UNKNOWN, "weekly": signed(t.weekly) if t else UNKNOWN,
            "refused": t.refused if t else "", "joint": r.joint,
        }  # fmt: skip


COLUMNS = ("cut", "from", "written %", "measured %", "breakdowns", "lowest %", "highest %", "usable kg costs more",
           "money a week", "joint")  # fmt: skip


@dataclass(frozen=True)
class Cuts:
    """Every cut, and the last breakdowns."""

    asked: Asked
    cuts: list[Cut]
    broken: list[tuple[str, str, str, str]]
    count: int

    @property
    def weekly(self) -> str:
        """Money a week of all cuts together."""
        found = [c.test.weekly for c in self.cuts if c.test is not None and c.test.weekly is not None]
        return signed(sum(found, ZERO)) if found else UNKNOWN

    def as_json(self) -> dict[str, Any]:
        rows = [dict(zip(COLUMNS, c.row, strict=True)) | {"id": c.recipe.id} for c in self.cuts]
        broken = [{"code": code, "cut": cut, "on": on} for code, cut, on, _ in self.broken]
        return {**self.asked.as_json(), "cuts": rows, "breakdowns": broken}


@page("costing/cuts.html", needs="cost")
async def cuts(datasette: Any, request: Any) -> Any:
    answer: Cuts = await query(datasette, lambda connection: _cuts(connection, request.args))
    name = f"cuts-{answer.asked.choice.day}"
    return await page_or_file(request, answer, name, list(COLUMNS), lambda: [c.row for c in answer.cuts])


def _cuts(connection: sqlite3.Connection, args: Any) -> Cuts:
    asked = read_asked(connection, args)
    return once(connection, ("cuts", asked.choice, asked.since, asked.wrong), lambda: _all_cuts(connection, asked),
                costed_from(asked.choice) | SOLD)  # fmt: skip


def _all_cuts(connection: sqlite3.Connection, asked: Asked) -> Cuts:
    day = asked.choice.day
    house, sheet = read_house(connection, day), read_sheet(connection, asked.choice)
    weekly = read_weekly(connection, house, day)
    made = sorted((r for r in house.recipes.values() if r.kind == "cut" and r.status == "active"), key=lambda r: r.name)
    seen = [b for b in reversed(house.breakdowns) if b.on <= day]
    names = {r.id: r.name for r in house.recipes.values()}
    broken = [(b.code, names.get(b.cut, b.cut), b.on, amount(b.came_in, "g", asked.system)) for b in seen[:SHOWN]]
    return Cuts(asked, [Cut(r, cut_test(house, sheet, r.id, weekly)) for r in made], broken, len(seen))


@dataclass(frozen=True)
class BreakdownPage:
    """One breakdown: the butcher test of what really came out, and what each cut carries."""

    asked: Asked
    name: str
    broken: Broken
    written: Fraction
    measured: Fraction | None
    methods: tuple[str, ...] = METHODS

    @property
    def figures(self) -> list[tuple[str, str]]:
        """The test in words."""
        t, b = self.broken.test, self.broken
        if t is None or b.bought is None:
            return []
        return [("Paid", money(t.paid)), ("Credits", money(t.credits)), ("Cost of what is left", money(t.cost)),
                ("Usable", amount(t.usable * KILO, "g", self.asked.system)), ("Yield", percent(t.share)),
                ("Usable kg costs", money(t.each)), ("Cost factor", marked(f"{float(t.factor):.3f}"))]  # fmt: skip

    @property
    def rows(self) -> list[dict[str, str]]:
        """Cuts that came out; what they carry adds up to the cost to the smallest unit."""
        system = self.asked.system
        return [{"id": c.id, "name": c.name, "weight": amount(c.weight, "g", system),
                 "pieces": str(c.pieces or UNKNOWN), "money": money(Fraction(c.cents, 100)),
                 "each": money(c.each) if c.each is not None else UNKNOWN}
                for c in self.broken.carried]  # fmt: skip

    @property
    def parts(self) -> list[tuple[str, str, str]]:
        """By-products and losses: name, weight, worth."""
        system = self.asked.system
        return [(p.name, amount(p.weight * KILO, "g", system), money(p.worth)) for p in self.broken.parts]

    @property
    def against(self) -> str:
        """Portions of what went in, beside what is written and the last breakdowns together."""
        b = self.broken.breakdown
        own = sum(b.out.values(), ZERO) / b.came_in if b.came_in else None
        last = f", the last ones {percent(self.measured)}" if self.measured is not None else ""
        return f"Of what went on the block {percent(own)} was sold; written {percent(self.written)}{last}."

    def as_json(self) -> dict[str, Any]:
        b, t = self.broken, self.broken.test
        plain = None if t is None else {k: str(getattr(t, k)) for k in t.__dataclass_fields__}
        carried = [{"id": c.id, "name": c.name, "weight_g": str(c.weight), "pieces": c.pieces or None,
                    "money": cash(Fraction(c.cents, 100)), "each": cash(c.each, 4)} for c in b.carried]  # fmt: skip
        parts = [{"name": p.name, "weight_g": str(p.weight * KILO), "worth": cash(p.worth)} for p in b.parts]
        return {"code": b.breakdown.code, "cut": b.breakdown.cut, "on": b.breakdown.on, "lot": b.breakdown.lot or None,
                "paid_from": b.bought.source if b.bought else None, "test": plain, "cuts": carried, "parts": parts,
                "method": b.method, "refused": b.refused or None, "currency": self.asked.currency}  # fmt: skip


@page("costing/breakdown.html", needs="cost")
async def breakdown(datasette: Any, request: Any) -> BreakdownPage:
    wanted = unquote(request.url_vars["code"])
    answer: BreakdownPage = await query(datasette, lambda connection: _breakdown(connection, wanted, request.args))
    return answer


def _breakdown(connection: sqlite3.Connection, wanted: str, args: Any) -> BreakdownPage:
    asked = read_asked(connection, args)
    found = next((b for b in read_house(connection, asked.choice.day).breakdowns if b.code == wanted), None)
    if found is None:
        raise NotFound("There is no breakdown of that code. The page Cuts lists the last ones.")
    choice = replace(asked.choice, day=found.on)
    house, sheet = read_house(connection, choice.day), read_sheet(connection, choice)
    bought = _lot_paid(connection, found) or bought_as(house, sheet, found)
    method = args.get("method") if args.get("method") in METHODS else house.joint_method
    broken = reckon(house, sheet, found, bought, method)
    cut = house.recipes.get(found.cut)
    return BreakdownPage(asked, cut.name if cut else found.cut, broken, *_yields(house, found))


def _yields(house: House, found: Breakdown) -> tuple[Fraction, Fraction | None]:
    """Portions of the aged weight, as written and as the last breakdowns gave, all cuts of the piece together."""
    if found.cut not in house.recipes:
        return ZERO, None
    mates = house.joint_of(found.cut)
    seen = measured(house, found.on)
    last = [seen[m.id].share for m in mates if m.id in seen]
    return sum((1 - m.trim for m in mates), ZERO), sum(last, ZERO) if last else None


def _lot_paid(connection: sqlite3.Connection, found: Breakdown) -> Bought | None:
    """Weight and cost of the ageing lot that was broken down; None where it was none, or has no price."""
    rows = ask(connection, "lot_paid", lot=found.lot) if found.lot else []
    if not rows:
        return None
    start, paid, price, buys = rows[0]
    whole = Fraction(paid) if paid is not None else None
    if whole is None and price is not None and buys:
        whole = Fraction(price) / Fraction(buys) * Fraction(start)
    return Bought(Fraction(start), whole, f"lot {found.lot}") if whole else None
