"""While doors are open and after: what was sold is not wanted again, a service that has closed wants nothing."""

from __future__ import annotations

import sqlite3
import sys
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from stillroom.db import demand
from stillroom.db.kitchen import DEFAULTS, at_clock
from stillroom.db.services import Service, part, read_services, sold_in

sys.path[:0] = [str(Path(__file__).parent)]
from test_prep_pages import HOST, listed, rows, send  # noqa: E402

BRILL = "brill-on-the-bone-buttered-samphire"
SAT = date(2026, 11, 28)


def written(file: Path, *statements: tuple[str, tuple[Any, ...]]) -> None:
    connection = sqlite3.connect(file)
    for sql, values in statements:
        connection.execute(sql, values)
    connection.commit()
    connection.close()


def sold(dish: str, plates: int, service: str, on: str = "2026-11-25") -> tuple[str, tuple[Any, ...]]:
    return (
        "insert into plates_sold (request_id, recorded_at, actor, origin, recipe_id, sold_on, service, plates)"
        " values (?, '2026-11-25T18:00:00Z', 'Bea', 'web', ?, ?, ?, ?)",
        (f"{dish}-{service}-{on}-{plates}", dish, on, service, plates),
    )


def at(clock: str, on: str = "2026-11-25") -> list[tuple[str, tuple[Any, ...]]]:
    """It is so late in the kitchen."""
    return [("update kitchen set value = ? where key = 'clock'", (clock,)),
            ("update kitchen set value = ? where key = 'today'", (on,))]  # fmt: skip


@pytest.mark.parametrize("service", ["dinner", "Dinner", ""])
async def test_what_was_sold_is_not_wanted_again(kitchen: Any, service: str) -> None:
    """12 portions cut, 8 of them sold: 4 are there, 4 are still wanted, none is made; /short says the same."""
    await send(kitchen, "/prep/tick", {"key": "brill-portion", "state": "done", "made": "12", "request_id": "d1"})
    written(kitchen.file, sold(BRILL, 8, service))
    found = await listed(kitchen)
    assert "brill-portion" not in rows(found) and "8 plates sold so far" in found["guests"][0]["expected"]
    short = (await kitchen.client.get("/short/brill.json", headers=HOST)).json()
    assert {d["id"]: d["expected"] for d in short["shared"]["ways"][0]["dishes"]}[BRILL] == 4
    day = (await kitchen.client.get("/prep/day.json", headers=HOST)).json()
    (mine,) = [d for d in day["dishes"] if d["dish"] == BRILL]
    assert (mine["ready"], mine["sold"]) == (4, 8)


async def test_what_was_sold_comes_off_a_persons_own_number(kitchen: Any) -> None:
    """20 said for the evening and 8 of them sold: 12 to cut, none there. Sold more than said: none, never below."""
    fields = {"on": "2026-11-25", "service": "dinner", "dish": BRILL, "number": "20", "request_id": "o1"}
    await send(kitchen, "/prep/overrule", fields)
    written(kitchen.file, sold(BRILL, 8, "dinner"))
    assert "need 12" in rows(await listed(kitchen))["brill-portion"]["why"]
    written(kitchen.file, sold(BRILL, 15, "dinner"))
    assert "brill-portion" not in rows(await listed(kitchen)) or "for tomorrow" in rows(
        await listed(kitchen))["brill-portion"]["whom"]  # fmt: skip


async def test_a_lunch_that_is_over_wants_nothing(kitchen: Any) -> None:
    """Saturday, half past three, lunch closed an hour ago: not in the covers' line, no row and no cure of it."""
    lunch = "select count(*) from service_days where weekday = 6 and service = 'lunch' and closes_at = '14:30'"
    connection = sqlite3.connect(kitchen.file)
    assert connection.execute(lunch).fetchone() == (1,)
    connection.close()
    written(kitchen.file, *at("15:30", "2026-11-28"), sold(BRILL, 12, "lunch", "2026-11-28"))
    found = await listed(kitchen)
    assert [g["service"] for g in found["guests"]] == ["dinner"]
    assert not any(r["ready_by"] and r["ready_by"] <= "15:00" for r in rows(found).values())
    assert not any("lunch" in note for note in found["notes"])
    day = (await kitchen.client.get("/prep/day.json", headers=HOST)).json()
    assert {s["service"] for s in day["services"] if s["on"] == "2026-11-28"} == {"dinner"}


async def test_a_counted_thing_is_never_cut_to_halves(kitchen: Any) -> None:
    """No cure says 13 1/2 portions, whatever is late."""
    written(kitchen.file, *at("15:45", "2026-11-28"))
    found = await listed(kitchen)
    counted = [r for r in found["late"] if r["unit"] == "each"]
    assert counted and not any("/2" in cure or "½" in cure for r in counted for cure in r["cures"])


