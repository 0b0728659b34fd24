"""A day's tasks from what must be made, on a kitchen of a few lines; odd nights; what is late and what mends it."""

from __future__ import annotations

import sys
from collections.abc import Mapping
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from fractions import Fraction as F
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from stillroom.db.coming import Coming, Recipe, UnderWay
from stillroom.db.kitchen import DEFAULTS, at_clock, moment
from stillroom.db.netting import Need, Plan, Run
from stillroom.db.services import Service
from stillroom.plugins.prep.board import Hold, Place
from stillroom.plugins.prep.cures import smaller_share
from stillroom.plugins.prep.day import Day, Facts, Kit, Person, Take, slot_of
from stillroom.plugins.prep.heat import is_on
from stillroom.plugins.prep.layout import late_tasks, lay_out
from stillroom.plugins.prep.tasks import day_of_work, hands_s

sys.path[:0] = [str(Path(__file__).parent)]
from days import cold, faults  # noqa: E402

WED = date(2026, 11, 25)
SAID = {**DEFAULTS, "time zone": "Europe/London", "today": WED.isoformat(), "clock": "13:00"}
NOON = datetime(2026, 11, 25, 12, tzinfo=UTC)


def recipe(name: str, kind: str = "sub-recipe", **over: object) -> Recipe:
    plain = {"section": "", "station": "larder", "unit": "ml", "batch": F(1000), "least": None, "pan": None,
             "life_days": 3, "active_s": 1200, "passive_s": 0, "from_on": None, "to_on": None, "bath_s": 0}  # fmt: skip
    return Recipe(name, name.capitalize(), kind, **{**plain, **over})  # type: ignore[arg-type]


def coming(*recipes: Recipe, runs: tuple[Run, ...] = (), **over: object) -> Coming:
    """A Wednesday with dinner at five; the same runs without any par."""
    dinner = Service(WED, "dinner", 1, NOON + timedelta(hours=5), NOON + timedelta(hours=10), NOON)
    found = Coming(dict(SAID), WED, [dinner], [], [], [], {r.id: r for r in recipes}, {}, [], {})
    found.plan, found.bare = Plan(list(runs)), Plan(list(runs))
    for name, value in over.items():
        setattr(found, name, value)
    return found


def facts(*kits: Kit, takes: dict[str, list[Take]] | None = None, absences: tuple[Any, ...] = ()) -> Facts:
    """Ines, at the larder, from noon to ten."""
    who = {"ines": Person("ines", "Ines", ("larder",))}
    return Facts({k.id: k for k in kits}, takes or {}, who, [("ines", 3, "12:00", "22:00")], absences)


def run(thing: str, batches: int | F = 1, **over: object) -> Run:
    return Run(thing, F(batches) * 1000, F(batches), WED, WED, 1, **over)  # type: ignore[arg-type]


def test_a_run_is_a_task_with_hands_and_a_deadline() -> None:
    """20 min of hands, ready half an hour before five, for who holds the station."""
    day = day_of_work(coming(recipe("dip"), runs=(run("dip"),)), facts(), NOON + timedelta(hours=1))
    task = day.works["dip"].task
    assert (task.active, task.passive, task.people) == (4, 0, ("ines",))
    assert day.at(task.due) == NOON + timedelta(hours=4, minutes=30) and day.at(task.ready) == NOON + timedelta(hours=1)


@pytest.mark.parametrize(("batches", "minutes"), [(F(1, 4), 10), (F(1), 20), (F(3), 40)])
def test_hands_for_batches(batches: F, minutes: int) -> None:
    """The first whole, each further half; a part of a batch no less than half."""
    assert hands_s(recipe("dip"), batches) == minutes * 60


def test_a_batch_larger_than_the_pot_goes_in_two_goes() -> None:
    """Churn of 2 litres, a batch of 3: two goes after each other, and it says that one batch is too large."""
    churn = Kit("churn", "Churn", "larder", F(2), "litre", 0)
    book = coming(recipe("ice", batch=F(3000)), runs=(Run("ice", F(3000), F(1), WED, WED, 1),))
    day = day_of_work(book, facts(churn, takes={"ice": [Take("churn", F(1), None)]}), NOON)
    first, second = day.works["ice~1"], day.works["ice~2"]
    assert first.too_large == "Churn" and second.task.after == ("ice~1",)
    assert all(u.amount <= 2 for w in (first, second) for u in w.task.uses)


