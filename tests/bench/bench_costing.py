"""Cost of every plate of 3,000 recipes and 30,000 lines, one what-if, and the menu page over two years of sales."""

from __future__ import annotations

import random
import shutil
import sqlite3
import statistics
import tempfile
import time
from concurrent.futures import ThreadPoolExecutor
from datetime import date, timedelta
from fractions import Fraction as F
from http.client import HTTPConnection
from pathlib import Path

from stillroom.db.graph import Line
from stillroom.plugins.costing.sweep import again, compile_book, sweep

from tests.bench.bench_explosion import ITEMS, WALK, best, kitchen
from tests.bench.serving import kitchen as served

ADDRESS = "/menu?from=2024-11-26"
RECURSIVE = f"""{WALK}
select walk.recipe, sum(walk.quantity * price.each) from walk join price on price.item = walk.item group by walk.recipe
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
    print(f"all plate costs, exact: from the lines of the file, as after a load, {whole * 1000:.0f} ms; other prices on"
          f" the same recipes {swept * 1000:.0f} ms")  # fmt: skip
    print(f"recursive SQL, floats: {sql * 1000:.0f} ms; ratios {sql / whole:.1f} and {sql / swept:.1f}")
    book.reach(["i0"])  # the way up is made once for each book
    changed = {**worth, "i7": worth["i7"] * 2}
    once = best(lambda: again(book, costs, changed, book.reach(["i7"])))
    line = next(x for x in lines if x.recipe == "r5")
    other = {
        "r5": [*book.lines["r5"][1:], Line("r5", line.component_id, line.item, line.sub_recipe, line.quantity * 2)]
    }
    moved = best(lambda: again(book.with_lines(other), costs, worth, book.reach(["r5"])))
    print(f"what-if, one price: {once * 1000:.1f} ms; one line: {moved * 1000:.1f} ms")


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


def menu(path: Path, connections: int = 8, each: int = 40) -> tuple[float, list[float], float]:
    """First answer of /menu, times of the answers over some connections at once [ms], and answers a second."""
    with served(path) as (port, _):
        first = _ask(HTTPConnection("127.0.0.1", port, timeout=60))
        began = time.perf_counter()
        with ThreadPoolExecutor(connections) as pool:
            found = list(pool.map(lambda _: _times(port, each), range(connections)))
        whole = time.perf_counter() - began
    times = [t for own in found for t in own]
    return first, times, len(times) / whole


WRITTEN = {
    "a count": "counts (item_id, counted_on, quantity, unit, {}) values ('brill', '2026-11-25', '9000', 'g', {})",
    "a sale": "plates_sold (recipe_id, sold_on, plates, {}) select id, '2026-11-25', 2, {} from recipes limit 1",
    "a delivery": "deliveries (supplier_id, item_id, received_on, unit, received, price, priced_quantity, {})"
    " values ('hollow-creek-boats', 'brill', '2026-11-25', 'g', '5000', '18', '1000', {})",
}


def after_a_row(path: Path) -> dict[str, float]:
    """The first answer of /menu after a row of each log [ms]."""
    frame, values = "request_id, recorded_at, actor, origin", "lower(hex(randomblob(9))), '', 'bench', 'web'"
    found = {}
    with served(path) as (port, _):
        connection = HTTPConnection("127.0.0.1", port, timeout=60)
        _ask(connection)
        for name, row in WRITTEN.items():
            db = sqlite3.connect(path, isolation_level=None)
            db.execute("insert into " + row.format(frame, values))
            db.close()
            found[name] = _ask(connection)
    return found


def _ask(connection: HTTPConnection) -> float:
    began = time.perf_counter()
    connection.request("GET", ADDRESS)
    answer = connection.getresponse()
    body = answer.read()
    assert answer.status == 200 and b"Menu mix" in body
    return (time.perf_counter() - began) * 1000


def _times(port: int, each: int) -> list[float]:
    connection = HTTPConnection("127.0.0.1", port, timeout=60)
    return [_ask(connection) for _ in range(each)]


def main() -> None:
    """Prints the figures."""
    from stillroom.loaders.build import build

    plates()
    folder = Path(tempfile.mkdtemp())
    try:
        build(Path(__file__).parents[2] / "db" / "demo", folder / "kitchen.db")
        rows = two_years(folder / "kitchen.db")
        first, times, rate = menu(folder / "kitchen.db")
        p95 = statistics.quantiles(times, n=20)[-1]
        print(f"/menu over two years, {rows:,} rows: first {first:.0f} ms; 8 connections median"
              f" {statistics.median(times):.0f} ms, p95 {p95:.0f} ms, {rate:.0f} a second")  # fmt: skip
        said = (f"after {name} {ms:.0f} ms" for name, ms in after_a_row(folder / "kitchen.db").items())
        print(f"/menu, the first answer {', '.join(said)}")
    finally:
        shutil.rmtree(folder)


if __name__ == "__main__":
    main()
