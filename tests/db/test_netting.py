"""Netting: a four-level tree worked by hand, the rules one by one, and properties that hold for any kitchen."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta
from fractions import Fraction as F

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from stillroom.db.netting import PREP, ZERO, Calendar, Held, Need, Plan, Run, Thing, Use, lot_size, net

WED = date(2026, 11, 25)
THU, FRI, SAT = (WED + timedelta(days=n) for n in (1, 2, 3))
OPEN = {WED: 1, THU: 1, FRI: 1, SAT: 1}


def no_par(_thing: str, _on: date) -> F:
    return ZERO


def run_of(plan: Plan, thing: str, on: date | None = None) -> Run:
    """The only run of a thing, on a day where one is given."""
    (found,) = [r for r in plan.runs if r.thing == thing and (on is None or r.begin_on == on)]
    return found


def test_a_four_level_tree_by_hand() -> None:
    """Pie, gravy, stock, bones; today is Wednesday, 20 plates today, 30 tomorrow.

    Level 0  pie, a dish: 150 ml gravy and 0.2 kg filling a plate.
             Wednesday 20 x 150 = 3,000 ml gravy, Thursday 30 x 150 = 4,500 ml.
    Level 1  gravy: 2,000 ml a batch, keeps 2 days (ready Wednesday: use by Thursday), takes 1,500 ml stock a batch.
             On hand 1,200 ml to be used by today.
             Wednesday: 3,000 - 1,200 = 1,800 short -> 1 batch, 2,000 ml; 200 left, good until Thursday.
             Thursday: 4,500 - 200 = 4,300 short -> 3 batches, 6,000 ml; 1,700 left, nobody wants them by Friday.
    Level 2  stock: 5,000 ml a batch, begun the day before it is used, keeps 4 days, takes 4,000 g bones a batch.
             Wednesday's gravy wants 1,500, Thursday's 4,500. On hand 2,000 ml to be used by Friday.
             Wednesday: 1,500 of them; 500 left. Thursday: 4,500 - 500 = 4,000 short -> 1 batch, begun Wednesday.
    Level 3  bones, bought: 4,000 g on Wednesday.
    """
    tree = [
        Thing("pie", F(1), (Use("gravy", F(150)), Use("filling", F(1, 5))), is_made=False),
        Thing("gravy", F(2000), (Use("stock", F(1500)),), life_days=2),
        Thing("stock", F(5000), (Use("bones", F(4000)),), life_days=4, lead_days=1),
    ]
    wanted = [Need("pie", WED, 1, F(20)), Need("pie", THU, 1, F(30))]
    held = {"gravy": [Held(F(1200), WED)], "stock": [Held(F(2000), FRI)]}
    plan = net(tree, wanted, held, no_par, Calendar(WED, FRI, OPEN))
    gravy = [(r.begin_on, r.quantity, r.batches, r.use_by, r.over) for r in plan.runs if r.thing == "gravy"]
    assert gravy == [(WED, 2000, 1, THU, 0), (THU, 6000, 3, FRI, 1700)]
    stock = run_of(plan, "stock")
    assert (stock.begin_on, stock.ready_on, stock.quantity, stock.on_hand) == (WED, THU, 5000, 500)
    assert [(n.on, n.order, n.quantity, n.by) for n in plan.needs["bones"]] == [(WED, PREP, 4000, "stock")]
    assert [n.quantity for n in plan.needs["filling"]] == [4, 6]


@pytest.mark.parametrize(
    ("thing", "short", "size"),
    [
        (Thing("x", F(10)), F(1), 10),  # whole batches
        (Thing("x", F(10)), F(101, 10), 20),
        (Thing("x", F(10), least=F(1, 2)), F(12), 15),  # halves
        (Thing("x", F(10), least=F(2)), F(5), 20),  # two at least
        (Thing("x", F(10), least=F(2)), F(25), 30),
        (Thing("x", F(10), pan=F(4)), F(9), 12),  # three pans
        (Thing("x", F(10), pan=F(4), least=F(1)), F(1), 12),  # a batch at least, in pans
        (Thing("x", F(10)), F(0), 0),
    ],
)
def test_a_run_is_whole_batches_or_pans(thing: Thing, short: F, size: int) -> None:
    """The smallest that covers what is short."""
    assert lot_size(short, thing) == size


def test_what_is_past_its_date_at_the_service_does_not_count() -> None:
    """On hand 5 until Thursday: Thursday's need is covered, Friday's is made."""
    wanted = [Need("x", THU, 1, F(2)), Need("x", FRI, 1, F(2))]
    plan = net([Thing("x", F(2))], wanted, {"x": [Held(F(5), THU)]}, no_par, Calendar(WED, FRI, OPEN))
    assert [(r.begin_on, r.quantity) for r in plan.runs] == [(FRI, 2)]


def test_what_is_in_process_counts_from_the_day_it_is_ready() -> None:
    """A cure that is ready on Friday does not help Thursday."""
    wanted = [Need("x", THU, 1, F(2)), Need("x", FRI, 1, F(2))]
    plan = net([Thing("x", F(2))], wanted, {"x": [Held(F(2), None, FRI)]}, no_par, Calendar(WED, FRI, OPEN))
    assert [(r.begin_on, r.quantity) for r in plan.runs] == [(THU, 2)]


def test_long_lead_work_is_begun_days_before() -> None:
    """A two-day cure for Friday is begun today; for Thursday it should have been begun yesterday."""
    thing = [Thing("cure", F(2), lead_days=2)]
    friday = run_of(net(thing, [Need("cure", FRI, 1, F(2))], {}, no_par, Calendar(WED, FRI, OPEN)), "cure")
    thursday = run_of(net(thing, [Need("cure", THU, 1, F(2))], {}, no_par, Calendar(WED, FRI, OPEN)), "cure")
    assert (friday.begin_on, friday.ready_on, friday.is_late) == (WED, FRI, False)
    assert (thursday.begin_on, thursday.is_late) == (WED, True)


def test_nothing_is_begun_on_a_day_off() -> None:
    """One day's lead for Friday, Thursday closed: begun on Wednesday."""
    calendar = Calendar(WED, FRI, OPEN, works=lambda on: on != THU)
    plan = net([Thing("x", F(2), lead_days=1)], [Need("x", FRI, 1, F(2))], {}, no_par, calendar)
    assert run_of(plan, "x").begin_on == WED


