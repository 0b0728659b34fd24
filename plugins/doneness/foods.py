"""Which records, rules and bands belong to a food, by the word the kitchen uses for it."""

from __future__ import annotations

from stillroom.db.cooked_as import kind_of

RED = frozenset({"pork", "beef", "lamb", "game", "meat"})
RECORDS = {"poultry": "poultry", "fatty fish": "fish_fatty", "fish": "fish_lean", **dict.fromkeys(RED, "meat")}
# Rows of the bands' table by the start of their key, in the order they are shown.
BANDS = {
    "lamb": ("beef_lamb_ref", "beef_lamb_cp2", "bald_meat", "usda_whole"),
    "beef": ("beef_lamb_ref", "beef_lamb_cp2", "bald_meat", "beef_trade", "usda_whole"),
    "pork": ("pork_chef", "pork_cp", "bald_meat", "usda_whole"),
    "meat": ("bald_meat", "usda_whole"),
    "game": ("bald_meat",),
    "shellfish": ("usda_fish",),
    "egg": ("usda_eggs",),
    "poultry": ("usda_poultry",),
    "wild": ("usda_poultry",),
    "fish": ("fish_cp", "bald_fish", "usda_fish"),
    "fatty fish": ("salmon_cp", "fish_cp", "bald_fish", "usda_fish"),
}
NOT_WHOLE = frozenset({"minced", "stuffed"})
MINCED_BANDS = {"poultry": "usda_gpoultry", "wild": "usda_gpoultry", "fish": "usda_fish", "fatty fish": "usda_fish",
                "shellfish": "usda_fish", "egg": "usda_eggs"}  # fmt: skip


def records_of(food: str) -> str | None:
    """The set of heat-resistance records of a food; None where there is none, and then no reduction is offered."""
    return RECORDS.get(kind_of(food))


def bands_of(food: str, worked: str = "intact") -> tuple[str, ...]:
    """Starts of the keys of the bands that are printed for a food; those for steaks are not those for minced meat."""
    kind = kind_of(food)
    if worked in NOT_WHOLE and kind:
        return ("usda_poultry",) if worked == "stuffed" else (MINCED_BANDS.get(kind, "usda_ground"),)
    own = ("duck",) if "duck" in food.lower() else ()
    return (*own, *BANDS.get(kind, ()))
