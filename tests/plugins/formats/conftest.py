"""What a recipe comes to, however a page is marked."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from stillroom.plugins.formats.bounds import Refused
from stillroom.plugins.formats.bring import Found, recipes_of


@pytest.fixture(scope="session")
def is_bread() -> Callable[[str], None]:
    """That a page holds the vocabulary's own example, and nothing else. Source: schema.org, type Recipe."""

    def check(marked: str) -> None:
        (found,) = recipes_of(f"<!doctype html><html><body>{marked}</body></html>")
        assert (found.name, found.made) == ("Mom's World Famous Banana Bread", "1 loaf")
        assert found.lines == ("3 or 4 ripe bananas, smashed", "1 egg", "3/4 cup of sugar")
        assert found.steps == (
            "Preheat the oven to 350 degrees. Mix in the ingredients in a bowl. Add the flour last. Pour the mixture"
            " into a loaf pan and bake for one hour.",
        )

    return check


@pytest.fixture(scope="session")
def leek_pie() -> Callable[[str], Found]:
    """The one recipe of a page, which is a leek pie: name, yield, lines and steps."""

    def check(marked: str) -> Found:
        (found,) = recipes_of(f"<!doctype html><html>{marked}</html>")
        assert (found.name, found.made) == ("Leek pie", "4 plates")
        assert found.lines == ("1 kg leeks", "2 tbsp butter, salted") and found.steps == ("Boil.", "Bake.")
        return found

    return check


@pytest.fixture(scope="session")
def never_fails() -> Callable[[str], None]:
    """That of any page plain texts come out, or words of refusal."""

    def check(text: str) -> None:
        try:
            found = recipes_of(f"<html>{text}")
        except Refused as error:
            assert str(error).endswith(".")
            return
        assert all(said.isprintable() for one in found for said in (one.name, one.made, *one.lines, *one.steps))

    return check
