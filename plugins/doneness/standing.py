"""A programme held against the kitchen's edition of the Food Code: met, not met, or only if."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from dataclasses import dataclass, replace

from stillroom.db.cooked_as import CookedAs, cooked_as, unknown
from stillroom.plugins.doneness.foods import NOT_WHOLE, RED
from stillroom.plugins.physics.cautions import CHILLS, FIRST_HEATING_S
from stillroom.plugins.physics.editions import edition_year, in_edition
from stillroom.plugins.physics.judging import assess, from_curve, judge_cooling, judge_minimum
from stillroom.plugins.physics.predict import first_at_or_above_s
from stillroom.plugins.physics.programme import Prediction
from stillroom.plugins.physics.rules import Minimum, cooling_rule, minimums, roast_rows
from stillroom.plugins.physics.temperature import beside, c_from_f, f_from_c

ADVISORY = (
    "the guest asks for it, the menu says so and carries the reminder, and no highly susceptible people are served"
)
NO_CHILD = "minced, it is on no children's menu"
NO_EDITION = "No edition of the Food Code is named in this kitchen's settings"
ONE_ORDER = "the egg is broken for one order and served at once"
PART_COOKED = "food that was part-cooked and chilled is finished to the row above, never undercooked to order"
REHEATED = "it is served at once; held hot it needs 165 °F for 15 s, reached within 2 h"

SAME_CLASS = "another row of the same class"
ANY_ROW = "any one row of this class is enough"
ENOUGH = "another row of this class is met, and one is enough"


@dataclass(frozen=True)
class RuleLine:
    """One rule with its answer. verdict: 'met', 'not met' or 'only if'; carried: not read in that edition itself."""

    rule: str
    section: str
    wanted: str
    predicted: str
    verdict: str
    why: str = ""
    carried: bool = False
    is_own: bool = False

    @property
    def stands(self) -> str:
        """Where the rule stands, in words."""
        return printed(self.section)


@dataclass(frozen=True)
class Held:
    """What a programme is held to: the kitchen's word for the food, the rule it named, its edition, its own rule.

    worked: what a person said of how it was worked, a key of `pieces.WORKED` or ''; named: further words, such as the
    recipe's name, which count where nobody said.
    """

    food: str
    minimum_id: str
    edition: str
    own: Minimum | None = None
    worked: str = ""
    named: str = ""

    @property
    def taken(self) -> CookedAs:
        """As what it is judged, and why."""
        return cooked_as(self.food, self.minimum_id, self.worked, self.named)


def chosen(held: Held) -> tuple[Minimum, ...]:
    """The minimums that a food is held to in an edition; rows of one class stand side by side, any one is enough.

    Args:
        held: what it is held to.
    """
    start = held.taken.start
    for family in ("cook_comminuted", "cook_poultry"):
        if start.startswith(family) or (start == "cook_ratites" and family == "cook_comminuted"):
            start = family
    if not start or start.startswith("roast_"):
        return ()
    found = [row for key, row in minimums().items() if key.startswith(start) and in_edition(row.edition, held.edition)]
    return tuple(found)


def limits_f(held: Held) -> tuple[float, ...]:
    """Minimums that stand beside the temperatures of a programme [°F], 130 °F for what gives credit among them."""
    rows = [*chosen(held), *([] if held.own is None else [held.own])]
    rows += _roast_rows(held.edition) if held.taken.start.startswith("roast_") else []
    return (130.0, 145.0, *(float(row.temp_f) for row in rows))


@dataclass(frozen=True)
class Break:
    """A chill after a first heat. heated_s: length of that heat [s]; at_s: when the chill begins [s]."""

    heated_s: float
    at_s: float
    heats_again: bool


def rule_lines(prediction: Prediction, held: Held) -> tuple[RuleLine, ...]:
    """Every rule that touches a programme, the cooking minimums first; the slow end decides.

    Args:
        prediction: the programme.
        held: what it is held to.
    """
    own = [] if held.own is None else [_minimum(prediction, held.own, held.edition)]
    if edition_year(held.edition) is None:
        return tuple(own) or (_none(NO_EDITION),)
    lines = [*own, *_cooking(prediction, held)]
    is_met = any(line.verdict == "met" for line in lines[len(own) :])
    found = interrupted(prediction)
    is_part = found is not None and found.heats_again and not cooked_first(prediction, held)
    if is_part and in_edition("2009", held.edition):
        lines.append(_minimum(prediction, minimums()["noncont_finish_2009"], held.edition))
    if any(line.verdict != "not judged" for line in lines[len(own) :]) and not is_met:
        wanted = "disclosure and reminder on the menu"
        ask = f"{ADVISORY}; {NO_CHILD}" if held.taken.worked == "minced" else ADVISORY
        verdict, why = ("not met", PART_COOKED) if is_part else ("only if", ask)
        lines.append(RuleLine("Served undercooked to order", "3-401.11(D), 3-603.11", wanted, "", verdict, why))
    return (*lines, *_other(prediction, found, is_part, held.edition))


def _cooking(prediction: Prediction, held: Held) -> list[RuleLine]:
    """The cooking minimums of the edition, of the rows of one class the best answered first."""
    food, taken = held.food, held.taken
    lines = _of_one_class([_minimum(prediction, row, held.edition) for row in chosen(held)])
    if taken.only_if:
        lines = [replace(one, verdict="only if", why=taken.only_if) if one.verdict == "met" else one for one in lines]
    if taken.kind == "egg" and taken.worked == "intact":
        lines += [_one_order(prediction, held.edition)]
    if not lines and not taken.start.startswith("roast_"):
        return [_unknown(held)]
    is_roast = taken.start.startswith("roast_")
    if is_roast or (taken.kind in RED - {"game"} and taken.worked not in NOT_WHOLE):
        lines.append(_roast(prediction, held.edition, is_roast))
    if taken.kind == "beef" and "veal" not in food.lower() and taken.worked == "intact":
        lines.append(_steak(prediction))
    return lines


def _none(words: str, why: str = "") -> RuleLine:
    """What stands in a rule's place where none is known: never silence."""
    return RuleLine(words, "", "no figure on file", "", "not judged", why)