def test_somebody_comes_in_where_it_would_else_be_past_its_date() -> None:
    """Keeps one day, wanted on Friday, Friday closed for prep: made on Friday all the same."""
    calendar = Calendar(WED, FRI, OPEN, works=lambda on: on != FRI)
    plan = net([Thing("x", F(2), life_days=1)], [Need("x", FRI, 1, F(2))], {}, no_par, calendar)
    assert run_of(plan, "x").begin_on == FRI


def test_a_par_is_filled_up_before_the_first_service() -> None:
    """Par 6, on hand 1½, 1 a day used, keeps: 4½ short, made in batches of 3: 6."""
    wanted = [Need("x", on, 1, F(1)) for on in OPEN]
    plan = net([Thing("x", F(3))], wanted, {"x": [Held(F(3, 2))]}, lambda *_: F(6), Calendar(WED, WED, OPEN))
    run = run_of(plan, "x")
    assert (run.quantity, run.par, run.on_hand) == (6, 6, F(3, 2))


def test_what_a_par_asks_for_too_late_is_ready_as_soon_as_it_can_be() -> None:
    """Five are there until tonight, two days to make more: begun now, ready Friday, in time for the one wanted then.

    Thursday's par cannot be had any more, and is not called late; Friday's need is covered by the same run.
    """
    cure = Thing("cure", F(1), lead_days=2)
    held = {"cure": [Held(F(5), WED)]}
    run = run_of(net([cure], [Need("cure", FRI, 1, F(1))], held, lambda *_: F(5), Calendar(WED, FRI, OPEN)), "cure")
    assert (run.begin_on, run.ready_on, run.quantity, run.is_late) == (WED, FRI, 5, False)


