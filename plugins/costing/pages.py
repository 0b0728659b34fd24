"""/cost and /cost/RECIPE: what plates cost, what is missing, and why it moved."""

from __future__ import annotations

import sqlite3
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from fractions import Fraction
from typing import Any

from stillroom.plugins.core.charts import Limit, step_chart
from stillroom.plugins.core.pages import NotFound, page, query
from stillroom.plugins.costing.asked import Asked, read_asked
from stillroom.plugins.costing.butcher import in_units
from stillroom.plugins.costing.compute import (
    Alert,
    Odd,
    Part,
    Plate,
    Rewritten,
    Step,
    alerts,
    bridge,
    odd_prices,
    parts,
    plate,
    plates,
    rewritten,
)
from stillroom.plugins.costing.cut_pages import CutTest, cut_test
from stillroom.plugins.costing.files import page_or_file
from stillroom.plugins.costing.house import MEASURED, SPEC
from stillroom.plugins.costing.prices import BASES
from stillroom.plugins.costing.rows import read_house, read_sheet, read_weekly
from stillroom.plugins.costing.said import (
    PART_COLUMNS,
    PLATE_COLUMNS,
    OfAPlate,
    alert_json,
    alert_said,
    cash,
    odd_said,
    part_row,
    part_said,
    plate_json,
    plate_row,
    plate_said,
    range_words,
    signed,
)
from stillroom.plugins.costing.told import parts_of, plate_of, steps_of, told_for

HISTORY = timedelta(days=182)
POINTS = 26


@dataclass(frozen=True)
class Overview:
    """Every plate on the menu with its cost, those over their target, and prices that want to be looked at."""

    asked: Asked
    plates: list[Plate]
    alerts: list[Alert]
    odd: list[Odd]
    bases: tuple[str, ...] = BASES
    yields: tuple[str, ...] = (SPEC, MEASURED)

    @property
    def sections(self) -> list[tuple[str, list[dict[str, str]]]]:
        """Plates as the page says them, by section."""
        found: dict[str, list[dict[str, str]]] = {}
        for p in self.plates:
            found.setdefault(p.section or "No section", []).append(plate_said(p))
        return list(found.items())

    @property
    def incomplete(self) -> int:
        return sum(p.each is None for p in self.plates)

    @property
    def over(self) -> list[dict[str, Any]]:
        """Plates over their target, in words."""
        return [alert_said(a) for a in self.alerts]

    @property
    def to_check(self) -> list[dict[str, str]]:
        """Prices to look at, in words."""
        return [odd_said(o) for o in self.odd]

    def as_json(self) -> dict[str, Any]:
        over = [alert_json(a) for a in self.alerts]
        return {**self.asked.as_json(), "plates": [plate_json(p) for p in self.plates], "over_target": over,
                "prices_to_check": self.to_check}  # fmt: skip


@page("costing/overview.html", needs="cost")
async def overview(datasette: Any, request: Any) -> Any:
    answer: Overview = await query(datasette, lambda connection: _overview(connection, request.args))
    name = f"cost-{answer.asked.choice.day}"
    return await page_or_file(request, answer, name, list(PLATE_COLUMNS), lambda: [plate_row(p) for p in answer.plates])


def _overview(connection: sqlite3.Connection, args: Any) -> Overview:
    asked = read_asked(connection, args)
    house, now = read_house(connection, asked.choice.day), read_sheet(connection, asked.choice)
    before = read_sheet(connection, replace(asked.choice, day=asked.since))
    return Overview(asked, plates(house, now), alerts(house, before, now), odd_prices(house, now))


