"""What a recipe comes to, however a page is marked."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from stillroom.plugins.formats.bounds import Refused
from stillroom.plugins.formats.bring import recipes_of

Read = tuple[str, str, tuple[str, ...], tuple[str, ...]]


@pytest.fixture(scope="session")
def read_one() -> Callable[[str], Read]:
    """Name, yield, lines and steps of the one recipe of a page."""

    def read(marked: str) -> Read:
        (found,) = recipes_of(f"<!doctype html><html>{marked}</html>")
        return found.name, found.made, found.lines, found.steps

    return read


@pytest.fixture(scope="session")
def bread() -> Read:
    """The vocabulary's own example. Source: schema.org, type Recipe."""
    return (
        "Mom's World Famous Banana Bread", "1 loaf", ("3 or 4 ripe bananas, smashed", "1 egg", "3/4 cup of sugar"),
        ("Preheat the oven to 350 degrees. Mix in the ingredients in a bowl. Add the flour last. Pour the mixture"
         " into a loaf pan and bake for one hour.",),
    )  # fmt: skip


@pytest.fixture(scope="session")
def leek_pie() -> Read:
    """A pie that is marked in many ways."""
    return "Leek pie", "4 plates", ("1 kg leeks", "2 tbsp butter, salted"), ("Boil.", "Bake.")


@pytest.fixture(scope="session")
def texts_of() -> Callable[[str], list[str]]:
    """All texts that come of a page; where it is refused, the words of that alone."""

    def texts(marked: str) -> list[str]:
        try:
            found = recipes_of(f"<html>{marked}")
        except Refused as error:
            assert str(error).endswith(".")
            return [str(error)]
        return [said for one in found for said in (one.name, one.made, *one.lines, *one.steps)]

    return texts
