"""Cuts that come out of one piece together: what they say of it must fit."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from stillroom.db.problems import quoted
from stillroom.loaders.read import Cells, Known, Load, Record, exact_or_none
from stillroom.loaders.stock import per_quantity

BY_VALUE = "market value"


def market(load: Load, cells: Cells, is_cut: bool) -> Record:
    """The columns of a recipe that say what it shares a piece with, and what it would cost ready cut."""
    joint, price = cells.text("joint") if is_cut else "", cells["market price"] if is_cut else None
    per = None
    if price is not None:
        gram = Known("items", "", "the cut", cells.place(), "g", {})
        per = per_quantity(load, gram, cells.text("market price per") or "kg", cells.place("market price"))
    money = None if price is None else str(price)
    return {"joint": joint, "market_price": money, "market_quantity": exact_or_none(per)}


def check_joints(load: Load, recipes: list[tuple[Cells, Known]]) -> None:
    """Cuts of one joint name one input and one shrink, and no piece gives more than went in."""
    groups: dict[str, list[Cells]] = {}
    rows = {row["id"]: row for row in load.rows.get("recipes", ())}
    for cells, known in recipes:
        if rows.get(known.id, {}).get("kind") == "cut" and cells.ok:
            groups.setdefault(cells.text("joint") or f"-{known.id}", []).append(cells)
    ids = {id(cells): known.id for cells, known in recipes}
    for joint, group in groups.items():
        members = [rows[ids[id(cells)]] for cells in group]
        _one_piece(load, group, members)
        _fits(load, joint, group, members)


def _one_piece(load: Load, group: list[Cells], members: list[Record]) -> None:
    first = group[0]
    for cells, row in zip(group[1:], members[1:], strict=True):
        for name in ("input", "shrink"):
            if cells.text(name) != first.text(name):
                cells.problem(
                    "cut-joint", name,
                    f"{quoted(row['name'])} and {quoted(members[0]['name'])} are of one joint and say another {name}",
                    "One piece is one item, and it dries as one.", "write the same, or give them two joints",
                )  # fmt: skip
    if len(group) > 1 and load.settings["joint cost"] == BY_VALUE:
        for cells, row in zip(group, members, strict=True):
            if row["market_price"] is None:
                cells.problem(
                    "cut-joint", "market price", f"{quoted(row['name'])} has no market price",
                    "The setting joint cost shares the cost of a piece by market value.",
                    "write what it would cost ready cut, or set joint cost: weight",
                )  # fmt: skip


def _fits(load: Load, joint: str, group: list[Cells], members: list[Record]) -> None:
    """Shrink, portions and by-products of one piece are 100 % of it at most."""
    shrink = Fraction(members[0]["shrink"] or 0)
    ids = {row["id"] for row in members}
    sold = sum((1 - Fraction(row["trim"] or 0) for row in members), Fraction(0)) * (1 - shrink)
    left = sum((Fraction(b["share"]) for b in load.rows.get("by_products", ()) if b["recipe_id"] in ids), Fraction(0))
    if shrink + sold + left > 1:
        name = quoted(members[0]["name"] if joint.startswith("-") else joint)
        group[0].problem(
            "cut-over", "trim", f"{name} gives {_pct(shrink + sold + left)} of what went in",
            f"Here: shrink {_pct(shrink)}, portions {_pct(sold)}, by-products {_pct(left)}.",
            "write a larger trim (what is cut away, by-products within), or smaller shares",
        )  # fmt: skip


def _pct(share: Any) -> str:
    return f"{float(share * 100):.4g} %"
