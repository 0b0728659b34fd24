"""A programme held against rules: part-cooked food, food cooked before it is chilled, and a kitchen's own rule."""

from __future__ import annotations

import pytest
from stillroom.db.cooked_as import kind_of
from stillroom.plugins.doneness.compute import Plan, Question, plan
from stillroom.plugins.doneness.form import read_form
from stillroom.plugins.doneness.standing import Held, RuleLine, chosen, printed
from stillroom.plugins.physics.rules import Minimum, own_minimum

ADVISORY = "3-401.11(D), 3-603.11"
GRILLED = {"food": "chicken", "shape": "slab", "thickness": "20 mm", "start": "38 °F", "step1": "grill",
           "at1": "500 °F", "time1": "4 min", "turns1": "1", "step2": "blast", "at2": "10 °F", "time2": "90 min",
           "step3": "oven_humid", "at3": "250 °F", "time3": "2 h"}  # fmt: skip
CHOP = {"food": "lamb", "shape": "slab", "thickness": "25 mm", "start": "38 °F", "step1": "bath", "at1": "125 °F",
        "time1": "50 min", "step2": "ice", "at2": "32 °F", "time2": "2 h", "step3": "grill", "at3": "500 °F",
        "time3": "5 min", "turns3": "3"}  # fmt: skip
COOKED = CHOP | {"at1": "150 °F", "time1": "3 h"}


def made(typed: dict[str, str], minimum: str = "", edition: str = "2022", own: Minimum | None = None) -> Plan:
    read = read_form(typed)
    assert read.wrong == {} and read.piece is not None
    return plan(Question(typed["food"], read.piece, read.steps, None, minimum, (None, None), edition, own))


def line(found: Plan, section: str) -> RuleLine:
    (one,) = [rule for rule in found.rules if rule.section == section]
    return one


def sections(found: Plan) -> set[str]:
    return {rule.section for rule in found.rules}


def test_part_cooked_chicken_finished_hot_needs_its_written_plan() -> None:
    """Marked on the grill, chilled, finished past 165 °F: the cook is met, the method only with the approved procedure.
    Source: Food Code 3-401.14, worked case in a state's text (S-DE-14 of the reference tables)."""
    found = made(GRILLED)
    assert line(found, "3-401.11(A)(3)").verdict == "met"
    assert line(found, "3-401.14").verdict == "only if" and ADVISORY not in sections(found)
    assert "non_continuous" in {caution.code for caution in found.cautions}


def test_seventy_five_minutes_of_first_heating_is_too_long() -> None:
    """Sixty minutes are the limit. Source: Food Code 3-401.14(A)."""
    found = made(GRILLED | {"step1": "cool_zone", "at1": "150 °F", "time1": "75 min", "turns1": ""})
    assert line(found, "3-401.14").verdict == "not met"


def test_part_cooked_food_is_never_undercooked_to_order() -> None:
    """The same chop without a chill may go out under the advisory; part-cooked and chilled it may not.
    Source: Food Code 3-401.14(D), which closes 3-401.11(D)."""
    straight = {key: value for key, value in CHOP.items() if not key.endswith("2")} | {"time3": "2 min"}
    assert line(made(straight, "cook_intact_meat"), ADVISORY).verdict == "only if"
    chilled = made(CHOP | {"time3": "2 min"}, "cook_intact_meat")
    assert line(chilled, "3-401.11(A)(1)(b)").verdict == "not met"
    assert line(chilled, ADVISORY).verdict == "not met" and "part-cooked" in line(chilled, ADVISORY).why


def test_food_cooked_before_its_chill_is_not_part_cooked() -> None:
    """Three hours at 150 °F meet 145 °F for 15 s: what follows is heating again, not a second half of cooking."""
    found = made(COOKED, "cook_intact_meat")
    assert "3-401.14" not in sections(found) and line(found, "3-403.10, 3-403.11").verdict == "only if"
    assert "non_continuous" not in {caution.code for caution in found.cautions}