def no_rule(held: Held) -> str:
    """Why a food is held to no single row of the code, in words."""
    line = _unknown(held)
    return f"{line.rule}. {line.why[:1].upper()}{line.why[1:]}"


def _unknown(held: Held) -> RuleLine:
    if edition_year(held.edition) is None:
        return _none(NO_EDITION)
    if held.taken.start.startswith("roast_"):
        return _none("A whole roast goes by a table of times", "see its programme")
    if held.taken.start:
        return _none(f"No cooking minimum for {held.food} is on file in edition {held.edition}", "Ask the inspector.")
    called = f"for “{held.food.strip()}”" if held.food.strip() else "while nobody says what food it is"
    return _none(f"No cooking minimum is known {called}", unknown(held.food))


def _one_order(prediction: Prediction, said: str) -> RuleLine:
    """Raw eggs broken for one guest have a row of their own."""
    row = minimums()["cook_eggs_immediate"]
    found = _minimum(prediction, row, said)
    return replace(found, verdict="only if", why=ONE_ORDER) if found.verdict == "met" else found


def _of_one_class(lines: list[RuleLine]) -> list[RuleLine]:
    """Rows of which any one is enough: one that is met stands first, and the others say that it is enough."""
    ranked = sorted(lines, key=lambda line: ("met", "only if", "not met").index(line.verdict))
    if len(ranked) < 2:
        return ranked
    ranked[1:] = [replace(line, rule=SAME_CLASS) for line in ranked[1:]]
    if ranked[0].verdict != "met":
        return [replace(line, why="; ".join(filter(None, (line.why, ANY_ROW)))) for line in ranked]
    return [ranked[0], *(line if line.verdict == "met" else replace(line, why=ENOUGH) for line in ranked[1:])]


def interrupted(prediction: Prediction) -> Break | None:
    """The first chill that follows a heat; None where there is none."""
    results = prediction.steps
    chill = next((index for index, result in enumerate(results) if result.step.kind in CHILLS), None)
    before = [] if chill is None else [r.step.duration_s for r in results[:chill] if r.step.around.heats]
    if chill is None or not before:
        return None
    return Break(sum(before), results[chill].start_s, any(r.step.around.heats for r in results[chill:]))


