"""Logger files through a mapping, and readings judged."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace

import pytest
from stillroom.plugins.doneness.bring import Mapping, NotRead, moment, read_logger
from stillroom.plugins.doneness.compute import Question, plan
from stillroom.plugins.doneness.cool import cooled, read_pan
from stillroom.plugins.doneness.form import read_form
from stillroom.plugins.doneness.keep import sent
from stillroom.plugins.doneness.logs import carryover_pairs, house_carryover, house_h, judged_cooling, judged_probe
from stillroom.plugins.physics.errors import HeatError
from stillroom.plugins.physics.reheating import judge_reheat, reheat_rule
from stillroom.plugins.physics.rules import own_minimum
from stillroom.plugins.physics.temperature import f_from_c

BY_NAME = Mapping("Time", "Probe 1")
HEAD = "Time,Probe 1\n"


def chop() -> Question:
    read = read_form({"food": "lamb", "shape": "slab", "thickness": "38 mm", "start": "38 °F", "step1": "bath",
                      "at1": "140 °F", "time1": "2 h"})  # fmt: skip
    assert read.piece is not None
    return Question("lamb", read.piece, read.steps, None, "cook_intact_meat")


def logged(late_s: float = 0.0) -> str:
    """The likely core of the chop as a logger would have it, every minute, so much later."""
    found = plan(chop()).prediction
    import numpy as np

    rows = [(m, np.interp(m * 60 - late_s, found.times_s, found.core_c)) for m in range(121)]
    return "min;core\n" + "".join(f"{m};{f_from_c(float(temp)):.2f}\n" for m, temp in rows)


def test_readings_of_an_unknown_food_are_not_judged_in_words() -> None:
    """A log of porc is no log of pork, and says so; a piece nobody chose is asked for."""
    log = read_logger(logged(), Mapping("min", "core", clock="minutes")).log
    asked = replace(chop(), food="porc", minimum_id="")
    assert "No cooking minimum is known for “porc”" in judged_probe(log, asked).unjudged
    assert judged_probe(log, chop()).unjudged == "" and "Choose the piece" in judged_probe(log, None).unjudged


def test_a_log_of_ground_meat_is_held_to_its_own_row() -> None:
    """Two hours in a bath of 140 °F: never 145. Of the rows of one class a met one is enough.
    Source: Food Code 3-401.11(A)(2)."""
    log = read_logger(logged(), Mapping("min", "core", clock="minutes")).log
    found = judged_probe(log, replace(chop(), worked="minced")).minimums
    assert len(found) == 3 and {one.verdict for one in found} == {"not met"}
    text = "min,core\n" + "".join(f"{m},147\n" for m in range(5))
    hot = read_logger(text, Mapping("min", "core", clock="minutes")).log
    assert [one.verdict for one in judged_probe(hot, replace(chop(), worked="minced")).minimums] == ["met"]
    hotter = read_logger(text.replace("147", "156"), Mapping("min", "core", clock="minutes")).log
    assert len(judged_probe(hotter, replace(chop(), worked="minced")).minimums) == 1  # three rows are, one is enough
    assert {one.verdict for one in judged_probe(hot, replace(chop(), worked="stuffed")).minimums} == {"not met"}
    assert judged_probe(hot, replace(chop(), worked="stuffed")).judged_as == "stuffed: that is what was said of it"


def test_a_log_of_game_is_met_only_if_it_was_inspected() -> None:
    """As its programme says. Source: Food Code 3-401.11(A)(1)(c) and (A)(3)."""
    text = "min,core\n" + "".join(f"{m},150\n" for m in range(5))
    hot = read_logger(text, Mapping("min", "core", clock="minutes")).log
    for food, said in (("venison", "only if"), ("beef", "met"), ("wild venison", "not met")):
        (found,) = judged_probe(hot, replace(chop(), food=food, minimum_id="")).minimums
        assert found.verdict == said, food


def test_seconds_with_a_comma_and_a_zone_with_a_true_minus() -> None:
    """0,5 s is half a second; the clock of UTC−5 is five hours behind. Source: ISO 8601 for the sign."""
    file = read_logger("s;f\n0,5;140\n60,5;150\n", Mapping("s", "f", "seconds"))
    assert [r.at_s for r in file.log.readings] == [0.0, 60.0]
    west = read_logger("T,F\n2026-07-01 18:00,140\n", Mapping("T", "F", zone="UTC−5"))
    assert west.first_at == "2026-07-01T23:00:00Z"


def test_a_file_is_read_in_its_scale_and_zone() -> None:
    """57.2 °C is 134.96 °F, not 135; 18:00 in London's summer is 17:00 UTC."""
    text = "\ufeffProbe 1\tTime\n57.2\t2026-07-01 18:00\n57.3\t2026-07-01 18:01\n"
    file = read_logger(text, Mapping("time", "Probe 1", unit="C", zone="Europe/London"))
    assert float(file.log.readings[0].temp_f) == 134.96 and file.first_at == "2026-07-01T17:00:00Z"
    assert moment("2026-07-01T17:00:00Z", 60) == "2026-07-01T17:01:00Z"