async def test_after_the_last_service_nothing_is_for_today(kitchen: Any) -> None:
    """A quarter to eleven, dinner closed at ten: no batter that only tonight wants; what is not written is said."""
    assert "ale-batter" in rows(await listed(kitchen))
    written(kitchen.file, *at("22:45"))
    found = await listed(kitchen)
    assert "ale-batter" not in rows(found) and (found["guests"], found["no_guests"]) == ([], "Dinner is over.")
    assert not any(r["kind"] in {"make", "thaw", "bath"} and not r["whom"].startswith("for tomorrow")
                   and r["whom"].find("day") < 0 for r in rows(found).values())  # fmt: skip
    assert any("Nothing is written down as sold at dinner" in note for note in found["notes"])
    page = await kitchen.client.get("/prep", headers=HOST)
    assert "Dinner is over." in page.text


@pytest.mark.parametrize(("clock", "is_over"), [("21:55", False), ("22:00", True)])
async def test_it_is_over_when_it_closes(kitchen: Any, clock: str, is_over: bool) -> None:
    """Not a slot sooner."""
    written(kitchen.file, *at(clock))
    assert (await listed(kitchen))["guests"] == [] if is_over else (await listed(kitchen))["guests"] != []


def week_of(opens: str, closes: str, weekday: int, zone: str = "Europe/London") -> Any:
    """A kitchen with one service."""
    connection = sqlite3.connect(":memory:")
    connection.execute("create table service_days (weekday, service, opens_at, closes_at, prep_from)")
    connection.execute("create table holidays (on_date, supplier_id)")
    connection.execute("insert into service_days values (?, 'night', ?, ?, null)", (weekday, opens, closes))
    return connection, {**DEFAULTS, "time zone": zone}


@pytest.mark.parametrize(
    ("on", "closes", "hours"),
    [
        (date(2026, 11, 28), "01:30", 8.5),  # past midnight, before the kitchen's day ends
        (date(2026, 10, 24), "03:00", 11),  # the hour that comes twice: clocks go back at 2:00 BST
        (date(2026, 3, 28), "03:00", 9),  # the hour that never was: clocks go on at 1:00 GMT
        (date(2026, 10, 24), "05:00", 13),  # past the kitchen's own day as well
        (date(2026, 3, 28), "05:00", 11),
    ],
)
def test_nights_past_midnight_and_of_changing_clocks(on: date, closes: str, hours: float) -> None:
    """From five in the afternoon: so many hours of real time. Over at the end of them, and not before."""
    connection, said = week_of("17:00", closes, 6)
    (night,) = read_services(connection, said, on, 1)
    assert (night.closes - night.opens).total_seconds() / 3600 == hours
    assert part([night], night.closes - timedelta(minutes=1)) == ([night], [])
    assert part([night], night.closes) == ([], [night])


def test_the_clock_after_midnight_is_still_last_nights() -> None:
    """Half past midnight of Sunday is Saturday's day: its dinner until one is under way."""
    connection, said = week_of("17:00", "01:00", 6)
    (night,) = read_services(connection, said, SAT, 1)
    assert part([night], at_clock(SAT, "00:30", said))[0] == [night]
    assert part([night], at_clock(SAT, "01:00", said))[0] == []


def test_plates_without_a_services_name_belong_to_the_only_one() -> None:
    """Of a day with lunch and dinner nobody knows which."""
    noon = datetime(2026, 11, 28, 12, tzinfo=UTC)
    lunch, dinner = (Service(SAT, name, n, noon, noon, noon) for n, name in ((1, "lunch"), (2, "dinner")))
    found = [("pie", SAT.isoformat(), "", 3), ("pie", SAT.isoformat(), "dinner", 2)]
    assert sold_in(found, [lunch, dinner]) == {("pie", SAT, "dinner"): 2}
    assert sold_in(found, [dinner]) == {("pie", SAT, "dinner"): 5}


@pytest.mark.parametrize(("sold", "ready", "expected"), [(0, 12, 7.9), (5, 7, 2.9), (9, 3, 0.0), (14, 0, 0.0)])
def test_the_band_follows_what_was_sold(sold: int, ready: int, expected: float) -> None:
    """7.9 expected, ready for 12: both less by what went out, never below none."""
    left = demand.left(demand.Plates("brill", SAT, "dinner", 7.9, 12), sold)
    assert (left.ready, round(left.expected, 6), left.sold) == (ready, expected, sold)


def test_a_service_ahead_carries_its_own_band_once_the_first_is_over() -> None:
    """Of two only the first carries all of its spread; alone the second does."""
    both = [demand.Expected(SAT, name, 40.0, 30.0, 50.0) for name in ("lunch", "dinner")]
    shares = [demand.Share("pie", 0.2)]
    of_two, alone = demand.plates(both, shares)[1], demand.plates(both[1:], shares)[0]
    assert of_two.ready < alone.ready
