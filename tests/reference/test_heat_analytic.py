"""The engine against exact solutions and textbook examples.

Exact series for any shape factor: with nu = (beta - 1) / 2, roots of z J_{nu+1}(z) = Bi J_nu(z); it reduces to the
slab, cylinder and sphere of every heat-transfer textbook (Carslaw and Jaeger; Cengel; Incropera).
"""

from __future__ import annotations

import math
from functools import cache

import numpy as np
import pytest
from scipy.optimize import brentq
from scipy.special import gamma, jv
from stillroom.plugins.physics.conduction import Face, Material, Segment, Slab, Symmetric
from stillroom.plugins.physics.cooling import lumped
from stillroom.plugins.physics.product import Product
from stillroom.plugins.physics.temperature import c_from_f

INFINITE = math.inf
K, ALPHA = 0.48, 1.11e-7


@cache
def series_roots(beta: float, bi: float, count: int) -> np.ndarray:
    nu = (beta - 1) / 2

    def condition(z: float) -> float:
        return float(jv(nu, z)) if math.isinf(bi) else float(z * jv(nu + 1, z) - bi * jv(nu, z))

    found: list[float] = []
    low = 1e-9
    while len(found) < count:
        if condition(low) * condition(low + 0.05) < 0:
            found.append(brentq(condition, low, low + 0.05, xtol=1e-14, rtol=1e-14))
        low += 0.05
    return np.array(found)


def series(beta: float, bi: float, fo: float, x: float) -> float:
    nu, z = (beta - 1) / 2, series_roots(beta, bi, 60)
    j0, j1 = jv(nu, z), jv(nu + 1, z)
    share = (j1 / z) / (0.5 * (j0**2 - (2 * nu / z * j0 - j1) * j1))
    mode = (z / 2) ** nu / gamma(nu + 1) if x == 0 else x**-nu * jv(nu, z * x)
    return float(np.exp(-(z**2) * fo) @ (share * mode))


def theta(beta: float, bi: float, fo: float, x: float | None) -> float:
    """Dimensionless temperature by the engine; the mean when x is None."""
    half = 0.02
    body = Symmetric(half, beta)
    probe = body.mean_probe() if x is None else body.probes(np.array([x]))
    segment = Segment(fo * half**2 / ALPHA, Face(bi * K / half, 0.0))
    return float(body.run(body.uniform(1.0), segment, 1, probe)[0][0, 0])


@pytest.mark.parametrize("beta", [0.0, 0.28, 0.7, 1.0, 1.25, 2.0])
@pytest.mark.parametrize("bi", [0.1, 0.3, 1, 3, 10, 30, 100, INFINITE])
def test_series_any_shape_factor(beta, bi):
    """Core, half-way and surface agree with the exact series to 1e-5 for any shape factor."""
    for fo in (0.05, 0.1, 0.3, 1.0, 2.0):
        for x in (0.0, 0.5, 1.0):
            assert theta(beta, bi, fo, x) == pytest.approx(series(beta, bi, fo, x), abs=1e-5)


def test_first_roots():
    """The oracle itself has the textbook's first roots at Bi 1."""
    roots = [series_roots(beta, 1.0, 1)[0] for beta in (0.0, 1.0, 2.0)]
    assert roots == pytest.approx([0.860334, 1.255784, math.pi / 2], abs=1e-6)


@pytest.mark.parametrize(
    ("beta", "bi", "fo", "x", "expected"),
    [
        (0, INFINITE, 0.2, 0.0, 0.772312),
        (2, INFINITE, 0.1, 0.0, 0.707100),
        (1, 1, 0.5, 0.0, 0.548586),
        (2, 10, 0.2, 0.0, 0.382664),
        (0.28, 4, 0.3, 0.0, 0.680767),
        (0, 0.5, 1.0, None, 0.649760),
        (1, 2, 0.15, 1.0, 0.426845),
    ],
)
def test_series_values(beta, bi, fo, x, expected):
    """Printed values of the exact series, to 1e-5."""
    assert theta(beta, bi, fo, x) == pytest.approx(expected, abs=1e-5)


def after(body, start_c, face, time_s, x=0.0):
    """Temperature at x after a time in constant surroundings."""
    probe = body.probes(np.array([x]))
    return float(body.run(body.uniform(start_c), Segment(time_s, face), 1, probe)[0][0, 0])


