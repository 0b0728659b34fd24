"""A supplier's figures, by hand."""

from __future__ import annotations

from fractions import Fraction as F

from stillroom.plugins.suppliers.compute import (
    Line,
    Rule,
    by_item,
    most_priced,
    price_change,
    price_history,
    record,
    rules_of,
)

COLD = Rule("recv_cold", "cold", 41.0, "at most", "2022", "3-202.11(A)", "read")
FROZEN = Rule("recv_frozen", "frozen solid", None, "method", "2022", "3-202.11(E)", "read")


def line(**said: object) -> Line:
    """Ten of ten butter on the day promised, at 38 °F against 41, for 8 a unit."""
    base: dict[str, object] = {
        "received_on": "2026-11-02",
        "due_on": "2026-11-02",
        "item_id": "butter",
        "item": "butter",
        "product_id": "p1",
        "product": "Butter",
        "unit": "g",
        "ordered": F(10),
        "received": F(10),
        "rejected": F(0),
        "reason": "",
        "door_f": 38.0,
        "rule": COLD,
        "unit_price": F(8),
        "document": "1",
        "note": "",
    }
    return Line(**{**base, **said})  # type: ignore[arg-type]


def test_on_time_in_full_counts_only_what_is_known() -> None:
    """One good, one late, one short, one without order, one without promise: 1 of 3."""
    lines = [line(), line(due_on="2026-11-01"), line(received=F(8)), line(ordered=None), line(due_on=None)]
    figures = record(lines)
    assert (figures.on_time_in_full, figures.judged, figures.lines, figures.late) == (F(1, 3), 3, 5, 1)


def test_nothing_known_is_no_share() -> None:
    """No order on any line: on time in full and short are None, never 0 or 1."""
    figures = record([line(ordered=None, unit_price=None, door_f=None)])
    assert (figures.on_time_in_full, figures.short_share, figures.price_change) == (None, None, None)
    assert (figures.measured, figures.unpriced) == (0, 1)
    assert record([]).on_time_in_full is None


def test_what_is_sent_back_is_short() -> None:
    """Ten ordered, ten came, two sent back: 2 short, not in full; more than ordered is not short."""
    assert line(rejected=F(2)).short == 2 and line(rejected=F(2)).is_on_time_in_full is False
    assert line(received=F(12)).short == 0 and line(received=F(12)).is_on_time_in_full is True
    assert line(received=F(12), rejected=F(2)).is_on_time_in_full is False


def test_early_is_on_time() -> None:
    """A day before the day promised is not late."""
    assert line(due_on="2026-11-03").is_late is False


def test_short_is_the_mean_of_lines() -> None:
    """8 of 10 and 10 of 10: 10 %, whatever the units."""
    assert record([line(received=F(8)), line(unit="each")]).short_share == F(1, 10)


def test_the_limit_itself_is_within_the_rule() -> None:
    """41 °F is allowed, above is not; hot food at the limit too. No figure and no reading are not judged."""
    hot = Rule("recv_hot", "hot", 135.0, "at least", "2022", "3-202.11(D)", "read")
    assert (line(door_f=41.0).is_out_of_range, line(door_f=41.1).is_out_of_range) == (False, True)
    assert (line(door_f=135.0, rule=hot).is_out_of_range, line(door_f=134.9, rule=hot).is_out_of_range) == (False, True)
    assert line(rule=FROZEN).is_out_of_range is None
    assert line(door_f=None).is_out_of_range is None and line(rule=None).is_out_of_range is None


def test_price_change_is_weighted_by_spend() -> None:
    """Butter 8 to 10 on 180 spent, salt 1 to 1 on 20: (0.25 x 180 + 0) / 200."""
    later = {"received_on": "2026-11-09"}
    salt = {"item_id": "salt", "product_id": "p2", "unit_price": F(1)}
    lines = [line(), line(unit_price=F(10), **later), line(**salt), line(**salt, **later)]
    assert price_change(lines) == F(25, 100) * 180 / 200


def test_price_change_needs_two_days_of_one_product() -> None:
    """One delivery, two on one day, or two products of one item: no change is known."""
    assert price_change([line()]) is None
    assert price_change([line(), line(unit_price=F(9))]) is None
    assert price_change([line(), line(product_id="p9", unit_price=F(9), received_on="2026-11-09")]) is None


def test_what_was_sent_back_is_not_spent() -> None:
    """Butter all sent back weighs nothing: only salt's 100 % counts."""
    later = {"received_on": "2026-11-09"}
    back = {"rejected": F(10)}
    salt = {"item_id": "salt", "product_id": "p2"}
    lines = [line(**back), line(unit_price=F(9), **back, **later)]
    lines += [line(unit_price=F(1), **salt), line(unit_price=F(2), **salt, **later)]
    assert price_change(lines) == 1


def test_by_item_sums_what_is_known_and_names_reasons() -> None:
    """Order unknown on one of two lines: ordered is the other's 10; received is of both; reasons once each."""
    lines = [line(), line(ordered=None, rejected=F(1), reason="warm"), line(item_id="aa", item="aal", ordered=None)]
    first, second = by_item(lines)
    assert (first.item, first.ordered, first.short) == ("aal", None, None)
    assert by_item([line(), line(unit_price=None)])[0].last_price == 8
    assert (second.ordered, second.received, second.rejected, second.reasons) == (10, 20, 1, ("warm",))


def test_price_history_leaves_out_what_has_no_price() -> None:
    """Two priced lines of three are drawn, and the chart is of the item most often priced."""
    lines = [line(), line(unit_price=None), line(received_on="2026-11-09", unit_price=F(9)), line(item_id="salt")]
    assert price_history(lines, "butter") == [("2026-11-02", F(8)), ("2026-11-09", F(9))]
    assert most_priced(lines) == "butter" and most_priced([line(unit_price=None)]) == ""


def test_rules_are_named_once() -> None:
    """Two lines under one rule name it once; a line without a rule names none."""
    assert rules_of([line(), line(), line(rule=FROZEN), line(rule=None)]) == [COLD, FROZEN]
