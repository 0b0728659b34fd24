"""Which records, rules and bands belong to a food, by the word the kitchen uses for it."""

from __future__ import annotations

KINDS: dict[str, tuple[str, ...]] = {
    "wild": ("mallard", "teal", "wigeon", "wildfowl", "pheasant", "partridge", "pigeon", "hare", "rabbit", "wild"),
    "poultry": ("duck", "chicken", "turkey", "goose", "guinea", "quail", "poultry"),
    "fatty fish": ("salmon", "trout", "mackerel", "eel", "herring", "tuna"),
    "fish": ("fish", "cod", "brill", "bass", "turbot", "sole", "hake", "plaice", "ling", "pollack", "haddock"),
    "pork": ("pork", "boar", "ham"),
    "beef": ("beef", "veal"),
    "lamb": ("lamb", "mutton", "hogget", "goat"),
    "meat": ("venison", "meat"),
}
RED = frozenset({"pork", "beef", "lamb", "meat"})
BIRDS = frozenset({"pheasant", "partridge", "pigeon", "mallard", "teal", "wigeon", "wildfowl"})
RECORDS = {"poultry": "poultry", "fatty fish": "fish_fatty", "fish": "fish_lean", **dict.fromkeys(RED, "meat")}
# Rows of the bands' table by the start of their key, in the order they are shown.
BANDS = {
    "lamb": ("beef_lamb_ref", "beef_lamb_cp2", "bald_meat", "usda_whole"),
    "beef": ("beef_lamb_ref", "beef_lamb_cp2", "bald_meat", "beef_trade", "usda_whole"),
    "pork": ("pork_chef", "pork_cp", "bald_meat", "usda_whole"),
    "meat": ("bald_meat", "usda_whole"),
    "poultry": ("usda_poultry",),
    "wild": ("usda_poultry",),
    "fish": ("fish_cp", "bald_fish", "usda_fish"),
    "fatty fish": ("salmon_cp", "fish_cp", "bald_fish", "usda_fish"),
}


def kind_of(food: str) -> str:
    """The kind of food behind a word; '' where it is not known."""
    words = food.lower().replace("-", " ").split()
    return next((kind for kind, names in KINDS.items() if any(word in names for word in words)), "")


def records_of(food: str) -> str | None:
    """The set of heat-resistance records of a food; None where there is none, and then no reduction is offered."""
    kind = kind_of(food)
    if kind == "wild" and BIRDS & set(food.lower().split()):
        return "poultry"
    return RECORDS.get(kind)


def bands_of(food: str) -> tuple[str, ...]:
    """Starts of the keys of the bands that are printed for a food."""
    kind = kind_of(food)
    own = ("duck",) if "duck" in food.lower() else ()
    return (*own, *BANDS.get(kind, ()))
