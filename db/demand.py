"""How many guests and plates the next services will want, from what was sold. Pure.

Covers. The level is the weighted mean of all recent services, each divided by the usual share of its own weekday: so a
quiet Thursday tells something about Saturday too. Weights halve every HALF_LIFE weeks. A weekday's share is learned
over WEEKS weeks, more slowly, and drawn towards 1 where little was seen. Where the log reaches back a year, the same
weeks a year ago move the level half way (season). Booked covers move the expectation of the day itself, by how well
bookings told the covers in the past; for a later day they are only a floor.

The band is what the same sum, made each past morning, was off by: eight services in ten came within it. All constants
here are chosen by us on generated weeks (tests/bench/bench_demand.py), no source.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import lru_cache
from math import ceil, sqrt

WEEKS = 20  # how far back a weekday's usual share is learned
HALF_LIFE = 1.5  # weeks after which a service counts half in the level
SHARE_HALF_LIFE = 9.0  # weeks after which it counts half in a weekday's share
PRIOR = 0.1  # services of an average weekday that a weekday's share begins with
SEASON_SHARE = 0.5  # how much of last year's movement is believed
BAND_Z = 1.2816  # standard normal: eight in ten lie within it, nine in ten below its upper end
LEAST_SPREAD = 0.08  # a band never says less than this share of the covers
USUAL_SPREAD = 0.25  # the band where too little was seen to score
SCORED = 24  # services whose error makes the band
MIX_HALF_LIFE = 2.0  # weeks after which a service counts half in the mix
MIX_WEEKS = 8
LOOK_BACK = 26 * 7  # days; older services weigh nothing in the level


@dataclass(frozen=True)
class Served:
    """One service in the log. covers None: not served yet; booked None: not written down."""

    on: date
    service: str
    booked: int | None
    covers: int | None


@dataclass(frozen=True)
class Expected:
    """Covers expected in one service.

    Attributes:
        covers: the number to cook for [covers]; None: nothing was ever served, only bookings or an overrule could tell.
        low, high: eight services in ten came between them.
        factor: the weekday's usual share of an average service [-].
        season: what the same weeks a year ago did [-]; 1 where the log is too short to know.
        booked: booked covers, None where nobody wrote them down.
        was: what the sum said where a person overruled it.
        by: who overruled it, '' for nobody.
    """

    on: date
    service: str
    covers: float | None
    low: float = 0.0
    high: float = 0.0
    factor: float = 1.0
    season: float = 1.0
    booked: int | None = None
    was: float | None = None
    by: str = ""

    @property
    def spread(self) -> float:
        """Standard deviation as a share of the covers [-]."""
        return (self.high - self.low) / (2 * BAND_Z * self.covers) if self.covers else 0.0


@dataclass(frozen=True)
class Score:
    """What was expected in the morning and what came."""

    on: date
    service: str
    expected: float
    came: int

    @property
    def off(self) -> float:
        """[covers] above 0: more came."""
        return self.came - self.expected


def expect(log: Sequence[Served], on: date, service: str, today: date) -> Expected:
    """Covers of one service, as known in the morning of `today`.

    Args:
        log: services in any order; those on or after `today` tell only their bookings.
        on: the day of the service, `today` or later.
        service: its name; lunch and dinner of one weekday are two things.
        today: the kitchen's day.
    """
    return expect_all(log, [(on, service)], today)[0]


def expect_all(log: Sequence[Served], services: Sequence[tuple[date, str]], today: date) -> list[Expected]:
    """Covers of several services (day, name), as known in the morning of `today`."""
    past = _past(log, today)
    booked = {(s.on, s.service): s.booked for s in log}
    spread = _spread(past)
    return [_expected(past, on, service, booked.get((on, service)), spread, today) for on, service in services]


def _expected(
    past: Sequence[Served], on: date, service: str, booked: int | None, spread: float, today: date
) -> Expected:
    middle, factor, season = _middle(past, on, service)
    if middle is None:
        sure = float(booked or 0)
        return Expected(on, service, sure if booked else None, sure, sure, booked=booked)
    middle = _with_bookings(past, middle, booked, on > today)
    half = BAND_Z * spread * middle
    return Expected(on, service, middle, max(0.0, middle - half), middle + half, factor, season, booked)


def overrule(said: Expected, covers: int, by: str) -> Expected:
    """The same with a person's number in its place; the sum's own stays visible. The band becomes Poisson's."""
    half = BAND_Z * sqrt(covers)
    return Expected(said.on, said.service, float(covers), max(0.0, covers - half), covers + half, said.factor,
                    said.season, said.booked, said.covers, by)  # fmt: skip


