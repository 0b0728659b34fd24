"""What cooks write: read exactly, or refused with what was found and how to mend it; never guessed."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from stillroom.db.quantity import (
    ReadError,
    read_clock,
    read_date,
    read_instant,
    read_length,
    read_line,
    read_money,
    read_number,
    read_pack,
    read_percent,
    read_quantity,
    read_share,
    read_span,
    read_temperature,
)
from stillroom.db.units import is_unit

NUMBERS = [
    ("3", ".", "3"), ("2.5", ".", "5/2"), (".5", ".", "1/2"), ("2,5", ",", "5/2"), (",5", ",", "1/2"),
    ("1/3", ".", "1/3"), ("1 1/2", ".", "3/2"), ("1-1/2", ".", "3/2"), ("1½", ".", "3/2"),
    ("2 ½", ".", "5/2"), ("⅔", ".", "2/3"), ("1⁄8", ".", "1/8"), ("-3", ".", "-3"),
    ("1\u00a01/2", ".", "3/2"),
]  # fmt: skip


def refused(read: Callable[..., Any], *args: Any) -> ReadError:
    """The error that a text meets."""
    with pytest.raises(ReadError) as caught:
        read(*args)
    return caught.value


@pytest.mark.parametrize(("text", "mark", "number"), NUMBERS)
def test_numbers_as_cooks_write_them(text: str, mark: str, number: str) -> None:
    """Fractions, vulgar fractions and the kitchen's own decimal mark, exactly."""
    assert read_number(text, mark) == Fraction(number)


@given(st.integers(0, 999), st.sampled_from("¼½¾⅓⅔⅛⅜⅝⅞"))
def test_a_vulgar_fraction_is_the_fraction_it_shows(whole: int, vulgar: str) -> None:
    """'7⅜', '7 ⅜' and '7 3/8' are one number."""
    over, under = {
        "¼": (1, 4),
        "½": (1, 2),
        "¾": (3, 4),
        "⅓": (1, 3),
        "⅔": (2, 3),
        "⅛": (1, 8),
        "⅜": (3, 8),
        "⅝": (5, 8),
        "⅞": (7, 8),
    }[vulgar]
    number = whole + Fraction(over, under)
    assert (
        read_number(f"{whole}{vulgar}")
        == read_number(f"{whole} {vulgar}")
        == read_number(f"{whole} {over}/{under}")
        == number
    )


@given(st.decimals(0, 10**9, places=4))
def test_a_decimal_loses_nothing(number: Decimal) -> None:
    """Four places in, four places out: no float in between."""
    assert read_number(str(number)) == Fraction(number)
    assert read_number(str(number).replace(".", ","), ",") == Fraction(number)


BAD_NUMBERS = [
    ("4.5O", ".", "The last character is the letter O.", "write 4.50"),
    ("1OO", ".", "The last character is the letter O.", "write 100"),
    ("2O kg", ".", '"2O" ends in the letter O.', "write 20 kg"),
    ("O.5", ".", "There is a letter O where a zero should be.", "write 0.5"),
    ("1,5", ".", "The decimal mark here is a point.", "write 1.5"),
    ("1.5", ",", "The decimal mark here is a comma.", "write 1,5"),
    (
        "1,250",
        ".",
        "The decimal mark here is a point.",
        "write 1250 if it marks thousands, 1.250 if it marks decimals",
    ),
    ("1,250.5", ".", "The decimal mark here is a point.", "write 1250.5, without thousands marks"),
    ("1.250,5", ",", "The decimal mark here is a comma.", "write 1250,5, without thousands marks"),
    ("12 500", ".", "Numbers have no thousands marks here.", "write 12500"),
    ("12'500", ".", "Numbers have no thousands marks here.", "write 12500"),
    ("€5", ".", "There is a currency sign in it.", "write the number alone"),
]


@pytest.mark.parametrize(("text", "mark", "why", "fix"), BAD_NUMBERS)
def test_a_bad_number_is_told_why_and_how_to_mend_it(text: str, mark: str, why: str, fix: str) -> None:
    """Letter O, the wrong mark, thousands marks and currency signs each have their own words."""
    error = refused(read_quantity, text, mark)
    assert (error.code, error.why, error.fix) == ("number-bad", why, fix)


NO_NUMBERS = [
    "",
    " ",
    "some",
    "1/0",
    "1 1/0",
    "1/2/3",
    "½½",
    "1e5",
    "inf",
    "nan",
    "0x10",
    "1_000",
    "3.",
    "١٢",
    "²",
    "+3",
    "1.2.3",
]


@pytest.mark.parametrize("text", NO_NUMBERS)
def test_what_is_no_number_is_refused(text: str) -> None:
    """Also what Python itself would read: 1e5, 1_000, nan, and digits of other scripts."""
    assert refused(read_number, text).code == "number-bad"


