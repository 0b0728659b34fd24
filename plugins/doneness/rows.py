"""What the kitchen's file says about pieces, steps and readings, as plain values."""

from __future__ import annotations

import sqlite3
from dataclasses import dataclass, field, replace
from typing import Any

from stillroom.db.kitchen import settings
from stillroom.db.named_sql import asker
from stillroom.db.pieces import REHEATS
from stillroom.plugins.doneness.scale import Scale, scale_of
from stillroom.plugins.doneness.standing import Held
from stillroom.plugins.physics.rules import Minimum, own_minimum

KINDS = {"blast chiller": "blast"}
SHAPES = {"cylinder": ("long_cylinder", "finite_cylinder")}


@dataclass(frozen=True)
class Stored:
    """A programme in the kitchen's files. typed: the form's fields as text; named: words that it goes by."""

    id: str
    name: str
    food: str
    cut: str
    minimum_id: str
    band: tuple[float | None, float | None]
    own: Minimum | None = None
    typed: dict[str, str] = field(default_factory=dict)

    @property
    def named(self) -> str:
        return f"{self.name} {self.cut}"

    def held(self, edition: str) -> Held:
        """What it is held to in an edition."""
        return Held(self.food, self.minimum_id, edition, self.own, self.typed.get("worked", ""), self.named)


ask = asker("stillroom.plugins.doneness")


def read_pieces(connection: sqlite3.Connection, recipe: str | None = None) -> list[Stored]:
    """Every piece with its steps, or one recipe's."""
    steps: dict[str, list[tuple[Any, ...]]] = {}
    for row in ask(connection, "steps", recipe=recipe):
        steps.setdefault(row[0], []).append(row[1:])
    said = settings(connection)
    found = [_stored(row, steps.get(row[0], []), scale_of(said)) for row in ask(connection, "pieces", recipe=recipe)]
    return [replace(one, typed=_as_typed(one.typed, said["decimal mark"])) for one in found]


def _as_typed(form: dict[str, str], mark: str) -> dict[str, str]:
    """Fields as the kitchen would type them: its decimal mark in every number; a food's name stays."""
    numbers = {"factor", "thickness", "width", "length", "fat", "water", "start", "rule_core", "at", "to", "until"}
    return {k: v.replace(".", mark) if k.rstrip("0123456789") in numbers else v for k, v in form.items()}


def _stored(row: tuple[Any, ...], steps: list[tuple[Any, ...]], scale: Scale) -> Stored:
    recipe, name, food, cut, shape, factor, *sizes, fat, water, start, minimum, low, high, core, hold = row[:-2]
    length, (stands, worked) = sizes[2], row[-2:]
    with_length = SHAPES.get(shape)
    typed = {
        "food": food, "worked": worked, "cut": cut, "shape": with_length[length is not None] if with_length else shape,
        "factor": _plain(factor),
        **{name: _length(mm, scale) for name, mm in zip(("thickness", "width", "length"), sizes, strict=True)},
        "fat": _plain(fat, " %"), "water": _plain(water, " %"), "start": scale.typed(start * 1.8 + 32),
        "rule_core": "" if core is None else scale.typed(core), "rule_hold": span(hold), "rule_stands": stands,
    }  # fmt: skip
    for number, step in enumerate(steps, 1):
        typed |= _step_fields(number, step, scale)
    own = None if core is None else own_minimum(core, hold or 0.0, stands)
    return Stored(recipe, name, food, cut, minimum or "", (low, high), own, typed)


def _step_fields(number: int, step: tuple[Any, ...], scale: Scale) -> dict[str, str]:
    kind, temp_f, temp_c, end_c, seconds, until_f, flips, humidity = step
    temp_f = temp_c * 1.8 + 32 if temp_f is None else temp_f
    kind = f"oven_{humidity or 'dry'}" if kind == "oven" else KINDS.get(kind, kind.replace(" ", "_"))
    return {
        f"step{number}": kind, f"at{number}": scale.typed(temp_f), f"time{number}": span(seconds),
        f"to{number}": "" if end_c is None else scale.typed(end_c * 1.8 + 32),
        f"until{number}": "" if until_f is None else scale.typed(until_f),
        f"turns{number}": str(flips) if flips else "",
    }  # fmt: skip


def _plain(value: float | None, unit: str = "") -> str:
    return "" if value is None else f"{value:g}{unit}"


def _length(mm: float | None, scale: Scale) -> str:
    """A length for a field [mm]; in inches in a kitchen that reads °F, where three decimals say the same."""
    inches = None if mm is None or scale.is_c else round(mm / 25.4, 3)
    return f"{inches:g} in" if inches and mm and abs(inches * 25.4 - mm) < 1e-6 else _plain(mm, " mm")


def span(seconds: float | None) -> str:
    """A length of time [s] as text that reads back; '' for None."""
    if seconds is None:
        return ""
    if seconds % 60:
        return f"{seconds:.0f} s"
    hours, minutes = divmod(int(seconds) // 60, 60)
    return f"{hours} h {minutes:02d}" if hours and minutes else f"{hours} h" if hours else f"{minutes} min"


@dataclass(frozen=True)
class Log:
    """Readings of one pan or one piece: (UTC, °F).

    Attributes:
        held_to: a pan's cooling rule; how a piece is heated again, '' where it is not.
        started_at: when what was not cooked was made or came in, UTC; '' where nobody said.
        steps: what each reading was taken in, '' where nobody said.
    """

    code: str
    recipe_id: str
    name: str
    held_to: str
    started_at: str
    steps: tuple[str, ...]
    readings: tuple[tuple[str, float], ...]


def read_cooling(connection: sqlite3.Connection, code: str | None = None) -> list[Log]:
    """Cooling logs, the newest first."""
    return _logs(ask(connection, "cooling", code=code))


def read_probes(connection: sqlite3.Connection, recipe: str | None = None) -> list[Log]:
    """Probe readings by piece and day, the newest first."""
    return _logs(ask(connection, "probes", recipe=recipe, heated_again=f";{';'.join(REHEATS)};"))


def _logs(found: list[tuple[Any, ...]]) -> list[Log]:
    logs: dict[tuple[str, ...], list[tuple[str, str, float]]] = {}
    for *key, step, at, temp in found:
        logs.setdefault(tuple(str(part or "") for part in key), []).append((step, at, temp))
    made = [
        Log(code, recipe, name, rule, start, tuple(step for step, _, _ in kept), tuple((at, t) for _, at, t in kept))
        for (_, code, recipe, name, rule, start), kept in logs.items()
    ]
    return sorted(made, key=lambda log: log.readings[0][0], reverse=True)


def said(connection: sqlite3.Connection) -> dict[str, str]:
    """The kitchen's settings."""
    return settings(connection)