@pytest.mark.parametrize(
    ("rows", "words"),
    [
        ("2026-11-25 18:00,130\n2026-11-25 17:59,131\n", "goes back in time by 60 s"),
        ("2026-11-25 18:00,130\n2026-11-25 18:00,131\n", "second temperature"),
        ("2026-11-25 18:00,-41\n", "below -40"),
        ("2026-11-25 18:00,hot\n", "Row 2"),
        ("yesterday,130\n", "Row 2"),
        ("", "no readings"),
    ],
)
def test_readings_that_cannot_be_are_named(rows: str, words: str) -> None:
    """Back in time, two values for one minute, a broken probe, words for numbers, nothing at all."""
    with pytest.raises(HeatError, match=words):
        read_logger(HEAD + rows, BY_NAME)


def test_a_column_that_is_not_there_is_named_with_those_that_are() -> None:
    """The answer lists the file's own columns, at the field that asked."""
    with pytest.raises(NotRead, match="Time, Probe 1") as refused:
        read_logger(HEAD + "2026-11-25 18:00,130\n", Mapping("when", "2"))
    assert refused.value.field == "at"


def test_the_same_minute_twice_is_one_reading() -> None:
    """A logger that repeats itself exactly is put right and it is said."""
    log = read_logger(HEAD + "2026-11-25 18:00,130\n" * 2 + "2026-11-25 18:01,131\n", BY_NAME).log
    assert len(log.readings) == 2 and "1 repeated" in log.notes[0]


def test_a_missing_minute_is_a_gap_and_breaks_a_hold() -> None:
    """Rows without a temperature leave a hole; a hold across it can't be told."""
    rows = [f"{m},{'' if 5 < m < 15 else 150}" for m in range(20)]
    log = read_logger("m,t\n" + "\n".join(rows) + "\n", Mapping("m", "t", "minutes")).log
    assert len(log.gaps_s) == 1 and log.gaps_s[0] == (300.0, 900.0)


def test_a_clock_without_a_day_runs_over_midnight() -> None:
    """23:59:30 then 00:00:30 is one minute later."""
    log = read_logger("t,c\n23:59:30,100\n00:00:30,101\n", Mapping("t", "c", "time")).log
    assert [reading.at_s for reading in log.readings] == [0.0, 60.0]


@pytest.mark.parametrize(
    ("text", "seconds"),
    [
        ("2026-10-25 00:30", 0), ("2026-10-25 03:30", 4 * 3600),  # the clocks go back: four hours, not three
        ("2026-03-29 00:30:15", 15), ("2026-03-29 03:30", 2 * 3600),  # and forward: two
        ("2026-07-01 9:05", 9 * 3600 + 300), ("2026-07-01 23:59:59.5", 86399.5),
    ],
)  # fmt: skip
def test_a_moment_on_a_day_of_changing_clocks(text: str, seconds: float) -> None:
    """Seconds after the first of that day; London, 2026. Source: IANA time zone data, Europe/London."""
    day = text[:10]
    first = {"2026-07-01": "00:00"}.get(day, "00:30")
    rows = f"{day} {first},100\n{text},101\n" if seconds > 60 else f"{text},101\n"
    log = read_logger("t,f\n" + rows, Mapping("t", "f", zone="Europe/London")).log
    assert log.readings[-1].at_s == (seconds if seconds > 60 else 0)


