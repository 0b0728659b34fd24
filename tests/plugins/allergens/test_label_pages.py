"""/reviews: products that nobody has read, and what an ingredient list points to."""

from __future__ import annotations

from typing import Any


async def test_unread_products_are_listed(house: Any) -> None:
    """Those that reach most dishes first, each with its page."""
    found = (await house.client.get("/reviews.json")).json()["products"]
    assert len(found) >= 5
    assert [p["dishes"] for p in found] == sorted((p["dishes"] for p in found), reverse=True)
    page = (await house.client.get(f"/reviews/{found[0]['id']}")).text
    assert "Nobody has read this label" in page and "never a declaration" in page


async def test_a_pasted_list_is_read_and_not_kept(house: Any) -> None:
    """Suggestions with their words; a denied one apart; the product is as unread as before."""
    product = (await house.client.get("/reviews.json")).json()["products"][0]["id"]
    text = "Wheat flour, whey powder. May contain sesame. Gluten-free <i>oats</i>"
    answer = (await house.client.get(f"/reviews/{product}.json", params={"text": text})).json()
    said = {(s["allergen"], s["presence"], s["is_denied"]) for s in answer["suggestions"]}
    assert {("wheat", "contains", False), ("milk", "contains", False), ("sesame", "may contain", False)} <= said
    assert ("gluten_cereal", "contains", True) in said
    page = (await house.client.get(f"/reviews/{product}", params={"text": text})).text
    assert "read what it says" in page and "<i>oats" not in page
    assert (await house.client.get(f"/reviews/{product}.json")).json()["reviewed_on"] is None


async def test_a_product_that_is_not_there(house: Any) -> None:
    """Told where to look."""
    answer = await house.client.get("/reviews/no-such-product")
    assert answer.status_code == 404 and "Labels to read" in answer.text
