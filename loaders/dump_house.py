"""What writing a kitchen out needs to know of it: names by id, base units, and how numbers are written here."""

from __future__ import annotations

import sqlite3
from decimal import Decimal
from fractions import Fraction
from typing import Any

from stillroom.db.exact import exact_text, read_exact
from stillroom.db.kitchen import DEFAULTS
from stillroom.db.names import slug
from stillroom.db.recipe_lines import earlier_names
from stillroom.loaders.read import ONE_OF

DAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
NAMED = ("stations", "people", "surfaces", "equipment", "suppliers", "items", "recipes", "allergens", "products")


class House:
    """A kitchen's file, read at one moment."""

    def __init__(self, connection: sqlite3.Connection) -> None:
        self.connection = connection
        self.settings = {**DEFAULTS, **dict(self._pairs("select key, value from kitchen"))}
        self.mark = self.settings["decimal mark"]
        self.names: dict[str, dict[str, str]] = {}
        for table in NAMED:
            self.names[table] = dict(self._pairs(f"select id, name from {table}"))
        self.names["trials"] = dict(self._pairs("select trial_id, trial from trial_versions"))
        self._earlier = earlier_names(connection)
        self.units: dict[str, dict[str, str]] = {
            "items": dict(self._pairs("select id, unit from items")),
            "recipes": dict(self._pairs("select id, yield_unit from recipes")),
        }

    def _pairs(self, question: str) -> list[tuple[Any, Any]]:
        return [(row[0], row[1]) for row in self.connection.execute(question)]

    def rows(self, question: str, *values: Any) -> list[sqlite3.Row]:
        return self.connection.execute(question, values).fetchall()

    def number(self, exact: str | Fraction | None) -> str:
        """An exact number with the kitchen's decimal mark; '' for None."""
        if exact is None:
            return ""
        text = exact_text(read_exact(exact) if isinstance(exact, str) else exact)
        return text.replace(".", self.mark)

    def real(self, value: float | None, unit: str = "") -> str:
        """A real number in as many places as make it the same again, and its unit; '' for None."""
        if value is None:
            return ""
        text = format(Decimal(repr(value)), "f")
        text = text.rstrip("0").rstrip(".") if "." in text else text
        return f"{text.replace('.', self.mark)} {unit}".strip()

    def money(self, text: str | None) -> str:
        return "" if text is None else text.replace(".", self.mark)

    def quantity(self, exact: str | None, unit: str) -> str:
        """A quantity in its base unit; '' for None."""
        return "" if exact is None else f"{self.number(exact)} {unit}"

    def percent(self, share: str | None) -> str:
        """An exact share [0 to 1] as per cent; '' for None."""
        return "" if share is None else f"{self.number(read_exact(share) * 100)} %"

    def temperature(self, temp_f: float | None, temp_c: float | None = None) -> str:
        """A temperature in the scale it was written in: the one from which the other follows to the last place."""
        if temp_f is None and temp_c is None:
            return ""
        if temp_f is not None and (
            temp_c is None or float((Fraction(Decimal(repr(temp_f))) - 32) * 5 / 9) == temp_c
        ):
            return self.real(temp_f, "°F")
        return self.real(temp_c, "°C")

    def first_name(self, recipe: sqlite3.Row) -> str:
        """The name that a recipe's id is made of; '' where that is the name it has."""
        if slug(recipe["name"]) == recipe["id"]:
            return ""
        names: list[str] = [recipe["first_called"], *self._earlier.get(recipe["id"], ())]
        return next((n for n in names if slug(n) == recipe["id"]), str(recipe["id"]))

    def name(self, table: str, key: str | None) -> str:
        """The name of a row that is there for certain; '' for None."""
        return "" if key is None else self.names[table][key]

    def either(self, item: str | None, recipe: str | None) -> str:
        """The name of an item or a recipe that is there."""
        return self.name("items", item) or self.name("recipes", recipe)

    def unit_of(self, item: str | None, recipe: str | None) -> str:
        return self.units["items"][item] if item is not None else self.units["recipes"][str(recipe)]

    def reference(self, table: str, key: str | None, unit: str = "") -> str:
        """What a log names: by name where the files hold it with this base unit, else by its id."""
        if key is None:
            return ""
        kept = self.units.get(table, {}).get(key, unit)
        if key in self.names[table] and (not unit or kept == unit):
            return self.names[table][key]
        return f"[{ONE_OF[table]} {key}{f' in {unit}' if unit else ''}]"


def yes(flag: int | None) -> str:
    """'yes', 'no', or '' for None."""
    return "" if flag is None else "yes" if flag else "no"


def span(number: int | float | None, unit: str) -> str:
    """A length of time; '' for None."""
    return "" if number is None else f"{int(number)} {unit}"


def text(value: Any) -> str:
    """Any other value as it is; '' for None."""
    return "" if value is None else str(value)