def test_apple_in_freezer():
    """Cengel's apples: 9 cm, 20 °C into -15 °C air at h 8; one hour: centre 11.2 printed from one term, 11.11 exact."""
    apple = Symmetric(0.045, 2.0, Material(0.418, 1.3e-7))
    assert after(apple, 20, Face(8, -15), 3600) == pytest.approx(11.11, abs=0.02)
    assert after(apple, 20, Face(8, -15), 3600, 1.0) == pytest.approx(2.7, abs=0.1)


def test_boiled_eggs():
    """Cengel's eggs: 5.5 cm, 8 into 97 °C, 70 °C at 17.7 min within 1 %; 5 cm, 5 into 95 °C at 863 s."""
    egg = Symmetric(0.0275, 2.0, Material(0.6, 0.14e-6))
    assert after(egg, 8, Face(1400, 97), 17.7 * 60 * 0.99) < 70 < after(egg, 8, Face(1400, 97), 17.7 * 60 * 1.01)
    egg = Symmetric(0.025, 2.0, Material(0.627, 0.151e-6))
    assert after(egg, 5, Face(1200, 95), 863) == pytest.approx(70, abs=0.1)


@pytest.mark.parametrize(("thickness", "minutes"), [(0.025, 69.9), (0.050, 212.6)])
def test_slab_in_bath_closed_form(thickness, minutes):
    """One-term closed form: slab at alpha 1.4e-7, 5 into 60 °C, 59.5 °C at the centre."""
    slab = Symmetric(thickness / 2, 0.0, Material(0.48, 1.4e-7))
    assert after(slab, 5, Face(95, 60), minutes * 60) == pytest.approx(59.5, abs=0.005)


def test_slab_without_resistance():
    """Fixed surface: theta 0.01 at ln((4/pi)/0.01)/(pi/2)^2 R^2/alpha, 56.7 min for 30 mm, four times that for 60."""
    expected = math.log((4 / math.pi) / 0.01) / (math.pi / 2) ** 2 * 0.015**2 / 1.3e-7
    assert expected / 60 == pytest.approx(56.7, abs=0.05)
    for half, times in ((0.015, 1), (0.030, 4)):
        slab = Symmetric(half, 0.0, Material(0.48, 1.3e-7))
        assert after(slab, 1, Face(INFINITE, 0), expected * times) == pytest.approx(0.01, abs=1e-6)


def test_lumped_bead():
    """Incropera example 5.1: h 400, time constant 1 s, 0.706 mm; 25 to 199 °C in 200 °C gas takes 5.16 s."""
    bead = Symmetric(7.06e-4 / 2, 2.0, Material(20.0, 20.0 / (8500 * 400)))
    assert after(bead, 25, Face(400, 200), 5.16) == pytest.approx(199, abs=0.05)


def test_products_of_series():
    """5 into 60 °C, 90 min: finite cylinder d = L = 60 mm and brick 40 x 60 x 100 mm are products of the series."""
    fo = ALPHA * 5400

    def factor(beta: float, half: float) -> float:
        return series(beta, 95 * half / K, fo / half**2, 0.0)

    cylinder = 60 - 55 * factor(0, 0.03) * factor(1, 0.03)
    brick = 60 - 55 * factor(0, 0.02) * factor(0, 0.03) * factor(0, 0.05)
    assert (cylinder, brick) == pytest.approx((58.079, 58.222), abs=0.001)
    for body, expected in (
        (Product((0.03, 0.03), (1.0, 0.0)), cylinder),
        (Product((0.02, 0.03, 0.05), (0.0, 0.0, 0.0)), brick),
    ):
        points = np.zeros((1, len(body.halves_m)))
        temps, _ = body.run(body.uniform(5), Segment(5400, Face(95, 60)), 1, body.probes(points))
        assert temps[0, 0] == pytest.approx(expected, abs=0.001)


def test_ramp_closed_form():
    """A slow ramp on a lumped bead lags by slope x time constant, in closed form."""
    material = Material(3.0, 1e-6)
    half, h = 0.0005, 20.0
    tau = material.k_w_mk / material.alpha_m2s * half / h
    bead = Symmetric(half, 0.0, material)
    segment = Segment(600, Face(h, 20, 60))
    temps, _ = bead.run(bead.uniform(20), segment, 1, bead.mean_probe())
    slope = 40 / 600
    assert temps[0, 0] == pytest.approx(60 - slope * tau * (1 - math.exp(-600 / tau)), abs=0.02)


