"""/doneness/cooling: will this pan be cold in time."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from stillroom.db.pieces import COOLS_AS
from stillroom.plugins.core.pages import page, query
from stillroom.plugins.doneness.cool import FOOD_WORDS, LIDS, PLACES, Cooled, cooled, read_pan
from stillroom.plugins.doneness.logs import unruled
from stillroom.plugins.doneness.rows import said
from stillroom.plugins.doneness.scale import Scale, scale_of
from stillroom.plugins.physics.errors import HeatError

# What starts the clock, in words: whether a temperature does.
CLOCK = {True: "the first part of the food falls to 135 °F", False: "it is made or comes in; here as it goes in"}
FIELDS = ("depth", "food", "rule", "start", "place", "lid", "air")


@dataclass(frozen=True)
class Planner:
    """The form, and its answer where there is one."""

    typed: Mapping[str, str]
    wrong: Mapping[str, str]
    found: Cooled | None
    places: Mapping[str, str]
    foods: Mapping[str, str]
    lids: Mapping[str, str]
    scale: Scale
    rules: Mapping[str, str]
    edition: str

    def field(self, name: str) -> str:
        return self.typed.get(name, "")

    def late(self, number: int) -> str:
        """By how much a limit is kept or missed, in words."""
        assert self.found is not None
        spare = self.found.forecast.spare_s[number]
        if spare is None:
            return "not reached within 48 h"
        return f"{hours(abs(spare))} {'to spare' if spare >= 0 else 'too late'}"

    def as_json(self) -> dict[str, Any]:
        base: dict[str, Any] = {"form": dict(self.typed), "wrong": dict(self.wrong)}
        return base if self.found is None else base | _json(self.found)


def _json(found: Cooled) -> dict[str, Any]:
    forecast = found.forecast
    return {
        "is_prediction": True, "passes": forecast.passes, "food": forecast.rule.food, "section": forecast.rule.section,
        "limits": [
            {"to_f": float(stage.temp_f), "within_s": stage.within_s, "reached_s": _whole(at), "spare_s": _whole(spare)}
            for stage, at, spare in zip(forecast.rule.stages, forecast.reached_s, forecast.spare_s, strict=True)
        ],
        "clock_starts": CLOCK[forecast.rule.start_f is not None], "clock_starts_after_s": round(forecast.before_s),
        "deepest_mm": found.deepest_mm, "instead": [vars(one) for one in found.instead],
    }  # fmt: skip


def _whole(seconds: float | None) -> int | None:
    return None if seconds is None else round(seconds)


def hours(seconds: float) -> str:
    """A length of time in hours and minutes, rounded up to the minute."""
    minutes = -int(-seconds // 60)
    return f"{minutes // 60} h {minutes % 60:02d}" if minutes >= 60 else f"{minutes} min"


@page("doneness/cooling.html", needs="doneness")
async def planner(datasette: Any, request: Any) -> Planner:
    typed = {name: (request.args.get(name) or "").strip()[:60] for name in FIELDS}
    asked = any(typed.values())

    def work(connection: Any) -> Planner:
        settings = said(connection)
        read = read_pan(typed, settings["decimal mark"])
        wrong, found = dict(read.wrong), None
        if asked and read.pan is not None and (why := unruled(read.pan.cools_as, settings["food code"])):
            wrong["rule"] = f"{why}."
        elif asked and read.pan is not None:
            try:
                found = cooled(read.pan, read.place, read.air_c, read.lid)
            except HeatError as error:
                wrong["air"] = f"{error}."
        return Planner(typed, wrong if asked else {}, found, PLACES, FOOD_WORDS, LIDS, scale_of(settings),
                       COOLS_AS, settings["food code"])  # fmt: skip

    return await query(datasette, work)
