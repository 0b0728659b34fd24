"""Heat properties from composition, and the ageing forecast's refusals."""

from __future__ import annotations

import doctest
import subprocess
import sys
from datetime import date
from fractions import Fraction
from importlib import import_module

import pytest
from stillroom.plugins.physics.drying import WeighIn, day_reaching, forecast
from stillroom.plugins.physics.errors import HeatError
from stillroom.plugins.physics.properties import Composition, freezing_point_c, from_water, heat_properties

START = Fraction(8000)


def test_lean_meat_at_20():
    """Choi and Okos at 20 °C: rho 1054.4, k 0.5075, cp 3.561, alpha 1.351e-7; with the handbook's water cp 3.527."""
    meat = Composition(water=0.72, protein=0.21, fat=0.055, ash=0.015)
    found = heat_properties(meat, 20)
    assert found.density_kgm3 == pytest.approx(1054.4, abs=0.1)
    assert found.k_w_mk == pytest.approx(0.5075, abs=1e-4)
    assert found.heat_j_kgk == pytest.approx(3561, abs=1)
    assert found.material.alpha_m2s == pytest.approx(1.351e-7, rel=1e-3)
    assert heat_properties(meat, 20, water_heat="co_cp_water").heat_j_kgk == pytest.approx(3527, abs=1)
    assert freezing_point_c(0.72) == pytest.approx(-0.91, abs=0.005)


def test_from_water_alone():
    """75 % water: cp 3352.5 J/kgK and k 0.4775 W/mK by the short rules."""
    assert from_water(75) == pytest.approx((3352.5, 0.4775))


@pytest.mark.parametrize(
    ("parts", "low", "high"), [({"water": 1.0}, 1.4e-7, 1.6e-7), ({"water": 0.15, "fat": 0.85}, 0.9e-7, 1.15e-7)]
)
def test_diffusivity_is_that_of_its_parts(parts, low, high):
    """Water and fat give the diffusivities of water and of fat."""
    assert low < heat_properties(Composition(**parts), 40).material.alpha_m2s < high


def test_composition_refused():
    """Fractions that do not add up, percentages typed as fractions, and ice are refused."""
    with pytest.raises(HeatError, match=r"add up to 0.700"):
        Composition(water=0.7)
    with pytest.raises(HeatError, match="water is 72"):
        Composition(water=72, protein=21)
    with pytest.raises(HeatError, match="temperature"):
        heat_properties(Composition(water=1.0), -10)


def hung(*pairs):
    return tuple(WeighIn(day, START * (1 - Fraction(loss) / 100)) for day, loss in pairs)


def test_forecast_needs_three_weighings():
    """Two weighings are not enough; three before day 14 are provisional; later ones are not."""
    with pytest.raises(HeatError, match="2 weighings after the start; a forecast needs 3"):
        forecast(START, hung((7, "4.0"), (10, "5.1")), 14)
    assert forecast(START, hung((3, "2.0"), (7, "4.0"), (10, "5.1")), 18).provisional
    assert not forecast(START, hung((7, "4.0"), (10, "5.1"), (14, "6.5")), 28).provisional


def test_forecast_looks_no_farther_than_twice():
    """Day 29 from a last weighing on day 14 is refused, day 13 too."""
    seen = hung((7, "4.0"), (10, "5.1"), (14, "6.5"))
    for day in (29, 13):
        with pytest.raises(HeatError, match="at most twice"):
            forecast(START, seen, day)


def test_gain_asks_for_a_second_weighing():
    """A gain of 0.4 % of the start is refused, 0.2 % is scale noise; the weights must come in order."""
    with pytest.raises(HeatError, match=r"up by 0\.4 % of the start: weigh again"):
        forecast(START, hung((7, "4.0"), (10, "3.6"), (14, "6.5")), 28)
    forecast(START, hung((7, "4.0"), (10, "3.8"), (14, "6.5")), 28)
    with pytest.raises(HeatError, match="does not come after"):
        forecast(START, hung((7, "4.0"), (7, "4.2"), (14, "6.5")), 28)
    with pytest.raises(HeatError, match="not above 0 g"):
        forecast(START, hung((7, "100"), (10, "5"), (14, "6.5")), 28)


def test_creeping_gain_is_seen():
    """Small gains that add up are measured against the lightest weight so far."""
    with pytest.raises(HeatError, match="weigh again"):
        forecast(START, hung((7, "4.0"), (10, "3.8"), (14, "3.65")), 28)


def test_weight_and_band():
    """Weight is start x (1 - loss), the band turns over with it, and tare is taken off."""
    found = forecast(START, hung((7, "4.0"), (10, "5.1"), (14, "6.5")), 28)
    low, high = found.weight_band_g
    assert low < found.weight_g < high < 8000
    assert found.weight_g == pytest.approx(8000 * (1 - found.loss_pct / 100))
    entry = WeighIn.on(date(2026, 11, 15), date(2026, 11, 1), Fraction(7900), Fraction(350))
    assert (entry.day, entry.weight_g) == (14, 7550)


def test_day_of_a_loss():
    """10 % comes first by the quick edge, last by the slow one, and never within reach for 20 %."""
    seen = hung((7, "4.0"), (10, "5.1"), (14, "6.5"))
    quick, median, slow = day_reaching(START, seen, 10.0)
    assert quick < median <= 28
    assert slow is None or slow > median
    assert day_reaching(START, seen, 20.0) == (None, None, None)


@pytest.mark.parametrize("name", ["temperature", "kinetics", "capping", "rules"])
def test_examples_run(name):
    """Examples in the docstrings print what they say."""
    result = doctest.testmod(import_module(f"stillroom.plugins.physics.{name}"))
    assert result.attempted > 0
    assert result.failed == 0


def test_import_is_light():
    """Importing the package and its programme module loads neither numpy nor scipy."""
    code = (
        "import sys, stillroom.plugins.physics, stillroom.plugins.physics.predict, stillroom.plugins.physics.drying;"
        "print(sorted({'numpy', 'scipy'} & set(sys.modules)))"
    )
    found = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, timeout=60)
    assert found.stdout.strip() == "[]"
