"""The days ahead, read from the kitchen's file: services, guests and plates expected, what is there, what must be made.

One reading for everybody who looks ahead: the prep list, orders, what is left in mid-service. The sums are those of
`db.demand` and `db.netting`.
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime, timedelta
from fractions import Fraction
from typing import Any

from stillroom.db import cut_up, demand, netting
from stillroom.db.date_marks import Life
from stillroom.db.doubts import doubts
from stillroom.db.kitchen import day_of, moment, settings
from stillroom.db.named_sql import asker
from stillroom.db.quantity import read_span
from stillroom.db.services import Service, Sold, part, read_services, sold_in
from stillroom.db.stock import Stock, purchased, read_stock

ZERO = Fraction(0)
DAYS = 8  # how far ahead prep looks
SINCE_DAYS = 420  # how far back the log of services is read: a year for the season, and the weeks before it
THAW_G = 1814  # g that thaw in the refrigerator in a day: 24 hours for 4 to 5 lb, USDA FSIS "The Big Thaw", from memory
UNDER_WAY_DAYS = 4


@dataclass(frozen=True)
class Recipe:
    """A recipe in use; seconds are for one batch."""

    id: str
    name: str
    kind: str
    section: str
    station: str | None
    unit: str
    batch: Fraction
    least: Fraction | None
    pan: Fraction | None
    life_days: int | None
    active_s: int
    passive_s: int
    from_on: str | None
    to_on: str | None
    bath_s: int
    is_kept_frozen: bool = False

    def is_on_menu(self, on: date, until: date | None = None) -> bool:
        """Whether it is on the menu on a day, or on one of the days up to another."""
        return (self.from_on or "0") <= (until or on).isoformat() and on.isoformat() <= (self.to_on or "9")


@dataclass(frozen=True)
class UnderWay:
    """Work that was begun: how much is under way, when it will be ready, who began it and when [UTC]."""

    recipe: str
    quantity: Fraction
    ends_at: str | None
    began_at: str
    by: str
    prep_on: str


@dataclass
class Coming:
    """Everything that looking ahead needs, read once.

    services: those under way and ahead; over: today's that have closed. What was sold in one under way is no longer
    among the plates that it wants.
    """

    said: dict[str, str]
    today: date
    services: list[Service]
    log: list[demand.Served]
    expected: list[demand.Expected]
    plates: list[demand.Plates]
    recipes: dict[str, Recipe]
    stocks: dict[str, Stock]
    under_way: list[UnderWay]
    pars: dict[tuple[str, int | None], Fraction]
    plan: netting.Plan = field(default_factory=netting.Plan)
    bare: netting.Plan = field(default_factory=netting.Plan)  # what the day needs: pars only where nothing else tells
    doubts: dict[str, str] = field(default_factory=dict)  # thing -> what is doubtful about its stock
    things: list[netting.Thing] = field(default_factory=list)  # recipes as netting sees them, by level
    held: dict[str, list[netting.Held]] = field(default_factory=dict)  # what is there, and what is under way
    works: Callable[[date], bool] = lambda _: True  # whether somebody works on a day
    over: list[Service] = field(default_factory=list)
    sold: Sold = field(default_factory=dict)  # plates of today's services that went out

    def service_on(self, on: date, order: int) -> Service | None:
        """A day's service by its number."""
        return next((s for s in self.services if (s.on, s.order) == (on, order)), None)

    def par(self, thing: str, on: date) -> Fraction:
        """What should be on hand on a day; 0 for no par."""
        return self.pars.get((thing, on.isoweekday()), self.pars.get((thing, None), ZERO))


ask = asker("stillroom.db")


def read_recipes(connection: sqlite3.Connection) -> dict[str, Recipe]:
    """Recipes in use, by level."""
    found = {}
    for row in ask(connection, "made_recipes"):
        ident, name, kind, section, station, unit, batch, least, pan, life, *times, storage, unmarked = row
        active, passive, begin, end, bath = times
        found[ident] = Recipe(
            ident, name, kind, section, station, unit, Fraction(batch), Fraction(least) if least else None,
            Fraction(pan) if pan else None, _life(kind, life, unmarked), active or 0, passive or 0, begin, end,
            int(bath or 0), _is_frozen(storage),
        )  # fmt: skip
    return found


def _life(kind: str, life: int | None, unmarked: str) -> int | None:
    """Days that what is made keeps; a plate is made when it is sold, so without a word of its own it has none."""
    return None if kind == "dish" and life is None else Life(life, unmarked).days


def _is_frozen(storage: str) -> bool:
    return "freezer" in storage.lower()


