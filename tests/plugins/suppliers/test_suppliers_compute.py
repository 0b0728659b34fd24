"""A supplier's figures, by hand."""

from __future__ import annotations

from fractions import Fraction as F

from stillroom.plugins.suppliers.compute import Line, price_change, record


def line(**said: object) -> Line:
    """Ten of ten butter on the day promised, at 38 °F against 41, for 8 a unit."""
    base: dict[str, object] = {
        "received_on": "2026-11-02", "due_on": "2026-11-02", "item_id": "butter", "item": "butter", "product": "Butter", "unit": "g",
        "ordered": F(10), "received": F(10), "rejected": F(0), "reason": "", "door_f": 38.0, "limit_f": 41.0, "limit_is_least": False,
        "unit_price": F(8), "document": "1", "note": "",
    }  # fmt: skip
    return Line(**{**base, **said})  # type: ignore[arg-type]


def test_on_time_in_full_counts_only_what_is_known() -> None:
    """One good, one late, one short, one of unknown order: 1 of 3."""
    lines = [line(), line(due_on="2026-11-01"), line(received=F(8)), line(ordered=None)]
    figures = record(lines)
    assert (figures.on_time_in_full, figures.judged, figures.late) == (F(1, 3), 3, 1)
    assert figures.short_share == F(2, 10) / 3


def test_the_limit_itself_is_within_the_rule() -> None:
    """41 °F is allowed, above is not (Food Code 3-202.11(A): 41 °F or below); hot food must be 135 °F or above (D)."""
    assert line(door_f=41.0).is_out_of_range is False
    assert line(door_f=41.1).is_out_of_range is True
    assert line(door_f=134.0, limit_f=135.0, limit_is_least=True).is_out_of_range is True
    assert line(door_f=None).is_out_of_range is None


def test_price_change_is_weighted_by_spend() -> None:
    """Butter 8 to 10 on 180 spent, salt 1 to 1 on 20: (0.25 x 180 + 0) / 200."""
    lines = [line(), line(unit_price=F(10)), *(line(item_id="salt", unit_price=F(1)) for _ in range(2))]
    assert price_change(lines) == F(25, 100) * 180 / 200
    assert price_change([line()]) is None