@pytest.mark.parametrize(
    ("text", "mark", "temp_f"), [("57,2 °C", ",", 134.96), ("57.2", ".", 134.96), ("−1.5C", ".", 29.3)]
)
def test_a_temperature_is_exact_however_it_is_written(text: str, mark: str, temp_f: float) -> None:
    """Decimal mark, minus sign and scale letter of the logger; the decimal digits count, not their float."""
    log = read_logger(f"t;c\n0;{text}\n", Mapping("t", "c", "minutes", "C", mark=mark)).log
    assert float(log.readings[0].temp_f) == temp_f


def test_a_hundred_thousand_rows_are_read() -> None:
    """28 hours at one a second."""
    text = "s,f\n" + "".join(f"{n},{40 + n / 1000:.3f}\n" for n in range(100_000))
    assert len(read_logger(text, Mapping("s", "f", "seconds")).log.readings) == 100_000


@pytest.mark.parametrize(
    ("late_min", "words"), [(0, "as predicted"), (9, "ran 9 minutes slow"), (-9, "ran 9 minutes fast")]
)
def test_a_log_is_held_against_its_prediction(late_min: int, words: str) -> None:
    """The same curve nine minutes later ran nine minutes slow."""
    log = read_logger(logged(late_min * 60), Mapping("min", "core", "minutes")).log
    judged = judged_probe(log, chop())
    assert judged.lag is not None and words in judged.lag.words


def test_a_log_with_the_wrong_scale_is_noticed() -> None:
    """A log of °C read as °F peaks where only the other scale fits: told first, nothing met, no reductions."""
    rows = "".join(f"{m},{4 + 0.45 * m:.1f}\n" for m in range(121))
    log = read_logger("m,c\n" + rows, Mapping("m", "c", "minutes")).log
    judged = judged_probe(log, replace(chop(), own=own_minimum(50.0, 0.0, "sheet")))
    assert "confirm the scale" in judged.notes[0] and judged.reductions == ()
    assert {one.verdict for one in judged.minimums} == {"not met", "cannot tell"}


def test_two_stages_of_cooling_and_the_total() -> None:
    """135 at 0, 70 at 2 h, 41 at 6 h is met to the minute; a minute more is not. Source: Food Code 3-501.14(A)."""
    just = read_logger("m,f\n0,135\n120,70\n360,41\n", Mapping("m", "f", "minutes")).log
    late = read_logger("m,f\n0,135\n120,70\n361,41\n", Mapping("m", "f", "minutes")).log
    assert judged_cooling(just).verdict == "met" and judged_cooling(late).verdict == "not met"


def test_a_start_that_nobody_saw_is_not_met_but_a_persons_word_settles_it() -> None:
    """The first reading at 134 °F says nothing about when the clock began; ten minutes before does."""
    log = read_logger("m,f\n0,134\n60,69\n300,40\n", Mapping("m", "f", "minutes")).log
    assert judged_cooling(log).verdict == "cannot tell"
    assert judged_cooling(log, started_s=-600.0).verdict == "met"


def test_the_house_learns_from_three_pieces_on() -> None:
    """Two pairs say nothing; three give a mean with its spread and number, in °F of rise."""
    pairs = [(130.0, 138.0), (131.0, 140.0), (129.0, 139.0)]
    assert house_carryover(pairs[:2]).estimate is None
    found = house_carryover(pairs).estimate
    assert (
        found is not None and found.value == pytest.approx(9.0) and found.count == 3 and found.low < 8 < 10 < found.high
    )


def test_a_bath_is_learnt_from_whole_curves() -> None:
    """Three logs of the likely curve give the coefficient they were made with, 95 W/m2K."""
    log = read_logger(logged(), Mapping("min", "core", "minutes")).log
    found = house_h([(plan(chop()), log)] * 3)
    assert found.estimate is not None and found.estimate.value == pytest.approx(95, rel=0.03)
    assert house_h([(plan(chop()), log)] * 2).estimate is None


