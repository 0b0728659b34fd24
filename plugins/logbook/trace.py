"""Where a lot went, and what was behind a dish on a day, as far as the records go. Pure.

Two kinds of step: written down (a lot code stands in the batch that it went into), and by dates (it was in the house
on that day, and no record says otherwise). A recall asks for both, so both are told, and which is which.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta
from functools import cached_property

UNKNOWN_LIFE = (
    30  # days that a thing without a use-by or shelf life is taken to be in the house. Common practice, no source
)
WRITTEN, BY_DATES, BY_RECIPE, ENDS = "written down", "by dates", "by recipe", "the records end here"
NOT_IN_IT = "same lot code, not in the recipe"
NO_BATCH = "no batch in date of what it goes into is written down"
MOST = 100_000  # rows of one answer
LEFT_OUT = f"more than {MOST:,} rows: what comes after them is left out; ask for the lots of its batches, one by one"


@dataclass(frozen=True)
class Goods:
    """One line of goods at the door; day and use-by as ISO dates."""

    id: int
    item: str
    lot: str
    on: str
    use_by: str | None


@dataclass(frozen=True)
class Batch:
    """Something made here: a batch, or a piece broken down. lots: codes that went in; last_on None: no last day."""

    key: str
    recipe: str
    lot: str
    on: str
    last_on: str | None
    lots: tuple[str, ...]


@dataclass(frozen=True)
class Sale:
    """Plates of a dish on a day."""

    dish: str
    on: str
    service: str
    plates: int


@dataclass(frozen=True)
class Records:
    """What is on record around some days. lines: recipe -> things in it; life: thing -> days it keeps [d]."""

    goods: tuple[Goods, ...]
    batches: tuple[Batch, ...]
    sales: tuple[Sale, ...]
    lines: Mapping[str, frozenset[str]]
    names: Mapping[str, str]
    life: Mapping[str, int]
    today: str
    lots_of: Mapping[str, frozenset[str]] = field(default_factory=dict)
    reached: dict[str, frozenset[str]] = field(default_factory=dict, compare=False)  # kept by `inside`
    carried: dict[tuple[str, str], frozenset[str]] = field(default_factory=dict, compare=False)  # kept by `carriers`

    def inside(self, recipe: str) -> frozenset[str]:
        """A recipe with everything in it, and in what is in it."""
        if recipe not in self.reached:
            found, ahead = {recipe}, [recipe]
            while ahead:
                new = self.lines.get(ahead.pop(), frozenset()) - found
                found |= new
                ahead += new
            self.reached[recipe] = frozenset(found)
        return self.reached[recipe]

    def is_of(self, thing: str, lot: str, recipe: str) -> bool:
        """Whether a lot written down for a batch can be this thing: it is in the recipe, or nothing of that code is."""
        inside = self.inside(recipe)
        if thing in inside or recipe not in self.lines:
            return True
        return not any(lot in self.lots_of.get(other, ()) for other in inside)

    def carriers(self, thing: str, day: str) -> frozenset[str]:
        """Recipes that a thing was in on a day by the recipes alone: none of them was in date by the records."""
        if (thing, day) not in self.carried:
            found, ahead = set[str](), [thing]
            while ahead:
                new = {one for one in self.holders.get(ahead.pop(), ()) if one not in found}
                new = {one for one in new if not any(on <= day <= until for on, until in self.stood.get(one, ()))}
                found |= new
                ahead += new
            self.carried[thing, day] = frozenset(found)
        return self.carried[thing, day]

    @cached_property
    def holders(self) -> Mapping[str, set[str]]:
        """Thing -> recipes that it is directly in."""
        found: dict[str, set[str]] = {}
        for recipe, things in self.lines.items():
            for thing in things:
                found.setdefault(thing, set()).add(recipe)
        return found

    @cached_property
    def stood(self) -> Mapping[str, list[tuple[str, str]]]:
        """Thing -> first and last day of each batch or delivery of it."""
        found: dict[str, list[tuple[str, str]]] = {}
        for batch in self.batches:
            found.setdefault(batch.recipe, []).append((batch.on, batch.last_on or self.today))
        for line in self.goods:
            found.setdefault(line.item, []).append((line.on, self.until(line)))
        return found

    def until(self, one: Goods | Batch) -> str:
        """The last day on which a thing may have been used: its own last day, else its life, today at most."""
        if isinstance(one, Batch):
            return min(one.last_on or self.today, self.today)
        days = self.life.get(one.item, UNKNOWN_LIFE)
        return min(one.use_by or _after(one.on, days), self.today)


@dataclass(frozen=True)
class Step:
    """One row of an answer.

    Attributes:
        depth: steps from what was asked.
        kind: 'goods', 'batch', 'dish', or 'end' where the records end.
        name: of the item, recipe or dish.
        lot: its code.
        on, until: days; until is the last on which it may have been used.
        how: 'written down', 'by dates', 'by recipe', 'same lot code, not in the recipe', or 'the records end here'.
        why: in words.
        goods: id of the line of goods.
        plates: of a dish at that service.
        service: which; '' where nobody said, or all of the day.
    """

    depth: int
    kind: str
    name: str
    lot: str
    on: str
    until: str
    how: str
    why: str
    goods: int | None = None
    plates: int | None = None
    service: str = ""


def _after(day: str, days: int) -> str:
    return (date.fromisoformat(day) + timedelta(days=days)).isoformat()


def lots_of(goods: Iterable[Goods], batches: Iterable[Batch]) -> dict[str, frozenset[str]]:
    """Thing -> codes of its lots."""
    found: dict[str, set[str]] = {}
    for line in goods:
        found.setdefault(line.item, set()).add(line.lot)
    for batch in batches:
        found.setdefault(batch.recipe, set()).add(batch.lot)
    return {thing: frozenset(codes - {""}) for thing, codes in found.items()}


def forward(records: Records, lot: str) -> list[Step]:
    """Where a lot went: what was made with it, with what was made of that, and the plates it may have been on."""
    steps: list[Step] = []
    seen: set[str] = set()
    for line in records.goods:
        if line.lot == lot:
            steps.append(_goods(records, line, 0, WRITTEN, ""))
            steps += _went(records, line, line.item, 1, seen)
    for batch in records.batches:
        if batch.lot == lot and batch.key not in seen:
            seen.add(batch.key)
            steps.append(_batch(records, batch, 0, WRITTEN, ""))
            steps += _went(records, batch, batch.recipe, 1, seen)
    return _whole(steps + _named(records, lot, bool(steps), seen))


def _whole(steps: list[Step]) -> list[Step]:
    """An answer; where it is too long to be told whole, that is told first."""
    return steps if len(steps) <= MOST else [Step(0, "end", "", "", "", "", ENDS, LEFT_OUT), *steps[:MOST]]


NO_RECEIPT = "no receipt of it is written down; batches name it"


def _named(records: Records, lot: str, is_known: bool, seen: set[str]) -> list[Step]:
    """Batches that name a lot of which no receipt stands before them, and where they went."""
    steps: list[Step] = []
    for batch in records.batches:
        if lot not in batch.lots or batch.key in seen:
            continue
        if not is_known and not steps:
            steps.append(Step(0, "end", "", lot, "", "", ENDS, NO_RECEIPT))
        seen.add(batch.key)
        why = f"made with {lot}" + (", before it came by the records" if is_known else "")
        steps.append(_batch(records, batch, 1, WRITTEN, why))
        steps += _went(records, batch, batch.recipe, 2, seen)
    return steps


def _went(records: Records, one: Goods | Batch, thing: str, depth: int, seen: set[str]) -> Iterator[Step]:
    """What a thing went into, and the plates of dishes that have it on them."""
    until = records.until(one)
    for batch in records.batches:
        how, why = _into(records, one, thing, batch, until)
        if how and batch.key not in seen:
            seen.add(batch.key)
            yield _batch(records, batch, depth, how, why)
            yield from _went(records, batch, batch.recipe, depth + 1, seen)
    used_in = {recipe for recipe, things in records.lines.items() if thing in things} | {thing}
    found, why = False, f"{records.names.get(thing, thing)} {one.lot} was in the house"
    for sale in records.sales:
        if not one.on <= sale.on <= until:
            continue
        is_direct = sale.dish in used_in
        if is_direct or sale.dish in records.carriers(thing, sale.on):
            found = True
            how, said = (BY_DATES, why) if is_direct else (BY_RECIPE, f"{why}; {NO_BATCH}")
            yield Step(depth, "dish", records.names.get(sale.dish, sale.dish), "", sale.on, "", how, said, None,
                       sale.plates, sale.service)  # fmt: skip
    if not found and any(sale.dish in used_in for sale in records.sales):
        yield Step(depth, "end", records.names.get(thing, thing), one.lot, "", "", ENDS, "no plates sold on these days")


def _into(records: Records, one: Goods | Batch, thing: str, batch: Batch, until: str) -> tuple[str, str]:
    """How it is known that a thing went into a batch, and why; '' where it did not."""
    if batch.on < one.on:
        return "", ""
    if one.lot and one.lot in batch.lots and records.is_of(thing, one.lot, batch.recipe):
        return WRITTEN, f"made with {one.lot}"
    if thing in records.lines.get(batch.recipe, ()) and batch.on <= until:
        known = records.lots_of.get(thing, frozenset()) & set(batch.lots)
        if not known:
            return BY_DATES, f"no lot of {records.names.get(thing, thing)} is written down for it"
    if batch.on <= until and records.carriers(thing, batch.on) & records.lines.get(batch.recipe, frozenset()):
        return BY_RECIPE, f"{records.names.get(thing, thing)} was in the house; {NO_BATCH}"
    return "", ""


def _goods(records: Records, line: Goods, depth: int, how: str, why: str) -> Step:
    return Step(
        depth,
        "goods",
        records.names.get(line.item, line.item),
        line.lot,
        line.on,
        records.until(line),
        how,
        why,
        line.id,
    )


def _batch(records: Records, batch: Batch, depth: int, how: str, why: str) -> Step:
    name = records.names.get(batch.recipe, batch.recipe)
    return Step(depth, "batch", name, batch.lot, batch.on, records.until(batch), how, why)


def backward(records: Records, dish: str, day: str) -> list[Step]:
    """What was behind a dish on a day: batches in date, the lots written down for them, goods in the house."""
    served = [sale for sale in records.sales if sale.dish == dish and sale.on == day]
    plates = sum(sale.plates for sale in served) if served else None
    name = records.names.get(dish, dish)
    said = ", ".join(f"{sale.plates} at {sale.service}" for sale in served if sale.service)
    why = f"plates sold{f': {said}' if said else ''}" if served else "no plates of it are written down for that day"
    first = Step(0, "dish", name, "", day, "", WRITTEN if served else ENDS, why, None, plates)
    steps = [first]
    seen: set[str] = set()
    for thing in sorted(records.lines.get(dish, ()), key=lambda t: records.names.get(t, t)):
        steps += _behind(records, thing, day, 1, seen)
    return _whole(steps)


def _behind(records: Records, thing: str, day: str, depth: int, seen: set[str]) -> Iterator[Step]:
    """What a thing was on a day: batches of a recipe, goods of an item."""
    name = records.names.get(thing, thing)
    made = [b for b in records.batches if b.recipe == thing and b.on <= day <= (b.last_on or day)]
    for batch in made:
        again = batch.key in seen
        why = "in date on that day" + ("; what it was made of stands above" if again else "")
        yield _batch(records, batch, depth, BY_DATES, why)
        if not again:
            seen.add(batch.key)
            yield from _of(records, batch, depth + 1, seen)
    here = [g for g in records.goods if g.item == thing and g.on <= day <= records.until(g)]
    for line in here:
        yield _goods(
            records, line, depth, BY_DATES, "in the house on that day" if line.lot else "came without a lot code"
        )
    if made or here:
        return
    parts = records.lines.get(thing)
    if not parts:
        yield Step(depth, "end", name, "", day, "", ENDS, "no delivery of it in the house by the records")
        return
    yield Step(
        depth, "end", name, "", day, "", BY_RECIPE, "no batch of it in date by the records: what is in it follows"
    )
    for part in sorted(parts, key=lambda t: records.names.get(t, t)):
        yield from _behind(records, part, day, depth + 1, seen)


def _of(records: Records, batch: Batch, depth: int, seen: set[str]) -> Iterator[Step]:
    """What a batch was made of: lots written down, then whatever has none."""
    covered: set[str] = set()
    beside: list[Step] = []
    for code in batch.lots:
        came = [g for g in records.goods if g.lot == code and g.on <= batch.on]
        made = [b for b in records.batches if b.lot == code and b.on <= batch.on]
        for line in came:
            if not records.is_of(line.item, code, batch.recipe):
                beside.append(_goods(records, line, depth, NOT_IN_IT, "another thing of that delivery"))
                continue
            covered.add(line.item)
            yield _goods(records, line, depth, WRITTEN, f"written down for {batch.lot or 'the batch'}")
        for other in made:
            covered.add(other.recipe)
            yield _batch(records, other, depth, WRITTEN, f"written down for {batch.lot or 'the batch'}")
            if other.key not in seen:
                seen.add(other.key)
                yield from _of(records, other, depth + 1, seen)
        if not came and not made:
            yield Step(depth, "end", "", code, batch.on, "", ENDS, "this code is in no delivery and no batch on record")
    for thing in sorted(records.lines.get(batch.recipe, frozenset()) - covered, key=lambda t: records.names.get(t, t)):
        yield from _behind(records, thing, batch.on, depth, seen)
    yield from beside


@dataclass(frozen=True)
class Group:
    """Steps that a page folds into one line: those of one thing, with all that is behind or after them."""

    head: Step
    steps: tuple[Step, ...]

    @property
    def plates(self) -> int | None:
        """Plates of a dish, each service once; None where it is no dish."""
        own = [s for s in self.steps if s.kind == "dish" and s.depth == self.head.depth]
        found = {(s.on, s.service): s.plates for s in own if s.plates is not None}
        return sum(found.values()) if found else None

    @property
    def days(self) -> int:
        """Days that its own steps stand on."""
        return len({step.on for step in self.steps if step.depth == self.head.depth and step.on})

    @property
    def ends(self) -> int:
        """Places in it where the records end."""
        return sum(step.how == ENDS for step in self.steps)


def folded(steps: Iterable[Step]) -> list[Group]:
    """An answer by the things nearest to what was asked, in the order they came."""
    found: list[list[Step]] = []
    for step in steps:
        last = found[-1][0] if found else None
        is_next = step.depth > 1 and last is not None and last.depth == 1
        is_same = last is not None and (last.depth, last.name, last.lot if step.depth == 0 else "") == (
            step.depth, step.name, step.lot if step.depth == 0 else "")  # fmt: skip
        if found and (is_next or is_same):
            found[-1].append(step)
        else:
            found.append([step])
    return [Group(group[0], tuple(group)) for group in found]
