"""The kitchen's own files: every table a person may fill in, its columns, what each holds, and one example.

This list is the file format. The readers, the blank kitchen, the help and the error texts all come from it. A table is a
CSV file `NAME.csv` in the folder or a sheet NAME in the workbook; recipes may also be written as YAML, one or many to a
file, in the folder `recipes` (see `recipe_yaml.py`).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Kind = Literal[
    "text",         # anything
    "name",         # the thing's own name; the id is made from it
    "ref",          # the name of a row in another table
    "quantity",     # number and unit as a cook writes them: 2½ qt, 3 ea, 450 g
    "line",         # quantity, unit and name: 5 lb leeks, trimmed
    "pack",         # 6/#10, 4/1 gal, 24/12 ct, 2/5#, catch weight
    "number",       # 3, 2.5, 1 1/2
    "whole",        # a whole number, zero or more
    "percent",      # 85 or 85 %
    "money",        # 12.50, no currency sign
    "date",         # 2026-11-25, or the kitchen's own order where it says so
    "instant",      # 2026-11-25 17:40, the kitchen's clock
    "clock",        # 17:00
    "span",         # 3 days, 90 min, 2 h 30
    "temperature",  # 38 °F, 3 °C, 38 F; the unit is never guessed
    "length",       # 38 mm, 1.5 in
    "yes",          # yes / no
    "choice",       # one of a closed list
    "list",         # several, separated by ;
    "weekdays",     # mon wed fri
]


@dataclass(frozen=True)
class Column:
    """One column: its header, what kind of value it holds, whether it may be empty, and a note for the person.

    to is the table a ref (or each member of a list) names: 'items', 'recipes', 'items or recipes', 'allergens', ...
    """

    name: str
    kind: Kind
    note: str
    required: bool = False
    to: str = ""
    allowed: tuple[str, ...] = ()
    example: str = ""


@dataclass(frozen=True)
class Table:
    """One table: its name as file or sheet, what one row is, its columns, and which columns together are unique."""

    name: str
    note: str
    columns: tuple[Column, ...]
    key: tuple[str, ...] = ()
    is_log: bool = False


def _must(name: str, kind: Kind, note: str, example: str = "", to: str = "", allowed: tuple[str, ...] = ()) -> Column:
    return Column(name, kind, note, True, to, allowed, example)


def _may(name: str, kind: Kind, note: str, example: str = "", to: str = "", allowed: tuple[str, ...] = ()) -> Column:
    return Column(name, kind, note, False, to, allowed, example)


CATEGORIES = (
    "meat", "poultry", "fish", "shellfish", "dairy", "egg", "produce", "dry", "oil", "drink", "seasoning", "other",
)
RECIPE_KINDS = ("dish", "sub-recipe", "cut")
SETTINGS = {  # kitchen.yaml, or the sheet `kitchen` with the columns setting and value
    "name": ("the kitchen's name", "The Staithe"),
    "regime": ("whose allergen list: US, EU, UK, CA, ANZ, CODEX_2024", "UK"),
    "food code": ("edition of the Food Code the kitchen follows", "2022"),
    "units": ("how quantities are shown: US or metric", "US"),
    "currency": ("three letters, ISO 4217", "USD"),
    "decimal mark": (". or ,", "."),
    "date order": ("ISO, or how dates are written: day month year, or month day year", "ISO"),
    "time zone": ("IANA name", "Europe/London"),
    "day starts": ("when a new kitchen day begins, for service past midnight", "04:00"),
    "price basis": ("last delivery, average, first in first out, or quote", "last delivery"),
    "average days": ("days that the average price looks back", "28"),
    "today": ("only for a demonstration: the day the kitchen stands still at", ""),
}

_STOCK = (
    Table("stations", "A place where people work.", (_must("name", "name", "what it is called", "Grill"),), ("name",)),
    Table("surfaces", "A grill, fryer or board that foods share.", (
        _must("name", "name", "what it is called", "Fryer A"),
        _may("station", "ref", "where it stands", "Grill", "stations"),
    ), ("name",)),
    Table("equipment", "What limits the day: ovens, burners, baths, the fire.", (
        _must("name", "name", "what it is called", "Charcoal grill"),
        _may("station", "ref", "where it stands", "Grill", "stations"),
        _may("capacity", "number", "how much at once", "2"),
        _may("capacity unit", "text", "of what: task, tray, litre", "tray"),
        _may("lead time", "span", "from lighting to first use", "50 min"),
        _may("note", "text", "anything else"),
    ), ("name",)),
    Table("people", "Somebody who works here.", (
        _must("name", "name", "as they are called", "Marit"),
        _may("stations", "list", "stations they can hold", "Grill; Larder", "stations"),
        _may("note", "text", "anything else"),
    ), ("name",)),
    Table("service days", "When the doors are open.", (
        _must("weekday", "weekdays", "one day", "fri"),
        _must("service", "text", "which service", "dinner"),
        _must("opens", "clock", "doors", "17:00"),
        _must("closes", "clock", "last plates; past midnight is written as 00:30", "22:30"),
        _may("prep from", "clock", "when the first cook comes in", "13:00"),
    ), ("weekday", "service")),
    Table("suppliers", "Somebody the kitchen buys from.", (
        _must("name", "name", "trading name", "Saltby Dairy"),
        _may("kind", "text", "farm, boat, dairy, wholesaler", "dairy"),
        _may("place", "text", "where", "Saltby"),
        _may("contact", "text", "who answers", "Anna"),
        _may("phone", "text", "number"),
        _may("email", "text", "address for orders"),
        _may("order by", "clock", "last order", "14:00"),
        _may("lead days", "whole", "days from order to door", "1"),
        _may("delivers on", "weekdays", "days", "mon wed fri"),
        _may("minimum order", "money", "value", "60"),
        _may("active", "yes", "no = no longer used", "yes"),
        _may("note", "text", "anything else"),
    ), ("name",)),
    Table("items", "Something the kitchen buys, whoever sells it.", (
        _must("name", "name", "the cook's word for it", "butter, salted"),
        _must("category", "choice", "kind of food", "dairy", allowed=CATEGORIES),
        _must("unit", "choice", "what it is kept in", "g", allowed=("g", "ml", "each")),
        _may("receiving rule", "ref", "what its door temperature is held against", "recv_cold", "holding_rules"),
        _may("shelf life", "span", "after it arrives", "14 days"),
        _may("yield", "percent", "edible part, the kitchen's own figure", "85 %"),
        _may("reference yield", "text", "food in the reference yields that it is", "Leeks, (bulb and lower leaf-portion), raw"),
        _may("reference density", "text", "food in the reference densities that it is", "Butter, salted"),
        _may("tags", "list", "what a guest may ask for beyond allergens", "garlic; alcohol; pork"),
        _may("note", "text", "anything else"),
    ), ("name",)),
    Table("measures", "What one measure of an item, or of a recipe's yield, weighs or holds.", (
        _must("of", "ref", "item or recipe", "lemons", "items or recipes"),
        _must("measure", "text", "cup, each, bunch, sprig, ml ... ; a number may stand before it", "1 ea"),
        _must("is", "quantity", "in the item's unit", "120 g"),
        _may("source", "text", "weighed here, or the reference food", "weighed here"),
    ), ("of", "measure")),
    Table("products", "What one supplier sells as an item, and what its label says.", (
        _must("supplier", "ref", "who sells it", "Saltby Dairy", "suppliers"),
        _must("item", "ref", "what it is to the kitchen", "butter, salted", "items"),
        _must("product", "text", "name on the pack", "Farm butter, lightly salted"),
        _may("brand", "text", "maker"),
        _may("code", "text", "the supplier's own code", "SD-104"),
        _may("pack", "pack", "how it comes", "20/250 g"),
        _may("price", "money", "asked price", "62.00"),
        _may("price per", "text", "pack, or a unit: kg, lb, ea", "pack"),
        _may("price date", "date", "when it was asked", "2026-11-02"),
        _may("contains", "list", "allergens the label declares", "milk", "allergens"),
        _may("may contain", "list", "allergens it may contain", "", "allergens"),
        _may("reviewed", "date", "when somebody read it; empty = nobody has", "2026-09-02"),
        _may("read", "choice", "what was read", "label", allowed=("label", "specification", "letter")),
        _may("reviewed by", "text", "who read it", "Marit"),
        _may("ingredients", "text", "ingredient list as printed"),
        _may("active", "yes", "no = not bought now", "yes"),
        _may("note", "text", "anything else"),
    ), ("supplier", "product", "code")),
)

_BOOK = (
    Table("recipes", "A dish, a sub-recipe, or a cut from a primal.", (
        _must("name", "name", "what it is called", "Brown butter"),
        _must("kind", "choice", "what it is", "sub-recipe", allowed=RECIPE_KINDS),
        _must("yield", "quantity", "of one batch; a dish: 1 plate; a cut: left empty in YAML", "2 qt"),
        _may("section", "text", "where it stands on the menu", "From the fire"),
        _may("status", "choice", "is it in use", "active", allowed=("active", "draft", "retired")),
        _may("station", "ref", "who makes it", "Sauce", "stations"),
        _may("surfaces", "list", "shared surfaces it passes over", "Fryer A", "surfaces"),
        _may("equipment", "list", "what it needs", "Charcoal grill", "equipment"),
        _may("shelf life", "span", "once made", "3 days"),
        _may("storage", "text", "where and how", "walk-in, covered"),
        _may("price", "money", "on the menu, tax excluded", "26"),
        _may("target cost", "percent", "food cost it should not pass", "30 %"),
        _may("from", "date", "first day on the menu", "2026-09-01"),
        _may("to", "date", "last day on the menu", "2027-03-20"),
        _may("active time", "span", "somebody's hands", "20 min"),
        _may("passive time", "span", "on its own", "2 h"),
        _may("least batch", "number", "smallest batch worth making", "0.5"),
        _may("input", "ref", "cut: the primal", "marsh mutton saddle", "items"),
        _may("shrink", "percent", "cut: lost to ageing", "8 %"),
        _may("trim", "percent", "cut: cut away after ageing, by-products within", "30 %"),
        _may("portion", "quantity", "cut: weight of one portion", "9 oz"),
        _may("photo", "text", "picture file beside the recipes"),
        _may("note", "text", "anything else"),
    ), ("name",)),
    Table("components", "One line of a recipe.", (
        _must("recipe", "ref", "which recipe", "Leek broth", "recipes"),
        _must("line", "line", "as a cook writes it; batch = one whole batch of a sub-recipe", "5 lb leeks, trimmed"),
        _may("yield", "percent", "edible part on this line, where the line is trimmed weight", "85 %"),
        _may("can be left off", "yes", "the plate can go out without it", "no"),
        _may("does not scale straight", "text", "leavening, salt, spice, gelatine ...", ""),
    ), ()),
    Table("by products", "What a cut or a recipe leaves that is worth something.", (
        _must("recipe", "ref", "which recipe", "Mutton loin chop", "recipes"),
        _must("item", "ref", "what is left", "mutton fat", "items"),
        _must("share", "percent", "of the weight that went in", "12 %"),
        _may("credit", "money", "what it is worth; empty = its market price", "1.20"),
        _may("credit per", "text", "kg, lb, ea", "lb"),
    ), ("recipe", "item")),
    Table("method", "One step of a recipe's method.", (
        _must("recipe", "ref", "which recipe", "Leek broth", "recipes"),
        _must("step", "text", "what to do"),
    ), ()),
    Table("pieces", "The piece that a cooking programme is for.", (
        _must("recipe", "ref", "which recipe", "Mutton loin chop", "recipes"),
        _must("food", "text", "lamb, pork, duck, fish ...", "lamb"),
        _must("thickness", "length", "at its thickest", "38 mm"),
        _must("shape", "choice", "nearest", "slab", allowed=("slab", "cylinder", "sphere", "brick", "rod", "factor")),
        _may("shape factor", "number", "0 slab, 1 cylinder, 2 sphere", "0.3"),
        _may("width", "length", "brick, rod"),
        _may("length", "length", "brick, cylinder"),
        _may("fat", "percent", "by weight", "12 %"),
        _may("water", "percent", "by weight", "66 %"),
        _may("start", "temperature", "core before the first step", "38 °F"),
        _may("frozen", "yes", "from frozen", "no"),
        _may("rule", "ref", "cooking minimum it is held to", "cook_intact_meat", "cooking_minimums"),
        _may("band low", "temperature", "the chef's own doneness", "130 °F"),
        _may("band high", "temperature", "the chef's own doneness", "135 °F"),
        _may("cut", "text", "which cut", "loin"),
    ), ("recipe",)),
    Table("cooking steps", "One step of a cooking programme, in order.", (
        _must("recipe", "ref", "which recipe", "Mutton loin chop", "recipes"),
        _must("step", "choice", "what happens", "bath",
              allowed=("bath", "oven", "grill", "pan", "hang", "rest", "ice", "chiller")),
        _may("at", "temperature", "of the bath, oven, grill or room", "136 °F"),
        _may("time", "span", "how long", "2 h 30"),
        _may("until core", "temperature", "instead of a time", "128 °F"),
        _may("turns", "whole", "how often it is turned", "1"),
        _may("humidity", "choice", "oven", "dry", allowed=("dry", "humid")),
        _may("note", "text", "anything else"),
    ), ()),
    Table("substitutes", "What may stand in for something.", (
        _must("for", "ref", "what is replaced", "Brown butter", "items or recipes"),
        _must("with", "ref", "what stands in", "rapeseed oil", "items or recipes"),
        _may("in", "ref", "only in this recipe; empty = anywhere", "", "recipes"),
        _may("ratio", "number", "of the substitute for one of the original, same kind of unit", "0.8"),
        _may("instead of", "quantity", "this much of the original ...", "100 ml"),
        _may("use", "quantity", "... becomes this much of the substitute", "90 ml"),
        _may("note", "text", "anything else"),
    ), ("for", "with", "in")),
    Table("pars", "How much to have on hand.", (
        _must("of", "ref", "item or recipe", "Brown butter", "items or recipes"),
        _must("par", "quantity", "when service starts", "2 qt"),
        _may("days", "weekdays", "empty = every day", "fri sat"),
    ), ("of", "days")),
)

_LOG_COLUMNS = (
    _may("request id", "text", "made by stillroom; leave empty"),
    _may("recorded at", "text", "made by stillroom; leave empty"),
    _may("actor", "text", "who wrote it down", "Marit"),
    _may("origin", "text", "made by stillroom; leave empty"),
    _may("voids", "text", "request id of the row that this one corrects"),
    _may("stands", "yes", "no = only takes back"),
)


def _log(name: str, note: str, *columns: Column) -> Table:
    return Table(name, note, (*columns, *_LOG_COLUMNS), (), True)


_NOTE = _may("note", "text", "anything else")

_LOGS = (
    _log("deliveries", "One line of goods at the door.",
        _must("received on", "date", "the day", "2026-11-24"),
        _must("supplier", "ref", "from whom", "Saltby Dairy", "suppliers"),
        _must("item", "ref", "what", "butter, salted", "items"),
        _may("product", "text", "which of the supplier's products", "Farm butter, lightly salted"),
        _may("kind", "choice", "goods unless said", "goods", allowed=("goods", "credit", "charge", "deposit")),
        _may("document", "text", "delivery note or invoice", "SD-88121"),
        _may("ordered on", "date", "when it was ordered"),
        _may("due on", "date", "when it was promised", "2026-11-24"),
        _may("ordered", "quantity", "how much was ordered", "10 kg"),
        _must("received", "quantity", "what came off the van", "10 kg"),
        _may("rejected", "quantity", "sent back", "0 kg"),
        _may("reason", "text", "why it was sent back"),
        _may("door temperature", "temperature", "at the door", "38 °F"),
        _may("price", "money", "invoice price", "12.40"),
        _may("price per", "text", "pack, or a unit: kg, lb, ea", "kg"),
        _may("lot", "text", "lot code as printed"),
        _may("use by", "date", "as printed"),
        _may("certificate", "text", "shellstock dealer number, ear tag"),
        _may("harvested on", "date", "shellstock"),
        _may("harvest area", "text", "shellstock"),
        _NOTE),
    _log("counts", "What is on hand.",
        _must("counted on", "date", "the day, at its end unless a time is given", "2026-11-24"),
        _may("counted at", "instant", "when, if not at the end of the day"),
        _must("of", "ref", "item or recipe", "butter, salted", "items or recipes"),
        _must("on hand", "quantity", "how much", "7.5 kg"),
        _may("station", "ref", "where", "", "stations"),
        _NOTE),
    _log("batches", "A batch that was made.",
        _must("made on", "date", "the day", "2026-11-24"),
        _may("made at", "instant", "when"),
        _must("recipe", "ref", "what", "Brown butter", "recipes"),
        _must("made", "quantity", "how much", "2 qt"),
        _may("lot", "text", "the kitchen's own code"),
        _may("use by", "date", "last day of use"),
        _may("frozen on", "date", "if frozen"),
        _may("thawed on", "date", "if thawed"),
        _may("from lots", "list", "lot codes that went in"),
        _may("station", "ref", "who made it", "", "stations"),
        _NOTE),
    _log("batch uses", "Part of something used or thrown away.",
        _must("used on", "date", "the day"),
        _must("of", "ref", "item or recipe", "Brown butter", "items or recipes"),
        _may("lot", "text", "the batch's own code"),
        _must("quantity", "quantity", "how much", "1 qt"),
        _must("what", "choice", "used or discarded", "discarded", allowed=("used", "discarded")),
        _may("reason", "text", "why"),
        _NOTE),
    _log("ageing lots", "A piece hung or shelved to age.",
        _must("lot", "text", "the kitchen's own code", "M-0412"),
        _must("item", "ref", "what", "marsh mutton saddle", "items"),
        _may("cut", "ref", "what it will be cut into", "Mutton loin chop", "recipes"),
        _must("started on", "date", "first day"),
        _must("weight", "quantity", "at the start", "7.2 kg"),
        _may("days", "whole", "planned", "21"),
        _may("place", "text", "room or shelf"),
        _may("length", "length", "of the piece"),
        _may("price", "money", "paid for the whole piece"),
        _NOTE),
    _log("weigh ins", "One weighing of an ageing lot.",
        _must("lot", "text", "which lot", "M-0412"),
        _must("weighed on", "date", "the day"),
        _must("weight", "quantity", "now", "6.9 kg"),
        _may("room", "temperature", "of the room", "36 °F"),
        _may("humidity", "percent", "of the room", "80 %"),
        _NOTE),
    _log("breakdowns", "A primal broken into portions.",
        _must("code", "text", "the kitchen's own number for it", "B-031"),
        _must("cut", "ref", "as which cut", "Mutton loin chop", "recipes"),
        _may("lot", "text", "ageing lot it came from"),
        _must("broken on", "date", "the day"),
        _must("input", "quantity", "weight that went on the board", "6.6 kg"),
        _NOTE),
    _log("breakdown outputs", "One thing that came out of a breakdown.",
        _must("code", "text", "which breakdown", "B-031"),
        _may("of", "ref", "the portion or by-product; empty = loss", "Mutton loin chop", "items or recipes"),
        _must("weight", "quantity", "how much", "3.9 kg"),
        _may("pieces", "whole", "portions", "15"),
        _NOTE),
    _log("probe readings", "One core temperature.",
        _must("read at", "instant", "when"),
        _may("recipe", "ref", "what", "Mutton loin chop", "recipes"),
        _may("lot", "text", "batch or lot code"),
        _may("piece", "text", "which piece, ticket or tray"),
        _may("step", "text", "bath, grill, rest, reheat"),
        _must("core", "temperature", "at the thickest part", "131 °F"),
        _NOTE),
    _log("cooling readings", "One reading of a cooling pan.",
        _must("log", "text", "one pan, one code", "C-118"),
        _must("read at", "instant", "when"),
        _may("recipe", "ref", "what", "Shellfish stock", "recipes"),
        _must("temperature", "temperature", "at the warmest part", "68 °F"),
        _NOTE),
    _log("hold checks", "A check of something held hot or cold.",
        _must("place", "text", "where", "Pass, bain-marie"),
        _may("of", "ref", "what", "", "items or recipes"),
        _must("held", "choice", "how", "hot", allowed=("hot", "cold", "frozen")),
        _must("read at", "instant", "when"),
        _must("temperature", "temperature", "measured", "141 °F"),
        _NOTE),
    _log("plates sold", "Plates of one dish in one service.",
        _must("sold on", "date", "the kitchen's day", "2026-11-24"),
        _must("dish", "ref", "which", "Brill on the bone", "recipes"),
        _must("plates", "whole", "how many", "14"),
        _may("service", "text", "which service", "dinner"),
        _may("sales", "money", "money taken, tax excluded"),
        _NOTE),
    _log("covers", "Guests in one service.",
        _must("served on", "date", "the kitchen's day"),
        _may("service", "text", "which service", "dinner"),
        _may("booked", "whole", "booked"),
        _may("covers", "whole", "who came; empty = not served yet"),
        _NOTE),
    _log("shortages", "Something runs short, is out, or is back.",
        _must("since", "date", "from when", "2026-11-25"),
        _must("of", "ref", "item or recipe", "brill", "items or recipes"),
        _must("state", "choice", "how it stands", "short", allowed=("short", "out", "back")),
        _may("expected", "date", "when it should be back"),
        _NOTE),
    _log("tastings", "One person's notes on one version of a dish.",
        _must("tasted on", "date", "the day"),
        _must("recipe", "ref", "which", "", "recipes"),
        _may("version", "whole", "which version", "1"),
        _may("score", "whole", "1 to 10", "7"),
        _may("words", "text", "what it tasted like"),
        _may("decision", "text", "what follows")),
)

TABLES: tuple[Table, ...] = (*_STOCK, *_BOOK, *_LOGS)
BY_NAME = {table.name: table for table in TABLES}
