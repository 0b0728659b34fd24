"""Makes README's pictures from the demonstration kitchen: python -m tests.browser.pictures ADDRESS."""

from __future__ import annotations

import shutil
import sys
from pathlib import Path

FOLDER = Path(__file__).parents[2] / "docs" / "pictures"
SHOTS = (
    ("guest", "/guest?avoid=milk&avoid=walnut", 360),
    ("prep", "/prep", 360),
    ("probe", "/log/probe", 360),
    ("card", "/recipe/crab-sauce?to=3+l", 360),
    ("heat", "/doneness/mutton-loin-chop?ready=19:30", 1280),
    ("cost", "/cost", 1280),
    ("ageing", "/ageing", 1280),
    ("short", "/short/brill", 1280),
    ("suppliers", "/suppliers/saltby-dairy", 1280),
)


def main(address: str) -> None:
    """One PNG for each of SHOTS, the first screen of the page."""
    from playwright.sync_api import sync_playwright

    FOLDER.mkdir(parents=True, exist_ok=True)
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=shutil.which("chromium"), args=["--no-sandbox"])
        for name, path, width in SHOTS:
            page = browser.new_page(viewport={"width": width, "height": 780})
            page.goto(address + path)
            page.screenshot(path=str(FOLDER / f"{name}.png"))
        browser.close()


if __name__ == "__main__":
    main(sys.argv[1])