@given(st.text(max_size=40))
def test_no_text_breaks_a_reader(text: str) -> None:
    """Whatever is typed is read or refused; nothing else is ever raised."""
    for read in (
        read_number,
        read_quantity,
        read_pack,
        read_span,
        read_temperature,
        read_length,
        read_percent,
        read_money,
        read_date,
        read_clock,
        read_instant,
    ):
        try:
            read(text)
        except ReadError as error:
            assert error.what


@pytest.mark.parametrize("text", ["1" * 6000, " " * 20000 + "x", "1" + " " * 20000 + "x", "9 " * 9000])
def test_a_huge_cell_is_refused_at_once(text: str) -> None:
    """No number has thousands of digits, and none takes seconds to refuse."""
    assert refused(read_number, text).code == "number-bad"
    assert refused(read_money, text).code == "money-bad"
    assert refused(read_pack, text).code == "pack-bad"


QUANTITIES = [
    ("2½ qt", "5/2", "qt"),
    ("450 g", "450", "g"),
    ("500ml", "500", "ml"),
    ("12", "12", ""),
    ("5#", "5", "#"),
    ("2 #16 scoop", "2", "#16 scoop"),
]


@pytest.mark.parametrize(("text", "number", "unit"), QUANTITIES)
def test_a_quantity_is_number_and_unit(text: str, number: str, unit: str) -> None:
    """The unit stays as written; no unit is a bare count."""
    said = read_quantity(text)
    assert (said.number, said.unit_text) == (Fraction(number), unit)


def test_a_sum_a_product_or_a_range_is_no_quantity() -> None:
    """Refused with the whole of it where it can be reckoned."""
    assert refused(read_quantity, "2 x 250 g").fix == "write the whole of it: 500 g"
    assert refused(read_quantity, "5 lb 3 oz").code == "quantity-bad"
    assert refused(read_quantity, "2-3 kg").what == '"2-3 kg" gives a range'


LINES = [
    ("2½ qt heavy cream", "5/2", "qt", "heavy cream"), ("5 lb leeks, trimmed", "5", "lb", "leeks, trimmed"),
    ("3 ea lemons", "3", "ea", "lemons"), ("1 batch brown butter", "1", "batch", "brown butter"),
    ("2 lemons", "2", "", "lemons"), ("1 bunch thyme", "1", "bunch", "thyme"),
    ("3 fl oz port", "3", "fl oz", "port"), ("½ cup of milk", "1/2", "cup", "milk"),
    ("2 pt. cream", "2", "pt.", "cream"), ("1 #10 can tomatoes", "1", "#10 can", "tomatoes"),
    ("500 g 00 flour", "500", "g", "00 flour"), ("3 stone fruit", "3", "", "stone fruit"),
]  # fmt: skip


def cooks_unit(word: str) -> bool:
    return is_unit(word) or word in {"bunch", "batch"}


@pytest.mark.parametrize(("text", "number", "unit", "name"), LINES)
def test_a_line_is_quantity_unit_and_name(text: str, number: str, unit: str, name: str) -> None:
    """As a cook writes it, read back in its parts."""
    said = read_line(text, cooks_unit)
    assert (said.number, said.unit_text, said.name) == (Fraction(number), unit, name)


def test_a_comma_may_belong_to_the_name() -> None:
    """The longest name is tried first."""
    said = read_line("2 oz butter, salted, soft", cooks_unit)
    assert said.names() == [
        ("butter, salted, soft", ""),
        ("butter, salted", "soft"),
        ("butter", "salted, soft"),
    ]


BAD_LINES = [
    ("100 g", '"100 g" names nothing'), ("2", '"2" names nothing'), ("3 each", '"3 each" names nothing'),
    ("1 6 oz steak", '"1 6 oz steak" has two quantities'), ("2-3 lemons", '"2-3 lemons" gives a range'),
    ("2 – 3 lemons", '"2 – 3 lemons" gives a range'), ("1 or 2 lemons", '"1 or 2 lemons" gives a range'),
    ("2 C flour", '"2 C flour": "C" can mean two things'),
    ("1 T. salt", '"1 T. salt": "T." can mean two things'), ("some salt", '"some salt" says no quantity'),
]  # fmt: skip


@pytest.mark.parametrize(("text", "what"), BAD_LINES)
def test_a_line_that_says_two_things_is_refused(text: str, what: str) -> None:
    """A range, a product, two quantities, a letter with two meanings, or no name."""
    assert refused(read_line, text, cooks_unit).what == what


@pytest.mark.parametrize(
    ("text", "f", "c"),
    [
        ("38 °F", 38, 10 / 3),
        ("3 C", 37.4, 3),
        ("-18 °C", -0.4, -18),
        ("−18C", -0.4, -18),
        ("145F", 145, 565 / 9),
    ],
)
def test_a_temperature_keeps_its_scale(text: str, f: float, c: float) -> None:
    """Read in the scale it was written in, shown in both."""
    found = read_temperature(text)
    assert (found.f, found.c) == pytest.approx((f, c))


