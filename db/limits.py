"""Temperatures that rules draw a line at: goods at the door, holding, reheating; and what a core must reach."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Rule:
    """A row of the rules on file.

    Attributes:
        temp_f: [°F] as the law says it, never converted; None = judged by eye.
        direction: 'at most' or 'at least' temp_f, or 'method'.
        time_s: for how long [s], where the rule says so.
    """

    id: str
    rule: str
    temp_f: float | None
    direction: str
    edition: str
    section: str
    basis: str = ""
    time_s: float | None = None

    @property
    def named(self) -> str:
        """The rule as a page names it."""
        return f"Food Code {self.section}: {self.rule}"

    def is_broken_by(self, temp_f: float) -> bool | None:
        """Whether a temperature [°F] breaks the rule; the limit itself is within. None: the rule gives no figure."""
        if self.temp_f is None or self.direction not in {"at most", "at least"}:
            return None
        return temp_f < self.temp_f if self.direction == "at least" else temp_f > self.temp_f


@dataclass(frozen=True)
class CookingMinimum:
    """What every part of a food must reach, as a row of the minimums on file.

    Attributes:
        temp_f: [°F] as the law says it, never converted; None = no single temperature.
        hold_s: for how long [s]; None = not said.
    """

    food_class: str
    temp_f: float | None
    hold_s: float | None
    edition: str
    section: str
    basis: str
