"""One version's money, in words and as figures; for those who may see it. Pure."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from stillroom.plugins.core.format import money
from stillroom.plugins.core.tried import Worth
from stillroom.plugins.trials.said import cost_words, share_words, unit_words


@dataclass(frozen=True)
class Money:
    """Cost, price and margin of one version.

    Attributes:
        kind: 'dish' or 'sub-recipe'; base: base unit of its yield.
        worth: cost of one base unit; None: nobody here knows prices.
        price: on the menu, of a plate [money]; None: not said.
    """

    kind: str
    base: str
    worth: Worth | None
    price: Fraction | None

    @property
    def unit(self) -> str:
        """What the cost is of: a plate, a piece, a kg, an l."""
        return unit_words(self.kind, self.base)[0]

    @property
    def each(self) -> Fraction | None:
        """Cost of one unit [money]; None = incomplete."""
        if self.worth is None or self.worth.each is None:
            return None
        return self.worth.each * unit_words(self.kind, self.base)[1]

    @property
    def lacks(self) -> tuple[str, ...]:
        """What is missing, in words."""
        return self.worth.lacks if self.worth is not None else ("prices",)

    @property
    def cost(self) -> str:
        return cost_words(self.each)

    @property
    def said_price(self) -> str:
        return "not said" if self.price is None else money(self.price)

    @property
    def margin(self) -> Fraction | None:
        """Contribution margin: price less cost [money]; None where either is not known."""
        return None if self.price is None or self.each is None else self.price - self.each

    @property
    def said_margin(self) -> str:
        return "–" if self.margin is None else money(self.margin)

    @property
    def share(self) -> str:
        return share_words(self.each, self.price) or "–"

    def as_json(self) -> dict[str, object]:
        """The figures as data, rounded to four places."""
        figures = {"cost": self.each, "menu_price": self.price, "margin": self.margin}
        rounded = {name: None if x is None else round(float(x), 4) for name, x in figures.items()}
        return {**rounded, "of": self.unit, "incomplete": list(self.lacks)}
