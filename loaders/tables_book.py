"""The recipe book: recipes, components, methods, programmes, substitutes, pars."""

from __future__ import annotations

from stillroom.db.pieces import SHAPES, STEPS
from stillroom.loaders.table_shapes import Table, may, must

RECIPE_KINDS = ("dish", "sub-recipe", "cut")

BOOK = (
    Table("recipes", "A dish, a sub-recipe, or a cut from a primal.", (
        must("name", "name", "what it is called", "Brown butter"),
        must("kind", "choice", "what it is", "sub-recipe", allowed=RECIPE_KINDS),
        must("yield", "quantity", "of one batch; a dish: 1 plate; a cut: left empty in YAML", "2 qt"),
        may("section", "text", "where it stands on the menu", "From the fire"),
        may("status", "choice", "is it in use", "active", allowed=("active", "draft", "retired")),
        may("station", "ref", "who makes it", "Sauce", "stations"),
        may("surfaces", "list", "shared surfaces it passes over", "Fryer A", "surfaces"),
        may("equipment", "list", "what it needs", "Charcoal grill", "equipment"),
        may("shelf life", "span", "once made", "3 days"),
        may("storage", "text", "where and how", "walk-in, covered"),
        may("price", "money", "on the menu, tax excluded", "26"),
        may("target cost", "percent", "food cost it should not pass", "30 %"),
        may("from", "date", "first day on the menu", "2026-09-01"),
        may("to", "date", "last day on the menu", "2027-03-20"),
        may("active time", "span", "somebody's hands", "20 min"),
        may("passive time", "span", "on its own", "2 h"),
        may("least batch", "number", "smallest batch worth making", "0.5"),
        may("input", "ref", "cut: the primal", "marsh mutton saddle", "items"),
        may("shrink", "percent", "cut: lost to ageing", "8 %"),
        may("trim", "percent", "cut: cut away after ageing, by-products within", "30 %"),
        may("portion", "quantity", "cut: weight of one portion", "9 oz"),
        may("joint", "text", "cut: the same word for all cuts that come out of one piece", "saddle"),
        may("market price", "money", "cut: what it would cost ready cut, to share a joint's cost by", "21.50"),
        may("market price per", "text", "kg, lb", "kg"),
        may("photo", "text", "picture file beside the recipes"),
        may("note", "text", "anything else"),
        may("version", "whole", "of its trial, where it was promoted from one", "3"),
    ), ("name",)),
    Table("components", "One line of a recipe.", (
        must("recipe", "ref", "which recipe", "Leek broth", "recipes"),
        must("line", "line", "as a cook writes it; batch = one whole batch of a sub-recipe", "5 lb leeks, trimmed"),
        may("yield", "percent", "edible part on this line, where the line is trimmed weight", "85 %"),
        may("can be left off", "yes", "the plate can go out without it", "no"),
        may("does not scale straight", "text", "leavening, salt, spice, gelatine ...", ""),
    ), ()),
    Table("by products", "What a cut or a recipe leaves that is worth something.", (
        must("recipe", "ref", "which recipe", "Mutton loin chop", "recipes"),
        must("item", "ref", "what is left", "mutton fat", "items"),
        must("share", "percent", "of the weight that went in", "12 %"),
        may("credit", "money", "what it is worth; empty = its market price", "1.20"),
        may("credit per", "text", "kg, lb, ea", "lb"),
    ), ("recipe", "item")),
    Table("method", "One step of a recipe's method.", (
        must("recipe", "ref", "which recipe", "Leek broth", "recipes"),
        must("step", "text", "what to do"),
    ), ()),
    Table("pieces", "The piece that a cooking programme is for.", (
        must("recipe", "ref", "which recipe", "Mutton loin chop", "recipes"),
        must("food", "text", "lamb, pork, duck, fish ...", "lamb"),
        must("thickness", "length", "at its thickest", "38 mm"),
        must("shape", "choice", "nearest", "slab", allowed=SHAPES),
        may("shape factor", "number", "shape factor only: 0 slab, 1 cylinder, 2 sphere", ""),
        may("width", "length", "brick, rod"),
        may("length", "length", "brick, cylinder"),
        may("fat", "percent", "by weight", "12 %"),
        may("water", "percent", "by weight", "66 %"),
        may("start", "temperature", "core before the first step; empty = 41 °F, frozen 0 °F", "38 °F"),
        may("frozen", "yes", "from frozen", "no"),
        may("rule", "ref", "cooking minimum it is held to", "cook_intact_meat", "cooking_minimums"),
        may("band low", "temperature", "the chef's own doneness", "130 °F"),
        may("band high", "temperature", "the chef's own doneness", "135 °F"),
        may("cut", "text", "which cut", "loin"),
    ), ("recipe",)),
    Table("cooking steps", "One step of a cooking programme, in order.", (
        must("recipe", "ref", "which recipe", "Mutton loin chop", "recipes"),
        must("step", "choice", "what happens", "bath", allowed=STEPS),
        must("at", "temperature", "of the bath, oven, grill or room", "136 °F"),
        may("time", "span", "how long; with until core: at most", "2 h 30"),
        may("until core", "temperature", "instead of a time", ""),
        may("turns", "whole", "how often it is turned", "1"),
        may("humidity", "choice", "oven", "dry", allowed=("dry", "humid")),
        may("note", "text", "anything else"),
    ), ()),
    Table("substitutes", "What may stand in for something.", (
        must("for", "ref", "what is replaced", "Brown butter", "items or recipes"),
        must("with", "ref", "what stands in", "rapeseed oil", "items or recipes"),
        may("in", "ref", "only in this recipe; empty = anywhere", "", "recipes"),
        may("ratio", "number", "of the substitute for one of the original, same kind of unit", "0.8"),
        may("instead of", "quantity", "this much of the original ...", "100 ml"),
        may("use", "quantity", "... becomes this much of the substitute", "90 ml"),
        may("note", "text", "anything else"),
    ), ("for", "with", "in")),
    Table("pars", "How much to have on hand.", (
        must("of", "ref", "item or recipe", "Brown butter", "items or recipes"),
        must("par", "quantity", "when service starts", "2 qt"),
        may("days", "weekdays", "empty = every day", "fri sat"),
    ), ("of", "days")),
)
