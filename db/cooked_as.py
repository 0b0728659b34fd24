"""Which cooking minimum a food is held to: by what it is, by how it was worked, and by the rule its recipe names.

Grinding, needling, injecting and stuffing carry what was outside into the middle. Of everything that is said the
stricter counts: a word in the food's name is never outvoted by a tick.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from difflib import get_close_matches
from itertools import pairwise

from stillroom.db.names import words_in
from stillroom.db.pieces import WORKED

# Kinds of food by the kitchen's words, the strictest first: of "pork and chicken" the chicken decides.
KINDS: dict[str, tuple[str, ...]] = {
    # Law counts every bird, wild ones among them: Food Code 1-201.10 "Poultry" (its wording from memory).
    "poultry": ("duck", "chicken", "turkey", "goose", "guinea", "quail", "poultry", "squab", "mallard", "teal",
                "wigeon", "wildfowl", "poussin", "capon", "cockerel", "pheasant", "partridge", "pigeon", "grouse",
                "woodcock", "snipe"),
    "wild": ("hare", "rabbit", "wild"),
    "ratite": ("ostrich", "emu", "rhea"),
    "egg": ("egg",),
    "fatty fish": ("salmon", "trout", "mackerel", "eel", "herring", "tuna", "sardine", "sprat"),
    "fish": ("fish", "cod", "brill", "bass", "turbot", "sole", "hake", "plaice", "ling", "pollack", "pollock",
             "haddock", "halibut", "monkfish", "skate", "mullet", "bream", "gurnard", "whiting", "perch", "pike"),
    # Law knows them as fish: Food Code 1-201.10, every crustacean and mollusc. No record of heat resistance is on file.
    "shellfish": ("shellfish", "scallop", "oyster", "mussel", "clam", "cockle", "winkle", "whelk", "crab", "lobster",
                  "langoustine", "crayfish", "prawn", "shrimp", "squid", "octopus", "cuttlefish"),
    "pork": ("pork", "ham", "bacon", "gammon", "pig"),
    "beef": ("beef", "veal", "calf", "ox", "oxtail"),
    "lamb": ("lamb", "mutton", "hogget", "goat", "kid"),
    "game": ("venison", "deer", "elk", "boar", "bison"),
    "meat": ("meat",),
}
ROWS = {"wild": "cook_game_wild", "poultry": "cook_poultry", "fatty fish": "cook_fish_intact",
        "fish": "cook_fish_intact", "shellfish": "cook_fish_intact", "ratite": "cook_ratites",
        "egg": "cook_comminuted", "game": "cook_game_commercial",
        **dict.fromkeys(("pork", "beef", "lamb", "meat"), "cook_intact_meat")}  # fmt: skip
# Rows for what is whole: nothing that was minced or injected is held to these.
WHOLE_ROWS = frozenset({"cook_intact_meat", "cook_fish_intact", "cook_game_commercial", "cook_steak_surface"})
# The hottest rows: any food may be held to them, and a bird or what is wild to no others, whatever its recipe names.
HOT = ("cook_poultry", "cook_stuffed", "cook_game_wild", "cook_baluts", "cook_microwave")
# Kinds that a time table of whole meat roasts is for, 3-401.11(B).
ROASTS = frozenset({"pork", "beef", "lamb", "meat"})
WATER = frozenset({"fatty fish", "fish", "shellfish"})
# Words of a name that say how it was worked. "Comminuted" is reduced in size by chopping, flaking, grinding or
# mincing, sausage and restructured meat among it (Food Code 1-201.10). Stems: "burger" is in "beefburgers" too.
STEMS = {
    "stuffed": ("stuff", "farci", "ballotine", "galantine", "roulade", "paupiette", "kiev", "cordon", "ravioli",
                "tortell", "cannelloni", "agnolotti", "gyoza", "wonton", "pierogi", "dumpling"),
    "minced": ("minced", "mincemeat", "burger", "sausage", "meatball", "meatloaf", "fishcake", "fishball", "patty",
               "pattie", "forcemeat", "comminut", "quenelle", "rissole", "kofta", "tartare", "restructured",
               "reformed", "terrine", "chorizo", "merguez", "boudin", "mousse", "wurst", "kofte", "kefta", "keema",
               "salami", "crepinette", "bolognese", "lasagn", "parfait", "cevap", "frikadel"),
    "injected": ("inject", "tenderis", "tenderiz", "needled", "jaccard"),
}  # fmt: skip
WHOLE = {"minced": frozenset({"ground", "mince", "chopped", "flaked", "faggot", "haggis", "gyro", "pate", "loaf",
                              "doner", "hache", "larb"}),
         "injected": frozenset({"pumped", "pinned", "bladed", "cubed"}), "stuffed": frozenset()}  # fmt: skip
# Words that say so of what they stand behind: crab cakes and fish fingers are formed, a potato cake says nothing.
FORMED = frozenset({"cake", "finger", "ball", "stick"})
# Words that many kinds of food go by.
PARTS = frozenset({"liver", "kidney", "heart", "tongue", "sweetbread", "steak", "chop", "roast", "joint", "fillet"})
# Of two ways the one that stands later here is held to the stricter row, or to the same.
STRICTER = tuple(WORKED)
NOT_WILD = "it was farmed, or inspected as it was shot; otherwise it is wild and needs 165 °F, 3-401.11(A)(3)"
# 3-401.12, for food that is cooked in a microwave oven; no probe sees it.
STOOD_COVERED = "it was rotated or stirred, covered, and left covered for 2 min afterwards, 3-401.12"


@dataclass(frozen=True)
class CookedAs:
    """What a food is held to.

    Attributes:
        kind: a key of KINDS; "" where the food is not known.
        worked: a key of `pieces.WORKED`.
        why: what says so, in words.
        start: how the ids of its rows begin; "" where no minimum is known.
    """

    kind: str
    worked: str
    why: str
    start: str

    @property
    def only_if(self) -> str:
        """What else must be so where its rows are met; '' where nothing must: game by its laxer row was inspected."""
        if self.start.startswith("cook_microwave"):
            return STOOD_COVERED
        is_game = self.kind == "game" and not self.start.startswith("cook_game_wild")
        return NOT_WILD if is_game or (self.kind == "wild" and self.start.startswith("cook_game_commercial")) else ""


def words_of(text: str) -> list[str]:
    """Words of a name, folded, without plural s and possessive: 'Lamb's burgers' -> lamb, burger."""
    return list(words_in(re.sub(r"['’]s\b", "", text)))


