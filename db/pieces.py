"""What a piece and the steps of its cooking programme can be, for the kitchen's files and for the heat engine alike."""

from __future__ import annotations

# Thinner than half a millimetre or thicker than half a metre is a slip of the pen; lengths may reach 2 m.
THINNEST_MM, THICKEST_MM, LONGEST_MM = 0.5, 500.0, 2000.0
MOST_FACTOR = 4.0
# Meat freezes from here on downward. Source: freezing point of lean meat, ASHRAE Refrigeration, ch. 19 (memory).
FREEZING_C = -1.1
COLDEST_START_C, HOTTEST_START_C = -40.0, 60.0
# Where a frozen piece starts when nobody says: a freezer at 0 °F; a thawed one: a refrigerator at 41 °F.
FREEZER_C, FRIDGE_C = -18.0, 5.0
# The sizes that a shape needs beside its thickness; a cylinder without a length is a long one.
SIZES = {"rod": ("width",), "brick": ("width", "length")}
# What is cooled, and so by which paragraph of Food Code 3-501.14: (A), (B) or (C).
COOLS_AS = {
    "cooked": "cooked, cooling down",
    "ambient": "made from ingredients at room temperature",
    "received": "came in warm by law: milk, shellfish",
}
# Hours between the moment food was made or came in and its first reading that are asked about: its rule gives it four.
# Common practice, no source.
UNLIKELY_START_H = 12
# How cooked food is heated again for hot holding, by the step of its readings, and so by which paragraph of Food Code
# 3-403.11: (A), (B), (C) or (E); (D), the two hours, stands beside the first three.
REHEATS = {
    "reheat": "cooked and cooled here",
    "reheat microwave": "cooked and cooled here, in a microwave oven",
    "reheat packed": "ready to eat, packed in an inspected plant",
    "reheat roast": "unsliced part of a roast cooked by its time table",
}
# How meat or fish was worked before it is cooked, the strictest last. All but the first carry what was outside into the
# middle: Food Code 3-401.11(A)(2) and, stuffed, (A)(3).
WORKED = {
    "intact": "in one piece, nothing pushed in",
    "injected": "injected, needled or tenderised",
    "minced": "minced, ground or formed",
    "stuffed": "stuffed",
}
SHAPES = ("slab", "cylinder", "sphere", "brick", "rod", "factor")
STEPS = (
    "bath", "oven", "grill", "pan", "hot zone", "cool zone", "hang", "rest", "ice", "chiller", "blast chiller",
)  # fmt: skip