def test_a_pair_needs_the_pull_and_the_rest() -> None:
    """A reading in the grill and a higher one in the rest are a pair; one alone is none."""
    readings = [("2026-11-25T18:00:00Z", 130.0), ("2026-11-25T18:05:00Z", 137.0)]
    assert carryover_pairs(readings, ("grill", "rest")) == (130.0, 137.0)
    assert carryover_pairs(readings[:1], ("grill",)) is None
    turned = [("2026-11-25T17:58:00Z", 118.0), *readings, ("2026-11-25T18:09:00Z", 134.0)]
    assert carryover_pairs(turned, ("hot zone", "cool zone", "rest", "rest")) == (130.0, 137.0)
    fell = [readings[0], ("2026-11-25T18:05:00Z", 127.0)]
    assert carryover_pairs(fell, ("grill", "rest")) is None


@pytest.mark.parametrize(
    ("place", "passes"),
    [
        ("walk_in_open", False),
        ("walk_in_fan", False),
        ("blast", True),
        ("ice_in_walk_in", True),
        ("ice_in_kitchen", False),
    ],
)
def test_two_inches_of_puree(place: str, passes: bool) -> None:
    """Two inches fail in a walk-in, with a fan just so, and pass in a blast chiller and on ice inside the walk-in.
    Source: one-dimensional conduction by series and by an independent solver, k 0.55, alpha 1.4e-7."""
    read = read_pan({"depth": "2 in", "place": place}, ".")
    assert read.pan is not None
    assert cooled(read.pan, read.place, None).forecast.passes is passes


def test_the_deepest_pan_on_ice_is_rounded_down() -> None:
    """2.3 in on ice inside the walk-in, in whole millimetres and never more. Source: as above."""
    read = read_pan({"depth": "2 in", "place": "ice_in_walk_in"}, ".")
    assert read.pan is not None
    assert cooled(read.pan, read.place, None).deepest_mm in (56, 57, 58)


@pytest.mark.parametrize(
    ("field", "text"),
    [("depth", "0"), ("depth", "2 m"), ("depth", "deep"), ("start", "100 °F"), ("air", "90 °C"), ("place", "shelf"),
     ("lid", "half")],
)  # fmt: skip
def test_a_pan_that_cannot_be_is_refused(field: str, text: str) -> None:
    """Each at its own field."""
    assert list(read_pan({"depth": "2 in", field: text}, ".").wrong) == [field]


def test_a_lid_turns_a_pass_into_a_miss_and_is_taken_off_instead() -> None:
    """One inch passes in a walk-in and fails with a lid on; the first thing to do is on the list: lid off. No lid
    lies on a bag or on what is stirred."""
    read = read_pan({"depth": "1 in", "lid": "on"}, ".")
    assert read.pan is not None and read.lid
    under, without = (cooled(read.pan, read.place, None, lid) for lid in (True, False))
    assert (under.forecast.passes, without.forecast.passes) == (False, True)
    assert "walk-in, still air, lid off" in {way.word for way in under.instead if way.passes_now}
    for place in ("bag_on_ice", "ice_stirred"):
        assert list(read_pan({"depth": "1 in", "lid": "on", "place": place}, ".").wrong) == ["lid"]


async def test_a_form_with_a_file_is_read() -> None:
    """The file's text takes the place of the pasted one; other fields stay."""
    body = (
        b'--x\r\nContent-Disposition: form-data; name="unit"\r\n\r\nC\r\n'
        b'--x\r\nContent-Disposition: form-data; name="text"\r\n\r\n\r\n'
        b'--x\r\nContent-Disposition: form-data; name="file"; filename="a.csv"\r\n'
        b"Content-Type: text/csv\r\n\r\nt,c\n1,2\n\r\n"
        b"--x--\r\n"
    )

    async def post_body() -> bytes:
        return body

    head = {"content-type": "multipart/form-data; boundary=x"}
    request = SimpleNamespace(post_body=post_body, scope={}, headers=head)
    found = await sent(request)
    assert found["unit"] == "C" and found["text"].strip() == "t,c\n1,2"


EUROPE = "Zeit;Kern, °C\n2026-11-25 18:00;63,5\n2026-11-25 18:01;64\n2026-11-25 18:02;64,25\n"


