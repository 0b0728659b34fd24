"""Cost, menu and ageing on a phone: nothing runs off the page, plots say their finding, forms keep what was typed."""

from __future__ import annotations

from typing import Any


def named(page: Any, base: str, path: str) -> str:
    """The address, with a lot that hangs in the demonstration."""
    if "{lot}" not in path:
        return base + path
    return base + path.format(lot=page.request.get(base + "/ageing.json").json()["lots"][0]["lot"])


def test_plots_say_their_finding(phone: Any, base: str) -> None:
    """The menu's plot names every dish with its class; the weight curve says first and last weight."""
    phone.goto(base + "/menu")
    assert "Brill on the bone, buttered samphire " in phone.locator("svg").last.get_attribute("aria-label")
    phone.goto(named(phone, base, "/ageing/{lot}"))
    assert "kg at the start" in phone.locator("svg").first.get_attribute("aria-label")


def test_a_what_if_from_the_dish(phone: Any, base: str) -> None:
    """From a dish to its lines, another quantity, and the money a week: three taps and one figure."""
    phone.goto(base + "/cost/brill-on-the-bone-buttered-samphire")
    with phone.expect_navigation():
        phone.click("text=What if a line were another")
    phone.select_option("select[name=line]", index=0)
    phone.fill("input[name=quantity]", "2")
    with phone.expect_navigation():
        phone.click("text=Reckon quantity")
    assert phone.locator("tbody tr th").first.inner_text() == "Brill on the bone, buttered samphire"
    assert phone.input_value("input[name=quantity]") == "2"
