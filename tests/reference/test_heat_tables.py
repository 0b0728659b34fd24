"""Times against published tables, each read from the shipped reference files."""

from __future__ import annotations

import csv
from importlib.resources import files

import numpy as np
import pytest
from stillroom.plugins.physics.conduction import Face, Material, Segment, Symmetric
from stillroom.plugins.physics.inverse import Immersion, time_to_core_s, time_to_logs_s
from stillroom.plugins.physics.kinetics import record, record_set
from stillroom.plugins.physics.lethality import cumulative_logs, equivalent_min, ramp_logs
from stillroom.plugins.physics.rules import meat_table, part_holds, poultry_table, roast_law_s, roast_table
from stillroom.plugins.physics.temperature import c_from_f, k_from_f_difference


def table(name: str) -> list[dict[str, str]]:
    path = files("stillroom.db") / "reference" / name
    return list(csv.DictReader(path.read_text(encoding="utf-8").splitlines()))


def printed_step(minutes: float) -> int:
    """Resolution the guide prints: 1 min below 20, 5 to an hour, 15 above."""
    return 1 if minutes < 20 else 5 if minutes <= 60 else 15


def inside_printed(computed: float, printed: float) -> bool:
    """Printed minus one step < computed <= printed, with 2 % beyond either end."""
    return (printed - printed_step(printed)) * 0.98 < computed <= printed * 1.02


def meat_shape(thickness_m: float) -> float:
    """Shape factor of the guide's meat table: 0 up to 20 mm, 0.28 from 40 mm, straight between (fitted)."""
    return 0.28 * min(1.0, max(0.0, (thickness_m - 0.020) / 0.020))


MEAT = [row for row in table("sous_vide_pasteurization.csv") if row["table"] == "5.1"]
FISH = [row for row in table("sous_vide_pasteurization.csv") if row["table"] == "3.1"]
POULTRY = [row for row in table("sous_vide_pasteurization.csv") if row["table"] == "4.1"]


def test_tables_are_there():
    """All cells of the printed tables: 168 of meat, 168 of fish, 126 of poultry."""
    assert (len(MEAT), len(FISH), len(POULTRY)) == (168, 168, 126)


@pytest.mark.parametrize(("food", "key", "misses"), [("lean fish", "fish_lean_listeria", [(5, 60)]),
                                                     ("fatty fish", "fish_fatty_listeria", [(5, 59)])])  # fmt: skip
def test_fish_pasteurisation(food, key, misses):
    """Baldwin's guide, tables 3.1 (lean fish; fatty fish), 6-log Listeria, D at 60 °C from its caption (memory), z
    fitted to it: every cell but one 5 mm cell each, which lie 0.002 min and 0.4 min below their interval."""
    outside = []
    for row in FISH:
        if row["food"] != food:
            continue
        thickness = float(row["thickness_mm"]) / 1000
        bath = Immersion(float(row["bath_c"]), float(row["start_temp_c"]), 0.28, material=Material(0.48, 0.995e-7))
        minutes = time_to_logs_s(bath, thickness, record(key), claim=False) / 60
        if not inside_printed(minutes, float(row["minutes"])):
            outside.append((int(row["thickness_mm"]), int(row["bath_c"])))
    assert outside == misses


@pytest.mark.parametrize("row", MEAT, ids=lambda row: f"{row['thickness_mm']}mm-{row['bath_c']}C")
def test_meat_pasteurisation(row):
    """Baldwin, A Practical Guide to Sous Vide Cooking, table 5.1: every cell, slowest of three organisms, no floor."""
    thickness = float(row["thickness_mm"]) / 1000
    bath = Immersion(float(row["bath_c"]), float(row["start_temp_c"]), meat_shape(thickness))
    slowest = max(time_to_logs_s(bath, thickness, entry, claim=False) for entry in record_set("meat"))
    assert inside_printed(slowest / 60, float(row["minutes"]))


def test_poultry_pasteurisation():
    """Baldwin's guide, table 4.1, Listeria fitted to it: all but the two 5 mm cells at 58 and 65 °C."""
    outside = []
    for row in POULTRY:
        thickness = float(row["thickness_mm"]) / 1000
        bath = Immersion(float(row["bath_c"]), float(row["start_temp_c"]), 0.28, material=Material(0.48, 1.08e-7))
        minutes = time_to_logs_s(bath, thickness, record("poultry_listeria"), claim=False) / 60
        if not inside_printed(minutes, float(row["minutes"])):
            outside.append((int(row["thickness_mm"]), int(row["bath_c"])))
    assert outside == [(5, 58), (5, 65)]


