"""An item declares what its active products do."""

from __future__ import annotations

import pytest
from stillroom.db.allergen_facts import Product, item_presence

READ_ON = "2026-09-02"


def test_an_item_is_as_strong_as_its_strongest_active_product() -> None:
    """Two mayonnaises: one contains mustard, nobody has read the other."""
    products = [Product("a", "mayo", "A", READ_ON), Product("b", "mayo", "B", None)]
    found = item_presence(["mayo"], products, [("a", "mustard", "contains")], {})
    assert found["mayo"].of({"mustard"}) == "contains" and found["mayo"].of({"egg"}) == "not reviewed"
    assert found["mayo"].unread == ("B",) and found["mayo"].oldest_review == READ_ON


@pytest.mark.parametrize(
    ("declared", "word"), [("contains", "contains"), ("may contain", "may contain"), ("", "not declared")]
)
def test_a_read_label_says_what_it_says(declared: str, word: str) -> None:
    """Every label of the item was read, and what none of them names is not declared."""
    rows = [("a", "egg", declared)] if declared else []
    assert item_presence(["mayo"], [Product("a", "mayo", "A", READ_ON)], rows, {})["mayo"].of({"egg"}) == word


def test_a_by_product_declares_what_it_is_cut_from() -> None:
    """Back fat of a cured loin declares what the loin does; without a product and a primal nothing is known."""
    loin = Product("a", "loin", "A", READ_ON)
    found = item_presence(["loin", "fat", "dust"], [loin], [("a", "celery", "contains")], {"fat": frozenset({"loin"})})
    assert found["fat"].of({"celery"}) == "contains" and found["fat"].of({"egg"}) == "not declared"
    assert found["dust"].of({"egg"}) == "not reviewed"