def test_what_uses_a_thing_waits_for_it_and_for_the_fire() -> None:
    """The sauce waits for its oil, the oil for the fire; the fire is lit by hand and hot before it."""
    fire = Kit("fire", "Fire", "larder", F(2), "rack", 3300)
    runs = (run("sauce"), Run("oil", F(1000), F(1), WED, WED, 0, by=("sauce",)))
    book = coming(recipe("sauce"), recipe("oil"), runs=runs)
    day = day_of_work(book, facts(fire, takes={"oil": [Take("fire", F(1), None)]}), NOON)
    laid = lay_out(day)
    ends = {k: p.start + day.works[k].task.slots for k, p in laid.places.items()}
    assert day.works["sauce"].task.after == ("oil",) and day.works["oil"].task.after == ("fire~light",)
    assert ends["fire~light"] <= laid.places["oil"].start and ends["oil"] <= laid.places["sauce"].start


def test_a_fire_is_lit_no_sooner_than_it_must_be() -> None:
    """Dishes are cooked on it from five: it is lit at five past four, not at noon."""
    from stillroom.db.demand import Plates

    fire = Kit("fire", "Fire", "larder", F(2), "rack", 3300)
    book = coming(recipe("brill", "dish"), plates=[Plates("brill", WED, "dinner", 5.0, 7)])
    day = day_of_work(book, facts(fire, takes={"brill": [Take("fire", F(1), None)]}), NOON)
    assert day.at(lay_out(day).places["fire~light"].start) == NOON + timedelta(hours=4, minutes=5)


OVEN = Kit("oven", "Oven", "larder", F(4), "tray", 1200)
BATH = Kit("bath", "Bath", "larder", F(28), "litre", 2400)
FIRE = Kit("fire", "Fire", "larder", F(2), "rack", 3300)
RANGE = Kit("range", "Range", "larder", F(6), "burner", 0)
KITS = (OVEN, BATH, FIRE, RANGE)
BREAD = {"bread": [Take("oven", F(2), None)]}


