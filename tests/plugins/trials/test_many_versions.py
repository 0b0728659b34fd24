"""A trial with hundreds of versions: the newest whole, all others listed and one tap away, none lost, none slow."""

from __future__ import annotations

import re
import sqlite3
import time
from typing import Any

import pytest
from stillroom.db.connect import transaction
from stillroom.db.log import append
from stillroom.plugins.trials import rows

VENISON = "/trials/venison-haunch-damson"
MANY, NEWEST = 400, 5


@pytest.fixture
def many(chef: Any) -> Any:
    """Marit, with version 4 to 400 of the venison, each with another quantity; version 7 tasted and decided."""
    connection = sqlite3.connect(chef.path, isolation_level=None)
    row = {"actor": "Marit", "origin": "web", "trial_id": "venison-haunch-damson", "trial": "Venison haunch, damson",
           "written_on": "2026-11-20", "yield_text": "1 plate"}  # fmt: skip
    with transaction(connection):
        for n in range(4, MANY + 1):
            said = {"request_id": f"many-{n}", "version": n, "based_on": n - 1, "note": f"Try {n}"}
            append(connection, "trial_versions", {**row, **said, "lines": f"{n} g Swede mash\n1 g salted nothing"})
        append(connection, "tastings", {"request_id": "t7", "actor": "Marit", "origin": "web", "version": 7, "score": 9,
                                        "recipe_id": "venison-haunch-damson", "tasted_on": "2026-11-21",
                                        "words": "Best so far", "decision": "Keep the mash"})  # fmt: skip
    connection.close()
    return chef


def whole(text: str) -> list[int]:
    """Versions that stand whole on a page."""
    return [int(n) for n in re.findall(r'<h2 id="v(\d+)"', text)]


def listed(text: str) -> list[int]:
    """Versions in the fold: each a link and a tick for the form above."""
    inside = text.partition('id="earlier"')[2].partition("</details>")[0]
    links = [int(n) for n in re.findall(r'href="/trials/venison-haunch-damson\?v=(\d+)#v\1"', inside)]
    assert links == [int(n) for n in re.findall(r'form="compare" name="v" value="(\d+)"', inside)]
    return links


async def test_the_newest_stand_whole_and_every_other_is_listed(many: Any) -> None:
    """Whole and listed are together all, each once, in order; the forms know all of them; no script is needed."""
    text = (await many.get(VENISON)).text
    assert whole(text) == [400, 399, 398, 397, 396] and listed(text) == list(range(395, 0, -1))
    assert "<details><summary>Versions 1 to 395</summary>" in text and "<script" not in text.partition("<h1>")[2]
    assert text.count("<option>400</option>") == 2 and text.count("<option>1</option>") == 2
    assert "9.0 of 10 · Try 7 · <b>Decided:</b> Keep the mash" in text


async def test_an_earlier_version_is_opened_whole(many: Any) -> None:
    """As many as stand side by side; what is no version opens nothing."""
    text = (await many.get(f"{VENISON}?v=7&v=x&v=999")).text
    assert whole(text) == [400, 399, 398, 397, 396, 7] and 7 not in listed(text) and len(listed(text)) == 394
    assert "7 g Swede mash" in text and "Best so far" in text and "edit?from=7" in text
    more = (await many.get(f"{VENISON}?" + "&".join(f"v={n}" for n in range(1, 300)))).text
    assert len(whole(more)) == NEWEST + 4 and len(listed(more)) == MANY - NEWEST - 4


async def test_two_early_ones_stand_side_by_side(many: Any) -> None:
    """What the ticks of the fold send."""
    told = (await many.get(f"{VENISON}/compare.json?v=5&v=7")).json()
    assert told["compared"] == [5, 7] and [c["name"] for c in told["components"] if c["differs"]] == ["Swede mash"]


async def test_as_data_all_versions_are_told(many: Any) -> None:
    """Whole or in short; the short ones say who, when, what is new, score and decision."""
    data = (await many.get(f"{VENISON}.json?v=2")).json()
    assert [v["version"] for v in data["versions"]] == [2, 396, 397, 398, 399, 400]
    assert [v["version"] for v in data["earlier"]] == [n for n in range(1, 396) if n != 2]
    seven = next(v for v in data["earlier"] if v["version"] == 7)
    assert seven == {"version": 7, "name": "Venison haunch, damson", "based_on": 6, "written_on": "2026-11-20",
                     "by": "Marit", "note": "Try 7", "score": 9.0, "decision": "Keep the mash"}  # fmt: skip


async def test_an_error_keeps_the_version_that_was_chosen(many: Any) -> None:
    """A form sent for an early version comes back with it."""
    page = await many.get(VENISON)
    again = await many.post(f"{VENISON}/promote", page, version="7", **{"from": "2020-01-01"})
    assert again.status_code == 400 and again.text.count("<option selected>7</option>") == 2


async def test_few_versions_have_no_fold(chef: Any) -> None:
    """Three stand whole, as before."""
    page = await chef.get(VENISON)
    assert whole(page.text) == [3, 2, 1] and "Earlier versions" not in page.text
    assert (await chef.get(f"{VENISON}.json")).json()["earlier"] == []


async def test_what_is_not_shown_whole_is_not_read(many: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    """A version is read, judged and costed for the page that shows it; 400 take no longer than a few, by a factor."""
    read = []
    check_in = rows.check_in
    monkeypatch.setattr(rows, "check_in", lambda c, draft, *more: read.append(draft.note) or check_in(c, draft, *more))
    assert (await many.get(VENISON)).status_code == 200
    assert read == [f"Try {n}" for n in range(396, 401)]
    few = "/trials/barley-eel-broth-and-mussels"
    assert await least(many, VENISON) < 8 * await least(many, few)  # it took 50 times as long


async def least(person: Any, path: str) -> float:
    """Least time of the processor for a page [s]."""
    found = []
    for _ in range(5):
        begun = time.process_time()
        assert (await person.get(path)).status_code == 200
        found.append(time.process_time() - begun)
    return min(found)


async def test_a_name_is_refused_with_the_line_that_says_it(many: Any) -> None:
    """Among hundreds of versions, each with lines of its own: the one that would mean another thing is named."""
    form = await many.get(f"{VENISON}/edit")
    said = {"line1": "90 g Swede mash", "yield": "1 plate"}
    again = await many.post(f"{VENISON}/edit", form, name="Swede mash", act="save", **said)
    assert again.status_code == 400 and "there is the recipe Swede mash of that name" in again.text