def test_a_european_logger_s_commas_are_decimals() -> None:
    """63,5 °C is 146.3 °F, in a kitchen that writes points too; a comma in a column's name parts nothing."""
    found = read_logger(EUROPE, Mapping("Zeit", "Kern, °C", unit="C"))
    assert [float(one.temp_f) for one in found.log.readings] == [146.3, 147.2, 147.65]
    assert read_logger(EUROPE, Mapping("1", "2", unit="C", mark=",", house=",")).log == found.log
    minutes = read_logger("min\tC\n0,5\t63,5\n1\t64,5\n", Mapping("min", "C", "minutes", "C"))
    assert minutes.log.times_s == (0.0, 30.0)


@pytest.mark.parametrize(
    ("temps", "house", "field", "words"),
    [
        (("63,500", "64,125"), ".", "mark", "63.500 or 63500"),
        (("63.500", "64.125"), ",", "mark", "63,500 or 63500"),
        (("63,5", "64.5"), ".", "mark", "choose its decimal mark"),
        (("1.063,5", "64,5"), ".", "mark", "choose its decimal mark"),
    ],
)
def test_numbers_that_read_two_ways_are_asked_about(
    temps: tuple[str, str], house: str, field: str, words: str
) -> None:
    """Three digits behind a mark that is not the kitchen's may be thousands; the mend is to choose the mark."""
    text = "min;C\n" + "".join(f"{n};{temp}\n" for n, temp in enumerate(temps))
    with pytest.raises(NotRead, match=words) as refused:
        read_logger(text, Mapping("min", "C", "minutes", "C", house=house))
    assert refused.value.field == field
    said = read_logger("min;C\n0;63,500\n", Mapping("min", "C", "minutes", "C", mark=",", house="."))
    assert float(said.log.readings[0].temp_f) == 146.3


def test_a_comma_that_parts_the_columns_is_no_decimal() -> None:
    """18:00,63,5 under two columns would read as 63: it is refused; in quotes it is 63.5."""
    with pytest.raises(NotRead, match="semicolons"):
        read_logger("Time,C\n2026-11-25 18:00,63,5\n", Mapping("Time", "C", unit="C"))
    quoted = read_logger('Time,C\n2026-11-25 18:00,"63,5"\n', Mapping("Time", "C", unit="C"))
    assert float(quoted.log.readings[0].temp_f) == 146.3
    assert len(read_logger("Time,C\n2026-11-25 18:00,63.5,\n", Mapping("Time", "C", unit="C")).log.readings) == 1


FOLD = ["2026-10-25 00:30", "2026-10-25 01:30", "2026-10-25 01:00", "2026-10-25 02:30"]


def autumn(*moments: str, **how: str) -> list[float]:
    """Moments of a log over the night of 25 October 2026, when London's clocks go from 02:00 to 01:00 [s]."""
    text = "Time,F\n" + "".join(f"{at},{140 - n}\n" for n, at in enumerate(moments))
    kept = {"zone": "Europe/London", "home": "Europe/London"} | how
    return list(read_logger(text, Mapping("Time", "F", **kept)).log.times_s)


@pytest.mark.parametrize("moments", [FOLD, FOLD[:2], ["2026-10-25 01:05", "2026-10-25 01:50"]])
def test_an_hour_that_comes_twice_is_not_taken_as_the_first(moments: list[str]) -> None:
    """01:30 is 00:30 or 01:30 UTC: an hour more or less of cooling. Source: IANA time zone data, Europe/London."""
    with pytest.raises(NotRead, match=r"clocks went back that night.*offset") as refused:
        autumn(*moments)
    assert refused.value.field == "zone"


def test_an_offset_settles_the_night() -> None:
    """Said as the logger's zone, or in its times; a log that steps over the hour needs none: 00:30 to 02:30 is 3 h."""
    assert autumn("2026-10-25 00:30", "2026-10-25 02:30") == [0, 3 * 3600]
    assert autumn("2026-10-25 00:30", "2026-10-25 01:30", zone="+01:00") == [0, 3600]
    assert autumn("2026-10-25 00:30", "2026-10-25 01:30", zone="UTC") == [0, 3600]
    assert autumn("2026-10-25T01:30:00+01:00", "2026-10-25T01:30:00+00:00") == [0, 3600]
    assert autumn("2026-10-25T00:30:00Z", "2026-10-25T01:30:00Z") == [0, 3600]
    file = read_logger("T,F\n2026-07-01 18:00,140\n", Mapping("T", "F", zone="UTC-5"))
    assert file.first_at == "2026-07-01T23:00:00Z"


