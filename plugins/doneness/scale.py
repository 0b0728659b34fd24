"""The scale that a kitchen reads temperatures in. Law stays in °F as printed; a metric kitchen reads °C beside it."""

from __future__ import annotations

from dataclasses import dataclass

from stillroom.plugins.core.format import beside_celsius, plain


@dataclass(frozen=True)
class Scale:
    """°F, or °C. `is_c`: whether the kitchen reads °C."""

    is_c: bool = False

    @property
    def unit(self) -> str:
        """'°C' or '°F'."""
        return "°C" if self.is_c else "°F"

    def number(self, temp_f: float) -> float:
        """A temperature [°F] in the kitchen's scale."""
        return (temp_f - 32) / 1.8 if self.is_c else temp_f

    def deg(self, temp_f: float, places: int = 0) -> str:
        """A temperature [°F] as it is read: '58 °C'; as many decimals as asked for, none where they are zero."""
        return f"{plain(self.number(temp_f), places)} {self.unit}"

    def bare(self, temp_f: float, places: int = 0) -> str:
        """The same without the unit."""
        return plain(self.number(temp_f), places)

    def between(self, low_f: float | None, high_f: float | None, places: int = 0) -> str:
        """A range of temperatures [°F]: '54 to 57 °C', '74 °C and up', 'up to 57 °C'."""
        if high_f is None:
            return "" if low_f is None else f"{self.deg(low_f, places)} and up"
        if low_f is None:
            return f"up to {self.deg(high_f, places)}"
        low, high = self.bare(low_f, places), self.bare(high_f, places)
        return f"{low} {self.unit}" if low == high else f"{low} to {high} {self.unit}"

    def rise(self, rise_f: float) -> str:
        """A difference of temperatures [°F of difference]."""
        return f"{plain(rise_f / 1.8 if self.is_c else rise_f, 0)} {self.unit}"

    def said(self, text: str) -> str:
        """Words with temperatures as the law prints them; a metric kitchen reads '145 °F (62.8 °C)'."""
        return beside_celsius(text) if self.is_c else text

    def typed(self, temp_f: float) -> str:
        """A temperature [°F] for a field of a form; it reads back to within a hundredth of a degree."""
        return f"{round(self.number(temp_f), 2):g} {self.unit}"


FAHRENHEIT = Scale()


def scale_of(settings: dict[str, str]) -> Scale:
    """The scale of a kitchen's settings: °C where it is metric."""
    return Scale(settings["units"] == "metric")
