"""Printed ingredients against what was declared: a word that points to an undeclared allergen is a warning."""

from __future__ import annotations

import sqlite3
from collections.abc import Mapping
from typing import Any

from stillroom.db.label_words import CONTAINS, LabelReader, Suggestion, kin_of, label_words, strongest
from stillroom.db.problems import quoted
from stillroom.loaders.read import Load


def check_labels(load: Load, reference: sqlite3.Connection) -> None:
    """Warns of each reviewed product whose own ingredients name an allergen that it does not declare."""
    reader, kin = LabelReader(label_words(reference)), kin_of(reference)
    names = dict(reference.execute("select id, name from allergens"))
    declared: dict[str, set[str]] = {}
    for row in load.rows.get("product_allergens", ()):
        declared.setdefault(row["product_id"], set()).add(row["allergen_id"])
    for row in load.rows.get("products", ()):
        if not row["ingredients"] or row["reviewed_on"] is None or not row["is_active"]:
            continue
        for allergen, said in strongest(reader.read(row["ingredients"])).items():
            if said.presence == CONTAINS and not kin[allergen] & declared.get(row["id"], set()):
                _warn(load, row, said, names[allergen])


def _warn(load: Load, product: Mapping[str, Any], said: Suggestion, allergen: str) -> None:
    where = f"{quoted(said.within)} on the label of {quoted(product['name'])}"
    load.problem(
        "label-word",
        load.ids["products"][product["id"]].place,
        f"{where} points to {allergen}, which is not declared",
        f"{quoted(said.word)}: {said.why} ({said.source}).",
        "read the label again: declare it, or leave it as it is where the word means another thing",
        "warning",
    )
