"""Files of the cost pages: headings that name the money, and in each row how it was reckoned.

A file outlives the page: two of one day by two price bases are told apart by what stands in them.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from stillroom.plugins.core import export

# Columns that hold money, and their headings before the currency.
MONEY = {
    "cost": "cost", "menu price": "menu price", "margin": "margin", "at least": "at least", "at most": "at most",
    "price per unit": "price per unit", "sales": "sales", "price": "price of one unit", "money over": "over",
    "usable kg costs more": "usable kg costs more", "money a week": "a week",
}  # fmt: skip


def headings(columns: Sequence[str], currency: str) -> list[str]:
    """Headings of a file: those of money with the currency, and how it was reckoned last."""
    return [*(f"{MONEY[c]}, {currency}" if c in MONEY else c for c in columns), "reckoned by"]


async def page_or_file(
    request: Any, answer: Any, name: str, columns: Sequence[str], rows: Callable[[], Sequence[Sequence[Any]]]
) -> Any:
    """As `core.export.page_or_file`, of an answer that knows what was asked."""
    asked = answer.asked
    titles = headings(columns, asked.currency)
    return await export.page_or_file(request, answer, name, titles, lambda: [[*row, asked.by] for row in rows()])
