"""/reviews: products that nobody has read, and what an ingredient list points to."""

from __future__ import annotations

import sqlite3
from pathlib import Path
from typing import Any

from stillroom.loaders.commands import application


async def test_unread_products_are_listed(house: Any) -> None:
    """Those that reach most dishes first, each with its page."""
    found = (await house.client.get("/reviews.json")).json()["products"]
    assert len(found) >= 5
    assert [p["dishes"] for p in found] == sorted((p["dishes"] for p in found), reverse=True)
    page = (await house.client.get(f"/reviews/{found[0]['id']}")).text
    assert "Nobody has read this label" in page and "never a declaration" in page


async def test_what_no_product_stands_for_waits_too(demo_db: Path, tmp_path: Path) -> None:
    """An item of today's menu that nothing is bought as, and goods under a new name at the door: guests are told not
    reviewed, so the first page, the list of labels and the prepared question all name them.
    """
    path = tmp_path / "kitchen.db"
    with sqlite3.connect(demo_db) as source, sqlite3.connect(path) as copy:
        source.backup(copy)
        copy.execute("update products set is_active = 0 where item_id = 'samphire'")
        copy.execute(
            "insert into deliveries (request_id, recorded_at, actor, origin, kind, supplier_id, item_id, received_on,"
            " description, ordered, received, rejected, unit) select 'n', recorded_at, 'Tomasz', 'web', 'goods',"
            " supplier_id, 'butter-salted', '2026-11-25', 'Brown''s new butter', '1', '1', '0', 'g'"
            " from deliveries where item_id = 'butter-salted' limit 1"
        )
    house = application(path)
    await house.invoke_startup()
    guest = {d["id"]: d for d in (await house.client.get("/guest.json?avoid=sesame")).json()["dishes"]}
    reasons = guest["brill-on-the-bone-buttered-samphire"]["reasons"]
    assert "samphire" in {r["path"][-1] for r in reasons}
    assert {r["presence"] for r in reasons} == {"not reviewed"}
    first = (await house.client.get("/")).text
    assert "samphire</a>" in first and "no product of it is written down" in first and "butter, salted</a>" in first
    waiting = {(p["kind"], p["name"]) for p in (await house.client.get("/reviews.json")).json()["products"]}
    assert {("no product", "samphire"), ("seen", "Brown's new butter")} <= waiting
    page = (await house.client.get("/reviews")).text
    assert "Nothing is bought as it" in page and "seen at the door" in page
    asked = (await house.client.get("/kitchen/unread_labels.json?_shape=objects")).json()["rows"]
    assert {("samphire", "no product"), ("butter, salted", "not reviewed")} <= {(r["item"], r["review"]) for r in asked}


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
