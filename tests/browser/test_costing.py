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


APART = """() => {
  const found = [];
  for (const svg of document.querySelectorAll(".plot.mix svg")) {
    const boxes = [...svg.querySelectorAll("text")].map((t) => [t, t.getBoundingClientRect()]);
    for (const [t, b] of boxes) {
      const drawn = parseFloat(getComputedStyle(t).fontSize) * svg.getBoundingClientRect().width / 640;
      if (drawn < 12) found.push(`${t.textContent} is ${drawn} px`);
      if (b.right > innerWidth) found.push(`${t.textContent} runs off`);
    }
    const numbers = boxes.filter(([t]) => t.classList.contains("label"));
    numbers.forEach(([t, a], n) => numbers.slice(n + 1).forEach(([u, b]) => {
      const across = Math.min(a.right, b.right) - Math.max(a.left, b.left);
      const down = Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top);
      if (across > 1 && down > 4) found.push(`${t.textContent} on ${u.textContent}`);
    }));
  }
  return found;
}"""


def test_the_mix_on_a_phone_and_on_a_desk(phone: Any, base: str) -> None:
    """At 360 px class and margin are on the screen; numbers of the plot are large enough and none covers another."""
    phone.goto(base + "/menu")
    table = phone.locator("table.mix").first
    for n in (1, 2):
        box = table.locator("tbody tr").first.locator("td").nth(n - 1).bounding_box()
        assert box["x"] + box["width"] <= 360
    assert phone.evaluate(APART) == []
    phone.set_viewport_size({"width": 1280, "height": 900})
    assert phone.evaluate(APART) == []
