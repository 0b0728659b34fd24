"""Lists on paper: nothing lost between pages, no page fuller than it holds, one page wherever one is enough."""

from __future__ import annotations

from dataclasses import fields

import pytest
from hypothesis import given
from hypothesis import strategies as st
from stillroom.plugins.prep.answer import List, Row
from stillroom.plugins.prep.sheets import HEAD, PAGE, groups_of, lines, sheets_of

HEADINGS = ("late", "now", "next", "ahead", "soon", "waits", "under_way")


def row(number: int, letters: int = 60) -> Row:
    plain = dict.fromkeys((f.name for f in fields(Row)), "")
    found = plain | {"key": f"r{number}", "why": "x" * letters, "cures": (), "notes": ()}
    return Row(**found)  # type: ignore[arg-type]


def listed(**rows: list[Row]) -> List:
    found = dict.fromkeys((f.name for f in fields(List) if f.name != "drawn"), "") | {h: [] for h in HEADINGS}
    return List(**{**found, "title": "Larder", **rows})  # type: ignore[arg-type]


@pytest.mark.parametrize(("rows", "pages"), [(0, 0), (1, 1), (15, 1), (41, 1), (42, 2), (140, 4)])
def test_one_page_where_it_is_enough(rows: int, pages: int) -> None:
    """A row with a reason takes a line and the gap: 1.45 of 62, a heading 1.8."""
    found = sheets_of(listed(now=[row(n) for n in range(rows)]))
    assert [(s.page, s.pages) for s in found] == [(n, pages) for n in range(1, pages + 1)]


@given(st.lists(st.lists(st.integers(0, 400), max_size=30), min_size=7, max_size=7))
def test_nothing_is_lost_and_no_page_is_too_full(sizes: list[list[int]]) -> None:
    """Every row once, in order, under its own heading; a page holds what it can."""
    rows = {h: [row(100 * k + n, size) for n, size in enumerate(sizes[k])] for k, h in enumerate(HEADINGS)}
    found = listed(**rows)
    sheets = sheets_of(found)
    flat = [(heading, one.key) for sheet in sheets for heading, some in sheet.groups for one in some]
    assert flat == [(heading, one.key) for heading, some in groups_of(found) for one in some]
    full = [sum(HEAD + sum(lines(one) for one in some) for _, some in sheet.groups) for sheet in sheets]
    assert all(taken <= PAGE + 1e-9 for taken in full)