def test_bath_ramp():
    """Bath from 20 to 60 °C in 30 min, then 60: core 23.103 and 46.616 °C (two independent solvers)."""
    body = Symmetric(0.02, 0.28)
    probe = body.probes(np.zeros(1))
    first, state = body.run(body.uniform(5), Segment(1800, Face(95, 20, 60)), 1, probe)
    second, _ = body.run(state, Segment(1800, Face(95, 60)), 1, probe)
    assert (first[0, 0], second[0, 0]) == pytest.approx((23.103, 46.616), abs=0.005)


@pytest.mark.parametrize(
    ("thickness", "at_60", "at_75"), [(0.025, 49.576, 50.755), (0.038, 41.162, 44.849), (0.050, 31.721, 36.516)]
)
def test_chop_in_bath(thickness, at_60, at_75):
    """Slabs from 38 °F in 125 °F: core at 60 and 75 min (two independent solvers)."""
    body = Symmetric(thickness / 2)
    face = Face(95, c_from_f(125))
    assert after(body, c_from_f(38), face, 3600) == pytest.approx(at_60, abs=0.005)
    assert after(body, c_from_f(38), face, 4500) == pytest.approx(at_75, abs=0.005)


def test_bath_sear_rest():
    """38 mm: 75 min at 125 °F, 8 min at h 60 and 200 °C, rest; core, mean and the peak of the carryover."""
    body = Symmetric(0.019)
    probes = np.vstack([body.probes(np.zeros(1)), body.mean_probe()])
    bath, state = body.run(body.uniform(c_from_f(38)), Segment(4500, Face(95, c_from_f(125))), 1, probes)
    sear, state = body.run(state, Segment(480, Face(60, 200)), 1, probes)
    rest, _ = body.run(state, Segment(1800, Face(10, 25)), 1800, probes)
    peak = int(rest[:, 0].argmax())
    assert bath[0, 0] == pytest.approx(44.849, abs=0.02)
    assert sear[0] == pytest.approx((52.908, 77.454), abs=0.02)
    assert rest[peak, 0] == pytest.approx(72.415, abs=0.02)
    assert (4980 + peak + 1) / 60 == pytest.approx(98.5, abs=0.2)


def test_flips_move_the_coldest_point():
    """Six 2-min segments with the hot face changing sides; the coldest point leaves the middle (two solvers)."""
    slab = Slab(0.038)
    probe = slab.probes(np.array([0.5]))
    both = Face(95, c_from_f(125))
    temps, state = slab.run(slab.uniform(c_from_f(38)), Segment(3600, both), 1, probe)
    seen = {60: temps[0, 0]}
    for turn in range(6):
        hot, other = Face(600, 100), Face(25, 60)
        segment = Segment(120, other, hot) if turn % 2 == 0 else Segment(120, hot, other)
        temps, state = slab.run(state, segment, 1, probe)
        seen[62 + 2 * turn] = temps[0, 0]
        if turn == 2:
            positions = np.linspace(0, 1, 201)
            field = slab.probes(positions) @ state
            assert field.min() == pytest.approx(44.301, abs=0.02)
            assert positions[field.argmin()] == pytest.approx(0.53, abs=0.01)
    assert [seen[minute] for minute in (60, 62, 66, 72)] == pytest.approx([41.162, 41.758, 44.404, 52.386], abs=0.02)


def test_newton_cooling():
    """Newton's law, room 38 °F: tau 1.8035 h makes 70 °F in 2 h yet 41 °F only at 6.27 h; 1.7261 h just passes."""
    slow = lumped(1.8035 * 3600, c_from_f(38))
    assert slow.reached_s[0] == pytest.approx(2.0 * 3600, abs=2)
    assert slow.reached_s[-1] == pytest.approx(6.27 * 3600, abs=20)
    assert not slow.passes
    assert lumped(1.7260 * 3600, c_from_f(38)).passes
    assert not lumped(1.7263 * 3600, c_from_f(38)).passes
    assert lumped(1.7261 * 3600, c_from_f(38)).reached_s[0] == pytest.approx(1.914 * 3600, abs=4)