def test_a_par_never_makes_more_than_is_used_in_time() -> None:
    """Par 9, keeps two days, 2 a day used: 4 will be used in time, so 4 are made and the par's other 5 are told."""
    wanted = [Need("x", on, 1, F(2)) for on in OPEN]
    plan = net([Thing("x", F(1), life_days=2)], wanted, {}, lambda *_: F(9), Calendar(WED, SAT, OPEN))
    run = run_of(plan, "x", WED)
    assert (run.quantity, run.over, run.par_cut) == (4, 0, 5)


def test_without_any_need_the_par_is_the_need() -> None:
    """Nothing was sold yet: a par of 9 of what keeps two days is made in full, and nothing of it is called too much.

    What it is made of has its own par: that run's need is no reason to cut it.
    """
    tree = [Thing("x", F(1), (Use("stock", F(2)),), life_days=2), Thing("stock", F(5), life_days=1)]
    pars = {"x": F(9), "stock": F(40)}
    plan = net(tree, [], {}, lambda thing, _: pars[thing], Calendar(WED, WED, OPEN))
    x, stock = run_of(plan, "x"), run_of(plan, "stock")
    assert (x.quantity, x.over, x.par_cut) == (9, 0, 0)
    assert (stock.quantity, stock.over, stock.par_cut, stock.needed) == (60, 0, 0, 18)


def test_where_sales_exist_a_par_that_would_go_off_is_told() -> None:
    """The soup is sold and wants no garnish before that is past its date: nothing is made, and it is said.

    The bread is in nothing that is sold: its par is made.
    """
    tree = [
        Thing("soup", F(1), (Use("garnish", F(0)), Use("cream", F(1))), is_made=False),
        Thing("garnish", F(1), life_days=1), Thing("cream", F(1), life_days=1), Thing("bread", F(1), life_days=1),
    ]  # fmt: skip
    calendar = Calendar(WED, WED, OPEN)
    plan = net(tree, [Need("soup", WED, 1, F(2))], {"cream": [Held(F(2), WED)]}, lambda *_: F(4), calendar)
    assert [(r.thing, r.quantity) for r in plan.runs] == [("bread", 4)]
    assert [(r.thing, r.par, r.par_cut) for r in plan.cut] == [("garnish", 4, 4), ("cream", 4, 2)]


def test_the_smallest_batch_may_be_more_than_is_used() -> None:
    """2 wanted, a batch is 10 and keeps a day: 10 are made, 8 will not be used, and it says so."""
    plan = net([Thing("x", F(10), life_days=1)], [Need("x", WED, 1, F(2))], {}, no_par, Calendar(WED, WED, OPEN))
    run = run_of(plan, "x")
    assert (run.quantity, run.over) == (10, 8)


def test_the_freezer_comes_before_a_new_batch() -> None:
    """3 wanted on Friday, 2 frozen, two days to thaw: taken out today; 1 made on Friday."""
    calendar = Calendar(WED, FRI, OPEN, thaw_days=lambda *_: 2)
    plan = net([Thing("x", F(1))], [Need("x", FRI, 1, F(3))], {"x": [Held(F(2), is_frozen=True)]}, no_par, calendar)
    thaw, made = sorted(plan.runs, key=lambda r: not r.is_thaw)
    assert (thaw.is_thaw, thaw.begin_on, thaw.quantity) == (True, WED, 2)
    assert (made.is_thaw, made.begin_on, made.quantity) == (False, FRI, 1)


def test_a_saturday_of_two_services_is_one_run() -> None:
    """Lunch 3, dinner 4, batches of 4: one run of 8 for both."""
    wanted = [Need("x", SAT, 1, F(3)), Need("x", SAT, 2, F(4))]
    plan = net([Thing("x", F(4))], wanted, {}, no_par, Calendar(WED, SAT, OPEN))
    assert run_of(plan, "x").quantity == 8


def test_what_does_not_fit_into_the_day_is_begun_the_day_before() -> None:
    """Four hours between coming in and ready: a broth of three fits, its glaze of two more does not fit behind it."""
    tree = [
        Thing("glaze", F(1), (Use("broth", F(1)),), minutes=120, hands=20),
        Thing("broth", F(1), minutes=180, hands=30, life_days=3),
    ]
    calendar = Calendar(WED, FRI, OPEN, window=dict.fromkeys(OPEN, 240))
    plan = net(tree, [Need("glaze", FRI, 1, F(1)), Need("broth", FRI, 1, F(1))], {}, no_par, calendar)
    assert [(r.thing, r.begin_on, r.quantity, r.use_by) for r in plan.runs] == [
        ("glaze", FRI, 1, None), ("broth", THU, 2, SAT),
    ]  # fmt: skip


