"""What heat adds to the pages of a recipe and a dish: each programme behind it, its pull, its length and its rule."""

from __future__ import annotations

import sqlite3
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from stillroom.plugins.core.parts import Offer, offer
from stillroom.plugins.doneness.as_data import temps
from stillroom.plugins.doneness.compute import Plan, Refused, plan
from stillroom.plugins.doneness.form import KIND_WORDS
from stillroom.plugins.doneness.pages import question_of, said_time
from stillroom.plugins.doneness.rows import Stored, ask, read_pieces, said
from stillroom.plugins.doneness.scale import Scale, scale_of
from stillroom.plugins.doneness.standing import RuleLine
from stillroom.plugins.physics.temperature import f_from_c


@dataclass(frozen=True)
class PieceHeat:
    """One programme in a few figures. core_f, peak_f [°F], beside limits_f; why: words where it can't be worked out."""

    id: str
    name: str
    took: str = ""
    from_what: str = ""
    core_f: float | None = None
    peak_f: float | None = None
    law: tuple[RuleLine, ...] = ()
    why: str = ""
    limits_f: tuple[float, ...] = ()


@dataclass(frozen=True)
class Heat:
    """The part: every piece with a programme behind a recipe or a dish."""

    pieces: list[PieceHeat]
    scale: Scale

    def as_json(self) -> dict[str, Any]:
        return {"is_prediction": True, "pieces": [_json(one, self.scale) for one in self.pieces]}


def _json(one: PieceHeat, scale: Scale) -> dict[str, Any]:
    words = {name: value for name, value in vars(one).items() if name not in {"core_f", "peak_f", "limits_f"}}
    law = [vars(rule) for rule in one.law]
    said = temps(scale, one.limits_f, core=one.core_f, peak=one.peak_f)
    return words | {"law": law, "href": f"/doneness/{one.id}"} | said


def offer_parts() -> None:
    """Puts heat on the pages of recipes and dishes, for those who may see heat."""
    for page in ("recipe", "dish"):
        offer(Offer(page, "heat", "doneness", "doneness/on_recipe.html", behind, 30))


def behind(connection: sqlite3.Connection, recipe: str, role: str) -> Heat | None:
    """The programmes behind a recipe; None where there is none."""
    found = [row[0] for row in ask(connection, "pieces_behind", recipe=recipe)]
    if not found:
        return None
    settings = said(connection)
    stored = [one for key in found for one in read_pieces(connection, key) if one.typed.get("step1")]
    return Heat([_piece(one, settings) for one in stored], scale_of(settings)) if stored else None


def _piece(stored: Stored, settings: Mapping[str, str]) -> PieceHeat:
    asked = question_of(stored, settings)
    if asked is None:
        return PieceHeat(stored.id, stored.name, why="The programme can't be worked out as it stands.")
    try:
        return _figures(stored, plan(asked))
    except Refused as error:
        return PieceHeat(stored.id, stored.name, why=f"{error}")


def _figures(stored: Stored, made: Plan) -> PieceHeat:
    took, at = said_time(made.total_s), made.pull_step
    if made.pulled is None or at is None:
        core, last = made.prediction.core_c[-1], made.steps[-1].kind
        return PieceHeat(stored.id, stored.name, took, KIND_WORDS[last], f_from_c(core), None, tuple(made.law),
                         limits_f=made.limits_f)  # fmt: skip
    word = KIND_WORDS[made.steps[at].kind]
    return PieceHeat(stored.id, stored.name, took, word, made.pulled.core_f, made.pulled.peak_f, tuple(made.law),
                     limits_f=made.limits_f)  # fmt: skip