def test_a_roast_cooked_by_its_table_is_not_part_cooked_either() -> None:
    """Six hours at 140 °F hold 130 °F for far more than 112 min; as a chop, whose row is 145 °F, they don't.
    Source: Food Code 3-401.11(B)."""
    long = COOKED | {"at1": "140 °F", "time1": "6 h", "time2": "3 h"}
    assert "3-401.14" not in sections(made(long, "roast_130"))
    assert "3-401.14" in sections(made(long, "cook_intact_meat"))


def test_the_2009_edition_asks_165_at_the_final_cook() -> None:
    """165 °F for 15 s whatever the food. Source: Food Code 2009, 3-401.14(D)."""
    found = made(CHOP | {"time3": "2 min"}, "cook_intact_meat", "2009")
    assert "165 °F for 15 s" in {rule.wanted for rule in found.rules}
    assert "165 °F for 15 s" not in {rule.wanted for rule in made(CHOP, "cook_intact_meat").rules}


@pytest.mark.parametrize(("at", "verdict"), [("150 °F", "not met"), ("165 °F", "met")])
def test_a_kitchens_own_rule_stands_beside_the_code_or_alone(at: str, verdict: str) -> None:
    """158 °F for 2 min, as this kitchen wrote it; an edition that names no year leaves it alone on the page."""
    own = own_minimum(158.0, 120.0, "house plan, sheet 3")
    bath = {key: value for key, value in CHOP.items() if key[-1] not in "23"} | {"at1": at, "time1": "3 h"}
    both = made(bath, "cook_intact_meat", own=own)
    assert (both.rules[0].verdict, both.rules[0].wanted, both.rules[0].stands) == (
        verdict, "158 °F for 120 s", "house plan, sheet 3")  # fmt: skip
    assert [rule.is_own for rule in both.law] == [True, False]
    alone = made(bath, "cook_intact_meat", "our own", own).rules
    assert [(rule.is_own, rule.verdict) for rule in alone] == [(True, verdict)]


def test_an_own_rule_is_kept_in_its_own_fahrenheit() -> None:
    """63 °C is 145.4 °F exactly; a reading of 145.4 °F meets it and one of 145.3 does not."""
    assert own_minimum(145.4, 0.0, "").temp_f == 145 + own_minimum(0.4, 0.0, "").temp_f
    assert float(own_minimum(145.4, 0.0, "").temp_f) == 145.4 and printed("3-401.11") == "Food Code 3-401.11"


# 64.5 °C for two hours and 62 °C for three minutes: the coldest point peaks at 147.9 °F and is above 145 for an hour.
LOW = {"shape": "slab", "thickness": "20 mm", "start": "38 °F", "step1": "bath", "at1": "64.5 °C", "time1": "2 h",
       "step2": "rest", "at2": "62 °C", "time2": "3 min"}  # fmt: skip
BRIEF = LOW | {"time1": "", "until1": "145.5 °F", "at1": "66 °C", "step2": "ice", "at2": "32 °F", "time2": "10 min"}


def rows(food: str, minimum: str = "", edition: str = "2017", *said: str) -> set[tuple[float, int]]:
    """Temperature [°F] and hold [s] of every row that a food is held to."""
    return {(float(r.temp_f), r.hold_s) for r in chosen(Held(food, minimum, edition, None, *said))}


INTACT = {(145.0, 15)}
# Food Code 2017 3-401.11(A)(2) and its chart: 155 °F for 17 s, 150 for 1 min, 145 for 3 min, 158 less than 1 s.
GROUND = {(155.0, 17), (150.0, 60), (145.0, 180), (158.0, 0)}
HOT = {(165.0, 0)}