def test_a_step_back_on_that_night_is_told_as_the_clocks() -> None:
    """A logger said to be in another zone, or that tells no day; on another night it is a plain fault."""
    with pytest.raises(NotRead, match="goes back by 30 min: the clocks went back that night"):
        autumn("2026-10-25 01:30", "2026-10-25 01:00", zone="UTC")
    with pytest.raises(NotRead, match="let the file say day and time"):
        read_logger("T,F\n01:30,140\n01:00,139\n", Mapping("T", "F", "time"))
    with pytest.raises(HeatError, match="reading 2 goes back in time"):
        autumn("2026-10-27 01:30", "2026-10-27 01:00")


WARM = [*((minute, 5 + minute // 2) for minute in range(0, 121, 5)), (125, 75), (126, 75)]  # 5 °C to 75 °C
WARMED = "".join(f"{minute},{temp}\n" for minute, temp in WARM)


@pytest.mark.parametrize("head", ["", "min,core\n"])
def test_a_file_without_a_head_loses_no_reading(head: str) -> None:
    """Its first row, at 5 °C, is where the two hours of Food Code 3-403.11(D) begin: 125 min to 74 °C are too long.

    Without that row the log would begin at 7 °C, and the time before it would stand under "only if".
    """
    log = read_logger(head + WARMED, Mapping("1", "2", clock="minutes", unit="C")).log
    assert len(log.readings) == 27 and float(log.readings[0].temp_f) == 41
    total = judge_reheat(log, reheat_rule("reheat")).parts[-1]
    assert total.section == "3-403.11(D)" and total.verdict == "not met"


def test_a_first_row_with_a_unit_is_a_reading_and_a_name_with_a_digit_none() -> None:
    """Rows are told by their number in the file, head or none."""
    bare = Mapping("1", "2", clock="minutes", unit="C")
    assert len(read_logger("0,5 °C\n1,6 °C\n", bare).log.readings) == 2
    assert len(read_logger("1 min,2nd core\n0,5\n1,6\n", bare).log.readings) == 2
    with pytest.raises(NotRead, match="Row 2: "):
        read_logger("0,5\nsoon,60\n", bare)


@pytest.mark.parametrize(
    ("text", "unit", "words"),
    [
        ("time,Temp (°C)\n0,35\n200,5\n", "F", "The column says °C, “Temp (°C)”: choose °C."),
        ("time,temp\n0,35.0 C\n200,5.0 C\n", "F", "Row 2 says °C, “35.0 C”: choose °C."),
        ("time,temp\n0,140°F\n30,70°F\n", "C", "Row 2 says °F, “140°F”: choose °F."),
    ],
)
def test_a_scale_that_the_file_names_is_not_overruled(text: str, unit: str, words: str) -> None:
    """A salad at 35 °C, read as 35 °F, would be cold at once: the file's own word for its scale is heard."""
    with pytest.raises(NotRead) as told:
        read_logger(text, Mapping("1", "2", "minutes", unit))
    assert (told.value.field, str(told.value)) == ("unit", words)


def test_names_of_probes_are_no_scales() -> None:
    """“Probe 1 C”, “Probe (F)” and “Core” are names; the number behind them is read in the scale that was chosen."""
    for name in ("Probe 1 C", "Probe (F)", "Core", "F2", "1C"):
        found = read_logger(f"time,{name}\n0,60\n1,61\n", Mapping("1", "2", "minutes", "C"))
        assert found.log.readings[0].temp_f == 140


def test_a_cell_without_a_number_says_how_to_be_left_out() -> None:
    """A probe that gave nothing writes ERR or ---: told as it stands, with what mends it."""
    for cell in ("ERR", "---"):
        with pytest.raises(NotRead, match=f"Row 3: “{cell}” is no temperature. Leave the cell empty"):
            read_logger(f"time,temp\n0,60\n1,{cell}\n2,61\n", Mapping("1", "2", "minutes", "C"))