def cooked_first(prediction: Prediction, held: Held) -> bool:
    """Whether the food is cooked by its rule before it is chilled, at the slow end: then it is no part-cooked food."""
    found = interrupted(prediction)
    if found is None or edition_year(held.edition) is None:
        return False
    last = bisect_right(prediction.times_s, found.at_s)
    log = from_curve(prediction.times_s[:last], prediction.slow_coldest_c[:last])
    rows = [*chosen(held)]
    if held.taken.start.startswith("roast_") and _oven(prediction)[0] != "not met":
        rows += _roast_rows(held.edition)
    return any(judge_minimum(log, row).verdict == "met" for row in rows)


def printed(section: str) -> str:
    """A section with the book it stands in; the kitchen's own rules stand where they say."""
    return f"Food Code {section}" if section[:1].isdigit() else section


def _carried(row: Minimum, said: str) -> bool:
    return f"{edition_year(said)}*" in row.edition


def _minimum(prediction: Prediction, row: Minimum, said: str) -> RuleLine:
    answer = assess(prediction, row)
    wanted = f"{float(row.temp_f):g} °F" + (f" for {row.hold_s} s" if row.hold_s else ", no hold stated")
    peak = f"coldest point at most {_down(max(prediction.slow_coldest_c))} °F"
    why = "" if answer.reason.startswith("highest") else answer.reason
    if answer.verdict == "only if":
        why = "the probe shows it: only the likely curve gets there"
    return RuleLine(row.food_class, row.section, wanted, peak, answer.verdict, why, _carried(row, said),
                    row.id == "own")  # fmt: skip


def _roast_rows(said: str) -> list[Minimum]:
    return [row for row in roast_rows() if in_edition(row.edition, said)]


def _roast(prediction: Prediction, said: str, is_roast: bool) -> RuleLine:
    """The roast table: the row nearest to being held, or held."""
    rows = _roast_rows(said)
    log = from_curve(prediction.times_s, prediction.slow_coldest_c)
    judged = [(judge_minimum(log, row), row) for row in rows]
    met = [pair for pair in judged if pair[0].verdict == "met"]
    section = "3-401.11(B)"
    if met:
        answer, row = met[0]
        held = f"{(answer.shortest_s or 0) / 60:.0f} min at {float(row.temp_f):g} °F"
        wanted = f"{float(row.temp_f):g} °F for {row.hold_s / 60:.1f} min"
        verdict, oven = _oven(prediction)
        whole = "" if is_roast else "it is a whole roast: a steak or chop goes by the row above"
        if verdict == "met" and whole:
            verdict = "only if"
        return RuleLine("Whole meat roasts", section, wanted, held, verdict, "; ".join(filter(None, (whole, oven))))
    best = max(judged, key=lambda pair: (pair[0].shortest_s or 0) / max(pair[1].hold_s, 1), default=None)
    if best is None:
        return RuleLine("Whole meat roasts", section, "time table", "", "not judged", "no row in this edition on file")
    wanted = f"{float(best[1].temp_f):g} °F for {best[1].hold_s / 60:.1f} min"
    held = f"held {(best[0].shortest_s or 0) / 60:.1f} min"
    return RuleLine("Whole meat roasts", section, wanted, held, "not met", "no row of the table is held")


# Oven settings of 3-401.11(B), °F: rows roast_oven_* of cooking_minimums.csv.
DRY_LEAST_F, DRY_SMALL_F = 250.0, 350.0
TOO_COOL = "a dry oven for a roast is set to 250 °F or more"
BY_WEIGHT = "it weighs 10 lb or more; less needs 350 °F, or 325 °F with a fan"
HUMID = "the oven is at 250 °F or less with more than 90 % humidity for an hour, or the roast in a bag"


def _oven(prediction: Prediction) -> tuple[str, str]:
    """What the code asks of the oven of a whole roast: a verdict, and what else must be so."""
    steps = [result.step for result in prediction.steps]
    dry = [temp for step in steps if step.kind == "oven_dry" for temp in (step.temp_c, step.end_c) if temp is not None]
    coolest = min(map(f_from_c, dry), default=DRY_SMALL_F) + 1e-6
    if coolest < DRY_LEAST_F:
        return "not met", TOO_COOL
    needs = [BY_WEIGHT] if coolest < DRY_SMALL_F else []
    needs += [HUMID] if any(step.kind == "oven_humid" for step in steps) else []
    return ("only if", " and ".join(needs)) if needs else ("met", "")