@pytest.mark.parametrize(
    ("food", "asked"),
    [
        ("beef", INTACT), ("ground beef", GROUND), ("minced pork", GROUND), ("injected pork", GROUND),
        ("mutton sausage", GROUND), ("venison burgers", GROUND), ("ground fish", GROUND), ("Salmon fishcakes", GROUND),
        ("mechanically tenderized beef", GROUND), ("stuffed pork", HOT), ("stuffed salmon", HOT),
        ("ground chicken", HOT), ("stuffed duck", HOT), ("minced wild rabbit", HOT), ("lamb", INTACT),
        ("salmon", INTACT), ("fish cakes", GROUND), ("Crab Cake", GROUND), ("fish fingers", GROUND),
        ("salmon mousse", GROUND), ("beef bolognese", GROUND), ("beef steak haché", GROUND), ("jaccarded beef", GROUND),
        ("pork liver parfait", GROUND), ("lamb doner kebab", GROUND), ("pork ravioli", HOT), ("veal cordon bleu", HOT),
        ("crab dumplings", HOT), ("pork with potato cake", INTACT),
    ],
)  # fmt: skip
def test_a_food_is_held_to_the_row_of_how_it_was_worked(food: str, asked: set[tuple[float, int]]) -> None:
    """The words of its name choose the stricter row. Source: Food Code 2017 3-401.11(A)(1)(b), (2), (3)."""
    assert rows(food) == asked


def test_the_2022_edition_lists_no_instant_row() -> None:
    """The text read of it has the rows of 155, 150 and 145 °F. Source: cooking_minimums.csv, S-WAC2022."""
    assert rows("ground beef", "", "2022") == GROUND - {(158.0, 0)}


def test_stuffed_and_wild_food_held_fifteen_seconds_before_2017() -> None:
    """Source: Food Code 2013 3-401.11(A)(3) in a state's text (S-WI2013): 165 °F for 15 s."""
    assert rows("stuffed pork", "", "2013") == rows("pheasant", "", "2013") == {(165.0, 15)}


@pytest.mark.parametrize(
    ("minimum", "worked", "named", "asked"),
    [
        ("", "minced", "", GROUND), ("", "stuffed", "", HOT), ("cook_intact_meat", "injected", "", GROUND),
        ("cook_intact_meat", "", "Stuffed saddle", HOT), ("cook_stuffed", "intact", "", HOT),
        ("cook_comminuted_155_2017", "", "", GROUND), ("roast_130", "minced", "", GROUND),
        ("roast_130", "injected", "", set()),
        ("cook_intact_meat", "intact", "Lamb sausage", INTACT), ("cook_microwave", "minced", "", HOT),
    ],
)  # fmt: skip
def test_of_what_is_said_the_stricter_counts(
    minimum: str, worked: str, named: str, asked: set[tuple[float, int]]
) -> None:
    """A person, the rule of the recipe, its name: none makes another's word laxer, but for a name that is answered.
    A whole roast may be injected: corned beef and ham stand in its table (Food Code 3-401.11(B))."""
    assert rows("lamb", minimum, "2017", worked, named) == asked


def test_a_tick_does_not_outvote_the_food_s_own_name() -> None:
    """Ground beef said to be in one piece is ground beef, and the page says so."""
    held = Held("ground beef", "cook_intact_meat", "2017", None, "intact")
    assert held.taken.worked == "minced" and "ground" in held.taken.why and "the stricter counts" in held.taken.why


LAXER = ("cook_intact_meat", "cook_fish_intact", "cook_game_commercial", "cook_comminuted_155_2017", "cook_ratites",
         "cook_plant_hot_hold", "cook_eggs_immediate", "cook_steak_surface", "roast_130", "roast_145")  # fmt: skip


@pytest.mark.parametrize("minimum", LAXER)
@pytest.mark.parametrize("food", ["chicken", "minced chicken", "pheasant", "wild duck", "mallards", "duck breast"])
def test_no_bird_is_held_to_a_laxer_rule(food: str, minimum: str) -> None:
    """Whatever its recipe names. Source: Food Code 3-401.11(A)(3)."""
    assert rows(food, minimum) == HOT


