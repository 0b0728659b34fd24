"""The form of a breakdown: what the cut leaves stands ready, further lines are folded, and no script is needed."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

from stillroom.plugins.logbook.outputs import LINES

Post = Callable[..., Any]
RIB = ["Beef rib steak", "beef bones", "beef fat trim", "beef trim"]


def came_out(page: str) -> list[str]:
    """What stands in the lines, in order."""
    return [re.search(rf'name="of{n}" value="([^"]*)"', page)[1] for n in range(1, LINES + 1)]  # type: ignore[index]


def folded(page: str) -> list[int]:
    """Lines behind 'One more line'."""
    behind = page.partition("<summary>One more line</summary>")[2].partition("<summary>More</summary>")[0]
    return [int(n) for n in re.findall(r'name="weight(\d+)"', behind)]


async def test_every_cut_is_a_tap_away_and_brings_its_own_lines(house: Any) -> None:
    page = (await house.client.get("/log/breakdown")).text
    assert 'href="/log/breakdown?of=beef-rib-steak"' in page and page.count('href="/log/breakdown?of=') >= 8
    assert came_out(page) == [""] * LINES and folded(page) == [3, 4, 5, 6, 7, 8]
    opened = (await house.client.get("/log/breakdown?of=beef-rib-steak")).text
    assert came_out(opened) == [*RIB, "", "", "", ""] and folded(opened) == [5, 6, 7, 8]
    assert 'href="/log/breakdown?of=' not in opened and "B-0158" in opened and 'value="M-0338"' not in opened


async def test_sent_with_its_cut_alone_it_comes_back_with_the_lines_filled(post: Post) -> None:
    page = (await post("/log/breakdown", of="Beef rib steak", input="9 kg")).text
    assert came_out(page) == [*RIB, "", "", "", ""] and "Say what came out, line by line." in page


async def test_lines_that_were_typed_stay_and_stand_open(post: Post) -> None:
    typed = {"of": "Beef rib steak", "input": "9 kg", "of1": "beef bones", "weight1": "2 kg", "of5": "beef trim"}
    page = (await post("/log/breakdown", **typed)).text
    assert came_out(page) == ["beef bones", "", "", "", "beef trim", "", "", ""] and folded(page) == [6, 7, 8]


async def test_a_name_that_stands_ready_and_was_not_weighed_is_no_line(post: Post, own_house: Any) -> None:
    lines = {f"of{n}": name for n, name in enumerate(RIB, 1)}
    answer = await post("/log/breakdown", of="Beef rib steak", input="9 kg", weight1="7 kg", weight2="2 kg", **lines)
    assert answer.status_code == 303, answer.text
    found = (await own_house.client.get(f"{answer.headers['location']}.json")).json()
    assert found["came out"] == ["Beef rib steak: 7 kg", "beef bones: 2 kg"]
