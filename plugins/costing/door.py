"""What goods cost at the door: credits taken off the goods they are for, charges of a note spread. Pure and exact."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from fractions import Fraction

from stillroom.plugins.costing.prices import ZERO, Lot

CREDITED_WITHIN = timedelta(days=31)  # of goods sent back, where a credit names no document: common practice, no source


@dataclass(frozen=True, slots=True)
class Entry:
    """One line of a delivery note as written.

    quantity: kept, rejected part excluded [unit of the item]. rejected: sent back [unit]. money: goods: for the kept
    part; credit, charge, deposit: its amount without sign; None = no price written. A price of nothing is None too: it
    is asked about, never reckoned with. back: money asked for what was sent back; None where no price is written.
    credits: the document whose goods a credit is for; '' = not said.
    """

    on: str
    kind: str
    supplier: str
    document: str
    item: str
    product: str
    quantity: Fraction
    rejected: Fraction
    money: Fraction | None
    back: Fraction | None = None
    credits: str = ""


@dataclass(slots=True)
class _Goods:
    """A line of goods while credits come off it.

    waits: money asked for what was sent back and not credited yet; None = its price is not known. left: money for the
    kept part that no credit took. off: (day, money) of credits for the kept part.
    """

    entry: Entry
    waits: Fraction | None
    left: Fraction
    off: list[tuple[str, Fraction]] = field(default_factory=list)

    def worth(self, day: str) -> Fraction:
        """Money for the kept part, credits up to a day taken off."""
        return (self.entry.money or ZERO) - sum((money for on, money in self.off if on <= day), ZERO)


def landed(entries: Iterable[Entry]) -> dict[str, tuple[Lot, ...]]:
    """Item -> its lots at their cost at the door, in order of day; goods without a price came in too, at no money.

    A credit comes off the goods of its item and supplier on the document that it names, or has itself; else off those
    of the nearest note before it, one with goods sent back and not credited yet (31 days) before any other. What was
    sent back is credited first and lowers no price; the rest lowers what was kept, from the credit's own day on: before
    it nobody knew. A charge is spread over the goods of its note by value. Deposits are kept out: they come back.
    """
    rows = sorted(entries, key=lambda e: e.on)
    goods = [
        _Goods(e, e.back if e.rejected else ZERO, e.money or ZERO) for e in rows
        if e.kind == "goods" and (e.rejected > 0 or (e.money and e.quantity > 0))
    ]  # fmt: skip
    _take_credits([e for e in rows if e.kind == "credit" and e.money], goods)
    unpriced = [_Goods(e, ZERO, ZERO) for e in rows if e.kind == "goods" and e.quantity > 0 and not e.money]
    kept = [x for x in goods if x.entry.money and x.entry.quantity > 0]
    return _lots(rows, sorted([*kept, *unpriced], key=lambda x: x.entry.on))


def _take_credits(credits: Sequence[Entry], goods: Sequence[_Goods]) -> None:
    """Those that name their goods first, so that the others see what is still to be credited."""
    alike: dict[tuple[str, str], list[_Goods]] = {}
    for x in goods:
        alike.setdefault((x.entry.item, x.entry.supplier), []).append(x)
    unnamed = []
    for credit in credits:
        own = alike.get((credit.item, credit.supplier), [])
        named = [x for x in own if x.entry.document and x.entry.document == (credit.credits or credit.document)]
        if named or credit.credits:
            _take(credit, named)
        else:
            unnamed.append((credit, own))
    for credit, own in unnamed:
        _take(credit, _nearest(credit, own))


def _nearest(credit: Entry, own: Sequence[_Goods]) -> list[_Goods]:
    """Lines of the nearest note before a credit that names none."""
    before = [x for x in own if x.entry.on <= credit.on]
    since = (date.fromisoformat(credit.on) - CREDITED_WITHIN).isoformat()
    found = [x for x in before if x.waits != 0 and x.entry.on >= since] or before
    note = (found[-1].entry.on, found[-1].entry.document) if found else None
    return [x for x in found if (x.entry.on, x.entry.document) == note]


def _take(credit: Entry, lines: Sequence[_Goods]) -> None:
    """Takes one credit off its lines: what was sent back first, then what was kept by value; never below nothing."""
    rest = credit.money or ZERO
    for x in lines:
        if x.waits is None:
            return  # what was sent back had no price: the credit is the price of it
        taken = min(rest, x.waits)
        x.waits, rest = x.waits - taken, rest - taken
    value = sum((x.left for x in lines), ZERO)
    rest = min(rest, value)
    for x in lines if rest else ():
        part = rest * x.left / value
        x.left -= part
        x.off.append((max(credit.on, x.entry.on), part))


def _lots(rows: Sequence[Entry], goods: Sequence[_Goods]) -> dict[str, tuple[Lot, ...]]:
    """Lots of kept goods, each with the money it stood at from its day on."""
    charges: dict[tuple[str, str, str], Fraction] = {}
    notes: dict[tuple[str, str, str], list[_Goods]] = {}
    for e in rows:
        if e.kind == "charge" and e.money:
            charges[_note(e)] = charges.get(_note(e), ZERO) + e.money
    for x in goods:
        notes.setdefault(_note(x.entry), []).append(x)
    stood = {id(x): money for note, own in notes.items() for x, money in _stood(own, charges.get(note, ZERO))}
    found: dict[str, list[Lot]] = {}
    for x in goods:
        e, (first, *later) = x.entry, stood[id(x)]
        found.setdefault(e.item, []).append(Lot(e.on, e.product, e.quantity, first[1], tuple(later)))
    return {item: tuple(lots) for item, lots in found.items()}


def _note(e: Entry) -> tuple[str, str, str]:
    return e.supplier, e.on, e.document


def _stood(own: Sequence[_Goods], charge: Fraction) -> list[tuple[_Goods, list[tuple[str, Fraction]]]]:
    """Lines of one note, each with (day, money from then on): the note's own day, and each day that a credit moved."""
    if not charge and not any(x.off for x in own):
        return [(x, [(x.entry.on, x.entry.money or ZERO)]) for x in own]
    days = sorted({own[0].entry.on, *(on for x in own for on, _ in x.off)})
    found: list[tuple[_Goods, list[tuple[str, Fraction]]]] = [(x, []) for x in own]
    for day in days:
        value = sum((x.worth(day) for x in own), ZERO)
        for x, money in found:
            now = x.worth(day) * (1 + charge / value) if value else ZERO
            if not money or money[-1][1] != now:
                money.append((day, now))
    return found