@pytest.mark.parametrize(("shape", "beta", "within"), [("cylinder", 0.70, 0.10), ("sphere", 1.25, 0.14)])
def test_heating_other_shapes_weak(shape, beta, within):
    """Baldwin's guide, table 2.2, other shapes (weak: shape factors fitted to it, 60 °C taken for its bath range)."""
    rows = [row for row in table("sous_vide_heating.csv") if row["table"] == "2.2" and row["shape"] == shape]
    assert len(rows) >= 15
    for row in rows:
        bath = Immersion(60.0, float(row["start_temp_c"]), beta, material=Material(0.48, 1.4e-7))
        minutes = time_to_core_s(bath, float(row["thickness_mm"]) / 1000, 59.5) / 60
        assert minutes == pytest.approx(float(row["minutes_to_bath_minus_0_5c"]), rel=within)


def test_heating_slabs_weak():
    """Baldwin's guide, table 2.2, slab rows (weak: partly from memory): within 10 %, but for the 5 mm row."""
    for row in table("sous_vide_heating.csv"):
        if row["table"] != "2.2" or row["shape"] != "slab" or row["thickness_mm"] == "5":
            continue
        bath = Immersion(60.0, float(row["start_temp_c"]), material=Material(0.48, 1.4e-7))
        minutes = time_to_core_s(bath, float(row["thickness_mm"]) / 1000, 59.5) / 60
        assert minutes == pytest.approx(float(row["minutes_to_bath_minus_0_5c"]), rel=0.10)


def test_fsis_meat_table_from_two_constants():
    """FSIS Appendix A, 6.5 log: D 0.172 min at 150 °F and z 10 °F give every entry from 130 to 157 °F."""
    law = record("roast_law")
    assert (law.d_min, law.z_k) == pytest.approx((0.172, k_from_f_difference(10)), abs=1e-6)
    for row in table("lethality_meat.csv"):
        if int(row["temp_f"]) > 157:
            continue
        computed = 6.5 * law.d_min * 60 * 10 ** ((150 - int(row["temp_f"])) / 10)
        assert computed == pytest.approx(float(row["check_6_5_log_s"]), abs=0.1)
        step = 60 if int(row["temp_f"]) <= 145 else 1
        assert int(row["time_6_5_log_s"]) - step < computed < int(row["time_6_5_log_s"]) + 0.5 * step


def test_fsis_meat_table_look_up():
    """At 158 °F and above the table answers (0 s), not the law (10.6 s); between rows the cooler row counts."""
    assert [meat_table().hold_s(temp) for temp in (130, 136, 140, 145, 150, 157.9, 158, 160, 190)] == [
        6720, 1680, 720, 240, 67, 14, 0, 0, 0,
    ]  # fmt: skip
    assert meat_table("7").hold_s(150) == 72
    assert pytest.approx(10.6, abs=0.05) == 6.5 * 0.172 * 60 * 10 ** ((150 - 158) / 10)


def test_ami_worksheet():
    """AMI Foundation process lethality worksheet, Salmonella: cumulative minutes at 150 °F as printed, to 0.001."""
    fahrenheit = [40, 64, 82, 97, 113, 128, 138, 142, 145, 148, 145, 140, 137, 136, 135, 134, 133]
    printed = [0, 0, 0, 0, 0, 0.002, 0.019, 0.074, 0.193, 0.430, 0.667, 0.771, 0.808, 0.831, 0.849, 0.863]
    times = [30.0 * index for index in range(len(fahrenheit))]
    minutes = equivalent_min(times, [c_from_f(value) for value in fahrenheit], c_from_f(150), k_from_f_difference(10))
    assert minutes[:16] == pytest.approx(printed, abs=0.001)
    assert minutes[16] == pytest.approx(0.874, abs=0.001)
    assert minutes[16] / 0.172 == pytest.approx(5.08, abs=0.01)


def test_food_code_roast_law():
    """Food Code 3-401.11(B): 112 min x 10^(-(F - 130)/10) gives every printed hold to less than one printed unit."""
    for temp, hold in zip(roast_table().temps_f, roast_table().times_s, strict=True):
        if temp < 158:
            assert abs(roast_law_s(float(temp)) - hold) < (60 if hold >= 180 else 1)
    assert [round(roast_law_s(temp), 1) for temp in (131, 140, 145, 150, 155)] == pytest.approx(
        [88.96 * 60, 11.2 * 60, 3.54 * 60, 67.2, 21.3], abs=0.5
    )


def test_roast_table_rows():
    """Food Code 3-401.11(B): seventeen rows, 112 min at 130 °F to none at 158."""
    found = roast_table()
    assert len(found.temps_f) == 17
    assert (found.hold_s(130), found.hold_s(145), found.hold_s(158)) == (6720, 240, 0)