def _steak(prediction: Prediction) -> RuleLine:
    surface = f_from_c(max(prediction.surface_c))
    why = (
        "whole-muscle intact beef so labelled, both faces at 145 °F with a cooked colour, "
        "no highly susceptible people served"
    )
    verdict = "only if" if surface >= 145 else "not met"
    shown = f"surface {beside(surface, (145.0,)):g} °F"
    return RuleLine("Intact beef steak, surface", "3-401.11(C)", "145 °F on both faces", shown,
                    verdict, why if verdict == "only if" else "")  # fmt: skip


def _other(prediction: Prediction, found: Break | None, is_part: bool, edition: str) -> list[RuleLine]:
    lines = []
    if any(result.step.kind == "bath" for result in prediction.steps):
        lines.append(RuleLine("Reduced-oxygen packing", "3-502.12", "plan where food is bagged under vacuum", "bath",
                              "only if", "a written plan is on file, or the 48-hour rule is kept"))  # fmt: skip
    if found is None:
        return lines
    if is_part:
        lines.append(_interrupted(found.heated_s))
    elif found.heats_again:
        lines.append(RuleLine("Heated again after cooling", "3-403.10, 3-403.11", "to order: any temperature", "",
                              "only if", REHEATED))  # fmt: skip
    cooled = [line for span in _coolings(prediction) if (line := _cooled(prediction, *span))]
    if cooled and not in_edition(cooling_rule().edition, edition):
        return [*lines, _none("Cooling", f"No cooling rule of the {edition} edition is on file. Local code decides")]
    return lines + sorted(cooled, key=lambda line: line.verdict == "met")[:1]


def _coolings(prediction: Prediction) -> list[tuple[float, float]]:
    """Stretches that end with a chill, each to where the next heat begins [s]: every cooling is one of its own."""
    found, begins, is_chilled = list[tuple[float, float]](), 0.0, False
    for result in prediction.steps:
        if result.step.around.heats and is_chilled:
            found.append((begins, result.start_s))
            begins, is_chilled = result.start_s, False
        is_chilled = is_chilled or result.step.kind in CHILLS
    return [*found, (begins, prediction.times_s[-1])] if is_chilled else found


def _interrupted(heated_s: float) -> RuleLine:
    verdict = "not met" if heated_s > FIRST_HEATING_S else "only if"
    why = "" if verdict == "not met" else "a written plan is approved beforehand and the food is marked"
    return RuleLine("Non-continuous cooking", "3-401.14", "first heating at most 60 min, written plan",
                    f"first heating {heated_s / 60:.0f} min", verdict, why)  # fmt: skip


def _cooled(prediction: Prediction, begins_s: float, ends_s: float) -> RuleLine | None:
    """One cooling, its clock from when the first part falls to 135 °F for good; None where no part was so hot."""
    first, end = bisect_left(prediction.times_s, begins_s), bisect_right(prediction.times_s, ends_s)
    times, hottest = prediction.times_s[first:end], prediction.slow_hottest_c[first:end]
    if max(hottest) < c_from_f(135):
        return None
    coldest = prediction.slow_coldest_c[first:end]
    hot = [at for at, cold in zip(times, coldest, strict=True) if cold >= c_from_f(135)]
    judged = judge_cooling(from_curve(times, hottest), cooling_rule(), hot[-1] if hot else None)
    shown = "met" if judged.verdict == "met" else "not met"
    return RuleLine("Cooling", judged.rule.section, judged.rule.named, judged.reason, shown)


def reached_s(prediction: Prediction, temp_f: float) -> float | None:
    """When the likely core first reaches a temperature [s]; None when it never does."""
    return first_at_or_above_s(prediction.times_s, prediction.core_c, c_from_f(temp_f))


def _down(temp_c: float) -> str:
    return f"{int(f_from_c(temp_c) * 10) / 10:.1f}"
