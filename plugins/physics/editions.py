"""Which edition of the Food Code a printed row belongs to."""

from __future__ import annotations

import re


def edition_year(said: str) -> int | None:
    """Year of an edition; None where the setting names none."""
    found = re.search(r"\d{4}", said)
    return int(found[0]) if found else None


def in_edition(printed: str, said: str) -> bool:
    """Whether a row belongs to an edition.

    Args:
        printed: as in the table: '2013; 2017; 2022*', '2013 to 2022*', '2013 and earlier', '1990s editions'.
        said: the kitchen's edition, such as '2022'; its first four digits count.
    """
    year = edition_year(said)
    if year is None:
        return False
    for part in printed.split(";"):
        years = [int(text) for text in re.findall(r"\d{4}", part)]
        if len(years) == 2 and " to " in part and years[0] <= year <= years[1]:
            return True
        if years and (("earlier" in part and year <= years[0]) or year in years):
            return True
    return False