def test_part_holds():
    """Shares of the roast table add: 30 min at 135 and 2 at 140 °F is exactly enough; 55 at 130 and 5 at 140 is not."""
    assert part_holds(((135, 1800), (140, 120))) == 1
    assert float(part_holds(((130, 3300), (140, 300)))) == pytest.approx(0.908, abs=0.001)


@pytest.mark.parametrize(("species", "fat"), [("chicken", 12), ("turkey", 12), ("chicken", 1), ("turkey", 1)])
def test_poultry_tables_by_log_interpolation(species, fat):
    """FSIS poultry tables: each row within 4 % of the log line through its neighbours, 10 % where 0.1 min is 5 %."""
    found = poultry_table(species, fat)
    for row in range(1, len(found.temps_f) - 1):
        low, high = found.temps_f[row - 1], found.temps_f[row + 1]
        if high - low != 2 or any(found.at_most[row - 1 : row + 2]):
            continue
        between = (found.times_s[row - 1] * found.times_s[row + 1]) ** 0.5
        limit = 0.04 if found.times_s[row] > 200 else 0.10
        assert between == pytest.approx(found.times_s[row], rel=limit)
        assert found.between_s(found.temps_f[row]) == pytest.approx(found.times_s[row], rel=1e-12)
    half = found.between_s(140.5)
    assert half == pytest.approx((found.hold_s(140) * found.hold_s(141)) ** 0.5, rel=1e-9)


def test_listeria_equivalents_of_two_minutes_at_70():
    """6-log Listeria, 2 min at 70 °C, z 7.5: closed form at other temperatures, 0.1 %."""
    entry = record("any_listeria_70")
    seconds = [entry.hold_s(temp) for temp in (60, 65, 68, 72, 75, 80)]
    assert seconds == pytest.approx([2585, 557, 222, 64.9, 25.9, 5.57], rel=0.002)


def test_three_organisms_at_60():
    """Baldwin's constants at 60 °C: Listeria 21.79, Salmonella 18.76, E. coli 9.10 min; Listeria governs."""
    minutes = [record(key).hold_s(60) / 60 for key in ("meat_listeria", "meat_salmonella", "meat_ecoli")]
    assert minutes == pytest.approx([21.79, 18.76, 9.10], abs=0.005)


def test_ramp_lethality_closed_form():
    """50 to 70 °C at 1 °C/min, D55 13.18 min, z 7.58: 23.7373 log, by formula and by integration of coarse samples."""
    entry = record("meat_salmonella")
    assert ramp_logs(50, 70, 1200, entry) == pytest.approx(23.7373, rel=1e-3)
    times = np.linspace(0, 1200, 5)
    logs = cumulative_logs(times, 50 + times / 60, entry, claim=False)
    assert logs[-1] == pytest.approx(23.7373, rel=1e-3)


def test_trapezoid_lies_high():
    """A convex rate: trapezoid at half a minute is above the closed form 17.70 min and within 0.5 %."""
    times = np.arange(0, 901, 30.0)
    minutes = equivalent_min(times, 50 + times / 60, 60, 6)[-1]
    assert 17.70 < minutes < 17.70 * 1.005


@pytest.mark.parametrize(
    ("thickness", "beta", "bath", "raw", "printed"), [(0.025, 0, 60, 79.31, 90), (0.05, 0.28, 57, 191.84, 195)]
)
def test_table_5_1_raw(thickness, beta, bath, raw, printed):
    """Table 5.1 before rounding, by two independent solvers, and inside the printed interval."""
    minutes = (
        max(time_to_logs_s(Immersion(bath, 5.0, beta), thickness, entry, claim=False) for entry in record_set("meat"))
        / 60
    )
    assert minutes == pytest.approx(raw, abs=0.1)
    assert printed - 15 < minutes <= printed


def test_lethality_matches_fine_samples():
    """30 s samples lose less than 0.001 log against 1 s ones."""
    body = Symmetric(0.0125)
    entry = record("meat_salmonella")
    logs = []
    for step in (1, 30):
        count = 6000 // step
        temps, _ = body.run(body.uniform(5), Segment(6000, Face(95, 60)), count, body.probes(np.zeros(1)))
        logs.append(cumulative_logs(np.arange(count + 1) * step, np.append(5.0, temps[:, 0]), entry, claim=False)[-1])
    assert logs[1] == pytest.approx(logs[0], abs=0.001)
    assert logs[0] == pytest.approx(12.7637, abs=0.001)
