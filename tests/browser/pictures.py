"""Makes README's pictures from the demonstration kitchen: python -m tests.browser.pictures ADDRESS."""

from __future__ import annotations

import shutil
import sys
from pathlib import Path

FOLDER = Path(__file__).parents[2] / "docs" / "pictures"
SHOTS = (
    ("guest", "/guest?avoid=milk&avoid=walnut", 360),
    ("short", "/short/brill", 360),
    ("supplier", "/suppliers", 1280),
    ("home", "/", 1280),
    ("matrix", "/allergens", 1280),
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