@pytest.mark.parametrize(
    ("food", "minimum", "asked"),
    [
        ("hare", "roast_130", HOT), ("wild rabbit", "cook_comminuted_155_2017", HOT),
        ("cod", "roast_130", INTACT), ("cod", "cook_plant_hot_hold", INTACT), ("salmon", "cook_eggs_immediate", INTACT),
        ("ostrich", "cook_intact_meat", GROUND), ("venison", "roast_130", INTACT), ("beef", "roast_130", set()),
        ("lamb", "cook_poultry", HOT), ("something", "cook_intact_meat", INTACT),
    ],
)  # fmt: skip
def test_a_recipe_may_name_a_stricter_rule_and_no_laxer_one(
    food: str, minimum: str, asked: set[tuple[float, int]]
) -> None:
    """Time tables are for whole meat roasts: Food Code 3-401.11(B)."""
    assert rows(food, minimum) == asked


@pytest.mark.parametrize(
    ("food", "kind"),
    [
        ("chicken and wild salmon", "poultry"), ("duck with wild mussels", "poultry"),
        ("pheasant with salmon", "poultry"),
        ("wild venison with crab", "wild"), ("wild salmon", "fatty fish"), ("wild prawns", "shellfish"),
        ("chicken & egg", "poultry"), ("chicken, egg", "poultry"), ("chicken egg fried rice", "poultry"),
        ("duck egg", "egg"), ("duck's eggs", "egg"), ("hen's egg", "egg"),
    ],
)  # fmt: skip
def test_of_several_foods_the_strictest_decides(food: str, kind: str) -> None:
    assert kind_of(food) == kind


@pytest.mark.parametrize("food", ["pork bratwurst", "lamb köfte", "lamb kefta", "beef keema", "pork pate", "pork pâté",
                                  "venison salami", "lamb crépinette"])  # fmt: skip
def test_more_names_of_minced_meat(food: str) -> None:
    """Chopped, flaked, ground or minced, sausage among it: Food Code 1-201.10, comminuted."""
    assert rows(food) == GROUND


def test_game_by_the_laxer_row_is_met_only_if_it_was_inspected() -> None:
    """3-401.11(A)(1)(c) is for game raised for food or inspected; any other is wild, (A)(3)."""
    assert "inspected" in Held("venison", "", "2017").taken.only_if
    assert "inspected" in Held("wild venison", "cook_game_commercial", "2017").taken.only_if
    assert Held("wild venison", "", "2017").taken.only_if == Held("beef", "", "2017").taken.only_if == ""


def test_minced_meat_that_meets_the_chop_s_row_alone_is_not_met() -> None:
    """145 °F for some seconds cooks a steak and no burger."""
    whole, minced = (made(BRIEF | {"food": food}, edition="2017") for food in ("beef", "ground beef"))
    assert line(whole, "3-401.11(A)(1)(b)").verdict in {"met", "only if"}
    assert {r.verdict for r in minced.rules if r.section.startswith("3-401.11(A)")} == {"not met"}
    assert not {"3-401.11(B)", "3-401.11(C)"} & sections(minced)
    whole = made(LOW | {"food": "duck"})
    assert "children" in line(minced, ADVISORY).why and "children" not in line(whole, ADVISORY).why


def test_one_row_of_a_class_is_enough_and_stands_first() -> None:
    """An hour above 145 °F meets the row of three minutes, though the core never sees 150."""
    found = made(LOW | {"food": "ground beef"})
    first, *others = [r for r in found.rules if r.section.startswith("3-401.11(A)")]
    assert (first.wanted, first.verdict, found.law[0]) == ("145 °F for 180 s", "met", first)
    assert {r.verdict for r in others} == {"not met"} and all("one is enough" in r.why for r in others)
    assert "not_intact" in {c.code for c in found.cautions}


def test_steak_bands_are_not_those_of_minced_meat() -> None:
    """Source: FSIS chart (S-FSISCHART): ground meats 160 °F, ground poultry and stuffing 165."""
    for food, low in (("ground beef", 160), ("ground chicken", 165), ("stuffed pork", 165)):
        assert [band.low_f for band in made(LOW | {"food": food}).bands] == [low]