def scores(log: Sequence[Served], today: date, last: int = SCORED) -> list[Score]:
    """Each of the last services as it was expected that morning, oldest first."""
    past = _past(log, today)
    found = []
    for served in past[-last:]:
        said = expect([s for s in past if s.on < served.on] + [_unserved(served)], served.on, served.service, served.on)
        if said.covers is not None:
            found.append(Score(served.on, served.service, said.covers, served.covers or 0))
    return found


def mean_error(found: Sequence[Score]) -> float | None:
    """Sum of what the expectation was off by over the sum of covers [-]; None for nothing scored."""
    came = sum(s.came for s in found)
    return sum(abs(s.off) for s in found) / came if came else None


def _unserved(served: Served) -> Served:
    return Served(served.on, served.service, served.booked, None)


def _past(log: Sequence[Served], today: date) -> list[Served]:
    return sorted((s for s in log if s.on < today and s.covers), key=lambda s: (s.on, s.service))


def _middle(past: Sequence[Served], on: date, service: str) -> tuple[float | None, float, float]:
    """Covers before bookings are looked at, the weekday's factor, the season."""
    if not past:
        return None, 1.0, 1.0
    recent = [s for s in past if (on - s.on).days <= LOOK_BACK] or past
    factors = _factors(recent, on)
    level = _level(recent, on, factors)
    factor = factors.get((on.isoweekday(), service), 1.0)
    season = _season(past, on)
    return level * factor * season, factor, season


def _weight(age: int, half_life: float) -> float:
    return float(0.5 ** (age / 7 / half_life))


def _factors(past: Sequence[Served], on: date) -> dict[tuple[int, str], float]:
    """Weekday and service -> its usual share of an average service."""
    recent = [s for s in past if (on - s.on).days <= WEEKS * 7] or list(past)
    sums: dict[tuple[int, str], list[float]] = {}
    for s in recent:
        weight = _weight((on - s.on).days, SHARE_HALF_LIFE)
        pair = sums.setdefault((s.on.isoweekday(), s.service), [0.0, 0.0])
        pair[0] += weight * (s.covers or 0)
        pair[1] += weight
    mean = sum(total / weight for total, weight in sums.values()) / len(sums)
    return {key: (total + PRIOR * mean) / (weight + PRIOR) / mean for key, (total, weight) in sums.items()}


def _level(past: Sequence[Served], on: date, factors: Mapping[tuple[int, str], float]) -> float:
    total = weights = 0.0
    for s in past:
        factor = factors.get((s.on.isoweekday(), s.service))
        if factor:
            weight = _weight((on - s.on).days, HALF_LIFE)
            total += weight * (s.covers or 0)
            weights += weight * factor
    return total / weights if weights else 0.0


def _season(past: Sequence[Served], on: date) -> float:
    """Covers of the three weeks around this day a year ago over those of the four weeks before them, half believed."""
    then = {s: (on - s.on).days for s in past}
    around = [s.covers or 0 for s, age in then.items() if 364 - 10 <= age <= 364 + 10]
    before = [s.covers or 0 for s, age in then.items() if 364 + 11 <= age <= 364 + 38]
    if len(around) < 6 or len(before) < 6:
        return 1.0
    return float((sum(around) / len(around) / (sum(before) / len(before))) ** SEASON_SHARE)


def _with_bookings(past: Sequence[Served], middle: float, booked: int | None, is_ahead: bool) -> float:
    """The expectation once bookings are known: weighed in on the day itself, a floor before it.

    The weight of the bookings is the one that would have been off least in the past (least squares, 0 to 1).
    """
    if booked is None:
        return middle
    pairs = [s for s in past[-SCORED * 2 :] if s.booked]
    if is_ahead or len(pairs) < 6:
        return max(middle, float(booked))
    shown = sum(s.covers or 0 for s in pairs) / sum(s.booked or 0 for s in pairs)
    return middle + _worth(past, shown) * (booked * shown - middle)


def _worth(past: Sequence[Served], shown: float) -> float:
    """How far bookings are believed [0 to 1]."""
    over = under = 0.0
    for served, middle in _hindsight(past):
        if served.booked:
            told = served.booked * shown - middle
            over, under = over + told * ((served.covers or 0) - middle), under + told * told
    return min(1.0, max(0.0, over / under)) if under else 0.0


