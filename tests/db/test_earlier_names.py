"""Names that a recipe had: understood in lines of files and of drafts, found by the box, kept by files written out."""

from __future__ import annotations

import shutil
import sqlite3
from collections.abc import Sequence
from pathlib import Path

import pytest
from stillroom.db.drafts import Draft, DraftLine, check_in
from stillroom.db.names import once_called
from stillroom.db.recipe_lines import Names, SharedName, Thing, UnknownName, earlier_names, names_of
from stillroom.loaders.build import build
from stillroom.loaders.dump import write_out
from stillroom.loaders.same import differences

MINI = Path(__file__).parents[1] / "data" / "mini"
CRUMB = "name: Walnut crumb\n"
USER = "  - 1 batch Walnut crumb\n"


def files(folder: Path, *changes: tuple[str, str]) -> Path:
    """The small kitchen's files with changes in its recipes; what was there already goes."""
    shutil.rmtree(folder, ignore_errors=True)
    shutil.copytree(MINI, folder)
    book = folder / "recipes" / "book.yaml"
    text = book.read_text()
    for old, new in changes:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    book.write_text(text)
    return folder


def called(name: str, line: str = "Walnut dust") -> tuple[tuple[str, str], ...]:
    """The walnut crumb under another name, and what its user's line calls it."""
    return (CRUMB, f"name: {name}\nfirst called: Walnut crumb\n"), (USER, f"  - 1 batch {line}\n")


def load(folder: Path, kitchen: Path, *changes: tuple[str, str]) -> None:
    """Changed files into a kitchen's file."""
    result = build(files(folder, *changes), kitchen)
    assert result.errors == 0, result.problems


def rows(kitchen: Path, question: str) -> list[tuple[str, ...]]:
    with sqlite3.connect(kitchen) as connection:
        return connection.execute(question).fetchall()


def test_a_file_may_say_any_name_that_the_kitchens_file_knows(tmp_path: Path, kitchen: Path) -> None:
    """Crumb, then dust, then ash: a line that says dust is read still, for that file; elsewhere nobody knows it."""
    load(tmp_path / "files", kitchen, *called("Walnut dust"))
    load(tmp_path / "files", kitchen, *called("Walnut ash"))
    said = rows(kitchen, "select recipe_id, line from components where sub_recipe_id = 'walnut-crumb'")
    assert said == [("leek-cream", "1 batch Walnut dust")]
    with sqlite3.connect(kitchen) as connection:
        assert earlier_names(connection)["walnut-crumb"] == ["Walnut crumb", "Walnut dust", "Walnut ash"]
    (told,) = [p for p in build(files(tmp_path / "files", *called("Walnut ash")), tmp_path / "new.db").problems
               if p.severity == "error"]  # fmt: skip
    assert told.code == "name-unknown" and '"Walnut dust"' in told.what


def test_there_and_back_again_the_name_between_is_known(tmp_path: Path, kitchen: Path) -> None:
    """The present name is the first one: nothing in the recipe's own row says that there was another."""
    load(tmp_path / "files", kitchen, *called("Walnut dust"))
    load(tmp_path / "files", kitchen)
    with sqlite3.connect(kitchen) as connection:
        assert names_of(connection).find("walnut dust").id == "walnut-crumb"  # type: ignore[union-attr]
        assert list(earlier_names(connection)) == ["walnut-crumb"]


def test_a_first_name_of_the_files_is_kept(tmp_path: Path) -> None:
    """A new kitchen's file, which never saw the recipe by it: drafts may say it, and it is written out as it was."""
    load(tmp_path / "files", tmp_path / "k.db", *called("Walnut dust"))
    assert rows(tmp_path / "k.db", "select first_called from recipes where first_called <> ''") == [("Walnut crumb",)]
    with sqlite3.connect(tmp_path / "k.db") as connection:
        draft = Draft("New", yield_text="1 plate", lines=(DraftLine("1 batch Walnut crumb"),))
        found = check_in(connection, draft, "new", names_of(connection))
        assert found.problems == {} and found.components[0].read.thing.name == "Walnut dust"


