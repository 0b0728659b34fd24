"""A station's list on paper: one page, or as many as it truly fills, each of them numbered. Pure.

How much a page holds is reckoned in lines of print: the smaller of A4 and Letter, at the size that prep.css prints.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from math import ceil

from stillroom.plugins.prep.answer import List, Row

PAGE = 62.0  # lines of print under a sheet's head and above its caution
WIDE = 92  # letters in a line beside the time and the box
HEAD = 1.8  # lines that a heading takes
GAP = 0.45  # lines between two rows


@dataclass(frozen=True)
class Sheet:
    """One page: groups of rows under their headings; number of pages: 1 of 1 for nearly every station."""

    title: str
    list: List
    page: int
    pages: int
    groups: tuple[tuple[str, tuple[Row, ...]], ...]


def groups_of(found: List) -> list[tuple[str, list[Row]]]:
    """A list's rows under their headings, in the order in which they are read."""
    named = (
        ("Late", found.late), ("Now", found.now), ("Later today", found.next),
        ("For later days, begun today", found.ahead),
        ("To hang in the days ahead", found.soon), ("Can wait: only a par asks for it", found.waits),
        ("Under way", found.under_way),
    )  # fmt: skip
    return [(heading, rows) for heading, rows in named if rows]


def first_line(row: Row) -> str:
    """The line in large print: how much of what, by when, whose."""
    said = [" ".join(filter(None, (row.quantity, row.name))), row.person]
    said += [f"ready by {row.ready_by}" if row.ready_by else "", row.takes]
    return " · ".join(filter(None, said))


def small_print(row: Row) -> str:
    """Everything else in a line: why, for whom, how long it keeps, what to mind."""
    return " · ".join(filter(None, (row.why, row.whom, row.lasts, *row.notes)))


def lines(row: Row) -> float:
    """Lines of print that a row takes, the gap below it too."""
    told = [first_line(row), " · ".join(filter(None, (row.late, *row.cures))), small_print(row)]
    return sum(ceil(len(text) / WIDE) for text in told) + GAP


def sheets_of(found: List) -> list[Sheet]:
    """A station's pages; [] where it has nothing to do."""
    pages = list(_pages(groups_of(found)))
    return [Sheet(found.title, found, n, len(pages), page) for n, page in enumerate(pages, 1)]


def _pages(groups: Iterable[tuple[str, list[Row]]]) -> Iterable[tuple[tuple[str, tuple[Row, ...]], ...]]:
    here: list[tuple[str, list[Row]]] = []
    room = PAGE
    for heading, rows in groups:
        needs_head = True
        for row in rows:
            wanted = lines(row) + (HEAD if needs_head else 0)
            if here and wanted > room:
                yield tuple((h, tuple(r)) for h, r in here)
                here, room, needs_head = [], PAGE, True
                wanted = lines(row) + HEAD
            if needs_head:
                here.append((heading, []))
                needs_head = False
            here[-1][1].append(row)
            room -= wanted
    if here:
        yield tuple((h, tuple(r)) for h, r in here)
