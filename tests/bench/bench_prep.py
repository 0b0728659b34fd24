"""The day: how long it takes, and what a week of it comes to beside the plain par method.

1. Netting and laying out a day of 400 runs, 12 people, 30 pieces of equipment; a plan after one tick.
2. Orders for 2,000 items.
3. /prep from eight connections at once, on the demonstration (p95 of 400 answers).
4. Two hundred weeks of sales from a stated process, prepared each morning in two ways: as stillroom does, and by a
plain
   par: mean daily use of the last four weeks plus 1.28 standard deviations, the same every day, in whole batches,
   filled up each morning. Twelve dishes, one preparation each, batches of 2 to 8 plates, shelf lives of 1 to 4 days,
   five services a week with 0.7 to 1.4 of the mean covers, Poisson plates, covers that wander by 9 %. What is past its
   date in the morning is waste; what a guest asks for and is not there is lost.
"""

from __future__ import annotations

import math
import random
import subprocess
import sys
import threading
import time
import urllib.request
from datetime import date, timedelta
from fractions import Fraction as F
from pathlib import Path
from tempfile import TemporaryDirectory

from stillroom.db.demand import Dish, Served, Sold, expect, mix, plates
from stillroom.db.netting import Calendar, Held, Need, Thing, Use, net
from stillroom.plugins.orders.compute import Supplier, There, Wanted, drops, line, packed
from stillroom.plugins.prep.schedule import plan, replan

sys.path[:0] = [str(Path(__file__).parents[1] / "plugins" / "prep")]
from days import drawn_day  # noqa: E402

WED = date(2026, 11, 25)
WEEKS, WARM_UP = 200, 6
PORT = "8956"
WEEK = {3: 0.7, 4: 0.8, 5: 1.25, 6: 1.4, 7: 0.9}


def book(dice: random.Random, runs: int = 400) -> tuple[list[Thing], list[Need]]:
    """Forty dishes over four levels of sub-recipes."""
    level = [f"r{n}" for n in range(runs)]
    things = [
        Thing(f"d{n}", F(1), tuple(Use(u, F(dice.randint(5, 200))) for u in dice.sample(level[:100], 6)), is_made=False)
        for n in range(40)
    ]
    for n, name in enumerate(level):
        below = level[n + 1 : n + 120]
        uses = tuple(Use(u, F(dice.randint(10, 900))) for u in dice.sample(below, min(2, len(below))))
        things.append(Thing(name, F(dice.randint(500, 4000)), uses, life_days=dice.choice([None, 1, 2, 5]), minutes=60))
    wanted = [Need(f"d{n}", WED + timedelta(days=d), 1, F(dice.randint(3, 25))) for n in range(40) for d in range(4)]
    return things, wanted


def times() -> None:
    """Table 1 and 2, in seconds of one processor."""
    dice = random.Random(7)
    things, wanted = book(dice)
    days = {WED + timedelta(days=d): 1 for d in range(8)}
    tasks, house = drawn_day(1, 400, 12, 30, 1200)
    begin = time.process_time()
    found = net(things, wanted, {}, lambda *_: F(0), Calendar(WED, WED + timedelta(days=7), days))
    middle = time.process_time()
    said = plan(tasks, house)
    end = time.process_time()
    today = sum(r.begin_on == WED for r in found.runs)
    print(f"net {len(found.runs)} runs ({today} of them today) {middle - begin:.2f} s")
    print(f"lay out 400 tasks {end - middle:.2f} s, together {end - begin:.2f} s (at most 1 wanted)")
    begin = time.process_time()
    replan(tasks[1:], house, said.places)
    print(f"after one tick {time.process_time() - begin:.3f} s (at most 0.3 wanted)")
    begin = time.process_time()
    ahead = drops(Supplier("s", "S", "135", 1, "14:00"), WED, "09:00")
    for _ in range(2000):
        wants = [Wanted(WED + timedelta(days=d), F(dice.randint(0, 900))) for d in range(14)]
        there = [There(F(dice.randint(0, 4000)), WED, WED + timedelta(days=dice.randint(0, 9)))]
        packed(line(wants, there, lambda _: F(0), ahead, WED, 7).short, F(2500), "g")
    print(f"orders of 2,000 items {time.process_time() - begin:.2f} s (at most 0.5 wanted)")


