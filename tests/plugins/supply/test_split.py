"""What is left, shared: by hand, against every possible sharing, and against a solver."""

from __future__ import annotations

from fractions import Fraction as F
from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from stillroom.plugins.supply.compute import Part, Supply, supply
from stillroom.plugins.supply.split import Claim, Split, needed_together, split


def brill(loose: int, sauce: int = 0) -> Supply:
    """Whole brill takes 4 of the item, soup 1, and pie 2 of a sauce that takes 1 each; some sauce may be on hand."""
    parts = [
        Part("brill", "fish", F(4)), Part("soup", "fish", F(1)),
        Part("pie", "sauce", F(2)), Part("sauce", "fish", F(1)),
    ]  # fmt: skip
    return supply("fish", parts, F(loose), {"sauce": F(sauce)})


def test_most_plates_and_most_margin_by_hand() -> None:
    """10 of it. Most plates: 6 soups take 6, two pies take 4: 8. By margin (9, 1, 3): 2 brill, 1 pie: 21."""
    plates = [Claim("brill", 5, F(1)), Claim("soup", 6, F(1)), Claim("pie", 5, F(1))]
    assert split(plates, brill(10)) == Split({"brill": 0, "soup": 6, "pie": 2}, F(8))
    margin = [Claim("brill", 5, F(9)), Claim("soup", 6, F(1)), Claim("pie", 5, F(3))]
    assert split(margin, brill(10)) == Split({"brill": 2, "soup": 0, "pie": 1}, F(21))


def test_a_batch_is_shared_only_by_what_uses_it() -> None:
    """Nothing loose, 6 of the sauce: three pies, no soup."""
    claims = [Claim("soup", 9, F(1)), Claim("pie", 9, F(1))]
    assert split(claims, brill(0, 6)).plates == {"soup": 0, "pie": 3}


def test_no_more_than_is_expected() -> None:
    """Plenty there: everybody gets what is expected, and no more."""
    assert split([Claim("brill", 3, F(1)), Claim("soup", 0, F(1))], brill(99)).plates == {"brill": 3, "soup": 0}


cases = st.tuples(
    st.integers(0, 20), st.integers(0, 8), st.lists(st.integers(0, 5), min_size=3, max_size=3),
    st.lists(st.integers(1, 9), min_size=3, max_size=3),
)  # fmt: skip


@settings(max_examples=60, deadline=None)
@given(cases)
def test_nothing_is_better(case: tuple[int, int, list[int], list[int]]) -> None:
    """Against every whole sharing there is."""
    loose, sauce, wanted, worth = case
    of, names = brill(loose, sauce), ("brill", "soup", "pie")
    found = split([Claim(n, w, F(v)) for n, w, v in zip(names, wanted, worth, strict=True)], of)
    every = (dict(zip(names, numbers, strict=True)) for numbers in product(*(range(w + 1) for w in wanted)))
    values = [
        sum(F(v) * p[n] for n, v in zip(names, worth, strict=True)) for p in every if needed_together(p, of) <= loose
    ]
    assert found.worth == max(values) and found.is_proven and needed_together(found.plates, of) <= loose


@pytest.mark.parametrize("seed", range(4))
def test_the_same_as_a_solver(seed: int) -> None:
    """Nine dishes on one item, no batches, against OR-Tools CP-SAT."""
    import random

    from ortools.sat.python import cp_model

    dice = random.Random(seed)
    each = [dice.randint(3, 40) for _ in range(9)]
    claims = [Claim(f"d{n}", dice.randint(0, 25), F(dice.randint(1, 20))) for n in range(9)]
    loose = dice.randint(100, 900)
    of = supply("fish", [Part(f"d{n}", "fish", F(e)) for n, e in enumerate(each)], F(loose), {})
    model = cp_model.CpModel()
    number = [model.new_int_var(0, c.wanted, c.dish) for c in claims]
    model.add(sum(e * x for e, x in zip(each, number, strict=True)) <= loose)
    model.maximize(sum(int(c.worth) * x for c, x in zip(claims, number, strict=True)))
    solver = cp_model.CpSolver()
    solver.solve(model)
    found = split(claims, of)
    assert found.is_proven and found.worth == round(solver.objective_value)
