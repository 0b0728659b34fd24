"""What the pages of tables and prepared questions say: groups, words for columns and filters, cautions. Pure."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from stillroom.plugins.core.format import plain

Note = Mapping[str, Any]
STANDING = "standing_"  # a log without what was taken back or corrected


@dataclass(frozen=True)
class Subject:
    """A heading of the list of tables, and what stands under it, in its order."""

    title: str
    names: tuple[str, ...]


def _subject(title: str, names: str) -> Subject:
    return Subject(title, tuple(names.split()))


ANSWERS = "Worked out from the tables"
OTHERS = "Others"
SUBJECTS = (
    _subject(
        ANSWERS,
        "delivery_line item_price_history product_price_move dish_item item_review unreviewed_item unread_label"
        " shortage_now batch_date breakdown_part recipe_life lot_receipt batch_correction",
    ),
    _subject(
        "What is bought",
        "suppliers items products product_allergens price_quotes item_measures item_tags substitutes",
    ),
    _subject(
        "What is cooked",
        "recipes components method_steps cooking_steps pieces by_products recipe_measures recipe_surfaces"
        " recipe_equipment photos explosion low_level book_versions trial_versions tastings promotions",
    ),
    _subject("The house", "stations people shifts absences equipment surfaces service_days holidays pars kitchen"),
    _subject(
        "Goods and stock",
        "deliveries shellfish_tags counts batches batch_uses batch_freezes shortages order_lines",
    ),
    _subject("Heat and holding", "probe_readings cooling_readings hold_checks"),
    _subject("Ageing and cutting", "ageing_lots weigh_ins lot_reservations breakdowns breakdown_outputs"),
    _subject(
        "Service and prep",
        "plates_sold till_mappings covers forecast_overrules task_ticks prep_plans allergen_changes change_reads",
    ),
    _subject(
        "Published figures",
        "allergens allergen_regimes allergen_groups label_words cooking_minimums holding_rules doneness_bands lethality"
        " pathogens thermal_properties reference_yields reference_densities reference_cuts sources",
    ),
    _subject("Loads and copies", "loads warnings backups"),
)


@dataclass(frozen=True)
class Entry:
    """One table or view in the list.

    Attributes:
        count: its rows [-]; None where they were not counted.
        standing: the view of the same log without what was taken back; '' where there is none.
    """

    name: str
    title: str
    words: str
    count: int | None
    standing: str = ""


@dataclass(frozen=True)
class Group:
    """A heading with its tables."""

    title: str
    entries: tuple[Entry, ...]

    @property
    def anchor(self) -> str:
        """The address of the heading within its page."""
        return self.title.lower().replace(" ", "-")


def grouped(tables: Iterable[Mapping[str, Any]], views: Iterable[Mapping[str, Any]], notes: Note) -> list[Group]:
    """Tables and views by subject; whatever has none stands last.

    Args:
        tables: as Datasette lists those that whoever asks may see: name, count.
        views: the same, without counts.
        notes: table -> its title and description.
    """
    counts: dict[str, int | None] = {view["name"]: None for view in views}
    counts |= {table["name"]: table["count"] for table in tables}
    left = {name for name in counts if not (name.startswith(STANDING) and name.removeprefix(STANDING) in counts)}
    found = []
    for subject in SUBJECTS:
        names = [name for name in subject.names if name in left]
        left -= set(names)
        found.append(Group(subject.title, tuple(_entry(name, counts, notes) for name in names)))
    found.append(Group(OTHERS, tuple(_entry(name, counts, notes) for name in sorted(left))))
    return [group for group in found if group.entries]


def _entry(name: str, counts: Mapping[str, int | None], notes: Note) -> Entry:
    standing = f"{STANDING}{name}" if f"{STANDING}{name}" in counts else ""
    words = re.sub(r"^One row (is|per) ", "", str(notes.get(name, {}).get("description", "")))
    return Entry(name, table_words(name, notes), words[:1].upper() + words[1:], counts[name], standing)


def table_words(name: str, notes: Note) -> str:
    """What people call a table: its title, else its name in plain words."""
    if title := notes.get(name, {}).get("title"):
        return str(title)
    if name.startswith(STANDING):
        return f"{table_words(name.removeprefix(STANDING), notes)}: what counts"
    return name.replace("_", " ").capitalize()


# What every entry of a log carries for the house's own bookkeeping.
KEPT_BOOKS = frozenset({"request_id", "recorded_at", "actor", "origin", "voids", "stands"})


def reading_order(things: Iterable[Mapping[str, Any]], key: str) -> list[Mapping[str, Any]]:
    """Columns, or the cells of a row, with what people read first: bookkeeping last, and ids beside their names.

    Args:
        key: under which each has its column's name.
    """
    found = list(things)
    names = {thing[key] for thing in found}
    return sorted(found, key=lambda thing: _is_aside(thing[key], names))


def _is_aside(name: str, names: set[str]) -> bool:
    return name in KEPT_BOOKS or (name.endswith("_id") and name.removesuffix("_id") in names)


UNITS = {"g": "g", "cm": "cm", "mm": "mm", "f": "°F", "c": "°C", "s": "s", "seconds": "s", "days": "days", "pct": "%"}
_SIZES = re.compile(r"_lb_[a-d]$")  # weight ranges A to D of a published cut: no unit at the end


def column_words(name: str) -> str:
    """A column's name in plain words, its unit behind a comma: 'door temp, °F'."""
    head, _, last = name.rpartition("_")
    if head and last in UNITS and not _SIZES.search(name):
        return f"{head.replace('_', ' ')}, {UNITS[last]}"
    return name.replace("_", " ")