def cold_in(day: Day, places: Mapping[str, Place], hot: str = "") -> list[str]:
    """What of a day goes into equipment that is not hot; hot: what is so already."""
    leads = {kit.id: -(-kit.lead_s // 300) for kit in KITS if kit.lead_s and kit.id != hot}
    return cold(day.tasks, places, leads | {w.thing: w.task.slots for w in day.works.values() if w.kind == "heating"})


def bread_after_dip() -> Coming:
    """Bread wants two hours of dip first."""
    dip = Run("dip", F(1000), F(1), WED, WED, 0, by=("bread",))
    return coming(recipe("dip", active_s=7200), recipe("bread"), runs=(run("bread"), dip))


def test_an_oven_is_on_before_the_bread_goes_in_and_no_sooner() -> None:
    """20 min of oven before the bread of two o'clock: on at twenty to, held whole until then, in nobody's hands."""
    day = day_of_work(bread_after_dip(), facts(OVEN, takes=BREAD), NOON)
    laid = lay_out(day)
    light = day.works["oven~light"].task
    assert (light.active, light.people, light.uses) == (0, (), (Hold("oven", 4, 4),))
    assert day.at(laid.places["bread"].start) == NOON + timedelta(hours=2)
    assert day.at(laid.places["oven~light"].start) == NOON + timedelta(hours=1, minutes=40)
    assert cold_in(day, laid.places) == []


def test_an_oven_that_was_switched_on_is_hot_a_lead_time_later() -> None:
    """On at noon: until twenty past it heats where it stands, and the bread waits; then it is no task any more."""
    book = coming(recipe("bread"), runs=(run("bread"),))
    for minutes, is_heating in ((5, True), (20, False)):
        day = day_of_work(book, facts(OVEN, takes=BREAD), NOON + timedelta(minutes=minutes))
        is_on(day, OVEN, NOON + timedelta(minutes=20))
        laid = lay_out(day)
        assert ("oven~light" in day.works) is is_heating
        assert day.at(laid.places["bread"].start) == NOON + timedelta(minutes=20)
        if is_heating:
            assert day.works["oven~light"].kind == "heating" and day.at(laid.places["oven~light"].start) == NOON
            assert cold_in(day, laid.places) == [] == faults(day.tasks, day.house, laid.places)


def test_a_minute_over_is_a_slot_over() -> None:
    """On at two minutes past twelve: hot at 12:22, so the bread of a plan in slots of five minutes goes in at 12:25."""
    day = day_of_work(coming(recipe("bread"), runs=(run("bread"),)), facts(OVEN, takes=BREAD), NOON)
    is_on(day, OVEN, NOON + timedelta(minutes=22))
    assert day.at(lay_out(day).places["bread"].start) == NOON + timedelta(minutes=25)


def test_what_is_in_use_is_hot_and_held() -> None:
    """A loaf on three of four trays since noon, an hour of it: nobody switches the oven on, and two trays more wait."""
    begun = UnderWay("loaf", F(1000), "2026-11-25T13:00:00Z", "2026-11-25T12:00:00Z", "Ines", WED.isoformat())
    loaf = recipe("loaf", active_s=600, passive_s=3000)
    book = coming(loaf, recipe("bread"), runs=(run("bread"),), under_way=[begun])
    here = facts(OVEN, takes=BREAD | {"loaf": [Take("oven", F(3), None)]})
    day = day_of_work(book, here, NOON + timedelta(minutes=30))
    laid = lay_out(day)
    (still,) = day.works["loaf~under way"].task.uses
    assert "oven~light" not in day.works and (still.equipment, still.amount) == ("oven", 3)
    assert day.at(laid.places["bread"].start) >= NOON + timedelta(hours=1)
    assert faults(day.tasks, day.house, laid.places) == []


LOAF = {"loaf": [Take("oven", F(2), 2700, 9000)]}  # 45 min of oven, two and a half hours after it is begun


def risen(**over: Any) -> Recipe:
    """20 min of hands, 2 h 55 alone: 2 h 10 of rising and 45 min of oven."""
    return recipe("loaf", active_s=1200, passive_s=10_500, **over)


def test_a_loaf_holds_its_oven_from_when_it_has_risen() -> None:
    """Begun at noon it goes in at half past two: the oven is on at ten past two, and free for bread before that."""
    book = coming(risen(), recipe("bread", active_s=600, passive_s=3000), runs=(run("loaf"), run("bread")))
    whole = {"bread": [Take("oven", F(4), None)]}
    day = day_of_work(book, facts(OVEN, takes=LOAF | whole), NOON)
    (held,) = day.works["loaf"].task.uses
    assert (held.begin, held.slots, day.works["loaf"].task.into) == (30, 9, (("oven~light", 30),))
    laid = lay_out(day)
    assert day.at(laid.places["loaf"].start) == NOON
    assert day.at(laid.places["bread"].start + 12) <= NOON + timedelta(hours=2, minutes=30)
    assert faults(day.tasks, day.house, laid.places) == [] == cold_in(day, laid.places)
    alone = day_of_work(coming(risen(), runs=(run("loaf"),)), facts(OVEN, takes=LOAF), NOON)
    assert alone.at(lay_out(alone).places["oven~light"].start) == NOON + timedelta(hours=2, minutes=10)


def test_two_batches_rise_before_they_go_in_too() -> None:
    """Ten minutes more of hands for the second: ten minutes later into the oven."""
    day = day_of_work(coming(risen(), runs=(run("loaf", 2),)), facts(OVEN, takes=LOAF), NOON)
    (held,) = day.works["loaf"].task.uses
    assert (held.begin, held.begin + held.slots, day.works["loaf"].task.slots) == (32, 41, 41)


def test_a_loaf_of_last_night_has_the_oven_hot_when_it_goes_in() -> None:
    """Begun yesterday at ten in the evening, in at one today: on at twenty to, whoever is there; held until a quarter
    to two. After that it is out, and the oven is no longer said to be in use."""
    begun = UnderWay("loaf", F(1000), "2026-11-25T13:45:00Z", "2026-11-24T22:00:00Z", "Ines", "2026-11-24")
    slow = recipe("loaf", active_s=1200, passive_s=55_500)  # 15 h 45 in all
    takes = BREAD | {"loaf": [Take("oven", F(2), 2700, 54_000)]}
    book = coming(slow, recipe("bread"), runs=(run("bread"),), under_way=[begun])
    day = day_of_work(book, facts(OVEN, takes=takes), NOON)
    (held,) = day.works["loaf~under way"].task.uses
    pinned = day.pinned["loaf~under way"].start
    assert day.at(pinned + held.begin) == NOON + timedelta(hours=1)
    assert day.at(pinned + held.begin + held.slots) == NOON + timedelta(hours=1, minutes=45)
    laid = lay_out(day)
    assert day.at(day.works["oven~light"].task.due) == NOON + timedelta(hours=1)
    assert faults(day.tasks, day.house, laid.places) == [] == cold_in(day, laid.places)
    later = day_of_work(book, facts(OVEN, takes=takes), NOON + timedelta(hours=2))
    assert "oven~light" in later.works
    now = day_of_work(book, facts(OVEN, takes=takes), NOON + timedelta(hours=1, minutes=15))
    assert "oven~light" not in now.works


def test_what_goes_in_tomorrow_heats_nothing_today() -> None:
    """Eighteen hours of rising: no oven for it today, and no waiting for one that others need."""
    over_night = recipe("loaf", active_s=1200, passive_s=66_000)
    takes = {"loaf": [Take("oven", F(2), 2700, 64_500)]}
    day = day_of_work(coming(over_night, runs=(run("loaf"),)), facts(OVEN, takes=takes), NOON)
    assert list(day.works) == ["loaf"] and day.works["loaf"].task.after == ()
    both = coming(over_night, recipe("bread"), runs=(run("loaf"), run("bread")))
    day = day_of_work(both, facts(OVEN, takes=takes | BREAD), NOON)
    assert day.works["loaf"].task.after == () and day.works["bread"].task.after == ("oven~light",)


def test_an_oven_for_what_can_wait_can_wait() -> None:
    """Only a par asks for the bread: the oven is no more urgent than the bread is."""
    book = coming(recipe("bread"), runs=(run("bread"),))
    book.bare = Plan([])
    day = day_of_work(book, facts(OVEN, takes=BREAD), NOON)
    assert day.works["oven~light"].can_wait and day.works["bread"].task.after == ("oven~light",)
    assert cold_in(day, lay_out(day).places) == []


def test_an_oven_that_nothing_can_go_into_is_not_put_off_for_ever() -> None:
    """Nobody can make the bread: the oven has a place within the day all the same."""
    day = day_of_work(coming(recipe("bread", station="bar"), runs=(run("bread"),)), facts(OVEN, takes=BREAD), NOON)
    laid = lay_out(day)
    assert "bread" in laid.unplaced and 0 <= laid.places["oven~light"].start < day.house.slots


def test_the_oven_of_a_cut_is_hot_when_the_doors_open() -> None:
    """The haunch goes in as the table orders: from five on the oven is hot, though nothing of the prep needs it."""
    from stillroom.db.demand import Plates

    book = coming(recipe("stew", "dish"), recipe("haunch", "cut"), plates=[Plates("stew", WED, "dinner", 5.0, 7)])
    book.plan.needs["haunch"] = [Need("haunch", WED, 1, F(7), "stew")]
    day = day_of_work(book, facts(OVEN, takes={"haunch": [Take("oven", F(1), None)]}), NOON)
    assert day.at(lay_out(day).places["oven~light"].start) == NOON + timedelta(hours=4, minutes=40)


@settings(max_examples=60, deadline=None)
@given(data=st.data())
def test_no_day_puts_anything_into_cold_equipment(data: st.DataObject) -> None:
    """Any few recipes on any equipment, some of it on already, some runs only for a par: by plain counting everything
    that goes in finds it hot; and again after one of them is done."""
    names = [f"r{n}" for n in range(data.draw(st.integers(1, 6)))]
    some, held = st.lists(st.sampled_from(KITS), max_size=2, unique=True), st.sampled_from([None, 1800])
    after = st.sampled_from([0, 0, 900, 2700])
    takes = {name: [Take(k.id, F(1), data.draw(held), data.draw(after)) for k in data.draw(some)] for name in names}
    times = st.sampled_from([300, 1200, 3600])
    made = [recipe(name, active_s=data.draw(times), passive_s=data.draw(times)) for name in names]
    book = coming(*made, runs=tuple(run(name) for name in names))
    book.bare = Plan([one for one in book.plan.runs if data.draw(st.booleans())])
    now, lit = NOON + timedelta(minutes=5 * data.draw(st.integers(0, 36))), data.draw(st.sampled_from(KITS))
    day = day_of_work(book, facts(*KITS, takes=takes), now)
    if data.draw(st.booleans()):
        is_on(day, lit, now + timedelta(minutes=data.draw(st.integers(-5, lit.lead_s // 60))))
    hot = "" if f"{lit.id}~light" in day.works else lit.id
    laid = lay_out(day)
    assert faults(day.tasks, day.house, laid.places) == [] == cold_in(day, laid.places, hot)
    done = data.draw(st.sampled_from(names))
    del day.works[done]
    for key, work in day.works.items():
        day.works[key] = replace(work, task=replace(work.task, after=tuple(a for a in work.task.after if a != done)))
    again = lay_out(day, laid.places)
    assert faults(day.tasks, day.house, again.places) == [] == cold_in(day, again.places, hot)


def test_portions_go_into_the_bath_in_time() -> None:
    """Two and a half hours of bath and ten minutes of hands before five."""
    book = coming(recipe("chop", "cut", unit="each", batch=F(1), bath_s=9000))
    book.plan.needs["chop"] = [Need("chop", WED, 1, F(12), "loin")]
    bath = Kit("bath", "Bath", "larder", F(28), "litre", 0)
    day = day_of_work(book, facts(bath, takes={"chop": [Take("bath", F(1), None)]}), NOON)
    task = day.works["chop~bath1"].task
    assert (task.active, task.passive, day.at(task.due)) == (2, 30, NOON + timedelta(hours=5))


def test_what_is_under_way_keeps_its_place() -> None:
    """Begun at noon by Ines for an hour: she is busy with it, and what needs her hands begins after it."""
    begun = UnderWay("jam", F(1000), "2026-11-25T13:00:00Z", "2026-11-25T12:00:00Z", "Ines", WED.isoformat())
    book = coming(recipe("jam", active_s=3600), recipe("dip"), runs=(run("dip"),), under_way=[begun])
    day = day_of_work(book, facts(), NOON + timedelta(minutes=30))
    laid = lay_out(day)
    assert day.at(laid.places["dip"].start) >= NOON + timedelta(hours=1)


def test_late_is_told_with_what_breaks_it_and_what_mends_it() -> None:
    """Two hours of hands at four for half past four: too long, whatever helps; dishes off is the last cure."""
    book = coming(recipe("dip", active_s=7200), runs=(run("dip"),))
    day = day_of_work(book, facts(), NOON + timedelta(hours=4))
    (late,) = late_tasks(day, lay_out(day), {"dip": ["Chips"]})
    assert (late.why, late.slots, late.holds_up) == ("long", 18, ("Chips",)) and late.cures[-1].kind == "off"


def test_a_second_pair_of_hands_is_a_cure() -> None:
    """Three dips of an hour, one cook, two and a half hours: the last is late for want of hands; Bea could take it."""
    names = ("one", "two", "three")
    book = coming(*(recipe(n, active_s=3600) for n in names), runs=tuple(run(n) for n in names))
    here = facts()
    bea = Person("bea", "Bea", ("pastry",))
    here = Facts(here.kits, here.takes, {**here.people, "bea": bea}, [*here.shifts, ("bea", 3, "12:00", "22:00")], ())
    day = day_of_work(book, here, NOON + timedelta(hours=2))
    late = late_tasks(day, lay_out(day), {})
    assert [(x.why, x.slots) for x in late] == [("hands", 6)]
    assert [(c.kind, c.who, c.late) for c in late[0].cures] == [("hands", "bea", 0)]


def test_hands_that_mend_nothing_are_not_offered() -> None:
    """Two hours of hands at four for half past four: Bea would be as late as Ines; that none helps is said."""
    book = coming(recipe("dip", active_s=7200), runs=(run("dip"),))
    here = facts()
    bea = Person("bea", "Bea", ("pastry",))
    here = Facts(here.kits, here.takes, {**here.people, "bea": bea}, [*here.shifts, ("bea", 3, "12:00", "22:00")], ())
    day = day_of_work(book, here, NOON + timedelta(hours=4))
    (late,) = late_tasks(day, lay_out(day), {"dip": ["Chips"]})
    assert [c.kind for c in late.cures] == ["none", "off"]


SHARES = [(1, F(1)), (2, F(1, 2)), (3, F(2, 3)), (F(5, 2), F(4, 5)), (F(1, 2), F(1))]


@pytest.mark.parametrize(("batches", "share"), SHARES)
def test_a_smaller_run_is_of_whole_batches(batches: int | F, share: F) -> None:
    """Half of them, rounded up; one batch is as small as it goes."""
    day = day_of_work(coming(recipe("dip"), runs=(run("dip", batches),)), facts(), NOON)
    assert smaller_share(day.works["dip"]) == share


def test_a_smaller_batch_is_a_cure_where_it_helps() -> None:
    """Four batches at 15:45 are 50 min of hands for half past four: two are 30 min, and in time."""
    book = coming(recipe("dip"), runs=(run("dip", 4),))
    day = day_of_work(book, facts(), NOON + timedelta(hours=3, minutes=45))
    (late,) = late_tasks(day, lay_out(day), {})
    assert [(c.kind, c.share, c.late) for c in late.cures] == [("smaller", F(1, 2), 0)]


def test_what_should_have_begun_earlier_and_is_in_time_is_not_late() -> None:
    """A cook who began before her hour: everything that waits for it is ready, so nothing is late."""
    runs = (run("sauce"), Run("oil", F(1000), F(1), WED, WED, 0, is_late=True, by=("sauce",)))
    day = day_of_work(coming(recipe("sauce"), recipe("oil"), runs=runs), facts(), NOON)
    assert late_tasks(day, lay_out(day), {}) == []
    late = day_of_work(coming(recipe("sauce"), recipe("oil"), runs=runs), facts(), NOON + timedelta(hours=4))
    assert {one.key for one in late_tasks(late, lay_out(late), {})} == {"sauce", "oil"}


def test_nobody_holds_the_station() -> None:
    """Nobody can: it can't be placed, and that is the reason."""
    day = day_of_work(coming(recipe("dip", station="bar"), runs=(run("dip"),)), facts(), NOON)
    (late,) = late_tasks(day, lay_out(day), {})
    assert (late.slots, late.why, late.what) == (None, "nobody", "bar")


def test_somebody_away_from_four() -> None:
    """Nothing of hers stands after it."""
    book = coming(recipe("dip", active_s=7200), runs=(run("dip"),))
    day = day_of_work(book, facts(absences=(("ines", WED, "15:00"),)), NOON + timedelta(hours=2))
    assert "dip" in lay_out(day).unplaced


def test_a_service_past_midnight_is_of_the_evening_before() -> None:
    """Half past midnight on Wednesday's kitchen day is Thursday's morning on the clock."""
    assert at_clock(WED, "00:30", SAID) == datetime(2026, 11, 26, 0, 30, tzinfo=UTC)
    assert at_clock(WED, "17:00", SAID) == datetime(2026, 11, 25, 17, tzinfo=UTC)


@pytest.mark.parametrize(
    ("day", "hours"),
    [(date(2026, 3, 28), 23), (date(2026, 10, 24), 25), (WED, 24)],
)
def test_the_nights_on_which_clocks_change(day: date, hours: int) -> None:
    """From four on Saturday to four on Sunday: 23 hours in spring, 25 in autumn; slots are true time."""
    begins, ends = at_clock(day, "04:00", SAID), at_clock(day + timedelta(days=1), "04:00", SAID)
    assert slot_of(begins, ends) == hours * 12


def test_a_demonstration_stands_still_at_its_clock() -> None:
    """One o'clock on its day, whatever the machine says; a real kitchen follows the machine."""
    real = datetime(2027, 5, 5, 9, tzinfo=UTC)
    assert moment(SAID, real) == datetime(2026, 11, 25, 13, tzinfo=UTC)
    assert moment({**SAID, "today": "", "clock": ""}, real) == real
