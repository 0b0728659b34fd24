"""The first page's sums: late goods by supplier. Pure."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True)
class Late:
    """What one supplier brought late: items once each, the newest day first."""

    supplier_id: str
    supplier: str
    items: list[str]
    last_on: str
    most_days: int


def late_by_supplier(rows: Iterable[tuple[str, str, str, str, str]]) -> list[Late]:
    """One entry per supplier, the one with most late items first.

    Args:
        rows: (supplier id, supplier, item, day promised, day received), newest first; ISO dates.

    Returns:
        Entries whose most_days is the longest delay [d].
    """
    by_supplier: dict[str, list[tuple[str, str, str, str, str]]] = {}
    for row in rows:
        by_supplier.setdefault(row[0], []).append(row)
    found = [
        Late(
            supplier, lines[0][1], list(dict.fromkeys(line[2] for line in lines)), lines[0][4],
            max((date.fromisoformat(line[4]) - date.fromisoformat(line[3])).days for line in lines),
        )
        for supplier, lines in by_supplier.items()
    ]  # fmt: skip
    return sorted(found, key=lambda late: (-len(late.items), late.supplier))