@pytest.mark.parametrize("text", ["38", "38 °", "38 K", "°C", "-300 C", "10000 F"])
def test_a_temperature_without_a_scale_is_refused(text: str) -> None:
    """38 is a cold fridge in one scale and a warm one in the other; nothing is colder than absolute zero."""
    assert refused(read_temperature, text).code == "temperature-bad"


def test_a_letter_o_in_a_temperature() -> None:
    """Told as in any number."""
    assert refused(read_temperature, "4O F").why == "The last character is the letter O."


def test_lengths_are_exact_millimetres() -> None:
    """An inch is 25.4 mm exactly. Source: NIST Handbook 44, Appendix C."""
    assert [read_length(t) for t in ("38 mm", "1½ in", '2"', "4 CM")] == [
        38,
        Fraction(381, 10),
        Fraction(254, 5),
        40,
    ]
    assert refused(read_length, "38").code == "length-bad"


def test_shares_are_between_nothing_and_all() -> None:
    """A yield over 100 % is a slip of the hand."""
    assert read_percent("85 %") == read_percent("85") == Fraction(17, 20)
    assert refused(read_percent, "101 %").what == '"101 %" is not between 0 and 100 %'
    assert refused(read_percent, "-1").code == "percent-bad"


def test_a_share_written_as_a_part_of_one_is_asked_about() -> None:
    """Leeks that yield "0.85" would cost a hundred times what they do if that were 0.85 %."""
    assert read_share("85") == read_share("85 %") == Fraction(17, 20)
    assert read_share("0.85 %") == Fraction(17, 2000) and read_share("0") == 0 and read_share("1.5") == Fraction(3, 200)
    assert refused(read_share, "0.85").fix == "write 85 % or 0.85 %"
    assert refused(lambda text: read_share(text, ","), "0,06").fix == "write 6 % or 0,06 %"
    assert refused(read_share, "1").code == "percent-bad"


@pytest.mark.parametrize(
    ("text", "mark", "amount"),
    [("12.50", ".", "12.50"), ("12,5", ",", "12.5"), (" 3 ", ".", "3"), ("0.0125", ".", "0.0125")],
)
def test_money_is_decimal(text: str, mark: str, amount: str) -> None:
    """In the kitchen's one currency, up to four decimals."""
    assert read_money(text, mark) == Decimal(amount)


BAD_MONEY = [
    ("£12.50", ".", "write 12.50"), ("12.50 USD", ".", "write 12.50"), ("12,50", ".", "write 12.50"),
    ("1,250.00", ".", "write 1250.00"), ("1.250", ",", "write 1250"), ("12.5O", ".", "write 12.50"),
    ("-1", ".", "write 12.50"), ("1.23456", ".", "write 1.2346"), ("3,33333333333333", ",", "write 3,3333"),
    ("1e3", ".", "write 12.50"), ("nan", ".", "write 12.50"), ("1_000", ".", "write 12.50"),
    ("POA", ",", "write 12,50"),
    ("1 250.00", ".", "write 1250.00"), ("1'250.00", ".", "write 1250.00"), ("1 1/2", ".", "write 12.50"),
]  # fmt: skip


@pytest.mark.parametrize("mark", [".", ","])
@pytest.mark.parametrize(
    "text",
    ["18,00 €", "18.00 €", "£1,250.00", "1.250,00 €", "€ 12", "18,5 EUR", "€", "1,250 USD", "12.345 €", ".5 €",
     "1,250.5 €", "12 €.", "1'250.00 CHF"],
)  # fmt: skip
def test_what_is_said_to_write_is_taken(text: str, mark: str) -> None:
    """A currency is refused, and the amount that the error proposes is one that this kitchen reads."""
    error = refused(read_money, text, mark)
    assert error.code == "money-bad" and error.fix.startswith("write ")
    assert read_money(error.fix.removeprefix("write "), mark) > 0


@pytest.mark.parametrize(
    "text, mark, amount",
    [("18,00 €", ".", "18.00"), ("18.00 €", ",", "18.00"), ("1.250,00 €", ".", "1250.00"),
     ("£1,250.00", ",", "1250.00"), (".5 €", ".", "0.5")],
)  # fmt: skip
def test_the_amount_said_to_write_is_the_one_meant(text: str, mark: str, amount: str) -> None:
    """Whichever mark parts whole from broken in the text, the kitchen's own does in what is to be written."""
    assert read_money(refused(read_money, text, mark).fix.removeprefix("write "), mark) == Decimal(amount)


@pytest.mark.parametrize(("text", "mark", "fix"), BAD_MONEY)
def test_money_that_can_be_read_two_ways_is_refused(text: str, mark: str, fix: str) -> None:
    """Currency signs, the other mark, thousands marks, the letter O, less than nothing."""
    error = refused(read_money, text, mark)
    assert (error.code, error.fix) == ("money-bad", fix)