@dataclass(frozen=True)
class Detail(OfAPlate):
    """One recipe: its cost, the items in it, how it moved, and why."""

    asked: Asked
    plate: Plate
    kind: str
    unit: str
    parts: list[Part]
    before: Plate
    steps: list[Step] | None
    history: list[tuple[date, Fraction]]
    cut: CutTest | None
    rewritten: list[Rewritten]
    bases: tuple[str, ...] = BASES
    yields: tuple[str, ...] = (SPEC, MEASURED)

    @property
    def rows(self) -> list[dict[str, str]]:
        """Items as the page says them: rounded costs add up to the rounded cost of what is priced."""
        priced = [p.cost for p in self.parts if p.cost is not None]
        cents = iter(in_units(priced))
        return [part_said(p, None if p.cost is None else next(cents), self.asked.system) for p in self.parts]

    @property
    def bridge(self) -> list[tuple[str, str, str]]:
        """Steps as the page says them; rounded steps add up to the rounded difference."""
        steps = self.steps or []
        cents = in_units([s.money for s in steps])
        return [(s.name, s.what, signed(Fraction(c, 100))) for s, c in zip(steps, cents, strict=True)]

    @property
    def moved(self) -> str:
        """The difference between the two days."""
        return signed(sum((s.money for s in self.steps), Fraction(0))) if self.steps is not None else "not known"

    @property
    def weekly(self) -> str:
        """Money a week that the cut's measured yield costs beyond the written one; '' where it is not known."""
        return signed(self.cut.weekly) if self.cut is not None and self.cut.weekly is not None else ""

    @property
    def was(self) -> str:
        return range_words(self.before)

    @property
    def chart(self) -> Any:
        """Cost over time; None with fewer than two points."""
        if len(self.history) < 2:
            return None
        points = [(on, float(each)) for on, each in self.history]
        alt = f"Cost of {self.plate.name}, {points[0][0]} to {points[-1][0]}: {points[0][1]:.2f} to {points[-1][1]:.2f}"
        p = self.plate
        most = [Limit(float(p.price * p.target), "target")] if p.price and p.target and p.is_over else []
        return step_chart(points, alt, f"{points[-1][1]:.2f}", most)

    def as_json(self) -> dict[str, Any]:
        steps = None if self.steps is None else [
            {"item": s.name, "what": s.what, "money": str(s.money), "rounded": cash(s.money, 4)}
            for s in self.steps]  # fmt: skip
        history = [{"on": on.isoformat(), "cost": cash(each, 4)} for on, each in self.history]
        items = [dict(zip(PART_COLUMNS, part_row(p), strict=True)) for p in self.parts]
        exact = None if self.plate.each is None else str(self.plate.each)
        return {**self.asked.as_json(), **plate_json(self.plate), "kind": self.kind, "of": f"1 {self.unit}",
                "exact": exact, "items": items, "cost_before": cash(self.before.each), "bridge": steps,
                "history": history, "rewritten": [
                    {"recipe": r.id, "was": list(r.gone), "now": list(r.new)} for r in self.rewritten],
                "cut": None if self.cut is None else self.cut.as_json()}  # fmt: skip


@page("costing/detail.html", needs="cost")
async def detail(datasette: Any, request: Any) -> Any:
    wanted = request.url_vars["recipe"]
    answer: Detail = await query(datasette, lambda connection: _detail(connection, wanted, request.args))
    name = f"cost-{wanted}-{answer.asked.choice.day}"
    return await page_or_file(request, answer, name, ["what", *PART_COLUMNS], lambda: _file_rows(answer))


def _file_rows(answer: Detail) -> list[list[Any]]:
    """Items, bridge and history as one table; the first column says which."""
    empty: list[Any] = [None] * 4
    rows = [["item", *part_row(p)] for p in answer.parts]
    rows += [["moved: " + s.what, s.name, None, None, None, cash(s.money, 4), None, None] for s in answer.steps or ()]
    rows += [["cost on", on.isoformat(), *empty[:3], cash(each, 4), None, None] for on, each in answer.history]
    return rows


def _detail(connection: sqlite3.Connection, wanted: str, args: Any) -> Detail:
    asked = read_asked(connection, args)
    house = read_house(connection, asked.choice.day)
    if wanted not in house.recipes:
        raise NotFound("There is no recipe of that name. The page Cost lists every dish on the menu.")
    recipe, now = house.recipes[wanted], read_sheet(connection, asked.choice)
    before = read_sheet(connection, replace(asked.choice, day=asked.since))
    weekly = read_weekly(connection, house, asked.choice.day)
    size, unit = told_for(recipe)
    return Detail(
        asked, plate_of(plate(house, now, wanted), size), recipe.kind, unit, parts_of(parts(house, now, wanted), size),
        plate_of(plate(before.house, before, wanted), size), steps_of(bridge(before, now, wanted), size),
        [(on, each * size) for on, each in _history(connection, asked, wanted)],
        cut_test(house, now, wanted, weekly) if recipe.kind == "cut" else None, rewritten(before, now, wanted),
    )  # fmt: skip


def _history(connection: sqlite3.Connection, asked: Asked, recipe: str) -> list[tuple[date, Fraction]]:
    """Cost of one base unit of a recipe on evenly spaced days of half a year, days with gaps left out."""
    last = date.fromisoformat(asked.choice.day)
    days: Sequence[date] = [last - HISTORY * n / POINTS for n in range(POINTS, -1, -1)]
    found = []
    for on in days:
        each = read_sheet(connection, replace(asked.choice, day=on.isoformat())).costs.of(recipe)
        if each is not None:
            found.append((on, each))
    return found
