"""Explosion of 3,000 recipes and 30,000 lines, exact, against the recursive SQL of the same (which is not exact)."""

from __future__ import annotations

import random
import sqlite3
import time
from collections.abc import Callable
from fractions import Fraction as F

from stillroom.db.graph import Line, explode

RECIPES, ITEMS, LINES_EACH, DEPTH = 3_000, 2_000, 10, 8
OZ, LB, QT, CUP = F("28.349523125"), F("453.59237"), F("946.352946"), F("236.5882365")
NUMBERS = [F(1, 4), F(1, 2), F(3, 4), *(F(n) for n in (1, 2, 3, 4, 5, 6, 8, 10, 12))]
YIELDS = [F(1), F(500), F(1000), F(2000), *(QT * n for n in (1, 2, 3, 4, 6, 8)), *(LB * n for n in (1, 2, 5, 10))]
WALK = """
with recursive walk (recipe, item, sub, quantity) as (
    select c.recipe, c.item, c.sub, c.quantity / r.made from line as c join recipe as r on r.id = c.recipe
    union all
    select walk.recipe, c.item, c.sub, walk.quantity * c.quantity / r.made
    from walk join line as c on c.recipe = walk.sub join recipe as r on r.id = c.recipe
)
"""  # every path of every recipe, by the database itself
RECURSIVE = f"""{WALK}
select recipe, item, sum(quantity) from walk where item is not null group by recipe, item
"""


def kitchen(seed: int = 1) -> tuple[dict[str, F], list[Line]]:
    """A made-up kitchen with quantities and yields as cooks write them, eight levels deep."""
    chance = random.Random(seed)
    per_level = RECIPES // DEPTH
    yields: dict[str, F] = {}
    lines: list[Line] = []
    for number in range(RECIPES):
        recipe, level = f"r{number}", number // per_level
        yields[recipe] = chance.choice(YIELDS)
        for _ in range(LINES_EACH):
            quantity = chance.choice(NUMBERS) * chance.choice([F(1), F(10), OZ, LB, QT, CUP])
            if level and chance.random() < 0.13:
                sub = f"r{chance.randrange((level - 1) * per_level, level * per_level)}"
                lines.append(Line(recipe, len(lines), None, sub, quantity))
            else:
                lines.append(Line(recipe, len(lines), f"i{chance.randrange(ITEMS)}", None, quantity))
    return yields, lines


def best(work: Callable[[], object], runs: int = 5) -> float:
    """Shortest of several runs [s]."""
    times = []
    for _ in range(runs):
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return min(times)


def main() -> None:
    """Prints the figures."""
    yields, lines = kitchen()
    db = sqlite3.connect(":memory:")
    db.execute("create table recipe (id text primary key, made real)")
    db.execute("create table line (recipe text, item text, sub text, quantity real)")
    db.executemany("insert into recipe values (?, ?)", [(k, float(v)) for k, v in yields.items()])
    rows = [(x.recipe, x.item, x.sub_recipe, float(x.quantity)) for x in lines]
    db.executemany("insert into line values (?, ?, ?, ?)", rows)
    db.execute("create index line_recipe on line (recipe)")
    amounts = explode(yields, lines)
    cells = sum(1 for recipe in amounts for _ in amounts.items_of(recipe))
    ours = best(lambda: explode(yields, lines))
    sql = best(lambda: db.execute(RECURSIVE).fetchall(), 2)
    print(f"explosion, exact: {ours * 1000:.0f} ms for {len(lines):,} lines, {cells:,} recipe x item")
    print(f"recursive SQL, floats: {sql * 1000:.0f} ms; ratio {sql / ours:.1f}")


if __name__ == "__main__":
    main()