def read_coming(
    connection: sqlite3.Connection, days: int = DAYS, extra: Iterable[str] = (), is_netted: bool = True,
    now: datetime | None = None,
) -> Coming:  # fmt: skip
    """The days ahead, netted.

    Args:
        connection: for reading.
        days: how many, today among them.
        extra: items whose stock is wanted as well.
        is_netted: False for guests and plates alone.
        now: the instant; None: the kitchen's own clock.
    """
    said = settings(connection)
    today = day_of(said, now)
    recipes = read_recipes(connection)
    served = [
        demand.Served(date.fromisoformat(on), service, booked, covers)
        for on, service, booked, covers in ask(connection, "served")
        if (today - date.fromisoformat(on)).days <= SINCE_DAYS
    ]
    services, over = part(read_services(connection, said, today, days), moment(said, now))
    expected = _expected(connection, served, services, today)
    if not is_netted:
        coming = Coming(said, today, services, served, expected, [], recipes, {}, [], {}, over=over)
        coming.plates = _plates(connection, coming)
        return coming
    stocks = read_stock(connection, [*recipes, *extra], today.isoformat())
    pars = {(thing, weekday): Fraction(q) for thing, weekday, q in ask(connection, "all_pars")}
    since = (today - timedelta(days=UNDER_WAY_DAYS)).isoformat()
    under_way = _under_way(connection, since, today.isoformat())
    coming = Coming(said, today, services, served, expected, [], recipes, stocks, under_way, pars, over=over)
    coming.plates = _plates(connection, coming)
    coming.plan, coming.bare = _net(connection, coming, days)
    coming.doubts = doubts(connection, stocks, {r.id: r.life_days for r in recipes.values()}, today)
    return coming


def _under_way(connection: sqlite3.Connection, since: str, day: str) -> list[UnderWay]:
    """What was begun since a day and is not finished; a cut is, once a breakdown of it is written."""
    cuts = {one for (one,) in connection.execute("select id from recipes where kind = 'cut'")}
    return [
        UnderWay(recipe, Fraction(quantity or 0), ends, began, by, on)
        for recipe, quantity, ends, began, by, on, before in ask(connection, "under_way", since=since)
        if recipe not in cuts or cut_up.given(connection, recipe, on, day) <= Fraction(before)
    ]


def _expected(
    connection: sqlite3.Connection, served: Sequence[demand.Served], services: Sequence[Service], today: date
) -> list[demand.Expected]:
    found = demand.expect_all(served, [(s.on, s.name) for s in services], today)
    told = {(on, service): (number, actor) for on, service, dish, number, actor, _ in
            ask(connection, "overrules", day=today.isoformat()) if dish is None}  # fmt: skip
    return [
        demand.overrule(e, *told[key]) if (key := (e.on.isoformat(), e.service)) in told else e for e in found
    ]


def far_plates(connection: sqlite3.Connection, coming: Coming, days: int) -> list[demand.Plates]:
    """Plates expected of the days ahead, today among them: half of all such runs of days want more.

    Args:
        connection: for reading.
        coming: what was read of today.
        days: how many; may be many more than `coming` has.
    """
    gone = {(s.on, s.order) for s in coming.over}
    every = read_services(connection, coming.said, coming.today, days)
    services = [s for s in every if (s.on, s.order) not in gone]
    expected = _expected(connection, coming.log, services, coming.today)
    return _plates(connection, replace(coming, services=services, expected=expected), 0.0)


def _plates(connection: sqlite3.Connection, coming: Coming, z: float = demand.BAND_Z) -> list[demand.Plates]:
    """Plates to be ready for: of dishes on the menu that day and not out, people's own numbers in their place.

    What was sold already is taken off.
    """
    today = coming.today
    since = (today - timedelta(days=demand.MIX_WEEKS * 7)).isoformat()
    rows = ask(connection, "sold_since", since=since)
    sold = [demand.Sold(dish, date.fromisoformat(on), service, number) for dish, on, service, number in rows]
    coming.sold = sold_in(rows, [s for s in (*coming.over, *coming.services) if s.on == today])
    last = coming.services[-1].on if coming.services else today
    dishes = [r for r in coming.recipes.values() if r.kind == "dish" and r.is_on_menu(today, last)]
    shares = demand.mix([demand.Dish(d.id, d.section) for d in dishes], sold, coming.log, today)
    out = {dish for (dish,) in ask(connection, "out_now")}
    told = {(on, service, dish): (number, actor) for on, service, dish, number, actor, _ in
            ask(connection, "overrules", day=today.isoformat()) if dish}  # fmt: skip
    found = []
    for one in demand.plates(coming.expected, shares, z):
        number, by = told.get((one.on.isoformat(), one.service, one.dish), (one.ready, ""))
        is_off = not coming.recipes[one.dish].is_on_menu(one.on) or (one.dish in out and one.on == today)
        served = coming.sold.get((one.dish, one.on, one.service), 0)
        found.append(demand.left(replace(one, ready=0 if is_off else number, by=by), served))
    return found


