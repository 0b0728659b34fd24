"""Cooling planner: pans, bags and vats."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import brentq
from stillroom.plugins.physics.conduction import Face, Material
from stillroom.plugins.physics.cooling import (
    PUREE,
    Pan,
    Place,
    cool_bag,
    cool_pan,
    cool_stirred,
    deepest_pan_m,
    instead,
    place,
    places,
)
from stillroom.plugins.physics.errors import HeatError, NotReachable
from stillroom.plugins.physics.temperature import c_from_f

INCH = 0.0254
COLD = c_from_f(38)


def hours(forecast):
    return forecast.reached_s[0] / 3600, forecast.reached_s[-1] / 3600


def test_two_inches_symmetric():
    """50.8 mm purée, h 10 both faces, 38 °F: 70 °F at 3.764 h, 41 °F at 11.363 h (exact series)."""
    face = Face(10, COLD)
    found = cool_pan(Pan(2 * INCH), Place("test", face, face, None, "", ""))
    assert hours(found) == pytest.approx((3.764, 11.363), abs=0.005)


def test_two_inches_on_ice():
    """h 300 at 0 °C below and h 10 at 38 °F above: 1.645 and 3.942 h at the hottest point (two solvers)."""
    found = cool_pan(Pan(2 * INCH), Place("test", Face(10, COLD), Face(300, 0), None, "", ""))
    assert hours(found) == pytest.approx((1.645, 3.942), abs=0.005)
    assert found.passes


@pytest.mark.parametrize(
    ("where", "inches", "passes"),
    [
        ("walk_in_open", 1, True), ("walk_in_open", 2, False), ("walk_in_open", 4, False),
        ("walk_in_covered", 1, False), ("walk_in_fan", 1, True), ("walk_in_fan", 2, False),
        ("blast", 2.5, True), ("blast", 4, False), ("ice_in_walk_in", 2, True), ("ice_in_walk_in", 2.5, False),
        ("ice_in_kitchen", 1, False), ("ice_stirred", 4, True),
    ],
)  # fmt: skip
def test_pans(where, inches, passes):
    """Two inches in a plain walk-in fails, on ice inside it passes; four inches passes only stirred."""
    assert cool_pan(Pan(inches * INCH), place(where)).passes is passes


@pytest.mark.parametrize(
    ("where", "inches"),
    [("walk_in_open", 1.1), ("walk_in_covered", 0.65), ("walk_in_fan", 1.8), ("blast", 3.0), ("ice_in_walk_in", 2.3)],
)
def test_deepest_pan(where, inches):
    """The deepest pan that passes, and one a little deeper that does not."""
    deepest = deepest_pan_m(Pan(2 * INCH), place(where))
    assert deepest / INCH == pytest.approx(inches, abs=0.05)
    assert cool_pan(Pan(deepest * 0.99), place(where)).passes
    assert not cool_pan(Pan(deepest * 1.01), place(where)).passes


def test_clock_starts_at_135():
    """A pan that goes in at 180 °F takes time before its first part is at 135, and that time does not count."""
    hot = cool_pan(Pan(INCH, start_f=180), place("walk_in_open"))
    assert 600 < hot.before_s < cool_pan(Pan(INCH, start_f=200), place("walk_in_open")).before_s
    assert hot.reached_s[0] < 2 * 3600


def test_the_clock_runs_from_the_first_part_to_the_last():
    """Symmetric slab, 180 °F, h 10 both faces, 38 °F: surface at 135 and centre at 70 by the exact series; the clock is
    what lies between. Food Code 3-501.14(A) counts from 135 °F in the food: so every part keeps it by its own clock."""
    half, alpha, k = INCH, PUREE.alpha_m2s, PUREE.k_w_mk
    number = 10 * half / k
    roots = [brentq(lambda z: z * math.tan(z) - number, n * math.pi + 1e-9, n * math.pi + math.pi / 2 - 1e-9)
             for n in range(12)]  # fmt: skip

    def temp_f(at_s, x):
        weights = (4 * math.sin(z) / (2 * z + math.sin(2 * z)) * math.cos(z * x) for z in roots)
        fades = (math.exp(-z * z * alpha * at_s / half**2) for z in roots)
        return 38 + (180 - 38) * sum(w * f for w, f in zip(weights, fades, strict=True))

    face = brentq(lambda t: temp_f(t, 1.0) - 135, 30, 36000)
    middle = [brentq(lambda t, f=f: temp_f(t, 0.0) - f, 600, 90000) for f in (70, 41)]
    found = cool_bag(2 * half, 0.0, Face(10, c_from_f(38)), 180, PUREE)
    assert found.before_s == pytest.approx(face, abs=5)
    assert found.reached_s == pytest.approx([at - face for at in middle], abs=30)


@settings(max_examples=60, deadline=None)
@given(
    where=st.sampled_from(sorted(places())),
    lid=st.booleans(),
    starts=st.tuples(st.floats(135, 212), st.floats(135, 212)).map(sorted),
    depth=st.floats(0.01, 0.1),
)
def test_what_goes_in_hotter_is_never_colder_in_time(where, lid, starts, depth):
    """For any place and depth no limit comes sooner, so no deeper pan passes: the property itself, not a case of it."""
    cooler, hotter = (cool_pan(Pan(depth, start), place(where, lid=lid)) for start in starts)
    for soon, late in zip(cooler.reached_s, hotter.reached_s, strict=True):
        assert late is None if soon is None else late is None or late >= soon - 5


@pytest.mark.parametrize(("where", "most_mm"), [("blast", 76.1), ("ice_in_walk_in", 57.5), ("bag_on_ice", 77.1)])
def test_the_deepest_pan_is_that_of_food_at_135(where, most_mm):
    """Depths for 135 °F are those of the check set; from there on each hotter start allows less."""
    depths = [deepest_pan_m(Pan(INCH, start), place(where)) * 1000 for start in (135, 136, 140, 160, 180, 212)]
    assert depths[0] < most_mm and depths == sorted(depths, reverse=True)


def test_room_too_warm():
    """A 45 °F walk-in never makes 41 °F: no time, no pass, no deepest pan."""
    warm = place("walk_in_open", c_from_f(45))
    found = cool_pan(Pan(INCH), warm)
    assert found.reached_s[0] is not None
    assert (found.reached_s[-1], found.spare_s[1], found.passes) == (None, None, False)
    with pytest.raises(NotReachable, match="no depth passes"):
        deepest_pan_m(Pan(INCH), warm)


def test_bags_and_vats():
    """A 50 mm bag in stirred ice passes, 120 mm does not; a stirred vat is quicker with a better wall."""
    ice = Face(80, 0)
    assert cool_bag(0.05, 0.0, ice, 140, PUREE).passes
    assert not cool_bag(0.12, 0.0, ice, 140, PUREE).passes
    vat = Pan(0.25, base_m=(0.4, 0.4))
    slow, quick = cool_stirred(vat, 80, 0.0), cool_stirred(vat, 150, 0.0)
    assert slow.reached_s[-1] / quick.reached_s[-1] == pytest.approx(150 / 80)


def test_what_to_do_instead():
    """Places come deepest first, and each passes at the depth named."""
    found = instead(Pan(0.05))
    depths = [depth for _, depth in found]
    assert depths == sorted(depths, reverse=True)
    assert found[0][0].name == "ice_stirred"
    assert {where.name for where, _ in found} <= set(places())


def test_refused():
    """Unknown places, a start below 42 °F and a metre of depth are refused."""
    with pytest.raises(HeatError, match="known are walk_in_open"):
        place("window_sill")
    with pytest.raises(HeatError, match="start temperature"):
        Pan(0.05, start_f=40)
    with pytest.raises(HeatError, match="depth is 1000 mm"):
        Pan(1.0)
    with pytest.raises(HeatError, match="thickness"):
        cool_bag(0.0, 0.0, Face(80, 0), 140, Material())


def test_a_lid_on_a_still_pan_is_the_covered_row():
    """12 over the open pan and 4 under the lid in series are 3 W/m2K, the row of a covered pan on file."""
    lidded, row = place("walk_in_open", lid=True), place("walk_in_covered")
    assert lidded.top.h_w_m2k == pytest.approx(row.top.h_w_m2k) and lidded.bottom == row.bottom
    assert place("ice_stirred", lid=True) == place("ice_stirred")


def test_a_salad_has_one_limit_from_the_moment_it_goes_in():
    """Food Code 3-501.14(B): 4 h to 41 °F. An inch at 70 °F in the fan makes it, two don't; no clock at 135 °F."""
    thin, thick = (cool_pan(Pan(n * INCH, 70.0, cools_as="ambient"), place("walk_in_fan")) for n in (1, 2))
    assert [thin.passes, thick.passes] == [True, False]
    assert len(thin.reached_s) == 1 and thin.before_s == 0.0
    assert thin.spare_s[0] == pytest.approx(4 * 3600 - thin.reached_s[0])
    deepest = deepest_pan_m(Pan(INCH, 70.0, cools_as="ambient"), place("walk_in_fan"))
    assert INCH < deepest < 2 * INCH


