"""The examples of an empty kitchen: small, and one kitchen. With the marks taken away, all of them go in together.

A table's first example is made of its columns' own; what stands here for it is said instead. `MORE` are further rows.
"""

from __future__ import annotations

RECIPE = """\
# One recipe; take the marks away and make it yours. Several to a file are parted by a line of three dashes.
# name: Brown butter
# kind: sub-recipe
# yield: 400 g
# shelf life: 7 days
# components:
#   - 500 g butter, salted
# method:
#   - Cook until the milk solids are the colour of hazelnuts. Strain.
"""
PRICE_LIST = """\
# How to read one supplier's own price list, which lies beside this file as they sent it; take the marks away.
# file: saltby-2026-11.csv
# supplier: Saltby Dairy
# date: 2026-11-02
# columns:                  # ours on the left, the supplier's header on the right
#   product: Item Desc
#   code: SKU
#   pack: Pack Size
#   price: Unit Price
# price per: pack           # where no column says it: pack, or a unit
# currency sign: "£"        # taken off the prices
"""
CHOP, LEEKS, LAMB = "Mutton loin chop", "Leek broth", "marsh mutton saddle"
FIRST: dict[str, dict[str, str]] = {
    "people": {"stations": "Grill"},
    "items": {"yield": "", "reference yield": "", "reference density": "Butter, salted", "tags": ""},
    "measures": {"of": "leeks", "is": "250 g"},
    "surfaces": {"name": "Chopping board"},
    "recipes": {
        "name": LEEKS, "yield": "2 l", "section": "", "station": "Grill", "surfaces": "Chopping board", "price": "",
        "target cost": "", "from": "", "to": "", "pan": "1 l", "input": "", "shrink": "", "trim": "", "portion": "",
        "joint": "", "market price": "", "market price per": "", "version": "",
    },
    "method": {"step": "Simmer forty minutes, strain."},
    "equipment needs": {"recipe": LEEKS, "equipment": "Charcoal grill", "after": "", "for": "40 min"},
    "pieces": {"own core": "", "own hold": "", "own rule": ""},
    "substitutes": {"for": "butter, salted", "ratio": ""},
    "pars": {"par": "800 g"},
    "batches": {"lot": "1124-571", "made": "800 g"},
    "batch freezes": {"lot": "1124-571"},
    "batch uses": {"used on": "2026-11-25", "quantity": "100 g", "reason": "caught on the stove"},
    "shellfish tags": {"last served on": "2026-11-24"},
    "ageing lots": {"started on": "2026-11-03", "delivery": ""},
    "weigh ins": {"weighed on": "2026-11-17"},
    "breakdowns": {"lot": "M-0412", "broken on": "2026-11-24"},
    "probe readings": {"read at": "2026-11-24 19:10"},
    "cooling readings": {"read at": "2026-11-24 15:00", "recipe": LEEKS, "item": ""},
    "hold checks": {"read at": "2026-11-24 18:00"},
    "plates sold": {"dish": "Chop and leeks"},
    "covers": {"served on": "2026-11-27", "booked": "34"},
    "shortages": {"of": "leeks"},
    "tastings": {"tasted on": "2026-11-24", "recipe": "Chop and leeks", "version": ""},
    "trial versions": {
        "trial": "Chop and barley", "version": "1", "name": "", "based on": "", "station": "Grill", "surfaces": "",
        "lines": f"1 ea {CHOP}\n20 g Brown butter",
    },
    "promotions": {"trial": "Chop and barley", "version": "1", "dish": ""},
    "absences": {"person": "Marit"},
    "task ticks": {"made": "800 g", "planned": "800 g"},
}  # fmt: skip
MORE: dict[str, tuple[dict[str, str], ...]] = {
    "items": (
        {"name": "leeks", "category": "produce", "unit": "g", "yield": "85 %", "tags": "leek"},
        {"name": LAMB, "category": "meat", "unit": "g", "receiving rule": "recv_cold"},
        {"name": "mutton fat", "category": "meat", "unit": "g"},
        {"name": "oyster", "category": "shellfish", "unit": "each"},
        {"name": "rapeseed oil", "category": "oil", "unit": "ml"},
    ),
    "recipes": (
        {"name": CHOP, "kind": "cut", "yield": "", "station": "Grill", "shelf life": "4 days", "input": LAMB,
         "shrink": "8 %", "trim": "30 %", "portion": "9 oz"},
        {"name": "Chop and leeks", "kind": "dish", "yield": "1 plate", "section": "From the fire", "price": "26",
         "target cost": "30 %", "from": "2026-09-01"},
    ),
    "components": (
        {"recipe": "Chop and leeks", "line": f"1 ea {CHOP}"},
        {"recipe": "Chop and leeks", "line": "60 ml Leek broth", "can be left off": "yes"},
        {"recipe": "Chop and leeks", "line": "15 g Brown butter", "can be left off": "yes"},
    ),
}  # fmt: skip