amounts = st.integers(1, 40).map(F)
LAST = WED + timedelta(days=6)


@st.composite
def kitchens(draw: st.DrawFn) -> tuple[list[Thing], list[Need], dict[str, list[Held]], F]:
    """Up to six things in levels, each using later ones; needs, stocks and a par."""
    number = draw(st.integers(1, 6))
    things = [
        Thing(
            f"t{n}", draw(amounts),
            tuple(Use(f"t{m}", draw(amounts) / 4) for m in range(n + 1, number) if draw(st.booleans())),
            least=draw(st.sampled_from([None, F(1, 2), F(2)])), life_days=draw(st.sampled_from([None, 1, 2, 5])),
            lead_days=draw(st.integers(0, 2)),
        )
        for n in range(number)
    ]  # fmt: skip
    wanted = [
        Need(f"t{draw(st.integers(0, number - 1))}", WED + timedelta(days=draw(st.integers(0, 6))),
             draw(st.integers(0, 2)), draw(amounts)) for _ in range(draw(st.integers(0, 8)))
    ]  # fmt: skip
    last_days = st.sampled_from([None, WED, FRI, LAST])
    held = {t.id: [Held(draw(amounts), draw(last_days))] for t in things if draw(st.booleans())}
    return things, wanted, held, draw(st.sampled_from([ZERO, F(5)]))


def replay(thing: Thing, needs: Sequence[Need], held: Sequence[Held], runs: Sequence[Run]) -> None:
    """Every need of a thing is met, day by day, from lots that are there and in date: nothing goes below zero."""
    lots = [(h.use_by or date.max, h.quantity, h.ready_on or WED) for h in held]
    lots += [(r.use_by or date.max, r.quantity, r.ready_on) for r in runs]  # nobody uses it before
    for on in (WED + timedelta(days=n) for n in range(7)):
        wanted = sum((n.quantity for n in needs if n.on == on), ZERO)
        for index, (use_by, quantity, ready) in sorted(enumerate(lots), key=lambda pair: pair[1][0]):
            if use_by >= on and ready <= on:
                taken = min(quantity, wanted)
                wanted -= taken
                lots[index] = (use_by, quantity - taken, ready)
        assert wanted == 0, f"{thing.id} on {on}: {wanted} missing"


@settings(max_examples=150, deadline=None)
@given(kitchens())
def test_netting_of_any_kitchen(kitchen: tuple[list[Thing], list[Need], dict[str, list[Held]], F]) -> None:
    """Needs are met in date, runs are whole steps and above zero, and what is wanted below is what runs call for."""
    things, wanted, held, par = kitchen
    every = dict.fromkeys((WED + timedelta(days=n) for n in range(7)), 1)
    plan = net(things, wanted, held, lambda *_: par, Calendar(WED, LAST, every))
    for thing in things:
        runs = [r for r in plan.runs if r.thing == thing.id]
        step = min(thing.least or F(1), F(1)) * thing.batch
        assert all(r.quantity > 0 and (r.quantity / step).denominator == 1 for r in runs)
        assert all(r.begin_on >= WED and r.over >= 0 and r.par_cut >= 0 for r in runs)
        assert all(r.is_late or (r.ready_on - r.begin_on).days >= thing.lead_days for r in runs)
        if not any(r.is_late for r in runs):
            replay(thing, plan.needs.get(thing.id, ()), held.get(thing.id, ()), runs)
        for use in thing.uses:
            asked = sum((n.quantity for n in plan.needs.get(use.thing, ()) if n.by == thing.id), ZERO)
            assert asked == sum((r.batches * use.quantity for r in runs), ZERO)
    again = net(things, wanted, held, lambda *_: par, Calendar(WED, LAST, every))
    assert again.runs == plan.runs