_NAMES = frozenset(name for names in KINDS.values() for name in names)


def kind_of(food: str) -> str:
    """The kind of food behind a word; '' where it is not known.

    A duck's egg is an egg; duck with egg, and chicken egg fried rice, are birds. Wild salmon is salmon, wild venison
    is wild.
    """
    words = words_of(re.sub(r"^\s*\w+(?:['’]s)?\s+(eggs?)\s*$", r"\1", food, flags=re.IGNORECASE))
    found = [kind for kind, names in KINDS.items() if any(word in names for word in words)]
    others = set(found) - {"wild"}
    is_fish = "wild" in words and others and others <= WATER and not {"hare", "rabbit"} & set(words)
    return next((kind for kind in found if not is_fish or kind in WATER), "")


def unknown(food: str) -> str:
    """Words for a food without a cooking minimum: what is known, and the nearest of it."""
    known = f"Known: {', '.join(name for names in KINDS.values() for name in names)}"
    if not food.strip():
        return f"{known}."
    if worked_by(food)[0] or PARTS & set(words_of(food)):
        return f"Say of what it is: beef, pork, chicken, fish. {known}."
    near = get_close_matches(" ".join(words_of(food)), _NAMES, 1, 0.7)
    return f"Is {near[0]} meant? {known}." if near else f"{known}."


def worked_by(text: str) -> tuple[str, str]:
    """How a name says that it was worked, and the word that does; two empty texts where none does."""
    words = words_of(text)
    formed = next((f"{of} {word}" for of, word in pairwise(words) if word in FORMED and of in _NAMES), "")
    for way in reversed(STRICTER):
        if way == "minced" and formed:
            return way, formed
        for word in words:
            if word in WHOLE.get(way, ()) or any(stem in word for stem in STEMS.get(way, ())):
                return way, word
    return "", ""


def cooked_as(food: str, rule: str = "", worked: str = "", named: str = "") -> CookedAs:
    """The minimum a food is held to: of all that is said of how it was worked, the strictest.

    Args:
        food: the kitchen's word for it.
        rule: id of the minimum that its recipe names; "" where it names none.
        worked: what a person said, a key of `pieces.WORKED`; "" where nobody did.
        named: further words, such as the recipe's name: they count where nobody said.
    """
    way, word = worked_by(food)
    found = [(way, f"the food's name says “{word}”"), (_worked_of(rule), "its recipe names that rule")]
    if worked in WORKED:
        found.append((worked, "that is what was said of it"))
    else:
        way, word = worked_by(named)
        found.append((way, f"its name says “{word}”"))
    strictest = max(found, key=lambda one: STRICTER.index(one[0]) if one[0] else -1)
    way, why = strictest if strictest[0] else ("intact", "nothing says otherwise")
    if worked in WORKED and worked != way:
        why += f", though it was said to be {WORKED[worked]}: the stricter counts"
    kind = kind_of(food)
    row = rule if rule and _may_name(rule, kind) else ROWS.get(kind, "")
    return CookedAs(kind, way, why, _row(row, way, kind))


def _may_name(rule: str, kind: str) -> bool:
    """Whether a recipe of such food may name a rule: none that is laxer than its kind asks for."""
    if not kind or rule.startswith(HOT):
        return True
    if kind in {"poultry", "wild"}:
        return kind == "wild" and rule == "cook_game_commercial"
    if rule.startswith("roast_"):
        return kind in ROASTS
    if rule.startswith(("cook_plant", "cook_eggs")):
        return kind == "egg" and rule == "cook_eggs_immediate"
    return kind != "ratite" or rule.startswith(("cook_ratites", "cook_comminuted"))


def _worked_of(rule: str) -> str:
    """How a food must have been worked to stand under a rule; "" where the rule says nothing of that."""
    return "stuffed" if rule.startswith("cook_stuffed") else "minced" if rule.startswith("cook_comminuted") else ""


def _row(base: str, worked: str, kind: str) -> str:
    """The row of a class, raised to what the way of working asks for. Whole roasts may be injected: 3-401.11(B)."""
    if not base or worked == "intact":
        return base
    if worked == "stuffed":
        return "cook_stuffed"
    if base in WHOLE_ROWS or (base.startswith("roast_") and worked == "minced"):
        return ROWS[kind] if kind in {"wild", "poultry"} else "cook_comminuted"
    return base