@pytest.mark.parametrize("food", ["porc", "burger", "sausage", "liver", "tofu", ""])
def test_an_unknown_food_is_told_first_and_never_passed_over(food: str) -> None:
    """No cooking rule, no verdict that looks complete, and the foods that are known."""
    first, *others = made(LOW | {"food": food}).rules
    assert first.verdict == "not judged" and first.rule.startswith("No cooking minimum is known")
    assert food in first.rule and "Known:" in first.why and "ostrich" in first.why
    assert {r.section for r in others} == {"3-502.12"} and made(LOW | {"food": food}).law == [first]


def test_the_nearest_name_is_offered() -> None:
    """porc is near pork; of a burger or a liver it is asked whose."""
    assert made(LOW | {"food": "porc"}).rules[0].why.startswith("Is pork meant?")
    assert made(LOW | {"food": "burger"}).rules[0].why.startswith("Say of what it is")


def test_an_edition_without_a_row_is_told_too() -> None:
    """The rows of steaks on file begin with 2013."""
    first = made(LOW | {"food": "pork"}, edition="2005").rules[0]
    assert (first.verdict, first.rule) == ("not judged", "No cooking minimum for pork is on file in edition 2005")
    alone = made(LOW | {"food": "pork"}, edition="our own").rules
    assert [r.verdict for r in alone] == ["not judged"] and "No edition" in alone[0].rule


@pytest.mark.parametrize(
    ("food", "asked"),
    [
        ("scallops", INTACT), ("shellfish", INTACT), ("crab", INTACT), ("ostrich", GROUND), ("egg", GROUND),
        ("quail's eggs", GROUND), ("duck with egg", HOT), ("chicken liver", HOT), ("calf's liver", INTACT),
        ("wild venison", HOT), ("venison", INTACT), ("wild salmon", INTACT), ("wild duck", HOT), ("wild mushroom", HOT),
    ],
)  # fmt: skip
def test_every_class_of_the_code_is_reached_by_a_name(food: str, asked: set[tuple[float, int]]) -> None:
    """Shellfish are fish (Food Code 1-201.10); ratites and eggs that are not for one order stand in 3-401.11(A)(2)."""
    assert rows(food) == asked


def test_eggs_and_venison_have_their_conditions() -> None:
    """An egg for one guest: 145 °F for 15 s (3-401.11(A)(1)(a)); a deer shot in the wild: 165 °F (A)(3)."""
    egg = line(made(LOW | {"food": "egg"}), "3-401.11(A)(1)(a)")
    deer = line(made(LOW | {"food": "venison"}), "3-401.11(A)(1)(b)")
    assert (egg.verdict, deer.verdict) == ("only if", "only if")
    assert "one order" in egg.why and "165 °F" in deer.why


@pytest.mark.parametrize(("thickness", "verdict"), [("60 mm", "met"), ("70 mm", "not met")])
def test_the_cooling_clock_of_a_programme_starts_at_its_first_cold_part(thickness: str, verdict: str) -> None:
    """The face falls to 135 °F in the ice at once, long before the middle: of 70 mm the middle would be in time by its
    own clock alone. Hours in the bath before that count for nothing. Source: Food Code 3-501.14(A).
    """
    chilled = {"food": "beef", "shape": "slab", "start": "38 °F", "step1": "bath", "at1": "62 °C", "time1": "12 h",
               "step2": "ice", "at2": "33 °F", "time2": "7 h"}  # fmt: skip
    assert line(made(chilled | {"thickness": thickness}), "3-501.14(A)").verdict == verdict


@pytest.mark.parametrize(
    ("again", "verdict"), [({}, "not met"), ({"step4": "ice", "at4": "33 °F", "time4": "8 h"}, "not met")]
)
def test_every_cooling_of_a_programme_counts(again: dict[str, str], verdict: str) -> None:
    """A slow chill is not made good by a second bath and ice after it: each cooling has its own clock, 3-501.14(A)."""
    slow = {"food": "beef", "shape": "slab", "thickness": "60 mm", "start": "38 °F", "step1": "bath", "at1": "62 °C",
            "time1": "10 h", "step2": "chiller", "at2": "38 °F", "time2": "5 h", "step3": "bath", "at3": "64 °C",
            "time3": "7 h"}  # fmt: skip
    assert line(made(slow | again), "3-501.14(A)").verdict == verdict