def pages() -> None:
    """Table 3; beside it a page that asks two small questions, in the same run."""
    with TemporaryDirectory() as folder:
        command = [sys.executable, "-m", "stillroom.loaders.cli", "serve", "--db", f"{folder}/k.db", "--port", PORT]
        server = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        try:
            _wait(f"http://127.0.0.1:{PORT}/prep?station=fish")
            for path in ("/prep?station=fish", "/out"):
                found = _eight(f"http://127.0.0.1:{PORT}{path}")
                p50, p95 = found[len(found) // 2], found[int(len(found) * 0.95)]
                print(f"{path:20} at 8 connections: p50 {1000 * p50:.0f} ms, p95 {1000 * p95:.0f} ms (40 wanted)")
        finally:
            server.terminate()
            server.wait(10)


def _eight(url: str) -> list[float]:
    """Seconds of 400 answers to eight askers, sorted."""
    found: list[float] = []
    threads = [threading.Thread(target=_ask, args=(url, found)) for _ in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return sorted(found)


def _wait(url: str) -> None:
    for _ in range(300):
        try:
            urllib.request.urlopen(url, timeout=30).read()
            return
        except OSError:
            time.sleep(0.2)


def _ask(url: str, found: list[float]) -> None:
    for _ in range(50):
        begin = time.perf_counter()
        urllib.request.urlopen(url, timeout=30).read()
        found.append(time.perf_counter() - begin)


class Larder:
    """Lots of each preparation, oldest first; what was lost and thrown away."""

    def __init__(self) -> None:
        self.lots: dict[str, list[Held]] = {}
        self.lost = self.wasted = self.sold = self.made = 0

    def morning(self, on: date) -> None:
        for name, lots in self.lots.items():
            self.wasted += sum(int(x.quantity) for x in lots if x.use_by is not None and x.use_by < on)
            self.lots[name] = [x for x in lots if x.use_by is None or x.use_by >= on]

    def make(self, name: str, number: int, use_by: date) -> None:
        if number:
            self.made += number
            self.lots.setdefault(name, []).append(Held(F(number), use_by))

    def sell(self, name: str, number: int) -> None:
        left = F(number)
        kept = []
        for lot in sorted(self.lots.get(name, []), key=lambda x: x.use_by or date.max):
            taken = min(left, lot.quantity)
            left -= taken
            if lot.quantity > taken:
                kept.append(Held(lot.quantity - taken, lot.use_by))
        self.lots[name] = kept
        self.lost += int(left)
        self.sold += number - int(left)


def week_by_week() -> None:
    """Table 4."""
    dice = random.Random(11)
    dishes = [f"d{n}" for n in range(12)]
    share = {d: dice.uniform(0.03, 0.25) for d in dishes}
    batch, life = {d: dice.randint(2, 8) for d in dishes}, {d: dice.randint(1, 4) for d in dishes}
    ours, par = Larder(), Larder()
    log: list[Served] = []
    sold: list[Sold] = []
    first, level = date(2023, 1, 2), 60.0
    for week in range(WEEKS + WARM_UP):
        level = max(30.0, min(110.0, level * math.exp(dice.gauss(0, 0.03))))
        for weekday, factor in WEEK.items():
            on = first + timedelta(days=7 * week + weekday - 1)
            covers = max(1, round(level * factor * math.exp(dice.gauss(0, 0.09))))
            asked = {d: _poisson(dice, covers * share[d]) for d in dishes}
            if week >= WARM_UP:
                _ours(ours, log[-120:], sold[-2000:], on, dishes, batch, life)
                _par(par, sold, on, dishes, batch, life)
                for d in dishes:
                    ours.sell(d, asked[d])
                    par.sell(d, asked[d])
            log.append(Served(on, "dinner", None, covers))
            sold += [Sold(d, on, "dinner", n) for d, n in asked.items()]
    print(f"{WEEKS} weeks, 12 dishes{'':12}{'plates lost':>13}{'plates wasted':>15}{'made':>9}")
    for name, larder in (("stillroom", ours), ("plain par", par)):
        asked_in_all = larder.sold + larder.lost
        lost, wasted = larder.lost / asked_in_all, larder.wasted / larder.made
        print(f"{name:31}{100 * lost:12.1f}%{100 * wasted:14.1f}%{larder.made:9}")


def _ours(
    larder: Larder, log: list[Served], sold: list[Sold], on: date, dishes: list[str], batch: dict[str, int],
    life: dict[str, int],
) -> None:  # fmt: skip
    larder.morning(on)
    services = _next_services(on)
    said = [expect(log, day, "dinner", on) for day in services]
    shares = mix([Dish(d) for d in dishes], sold, log, on)
    wanted = [Need(p.dish, p.on, 1, F(p.ready)) for p in plates(said, shares)]
    things = [Thing(d, F(batch[d]), life_days=life[d]) for d in dishes]
    found = net(things, wanted, larder.lots, lambda *_: F(0), Calendar(on, services[-1], dict.fromkeys(services, 1)))
    for run in found.runs:
        if run.begin_on == on:
            larder.make(run.thing, int(run.quantity), on + timedelta(days=life[run.thing] - 1))


def _next_services(on: date) -> list[date]:
    days = (on + timedelta(days=n) for n in range(7))
    return [d for d in days if d.isoweekday() in WEEK][:4]


def _par(
    larder: Larder, sold: list[Sold], on: date, dishes: list[str], batch: dict[str, int], life: dict[str, int]
) -> None:
    larder.morning(on)
    recent: dict[str, list[int]] = {}
    for s in sold[-20 * len(dishes) :]:
        recent.setdefault(s.dish, []).append(s.plates)
    for d in dishes:
        numbers = recent[d]
        mean = sum(numbers) / len(numbers)
        spread = math.sqrt(sum((n - mean) ** 2 for n in numbers) / len(numbers))
        short = math.ceil(mean + 1.2816 * spread) - int(sum(x.quantity for x in larder.lots.get(d, [])))
        larder.make(d, math.ceil(max(0, short) / batch[d]) * batch[d], on + timedelta(days=life[d] - 1))


def _poisson(dice: random.Random, mean: float) -> int:
    limit, number, product = math.exp(-mean), 0, dice.random()
    while product > limit:
        number, product = number + 1, product * dice.random()
    return number


def main() -> None:
    """Prints all four."""
    times()
    pages()
    week_by_week()


if __name__ == "__main__":
    main()
