"""A supplier's record: short, late, rejected, warm at the door, and what prices did. Pure; unknown is counted as unknown."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction


@dataclass(frozen=True)
class Line:
    """One line of goods received. Quantities [unit of the item]; price is for one base unit; None = not known."""

    received_on: str
    due_on: str | None
    item_id: str
    item: str
    product: str
    unit: str
    ordered: Fraction | None
    received: Fraction
    rejected: Fraction
    reason: str
    door_f: float | None
    limit_f: float | None
    limit_is_least: bool
    unit_price: Fraction | None
    document: str
    note: str

    @property
    def accepted(self) -> Fraction:
        return self.received - self.rejected

    @property
    def short(self) -> Fraction | None:
        """What was ordered and not accepted [unit]; None where the order is not known."""
        return None if self.ordered is None else max(Fraction(0), self.ordered - self.accepted)

    @property
    def is_late(self) -> bool | None:
        return None if self.due_on is None else self.received_on > self.due_on

    @property
    def is_out_of_range(self) -> bool | None:
        """Whether the door temperature breaks the receiving rule, in the rule's own °F; None where either is not known."""
        if self.door_f is None or self.limit_f is None:
            return None
        return self.door_f < self.limit_f if self.limit_is_least else self.door_f > self.limit_f

    @property
    def is_on_time_in_full(self) -> bool | None:
        """Came by the day promised with nothing missing or sent back; None where order or promise is not known."""
        if self.short is None or self.is_late is None:
            return None
        return not self.is_late and self.short == 0 and self.rejected == 0


@dataclass(frozen=True)
class Record:
    """The figures over some lines. Shares 0 to 1 [-]; None where nothing is known to count."""

    lines: int
    deliveries: int
    on_time_in_full: Fraction | None
    judged: int
    short_share: Fraction | None
    late: int
    rejected: int
    warm: int
    measured: int
    price_change: Fraction | None


def record(lines: Sequence[Line]) -> Record:
    """The figures of a supplier over some lines, in order of day."""
    judged = [x.is_on_time_in_full for x in lines if x.is_on_time_in_full is not None]
    shares = [x.short / x.ordered for x in lines if x.short is not None and x.ordered]
    measured = [x.is_out_of_range for x in lines if x.is_out_of_range is not None]
    return Record(
        len(lines), len({(x.received_on, x.document) for x in lines}), _share(sum(judged), len(judged)), len(judged),
        sum(shares, Fraction(0)) / len(shares) if shares else None, sum(x.is_late is True for x in lines),
        sum(x.rejected > 0 for x in lines), sum(measured), len(measured), price_change(lines),
    )  # fmt: skip


def _share(part: int, whole: int) -> Fraction | None:
    return Fraction(part, whole) if whole else None


def price_change(lines: Sequence[Line]) -> Fraction | None:
    """Change of prices from first to last delivery of each product, weighted by what was spent on it [share].

    None where no product was bought twice at a known price.
    """
    by_product: dict[tuple[str, str], list[Line]] = {}
    for line in lines:
        if line.unit_price:
            by_product.setdefault((line.item_id, line.product), []).append(line)
    change = spent = Fraction(0)
    for group in by_product.values():
        first, last = group[0].unit_price, group[-1].unit_price
        if len(group) > 1 and first and last:
            weight = sum((x.accepted * (x.unit_price or 0) for x in group), Fraction(0))
            change, spent = change + weight * (last / first - 1), spent + weight
    return change / spent if spent else None


def price_history(lines: Sequence[Line], item_id: str) -> list[tuple[str, Fraction]]:
    """(day, price of one base unit) of one item, in order, known prices only."""
    return [(x.received_on, x.unit_price) for x in lines if x.item_id == item_id and x.unit_price]
