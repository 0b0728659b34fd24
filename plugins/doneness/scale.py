"""The scale that a kitchen reads temperatures in. Law stays in °F as printed; a metric kitchen reads °C beside it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from stillroom.plugins.core.format import beside_celsius, plain
from stillroom.plugins.physics.temperature import beside

# What cooling is to reach [°F]: Food Code 3-501.14.
COLD_F = (41.0, 70.0)


@dataclass(frozen=True)
class Scale:
    """°F, or °C. `is_c`: whether the kitchen reads °C; `mark`: its decimal mark."""

    is_c: bool = False
    mark: str = "."

    @property
    def unit(self) -> str:
        """'°C' or '°F'."""
        return "°C" if self.is_c else "°F"

    def number(self, temp_f: float) -> float:
        """A temperature [°F] in the kitchen's scale."""
        return (temp_f - 32) / 1.8 if self.is_c else temp_f

    def rounded(self, temp_f: float, places: int = 0, limits: Sequence[float] = ()) -> float:
        """A temperature [°F] rounded in the kitchen's scale.

        Args:
            temp_f: the temperature [°F].
            places: decimals.
            limits: minimums beside which it stands [°F]: it never seems to reach one that it doesn't, nor to be as cold
                as cooling asks for when it is not.
        """
        if not limits:
            return round(self.number(temp_f), places)
        low, high = ([self.number(limit) for limit in some] for some in (limits, COLD_F))
        return beside(self.number(temp_f), low, high, places)

    def deg(self, temp_f: float, places: int = 0, limits: Sequence[float] = ()) -> str:
        """A temperature [°F] as it is read: '58 °C'; as many decimals as asked for, none where they are zero."""
        return f"{self.bare(temp_f, places, limits)} {self.unit}"

    def bare(self, temp_f: float, places: int = 0, limits: Sequence[float] = ()) -> str:
        """The same without the unit."""
        return plain(self.rounded(temp_f, places, limits), places + 1).replace(".", self.mark)

    def at_least(self, temp_f: float) -> str:
        """A temperature [°F] to go to for a minimum, rounded up to a tenth."""
        text = plain(math.ceil(self.number(temp_f) * 10 - 1e-6) / 10, 1)
        return f"{text.replace('.', self.mark)} {self.unit}"

    def between(
        self, low_f: float | None, high_f: float | None, places: int = 0, limits: Sequence[float] = ()
    ) -> str:
        """A range of temperatures [°F]: '54 to 57 °C', '74 °C and up', 'up to 57 °C'."""
        if high_f is None:
            return "" if low_f is None else f"{self.deg(low_f, places, limits)} and up"
        if low_f is None:
            return f"up to {self.deg(high_f, places, limits)}"
        low, high = self.bare(low_f, places, limits), self.bare(high_f, places, limits)
        return f"{low} {self.unit}" if low == high else f"{low} to {high} {self.unit}"

    def rise(self, rise_f: float) -> str:
        """A difference of temperatures [°F of difference]."""
        return f"{plain(rise_f / 1.8 if self.is_c else rise_f, 0)} {self.unit}"

    def said(self, text: str) -> str:
        """Words with temperatures as the law prints them; a metric kitchen reads '145 °F (62.8 °C)'."""
        return beside_celsius(text) if self.is_c else text

    def typed(self, temp_f: float) -> str:
        """A temperature [°F] for a field of a form; it reads back to within a hundredth of a degree."""
        return f"{round(self.number(temp_f), 2):g} {self.unit}".replace(".", self.mark)


FAHRENHEIT = Scale()


def scale_of(settings: dict[str, str]) -> Scale:
    """The scale of a kitchen's settings: °C where it is metric."""
    return Scale(settings["units"] == "metric", settings.get("decimal mark", "."))
