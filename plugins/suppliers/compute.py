"""A supplier's record: short, late, sent back, out of range at the door, and what prices did. Pure.

Unknown stays unknown: a line without an order or a promised day is not judged, one without a price moves no price.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from stillroom.db.limits import Rule

ZERO = Fraction(0)


@dataclass(frozen=True)
class Line:
    """One line of goods received. Quantities [unit of the item]; price is for one base unit; None = not known."""

    received_on: str
    due_on: str | None
    item_id: str
    item: str
    product_id: str | None
    product: str
    unit: str
    ordered: Fraction | None
    received: Fraction
    rejected: Fraction
    reason: str
    door_f: float | None
    rule: Rule | None
    unit_price: Fraction | None
    document: str
    note: str

    @property
    def accepted(self) -> Fraction:
        """What was kept [unit]."""
        return self.received - self.rejected

    @property
    def short(self) -> Fraction | None:
        """What was ordered and not accepted [unit]; None where the order is not known."""
        return None if self.ordered is None else max(ZERO, self.ordered - self.accepted)

    @property
    def is_late(self) -> bool | None:
        """Whether it came after the day promised; None where no day was."""
        return None if self.due_on is None else self.received_on > self.due_on

    @property
    def is_out_of_range(self) -> bool | None:
        """Whether the door temperature breaks the receiving rule of the item; None where either is not known."""
        return None if self.door_f is None or self.rule is None else self.rule.is_broken_by(self.door_f)

    @property
    def is_on_time_in_full(self) -> bool | None:
        """Came by the day promised with nothing missing or sent back; None where order or promise is not known."""
        if self.short is None or self.is_late is None:
            return None
        return not self.is_late and self.short == 0 and self.rejected == 0


@dataclass(frozen=True)
class Record:
    """The figures over some lines. Shares 0 to 1 [-]; None where nothing is known to count.

    judged: lines with an order and a promised day. measured: lines with a temperature and a rule that has a figure.
    """

    lines: int
    deliveries: int
    on_time_in_full: Fraction | None
    judged: int
    short_share: Fraction | None
    short: int
    late: int
    rejected: int
    out_of_range: int
    measured: int
    unpriced: int
    price_change: Fraction | None


def record(lines: Sequence[Line]) -> Record:
    """The figures of a supplier over some lines, in order of day."""
    judged = [x.is_on_time_in_full for x in lines if x.is_on_time_in_full is not None]
    shares = [x.short / x.ordered for x in lines if x.short is not None and x.ordered]
    measured = [x.is_out_of_range for x in lines if x.is_out_of_range is not None]
    return Record(
        lines=len(lines),
        deliveries=len({(x.received_on, x.document) for x in lines}),
        on_time_in_full=_mean([Fraction(x) for x in judged]),
        judged=len(judged),
        short_share=_mean(shares),
        short=sum(bool(x.short) for x in lines),
        late=sum(x.is_late is True for x in lines),
        rejected=sum(x.rejected > 0 for x in lines),
        out_of_range=sum(measured),
        measured=len(measured),
        unpriced=sum(x.unit_price is None for x in lines),
        price_change=price_change(lines),
    )


def _mean(shares: Sequence[Fraction]) -> Fraction | None:
    return sum(shares, ZERO) / len(shares) if shares else None


def price_change(lines: Sequence[Line]) -> Fraction | None:
    """Change of prices from first to last delivery of each product, weighted by what was spent on it [share].

    Sum over products of spend x (last price / first price - 1), divided by the sum of spend; spend is what was kept at
    its price. None where no product was bought on two days or more at a known price above nothing.
    """
    by_product: dict[tuple[str, str], list[tuple[str, Fraction, Fraction]]] = {}
    for line in lines:
        if line.unit_price:
            known = by_product.setdefault((line.item_id, line.product_id or line.product), [])
            known.append((line.received_on, line.unit_price, line.accepted * line.unit_price))
    change = spent = ZERO
    for group in by_product.values():
        (first_day, first, _), (last_day, last, _) = group[0], group[-1]
        if first_day < last_day:
            weight = sum((s for _, _, s in group), ZERO)
            change, spent = change + weight * (last / first - 1), spent + weight
    return change / spent if spent else None


@dataclass(frozen=True)
class ItemRecord:
    """The figures of one item of a supplier; sums [unit]. ordered and short: of lines with an order; None without."""

    item_id: str
    item: str
    unit: str
    ordered: Fraction | None
    received: Fraction
    short: Fraction | None
    rejected: Fraction
    reasons: tuple[str, ...]
    figures: Record
    last_price: Fraction | None


def by_item(lines: Sequence[Line]) -> list[ItemRecord]:
    """The record of each item, by name."""
    grouped: dict[str, list[Line]] = {}
    for line in lines:
        grouped.setdefault(line.item_id, []).append(line)
    return sorted((_of_item(group) for group in grouped.values()), key=lambda x: x.item)


def _of_item(lines: Sequence[Line]) -> ItemRecord:
    first = lines[0]
    known = [x for x in lines if x.ordered is not None]
    prices = [x.unit_price for x in lines if x.unit_price is not None]
    return ItemRecord(
        first.item_id,
        first.item,
        first.unit,
        sum((x.ordered or ZERO for x in known), ZERO) if known else None,
        sum((x.received for x in lines), ZERO),
        sum((x.short or ZERO for x in known), ZERO) if known else None,
        sum((x.rejected for x in lines), ZERO),
        tuple(sorted({x.reason for x in lines if x.rejected > 0 and x.reason})),
        record(lines),
        prices[-1] if prices else None,
    )


def price_history(lines: Sequence[Line], item_id: str) -> list[tuple[str, Fraction]]:
    """(day, price of one base unit) of one item, in order, known prices only."""
    return [(x.received_on, x.unit_price) for x in lines if x.item_id == item_id and x.unit_price is not None]


def most_priced(lines: Sequence[Line]) -> str:
    """The item most often delivered at a known price, the first by name among equals; '' where there is none."""
    counted: dict[str, int] = {}
    for line in lines:
        if line.unit_price is not None:
            counted[line.item_id] = counted.get(line.item_id, 0) + 1
    return min(counted, key=lambda i: (-counted[i], i), default="")


def rules_of(lines: Sequence[Line]) -> list[Rule]:
    """The receiving rules that some lines were held against, each once."""
    return sorted({x.rule for x in lines if x.rule is not None}, key=lambda r: (r.section, r.id))
