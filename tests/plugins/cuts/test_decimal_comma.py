"""A kitchen that writes a comma: its own figures, and those that forms fill in for it, are read as it writes them."""

from __future__ import annotations

from typing import Any


async def test_a_plan_from_what_was_typed_and_from_a_lot(comma: Any, house: Any) -> None:
    """The same plan as the same figures with a point give in a kitchen that writes one."""
    typed = "/ageing/plan.json?cut=mutton-loin-chop&weight={}&length=60&taper=70&ends=2"
    there = (await comma.client.get(typed.format("4,2"))).json()
    here = (await house.client.get(typed.format("4.2"))).json()
    assert there["plan"] == here["plan"] is not None and there["wrong"] == []
    lot = "/ageing/plan.json?lot=M-0338&length=60"
    assert (await comma.client.get(lot)).json()["plan"] == (await house.client.get(lot)).json()["plan"] is not None
    asked = (await comma.client.get("/ageing.json?need=10&interest=4,5&portion=0,3 kg")).json()
    assert asked["wrong"] == []