def test_heat_after_a_chill_is_no_cooling_that_failed() -> None:
    """Cooked, chilled on ice in time and heated again: the heat at the end is told to be no slow cooling."""
    steps = {"food": "beef", "shape": "slab", "thickness": "30 mm", "start": "38 °F", "step1": "bath", "at1": "62 °C",
             "time1": "3 h", "step2": "ice", "at2": "33 °F", "time2": "2 h", "step3": "bath", "at3": "64 °C",
             "time3": "3 h"}  # fmt: skip
    assert line(made(steps), "3-501.14(A)").verdict == "met"


def test_a_cooling_is_held_to_no_rule_of_another_edition() -> None:
    """The figures on file are those of 2005 and later; in 1999 the clock started at 140 °F."""
    chilled = {"food": "beef", "shape": "slab", "thickness": "30 mm", "start": "38 °F", "step1": "bath",
               "at1": "62 °C", "time1": "3 h", "step2": "ice", "at2": "33 °F", "time2": "4 h"}  # fmt: skip
    said = [(one.verdict, one.why) for one in made(chilled, edition="1999").rules if one.rule == "Cooling"]
    assert said == [("not judged", "No cooling rule of the 1999 edition is on file. Local code decides")]
    assert line(made(chilled), "3-501.14(A)").verdict == "met"


@pytest.mark.parametrize(
    ("kind", "at", "time", "verdict", "words"),
    [
        ("oven_dry", "230 °F", "7 h", "not met", "250 °F or more"),
        ("oven_dry", "250 °F", "7 h", "only if", "10 lb or more"),
        ("oven_dry", "340 °F", "4 h", "only if", "10 lb or more"),
        ("oven_dry", "350 °F", "4 h", "met", ""),
        ("oven_humid", "180 °F", "7 h", "only if", "90 % humidity"),
        ("bath", "58 °C", "9 h", "met", ""),
    ],
)
def test_a_roast_is_cooked_in_an_oven_of_the_code(kind: str, at: str, time: str, verdict: str, words: str) -> None:
    """3-401.11(B): a dry oven at 350 °F (325 with a fan), 250 from 10 lb on; humid at most 250. A bath is no oven.
    Source: cooking_minimums.csv, roast_oven_dry_small, roast_oven_conv_small, roast_oven_humid (S-WAC2022)."""
    joint = {"food": "beef", "shape": "slab", "thickness": "80 mm", "start": "41 °F", "step1": kind, "at1": at,
             "time1": time}  # fmt: skip
    found = line(made(joint, "roast_130"), "3-401.11(B)")
    assert found.verdict == verdict and words in found.why


def test_a_roast_of_an_edition_without_rows_is_not_judged() -> None:
    """No roast row of the 2005 edition was read: that is not known, and no failure."""
    joint = {"food": "beef", "shape": "slab", "thickness": "80 mm", "start": "41 °F", "step1": "bath", "at1": "58 °C",
             "time1": "9 h"}  # fmt: skip
    assert line(made(joint, "roast_130", "2005"), "3-401.11(B)").verdict == "not judged"


def test_food_from_a_microwave_oven_has_stood_covered() -> None:
    """165 °F is not all that 3-401.12 asks: rotated or stirred, covered, two minutes covered afterwards."""
    hot = {"food": "chicken", "shape": "slab", "thickness": "30 mm", "start": "41 °F", "step1": "bath", "at1": "76 °C",
           "time1": "3 h"}  # fmt: skip
    found = line(made(hot, "cook_microwave"), "3-401.12")
    assert found.verdict == "only if" and "covered" in found.why