FILTER_WORDS = {
    "exact": "is", "not": "is not", "endswith": "ends with", "startswith": "begins with", "gt": "more than",
    "gte": "at least", "lt": "less than", "lte": "at most", "like": "is like (% for any letters)",
    "notlike": "is not like (% for any letters)", "glob": "is like (* for any letters)", "in": "is one of (a, b, c)",
    "notin": "is none of (a, b, c)", "arraycontains": "list has", "arraynotcontains": "list has not",
    "date": "is on the day", "isnull": "was not written", "notnull": "was written", "isblank": "is empty",
    "notblank": "is not empty",
}  # fmt: skip


def filter_words(key: str, display: str = "") -> str:
    """A comparison in plain words; Datasette's own for one that is not known here."""
    return FILTER_WORDS.get(key, display or key)


ONE_LINE, FEW_LINES = 20, 50  # letters
_NUMBER = re.compile(r"-?\d+(\.\d+)?(/\d+)?")
_NAMES_A_THING = re.compile(r"(^|_)(id|code|no|certificate|phone|version)$")


def shapes(names: Sequence[str], rows: Iterable[Sequence[Any]]) -> dict[str, str]:
    """Column -> how its cells stand: 'num' at the right, 'keep' on one line, 'long' in a wide column, '' as text.

    Args:
        names: of the columns.
        rows: their values, as many as there are names.
    """
    values: dict[str, list[str]] = {name: [] for name in names}
    for row in rows:
        for name, value in zip(names, row, strict=True):
            if value is not None and value != "":
                values[name].append(str(value))
    return {name: _shape(name, found) for name, found in values.items()}


def _shape(name: str, values: Sequence[str]) -> str:
    if values and not _NAMES_A_THING.search(name) and all(map(_readable_number, values)):
        return "num"
    longest = max(map(len, values), default=0)
    return "keep" if longest <= ONE_LINE else "long" if longest > FEW_LINES else ""


def _readable_number(value: str) -> bool:
    return _NUMBER.fullmatch(value) is not None or re.fullmatch(r"-?\d(\.\d+)?e[+-]\d+", value) is not None


def shown(text: Any, value: Any) -> Any:
    """A cell's text: nothing where nothing was written, a measured number to four decimals at most, a path with arrows;
    all else as Datasette wrote it.
    """
    if value is None or value == "":
        return ""
    if isinstance(value, float) and (value == 0 or abs(value) >= 0.0001):
        return plain(value, 4)
    return " ← ".join(_path(value)) or text


def _path(value: Any) -> list[str]:
    """The names of a path kept as a JSON list; none where it is anything else."""
    if not isinstance(value, str) or not value.startswith('["'):
        return []
    try:
        names = json.loads(value)
    except ValueError:
        return []
    return names if all(isinstance(name, str) for name in names) else []


AS_WRITTEN = "As it was written down."
ALLERGENS = "Allergens: what is not written is not known; shared kitchen, confirm with the chef."
HEAT = "Temperatures and dates: local code and the inspector decide."
_ALLERGENS = re.compile(r"allergen|presence|ingredient|review|^is_printed$|^tag$|^dish$|^dish_id$|^line$|^path$")
_HEAT = re.compile(r"_[fc]$|^use_by$|^last_on$|last_served_on|temp|hold_s|life_days$")


def cautions(columns: Iterable[str] | None) -> list[str]:
    """What must be said under figures of these columns; all of it for None, nothing where none of it applies."""
    if columns is None:
        return [ALLERGENS, HEAT]
    names = [name for name in columns if not _SIZES.search(name)]
    said = ((ALLERGENS, _ALLERGENS), (HEAT, _HEAT))
    return [words for words, about in said if any(map(about.search, names))]


FILTERS = {
    "grouped": grouped, "table_words": table_words, "column_words": column_words, "filter_words": filter_words,
    "shapes": shapes, "shown": shown, "cautions": cautions, "reading_order": reading_order,
}  # fmt: skip
