"""The kitchen's words for a day: names, quantities, clock times, days. Pure."""

from __future__ import annotations

from datetime import date, datetime
from fractions import Fraction
from zoneinfo import ZoneInfo

from stillroom.db.cook_units import say, style_of
from stillroom.plugins.core.format import near_day
from stillroom.plugins.prep.state import State


class Words:
    """The kitchen's words for one state: names, quantities, clock times."""

    def __init__(self, state: State) -> None:
        self.state, self.style = state, style_of(state.coming.said)
        self.zone = ZoneInfo(state.coming.said["time zone"])

    def clock(self, at: datetime) -> str:
        local = at.astimezone(self.zone)
        day = self.state.coming.today
        said = f"{local:%H:%M}"
        own = local.date() == day or ((local.date() - day).days == 1 and said < self.state.coming.said["day starts"])
        return said if own else f"{near_day(local.date(), day)} {said}"

    def slot(self, slot: int) -> str:
        return self.clock(self.state.day.at(slot))

    def quantity(self, thing: str, number: Fraction) -> str:
        recipe = self.state.coming.recipes[thing]
        return say(number, recipe.unit, self.style).text

    def name(self, thing: str) -> str:
        recipe = self.state.coming.recipes.get(thing)
        kit = self.state.facts.kits.get(thing)
        item = self.state.items.get(thing)
        return recipe.name if recipe else kit.name if kit else item[0] if item else thing

    def person(self, who: str) -> str:
        person = self.state.facts.people.get(who)
        return person.name if person else ""

    def near(self, on: date) -> str:
        return near_day(on, self.state.coming.today)


def span_text(minutes: int) -> str:
    """A time as people say it: '2 h 30 min'."""
    hours, rest = divmod(minutes, 60)
    return " ".join(filter(None, (f"{hours} h" if hours else "", f"{rest} min" if rest or not hours else "")))
