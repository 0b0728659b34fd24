"""The house and what it buys: stations, people, days, suppliers, items, products."""

from __future__ import annotations

from stillroom.loaders.table_shapes import Table, may, must

CATEGORIES = (
    "meat", "poultry", "fish", "shellfish", "dairy", "egg", "produce", "dry", "oil", "drink", "seasoning", "other",
)

STOCK = (
    Table("stations", "A place where people work.", (must("name", "name", "what it is called", "Grill"),), ("name",)),
    Table("surfaces", "A grill, fryer or board that foods share.", (
        must("name", "name", "what it is called", "Fryer A"),
        may("station", "ref", "where it stands", "Grill", "stations"),
    ), ("name",)),
    Table("equipment", "What limits the day: ovens, burners, baths, the fire.", (
        must("name", "name", "what it is called", "Charcoal grill"),
        may("station", "ref", "where it stands", "Grill", "stations"),
        may("capacity", "number", "how much at once", "2"),
        may("capacity unit", "text", "of what: task, tray, litre", "tray"),
        may("lead time", "span", "from lighting or switching on until it is hot and the first thing goes in", "50 min"),
        may("note", "text", "anything else; everybody reads it: no prices"),
    ), ("name",)),
    Table("people", "Somebody who works here.", (
        must("name", "name", "as they are called", "Marit"),
        may("stations", "list", "stations they can hold", "Grill; Larder", "stations"),
        may("note", "text", "anything else; everybody reads it: no prices"),
    ), ("name",)),
    Table("shifts", "When somebody works; without any, everybody from the start of prep to the last plates.", (
        must("person", "ref", "who", "Marit", "people"),
        must("days", "weekdays", "which days", "wed thu fri sat"),
        must("from", "clock", "comes in", "12:00"),
        must("to", "clock", "goes home; past midnight is written as 00:30", "23:00"),
    ), ()),
    Table("holidays", "A day without service, or without one supplier's delivery.", (
        must("date", "date", "the day", "2026-12-25"),
        may("supplier", "ref", "who does not deliver; empty = the kitchen is closed", "", "suppliers"),
        may("note", "text", "anything else; everybody reads it: no prices"),
    ), ()),
    Table("service days", "When the doors are open.", (
        must("weekday", "weekdays", "one day", "fri"),
        must("service", "text", "which service", "dinner"),
        must("opens", "clock", "doors", "17:00"),
        must("closes", "clock", "last plates; past midnight is written as 00:30", "22:30"),
        may("prep from", "clock", "when the first cook comes in", "13:00"),
    ), ("weekday", "service")),
    Table("suppliers", "Somebody the kitchen buys from.", (
        must("name", "name", "trading name", "Saltby Dairy"),
        may("kind", "text", "farm, boat, dairy, wholesaler", "dairy"),
        may("place", "text", "where", "Saltby"),
        may("contact", "text", "who answers", "Anna"),
        may("phone", "text", "number"),
        may("email", "text", "address for orders"),
        may("order by", "clock", "last order", "14:00"),
        may("lead days", "whole", "days from order to door", "1"),
        may("delivers on", "weekdays", "days", "mon wed fri"),
        may("minimum order", "money", "value", "60"),
        may("active", "yes", "no = no longer used", "yes"),
        may("note", "text", "anything else; everybody reads it: no prices"),
    ), ("name",)),
    Table("items", "Something the kitchen buys, whoever sells it.", (
        must("name", "name", "the cook's word for it", "butter, salted"),
        must("category", "choice", "kind of food", "dairy", allowed=CATEGORIES),
        must("unit", "choice", "what it is kept in", "g", allowed=("g", "ml", "each")),
        may("receiving rule", "ref", "what its door temperature is held against", "recv_cold", "holding_rules"),
        may("shelf life", "span", "after it arrives", "14 days"),
        may("yield", "percent", "edible part, the kitchen's own figure", "85 %"),
        may("reference yield", "text", "food in the reference yields that it is", "Leeks, (bulb and lower leaf-portion), raw"),
        may("reference density", "text", "food in the reference densities that it is", "Butter, salted"),
        may("tags", "list", "what a guest may ask for beyond allergens", "garlic; alcohol; pork"),
        may("note", "text", "anything else; everybody reads it: no prices"),
    ), ("name",)),
    Table("measures", "What one measure of an item, or of a recipe's yield, weighs or holds.", (
        must("of", "ref", "item or recipe", "lemons", "items or recipes"),
        must("measure", "text", "cup, each, bunch, sprig, ml ... ; a number may stand before it", "1 ea"),
        must("is", "quantity", "how much that is, with its unit", "120 g"),
        may("source", "text", "weighed here, or the reference food", "weighed here"),
    ), ("of", "measure")),
    Table("products", "What one supplier sells as an item, and what its label says.", (
        must("supplier", "ref", "who sells it", "Saltby Dairy", "suppliers"),
        must("item", "ref", "what it is to the kitchen", "butter, salted", "items"),
        must("product", "text", "name on the pack", "Farm butter, lightly salted"),
        may("brand", "text", "maker"),
        may("code", "text", "the supplier's own code", "SD-104"),
        may("pack", "pack", "how it comes", "20/250 g"),
        may("price", "money", "asked price", "62.00"),
        may("price per", "text", "pack, a unit or a quantity: kg, lb, ea, 100 g", "pack"),
        may("price date", "date", "when it was asked", "2026-11-02"),
        may("contains", "list", "allergens the label declares", "milk", "allergens"),
        may("may contain", "list", "allergens it may contain", "", "allergens"),
        may("reviewed", "date", "when somebody read it; empty = nobody has", "2026-09-02"),
        may("read", "choice", "what was read", "label", allowed=("label", "specification", "letter")),
        may("reviewed by", "text", "who read it", "Marit"),
        may("ingredients", "text", "ingredient list as printed"),
        may("active", "yes", "no = not bought now", "yes"),
        may("note", "text", "anything else; everybody reads it: no prices"),
    ), ("supplier", "product", "code")),
)