def _spread(past: Sequence[Served]) -> float:
    """Standard deviation of what came around what was expected, as a share [-], from the last services."""
    pairs = [s for s in past[-SCORED * 2 :] if s.booked]
    shown = sum(s.covers or 0 for s in pairs) / sum(s.booked or 0 for s in pairs) if len(pairs) >= 6 else 0.0
    worth = _worth(past, shown) if shown else 0.0
    offs = []
    for served, middle in _hindsight(past):
        said = middle + worth * (served.booked * shown - middle) if served.booked and shown else middle
        offs.append((served.covers or 0) / said - 1 if said else 0.0)
    return max(LEAST_SPREAD, sqrt(sum(o * o for o in offs) / len(offs))) if len(offs) >= 6 else USUAL_SPREAD


@lru_cache(maxsize=256)
def _looked_back(past: tuple[Served, ...]) -> tuple[tuple[Served, float], ...]:
    found = []
    for n in range(max(6, len(past) - SCORED), len(past)):
        before = [s for s in past[:n] if s.on < past[n].on]
        middle, _, _ = _middle(before, past[n].on, past[n].service)
        if middle:
            found.append((past[n], middle))
    return tuple(found)


def _hindsight(past: Sequence[Served]) -> tuple[tuple[Served, float], ...]:
    """The last services with what the log alone would have said of them that morning."""
    return _looked_back(tuple(past))


@dataclass(frozen=True)
class Sold:
    """Plates of one dish in one service."""

    dish: str
    on: date
    service: str
    plates: int


@dataclass(frozen=True)
class Dish:
    """A dish on the menu; section: where it stands on it."""

    id: str
    section: str = ""


@dataclass(frozen=True)
class Share:
    """Plates of a dish for one cover [-]; is_guess: it was hardly sold yet, its section's mean stands in."""

    dish: str
    each: float
    is_guess: bool = False


def mix(dishes: Sequence[Dish], sold: Iterable[Sold], log: Sequence[Served], today: date) -> list[Share]:
    """Plates for one cover of every dish on the menu, from the services of the last weeks.

    A dish's own services count only: one that came onto the menu on Friday is divided by the covers since Friday.
    """
    weights = {(s.on, s.service): (_weight((today - s.on).days, MIX_HALF_LIFE), s.covers or 0)
               for s in _past(log, today) if (today - s.on).days <= MIX_WEEKS * 7}  # fmt: skip
    plates: dict[str, float] = {}
    covers: dict[str, float] = {}
    for s in sold:
        weight, guests = weights.get((s.on, s.service), (0.0, 0))
        if weight and guests:
            plates[s.dish] = plates.get(s.dish, 0.0) + weight * s.plates
            covers[s.dish] = covers.get(s.dish, 0.0) + weight * guests
    known = {d.id: plates[d.id] / covers[d.id] for d in dishes if covers.get(d.id)}
    return [_share(dish, dishes, known) for dish in dishes]


def _share(dish: Dish, dishes: Sequence[Dish], known: Mapping[str, float]) -> Share:
    if dish.id in known:
        return Share(dish.id, known[dish.id])
    beside = [known[d.id] for d in dishes if d.section == dish.section and d.id in known]
    return Share(dish.id, sum(beside) / len(beside) if beside else 0.0, True)


@dataclass(frozen=True)
class Plates:
    """Plates of one dish in one service: still expected, and still to be ready for; sold: gone out already."""

    dish: str
    on: date
    service: str
    expected: float
    ready: int
    is_guess: bool = False
    by: str = ""
    sold: int = 0


def left(said: Plates, sold: int) -> Plates:
    """The same once so many plates were sold: less by them at the middle and at the end of the band, never below 0."""
    return replace(said, expected=max(0.0, said.expected - sold), ready=max(0, said.ready - sold), sold=sold)


def plates(services: Sequence[Expected], shares: Sequence[Share], z: float = BAND_Z) -> list[Plates]:
    """Plates to be ready for, service by service.

    What is ready for the first n services together covers nine in ten such runs (z): the spread of several services
    together is less than the sum of their spreads, so only the first carries all of its own. A dish's plates spread as
    Poisson's and by the covers' own band.

    Args:
        services: in order of time; one without covers gives no plates.
        shares: plates for one cover, of each dish.
        z: how far above the middle [standard deviations].
    """
    found = []
    for share in shares:
        mean = variance = 0.0
        ready = 0
        for service in services:
            if service.covers is None:
                continue
            here = service.covers * share.each
            mean, variance = mean + here, variance + here + (here * service.spread) ** 2
            upto = ceil(mean + z * sqrt(variance) - 1e-9) if here else ready
            found.append(Plates(share.dish, service.on, service.service, here, max(0, upto - ready), share.is_guess))
            ready = max(ready, upto)
    return found
