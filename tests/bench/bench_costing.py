"""Cost of every plate of 3,000 recipes and 30,000 lines, one what-if, 200 ageing forecasts, and the menu page."""

from __future__ import annotations

import asyncio
import random
import shutil
import sqlite3
import statistics
import tempfile
import time
from datetime import date, timedelta
from fractions import Fraction as F
from pathlib import Path

from stillroom.db.graph import Line
from stillroom.plugins.costing.sweep import again, compile_book, sweep
from stillroom.plugins.cuts.compute import Lot, Weighing, weight_on

from tests.bench.bench_explosion import ITEMS, best, kitchen

RECURSIVE = """
with recursive walk (top, item, sub, quantity) as (
    select c.recipe, c.item, c.sub, c.quantity / r.made from line as c join recipe as r on r.id = c.recipe
    union all
    select walk.top, c.item, c.sub, walk.quantity * c.quantity / r.made
    from walk join line as c on c.recipe = walk.sub join recipe as r on r.id = c.recipe
)
select top, sum(walk.quantity * price.each) from walk join price on price.item = walk.item group by top
"""


def prices(seed: int = 2) -> dict[str, F]:
    """Prices as suppliers ask them, for one base unit: so many cents a kg, l or piece."""
    chance = random.Random(seed)
    return {f"i{n}": F(chance.randrange(20, 6000), 100) / chance.choice([1000, 1000, 1000, 1]) for n in range(ITEMS)}


def in_sql(yields: dict[str, F], lines: list[Line], worth: dict[str, F]) -> sqlite3.Connection:
    """The same kitchen as tables of floats."""
    db = sqlite3.connect(":memory:")
    db.execute("create table recipe (id text primary key, made real)")
    db.execute("create table line (recipe text, item text, sub text, quantity real)")
    db.execute("create table price (item text primary key, each real)")
    db.executemany("insert into recipe values (?, ?)", [(k, float(v)) for k, v in yields.items()])
    rows = [(x.recipe, x.item, x.sub_recipe, float(x.quantity)) for x in lines]
    db.executemany("insert into line values (?, ?, ?, ?)", rows)
    db.executemany("insert into price values (?, ?)", [(k, float(v)) for k, v in worth.items()])
    db.execute("create index line_recipe on line (recipe)")
    return db


def plates() -> None:
    """All costs at once, and one change."""
    yields, lines = kitchen()
    worth = prices()
    book = compile_book(yields, lines)
    costs = sweep(book, worth)
    db = in_sql(yields, lines, worth)
    for recipe, found in db.execute(RECURSIVE):
        assert abs(float(F(*costs.each[recipe])) - found) <= 1e-9 * found
    swept, whole = best(lambda: sweep(book, worth)), best(lambda: sweep(compile_book(yields, lines), worth))
    sql = best(lambda: db.execute(RECURSIVE).fetchall(), 2)
    print(f"all plate costs, exact: {swept * 1000:.0f} ms; with the book made from lines {whole * 1000:.0f} ms")
    print(f"recursive SQL, floats: {sql * 1000:.0f} ms; ratio {sql / swept:.1f}, with the book {sql / whole:.1f}")
    book.reach(["i0"])  # the way up is made once for each book
    changed = {**worth, "i7": worth["i7"] * 2}
    once = best(lambda: again(book, costs, changed, book.reach(["i7"])))
    line = next(x for x in lines if x.recipe == "r5")
    other = {
        "r5": [*book.lines["r5"][1:], Line("r5", line.component_id, line.item, line.sub_recipe, line.quantity * 2)]
    }
    moved = best(lambda: again(book.with_lines(other), costs, worth, book.reach(["r5"])))
    print(f"what-if, one price: {once * 1000:.1f} ms; one line: {moved * 1000:.1f} ms")


def ageing() -> None:
    """200 lots with twelve weighings each, to their day."""
    begun, chance = date(2026, 1, 1), random.Random(3)
    lots = []
    for n in range(200):
        start, rate = F(chance.randrange(5000, 15000)), chance.uniform(0.4, 0.6)
        seen = tuple(
            Weighing(begun + timedelta(days=d), start - round(float(start) * rate * d**0.8 / 100), 36.0, 80.0)
            for d in range(2, 26, 2)
        )
        lots.append(Lot(f"L{n}", "beef", begun, start, 35, "", F(100), seen, None, None))
    on = begun + timedelta(days=35)
    print(f"forecast of 200 lots: {best(lambda: [weight_on(x, on) for x in lots]) * 1000:.0f} ms")


def two_years(path: Path) -> int:
    """The demonstration kitchen with two years of sales written into it; how many rows."""
    db = sqlite3.connect(path)
    dishes = [r for (r,) in db.execute("select id from recipes where kind = 'dish'")]
    last, chance = date(2026, 11, 25), random.Random(4)
    rows = [
        (f"b-{n}-{dish}-{service}", dish, (last - timedelta(days=n)).isoformat(), service, chance.randrange(1, 12))
        for n in range(730) for dish in dishes for service in ("lunch", "dinner")
    ]  # fmt: skip
    with db:
        db.executemany(
            "insert into plates_sold (request_id, recorded_at, actor, origin, recipe_id, sold_on, service, plates)"
            " values (?, '2026-11-25T00:00:00Z', 'bench', 'file', ?, ?, ?, ?)", rows)  # fmt: skip
    db.close()
    return len(rows)


async def menu(path: Path) -> tuple[float, list[float]]:
    """First answer, then times of 400 answers asked for by eight at once [ms]."""
    from stillroom.loaders.commands import application

    house = application(path)
    await house.invoke_startup()
    address = "/menu?from=2024-11-26"
    start = time.perf_counter()
    assert (await house.client.get(address)).status_code == 200
    first = (time.perf_counter() - start) * 1000
    times: list[float] = []

    async def one() -> None:
        for _ in range(50):
            began = time.perf_counter()
            await house.client.get(address)
            times.append((time.perf_counter() - began) * 1000)

    await asyncio.gather(*(one() for _ in range(8)))
    return first, times


def main() -> None:
    """Prints the figures."""
    from stillroom.loaders.build import build

    plates()
    ageing()
    folder = Path(tempfile.mkdtemp())
    try:
        build(Path(__file__).parents[2] / "db" / "demo", folder / "kitchen.db")
        rows = two_years(folder / "kitchen.db")
        first, times = asyncio.run(menu(folder / "kitchen.db"))
        p95 = statistics.quantiles(times, n=20)[-1]
        print(f"/menu over two years, {rows:,} rows: first {first:.0f} ms; eight at once median"
              f" {statistics.median(times):.0f} ms, p95 {p95:.0f} ms (in one process)")  # fmt: skip
    finally:
        shutil.rmtree(folder)


if __name__ == "__main__":
    main()
