"""Plates left and what a substitute changes, by hand."""

from __future__ import annotations

from fractions import Fraction as F

from stillroom.db.allergen_facts import Presence
from stillroom.plugins.supply.compute import Stock, Use, allergen_change, plates_left, purchased


def test_plates_count_batches_that_hold_the_item() -> None:
    """1 kg loose and 200 g of brown butter at 1.25 g of butter a gram: 1,250 g for plates of 37.5 g is 33."""
    uses = [Use(F(75, 2), ("Brown butter", "butter"), ("brown-butter",))]
    assert plates_left(uses, F(1000), {"brown-butter": F(200)}, {"brown-butter": F(5, 4)}) == 33


def test_unknown_stock_is_not_zero_plates() -> None:
    """Never counted, nothing came: not known."""
    assert plates_left([Use(F(10), ("x",), ())], None, {}, {}) is None
    assert Stock(None, None).on_hand is None
    assert Stock(F(5), "2026-11-24", F(2), F(9)).on_hand == 0


def test_purchased_weight_is_edible_weight_over_yield() -> None:
    """32 oz of pears at 78 % is 41.03 oz as purchased (Bakery and Business Math, ch. 25)."""
    assert round(float(purchased(F(32), F(78, 100))), 2) == 41.03


def test_a_substitute_gains_loses_and_may_be_unread() -> None:
    """Butter for an unread oil loses milk and says that nobody has read the oil."""
    presence = {"butter": Presence(True, frozenset({"milk"})), "oil": Presence(False), "nut": Presence(True, frozenset({"walnut"}))}
    items = frozenset({"butter"})
    assert allergen_change(items, items, frozenset({"oil"}), presence) == {"gained": [], "lost": ["milk"], "not_reviewed": ["oil"]}
    assert allergen_change(items, items, frozenset({"nut"}), presence)["gained"] == ["walnut"]