def test_written_out_twice_is_the_same_and_every_name_is_there(tmp_path: Path, kitchen: Path) -> None:
    """A chain of names, one of them with a comma and an accent, and a line that says an old one."""
    for name in ("Walnut dust", "Walnut purée, burnt", "Walnut ash"):
        load(tmp_path / "files", kitchen, *called(name))
    one, two, again = tmp_path / "one", tmp_path / "two", tmp_path / "again.db"
    for source, out in ((kitchen, one), (again, two)):
        out.mkdir()
        write_out(source, out)
        result = build(out, again)
        assert result.errors == 0, result.problems
    assert differences(kitchen, again) == []
    texts = [{p.relative_to(out): p.read_bytes() for p in out.rglob("*") if p.is_file()} for out in (one, two)]
    assert texts[0] == texts[1] and len(texts[0]) > 10
    with sqlite3.connect(kitchen) as old, sqlite3.connect(again) as new:
        assert earlier_names(old) == earlier_names(new) != {}
    book = (one / "recipes" / "sub-recipes.yaml").read_text()
    assert "first called: Walnut crumb" in book
    said = "1 batch walnut puree, burnt"
    (one / "recipes" / "sub-recipes.yaml").write_text(book.replace("1 batch Walnut dust", said))
    result = build(one, tmp_path / "third.db")
    assert result.errors == 0, result.problems
    lines = rows(tmp_path / "third.db", "select line from components where sub_recipe_id = 'walnut-crumb'")
    assert lines == [(said,)]


def names(*once: tuple[str, str]) -> Names:
    """Butter, and three recipes with names that they had."""
    recipes = [Thing(name.lower(), name, True, "g") for name in ("Ash", "Bran", "Crumb")]
    return Names([Thing("butter", "butter", False, "g"), *recipes], once=once)


@pytest.mark.parametrize(
    ("once", "line", "meant"),
    [
        ([("Dust", "ash")], "10 g dust", "ash"),
        ([("Dust", "ash")], "10 g dusts, warm", "ash"),
        ([("Dust", "ash"), ("DUST", "ash")], "10 g Dust", "ash"),
        ([("Bran", "ash")], "10 g bran", "bran"),
        ([("Butters", "ash")], "10 g butters", "butter"),
        ([("Dust", "ash"), ("Dust", "gone")], "10 g dust", "ash"),
    ],
)
def test_a_present_name_wins_and_an_earlier_one_that_one_had_is_read(
    once: Sequence[tuple[str, str]], line: str, meant: str
) -> None:
    assert names(*once).read(line).thing.id == meant


def test_a_name_that_two_had_is_no_ones() -> None:
    """Both are named, with what to write; a draft's page says the same; no third recipe may take it."""
    known = names(("Dust", "ash"), ("Dust", "crumb"))
    with pytest.raises(SharedName) as caught:
        known.read("10 g Dust, sifted")
    assert (caught.value.what, caught.value.fix) == (
        '"Dust" was the name of "Ash" and of "Crumb"', 'write "Ash" or "Crumb", whichever is meant',
    )  # fmt: skip
    assert known.find("Dust") is None and known.meant("10 g Dust") is None
    assert known.holder("Dust", "bran") is not None and known.holder("Dust", "ash") is not None
    with pytest.raises(UnknownName):
        known.read("10 g dusty")


def test_a_name_that_one_has_is_not_refused_to_it_for_one_that_had_it() -> None:
    """Bran may go on being called Bran."""
    known = names(("Bran", "ash"))
    assert known.holder("Bran", "bran") is None and known.holder("Bran", "crumb") is not None


def test_names_that_are_taken_now_are_left_out() -> None:
    assert once_called([("Leek SILK", "a"), ("leek silk", "b"), ("Brown", "c")], {"brown"}) == {"leek silk": ("a", "b")}