def test_newtons_law_for_a_vat_that_came_in_warm():
    """50 to 41 °F in ice water at 32 °F: tau ln(18/9); the start of the clock is the start."""
    vat = Pan(0.25, 50.0, base_m=(0.4, 0.4), cools_as="received")
    cooked = cool_stirred(Pan(0.25, base_m=(0.4, 0.4)), 80, 0.0)
    tau = cooked.reached_s[-1] / math.log(103 / 9)
    assert cool_stirred(vat, 80, 0.0).reached_s == (pytest.approx(tau * math.log(2)),)


@pytest.mark.parametrize("where", ["walk_in_open", "walk_in_fan", "blast", "ice_in_walk_in"])
def test_a_lid_only_ever_slows(where):
    """Wherever it lies, the deepest pan that passes is shallower than without it."""
    assert deepest_pan_m(Pan(INCH), place(where, lid=True)) < deepest_pan_m(Pan(INCH), place(where))


def test_a_flat_bag_on_ice_is_a_slab_with_ice_all_round():
    """The row of the planner equals the bag of the engine."""
    bag = cool_bag(0.05, 0.0, Face(80, 0.0), 135.0, PUREE)
    assert hours(cool_pan(Pan(0.05), place("bag_on_ice"))) == pytest.approx(hours(bag), rel=1e-3)