def _net(connection: sqlite3.Connection, coming: Coming, days: int) -> tuple[netting.Plan, netting.Plan]:
    """Runs and needs with the kitchen's pars, and without."""
    uses: dict[str, list[netting.Use]] = {}
    for recipe, thing, quantity, is_item, share in ask(connection, "recipe_lines"):
        each = Fraction(quantity)
        if is_item:
            each = purchased(each, Fraction(share) if share else None)
        uses.setdefault(recipe, []).append(netting.Use(thing, each))
    things = coming.things = [thing_of(r, uses.get(r.id, ())) for r in coming.recipes.values()]
    order = {(s.on, s.name): s.order for s in coming.services}
    wanted = [netting.Need(p.dish, p.on, order[p.on, p.service], Fraction(p.ready)) for p in coming.plates if p.ready]
    held, calendar = _held(coming), _calendar(connection, coming, days)
    coming.held, coming.works = held, calendar.works
    known = netting.reached(things, wanted)
    bare = netting.net(things, wanted, held, lambda t, on: ZERO if t in known else coming.par(t, on), calendar)
    return netting.net(things, wanted, held, coming.par, calendar), bare


def thing_of(recipe: Recipe, uses: Sequence[netting.Use]) -> netting.Thing:
    """A recipe as netting sees it. A cut is portioned and, where it has a bath, goes into it for one service only."""
    minutes = -(-(recipe.active_s + recipe.passive_s) // 60)
    return netting.Thing(
        recipe.id, recipe.batch, tuple(uses), recipe.kind != "dish", recipe.least, recipe.pan, recipe.life_days,
        minutes=minutes, hands=-(-recipe.active_s // 60),
    )  # fmt: skip


def _held(coming: Coming) -> dict[str, list[netting.Held]]:
    found: dict[str, list[netting.Held]] = {}
    for thing, of in coming.stocks.items():
        is_served_frozen = thing in coming.recipes and coming.recipes[thing].is_kept_frozen
        found[thing] = [
            netting.Held(x.quantity, _day(x.use_by), None, x.is_frozen and not is_served_frozen) for x in of.lots
        ]
    for work in coming.under_way:
        ready = date.fromisoformat(work.ends_at[:10]) if work.ends_at else coming.today
        found.setdefault(work.recipe, []).append(netting.Held(work.quantity, None, max(ready, coming.today)))
    return found


def _day(text: str | None) -> date | None:
    return date.fromisoformat(text) if text else None


def _calendar(connection: sqlite3.Connection, coming: Coming, days: int) -> netting.Calendar:
    margin = timedelta(seconds=read_span(coming.said["ready before opening"]))
    firsts = {s.on: s for s in reversed(coming.services)}
    window = {on: int((s.opens - margin - s.prep_from).total_seconds()) // 60 for on, s in firsts.items()}
    working = {day for (day,) in ask(connection, "work_days")} or {w for w, *_ in ask(connection, "service_week")}
    closed = {date.fromisoformat(day) for (day,) in ask(connection, "closed")}
    units = {r.id: r.unit for r in coming.recipes.values()}
    return netting.Calendar(
        coming.today, coming.today + timedelta(days=days - 1), {on: s.order for on, s in firsts.items()},
        lambda on: on.isoweekday() in working and on not in closed,
        lambda thing, q: 1 if units.get(thing) == "each" else max(1, -(-int(q) // THAW_G)), window,
    )  # fmt: skip


def shares_text(expected: demand.Expected) -> str:
    """The weekday's factor as people say it: 'Friday 1.3 × usual'; '' where it is near 1."""
    if abs(expected.factor - 1) < 0.05:
        return ""
    return f"{expected.on:%A} {expected.factor:.1f} × usual"


def version(connection: sqlite3.Connection) -> str:
    """A text that changes whenever something is written: for pages that ask again only if so."""
    rows = ("task_ticks", "batches", "counts", "batch_uses", "shortages", "covers", "plates_sold", "absences",
            "forecast_overrules", "order_lines", "deliveries", "loads", "batch_freezes",
            "ageing_lots", "weigh_ins", "breakdowns", "breakdown_outputs", "lot_reservations")  # fmt: skip
    return json.dumps([_last(connection, table) for table in rows])


def _last(connection: sqlite3.Connection, table: str) -> Mapping[str, Any] | int:
    (number,) = connection.execute(f"select coalesce(max(id), 0) from {table}").fetchone()
    return int(number)
