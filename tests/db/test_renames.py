"""A version that calls the dish otherwise: the dish, what uses it, its menus and its files follow; its id stays."""

from __future__ import annotations

import shutil
import sqlite3
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from stillroom.db.drafts import Draft, DraftLine, check_in, read_lines
from stillroom.db.log import append
from stillroom.db.menu import changes_between, menu_on
from stillroom.db.promotions import Promotion, Unread, apply_due, called
from stillroom.db.recipe_lines import earlier_names, names_of
from stillroom.db.search_index import rebuild
from stillroom.loaders.build import build

MINI = Path(__file__).parents[1] / "data" / "mini"
TODAY = date(2026, 11, 25)
NOW = "2026-11-25T12:00:00Z"
BRILL = ("brill-and-leeks", "Brill and leeks")
CRUMB = ("walnut-crumb", "Walnut crumb")


def put(
    db: sqlite3.Connection, trial: tuple[str, str], number: int, name: str, on: str = "2026-11-25", **more: Any
) -> None:
    """A version of a trial, and its promotion."""
    row = {"actor": "Marit", "origin": "web", "trial_id": trial[0], "trial": trial[1], "version": number}
    said = {"yield_text": "2 plates", "lines": "300 g brill", **more}
    dish = said.pop("dish_id", trial[0])
    append(db, "trial_versions", {**row, "request_id": f"v {trial} {number} {on}", "written_on": "2026-11-20",
                                  "name": name, **said})  # fmt: skip
    append(db, "promotions", {**row, "request_id": f"p {trial} {number} {on}", "dish_id": dish,
                              "decided_on": "2026-11-20", "from_on": on})  # fmt: skip


def put_crumb(db: sqlite3.Connection, name: str, number: int = 1, on: str = "2026-11-25") -> None:
    """The walnut crumb by another name; twice as much of it a batch as before."""
    put(db, CRUMB, number, name, on, kind="sub-recipe", yield_text="600 g", lines="400 g walnuts\n200 g flour")


def apply(db: sqlite3.Connection, day: date = TODAY) -> list[str]:
    """What is due, in a transaction as the web does it."""
    db.execute("begin")
    try:
        found = apply_due(db, day, NOW)
        rebuild(db)
    except BaseException:
        db.execute("rollback")
        raise
    db.execute("commit")
    return found


def name_of(db: sqlite3.Connection, recipe: str) -> str:
    """What a recipe is called."""
    (name,) = db.execute("select name from recipes where id = ?", (recipe,)).fetchone()
    return str(name)


def names_found(db: sqlite3.Connection, word: str) -> set[tuple[str, str]]:
    """Kind and name of what the search box finds."""
    rows = db.execute("select n.kind, n.name from search_text as t join search_name as n on n.id = t.rowid"
                      " where t.search_text match ?", (word,))  # fmt: skip
    return set(rows)


def test_the_dish_takes_the_name_and_keeps_its_id(db: sqlite3.Connection) -> None:
    put(db, BRILL, 7, "Brill, burnt leek")
    assert apply(db) == ["brill-and-leeks"]
    assert name_of(db, "brill-and-leeks") == "Brill, burnt leek"
    assert names_found(db, "burnt") == {("dish", "Brill, burnt leek"), ("trial", "Brill, burnt leek")}
    kept = [Promotion(1, *BRILL, 7, BRILL[0], "2026-11-25", None, "Marit", "Brill, burnt leek")]
    assert called(kept[0], "Brill and leeks") == "Brill, burnt leek"
    assert earlier_names(db)["brill-and-leeks"] == ["Brill and leeks", "Brill, burnt leek"]
    assert apply(db) == [] and db.execute("pragma foreign_key_check").fetchall() == []


def test_what_uses_it_says_the_name_that_it_has(db: sqlite3.Connection) -> None:
    """Lines and paths of every user; the batch of it that they take is the new one."""
    put_crumb(db, "Walnut dust")
    apply(db)
    rows = db.execute("select recipe_id, line, quantity from components where sub_recipe_id = 'walnut-crumb'")
    assert rows.fetchall() == [("leek-cream", "1 batch Walnut dust", "600")]
    paths = [p for (p,) in db.execute("select path from explosion where item_id = 'walnuts'")]
    assert len(paths) > 2 and not any("Walnut crumb" in p for p in paths)
    assert all("Walnut dust" in p for p in paths if p.count("Leek cream"))


def test_drafts_that_name_it_as_it_was_are_read_still(db: sqlite3.Connection) -> None:
    """A version written before, and one written with the name to come."""
    put_crumb(db, "Walnut dust")
    for day in (date(2026, 11, 24), TODAY):
        apply(db, day)
        for name in ("Walnut crumb", "walnut crumbs"):
            draft = Draft("New", yield_text="1 plate", lines=(DraftLine(f"1 batch {name}"),))
            found = check_in(db, draft, "new", names_of(db))
            assert found.problems == {} and found.components[0].read.thing.id == "walnut-crumb"


@pytest.mark.parametrize(
    ("name", "words"),
    [("Leek cream", "there is the recipe Leek cream of that name"), ("BUTTER", "there is the item butter of that name"),
     ("Brown-Butter", '"Brown-Butter" was, or comes to the same as, the name of the recipe Brown butter'),
     ("Walnut crumbs", '"Walnut crumbs" was, or comes to the same as, the name of the recipe Walnut crumb'),
     ("Leeks, sliced", '"1 kg leeks, sliced" of Leek cream means leeks, and would mean this')],
)  # fmt: skip
def test_a_name_that_something_else_has_is_refused(db: sqlite3.Connection, name: str, words: str) -> None:
    """Nothing changes; the trial may be promoted by another name."""
    put(db, BRILL, 7, name)
    with pytest.raises(Unread) as caught:
        apply(db)
    assert caught.value.problems["name"].what == words and caught.value.problems["name"].code == "name-twice"
    assert name_of(db, "brill-and-leeks") == "Brill and leeks"


def test_a_name_that_a_line_says_of_something_else_is_refused(db: sqlite3.Connection) -> None:
    """Read again, by a load or in a trial, the line would mean the dish: its own lines count, and those of trials."""
    put(db, BRILL, 7, "Brill, burnt leek", lines="300 g brill, pin-boned")
    own = "300 g flour, sifted | can be left off"
    for name, lines in (("Brill, pin-boned", "300 g flour"), ("Flour, sifted", own)):
        draft = Draft(name, yield_text="1 plate", lines=read_lines(lines))
        told = check_in(db, draft, "another", names_of(db)).problems
        assert set(told) == {"name"} and "would mean this" in told["name"].what, name
    fine = Draft("Flour, burnt", yield_text="1 plate", lines=read_lines("300 g flour, sifted"))
    assert check_in(db, fine, "another", names_of(db)).problems == {}
    apply(db)
    said = Draft("Brill, burnt leek", yield_text="1 plate", lines=read_lines("300 g flour"))
    assert check_in(db, said, BRILL[0], names_of(db)).problems == {}


def test_a_name_that_a_recipe_had_is_no_others(db: sqlite3.Connection) -> None:
    """What was written of it would mean the wrong thing."""
    put_crumb(db, "Walnut dust")
    apply(db)
    draft = Draft("walnut CRUMB", yield_text="1 plate", lines=(DraftLine("1 kg leeks"),))
    told = check_in(db, draft, "another", names_of(db)).problems["name"].what
    assert told == '"walnut CRUMB" was, or comes to the same as, the name of the recipe Walnut dust'
    assert check_in(db, draft, "walnut-crumb", names_of(db)).problems == {}


def test_a_version_that_says_no_name_has_the_first_again(db: sqlite3.Connection) -> None:
    """There and back; the files' own spelling of it is kept."""
    db.execute("update recipes set name = 'BRILL and leeks' where id = 'brill-and-leeks'")
    put(db, BRILL, 7, "", "2026-11-20")
    apply(db)
    assert name_of(db, "brill-and-leeks") == "BRILL and leeks"
    put(db, BRILL, 8, "Brill, burnt leek", "2026-11-24")
    apply(db)
    assert name_of(db, "brill-and-leeks") == "Brill, burnt leek"
    append(db, "promotions", {"request_id": "back", "actor": "Marit", "origin": "web", "trial_id": BRILL[0],
                              "trial": BRILL[1], "version": 7, "dish_id": BRILL[0], "decided_on": "2026-11-25",
                              "from_on": "2026-11-25"})  # fmt: skip
    apply(db)
    assert name_of(db, "brill-and-leeks") == "Brill and leeks"


def test_another_dish_that_a_trial_becomes_keeps_its_name(db: sqlite3.Connection) -> None:
    """Unless the version says one."""
    put(db, ("brill-test", "Brill test"), 1, "", dish_id="brill-and-leeks")
    apply(db)
    assert name_of(db, "brill-and-leeks") == "Brill and leeks"
    put(db, ("brill-test", "Brill test"), 2, "Brill, proved", dish_id="brill-and-leeks")
    apply(db)
    assert name_of(db, "brill-and-leeks") == "Brill, proved"
    assert {d.id: d.name for d in menu_on(db, TODAY, TODAY)}["brill-and-leeks"] == "Brill, proved"


def test_each_days_menu_has_the_name_of_its_day(db: sqlite3.Connection) -> None:
    """Before the change, from it on, and in the list of what changes; seen before the change and after it."""
    put(db, BRILL, 7, "Brill, burnt leek", "2026-12-01")
    what = "is made by version 7 from now on, and is called Brill, burnt leek"
    assert ("2026-12-01", "Brill and leeks", what) in changes_between(db, TODAY, date(2026, 12, 31))
    for today in (TODAY, date(2026, 12, 1)):
        apply(db, today)
        names = {day: {d.id: d.name for d in menu_on(db, date.fromisoformat(day), today)}.get("brill-and-leeks")
                 for day in ("2026-11-30", "2026-12-01", "2027-01-10")}  # fmt: skip
        assert names == {"2026-11-30": "Brill and leeks", "2026-12-01": "Brill, burnt leek",
                         "2027-01-10": "Brill, burnt leek"}  # fmt: skip


def test_a_load_of_the_old_files_keeps_the_name_and_says_how_to_write_it(kitchen: Path, db: sqlite3.Connection) -> None:
    put(db, BRILL, 7, "Brill, burnt leek")
    put_crumb(db, "Walnut dust")
    apply(db)
    result = build(MINI, kitchen)
    assert result.errors == 0
    told = {p.what: p.fix for p in result.problems if p.code == "promotion-kept"}
    fix = told['"Brill, burnt leek" is version 7 of its trial, which the files do not hold yet']
    assert "write `version: 7`, `name: Brill, burnt leek` and `first called: Brill and leeks` in the recipe" in fix
    assert name_of(db, "brill-and-leeks") == "Brill, burnt leek" and name_of(db, "walnut-crumb") == "Walnut dust"
    assert names_found(db, "dust") == {("recipe", "Walnut dust"), ("trial", "Walnut dust")}


def written(kitchen: Path, folder: Path) -> Path:
    """A kitchen written out as files."""
    from stillroom.loaders.dump import write_out

    folder.mkdir()
    write_out(kitchen, folder)
    return folder


def test_written_out_and_built_again_the_name_and_the_id_are_there(
    kitchen: Path, db: sqlite3.Connection, tmp_path: Path
) -> None:
    """Dish, sub-recipe and a name to come; twice written out it is the same to the byte."""
    from stillroom.loaders.same import differences

    put(db, BRILL, 7, "Brill, burnt leek")
    put(db, BRILL, 8, "Brill of the new year", "2027-01-02")
    put_crumb(db, "Walnut dust")
    append(db, "tastings", {"request_id": "t", "actor": "Ann", "origin": "web", "recipe_id": BRILL[0], "version": 7,
                            "tasted_on": "2026-11-25", "score": 7, "words": "Good"})  # fmt: skip
    apply(db)
    out = written(kitchen, tmp_path / "out")
    text = "".join(p.read_text() for p in sorted((out / "recipes").iterdir()))
    assert "name: Brill, burnt leek\nfirst called: Brill and leeks\n" in text
    assert "name: Walnut dust\nfirst called: Walnut crumb\n" in text and "1 batch Walnut dust" in text
    again = build(out, tmp_path / "again.db")
    assert again.errors == 0, again.problems
    assert differences(kitchen, tmp_path / "again.db") == []
    twice = written(tmp_path / "again.db", tmp_path / "twice")
    assert {p.name: p.read_bytes() for p in out.rglob("*") if p.is_file()} == {
        p.name: p.read_bytes() for p in twice.rglob("*") if p.is_file()
    }


def own_files(folder: Path, *changes: tuple[str, str]) -> Path:
    """The small kitchen's files with changes in its recipes."""
    shutil.copytree(MINI, folder)
    book = folder / "recipes" / "book.yaml"
    text = book.read_text()
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    book.write_text(text)
    return folder


def test_files_may_rename_a_recipe_and_keep_what_is_its_own(tmp_path: Path) -> None:
    """Its id is that of its first name; lines, pars, logs and trials that say that name mean it."""
    changes = (("name: Leek cream\n", "name: Leek silk\nfirst called: Leek cream\n"),
               ("name: Brill and leeks\n", "name: Brill, burnt leek\nfirst called: Brill and leeks\n"))  # fmt: skip
    result = build(own_files(tmp_path / "files", *changes), tmp_path / "k.db")
    assert result.errors == 0, result.problems
    plain = build(MINI, tmp_path / "plain.db")
    assert plain.errors == 0
    with sqlite3.connect(tmp_path / "k.db") as one, sqlite3.connect(tmp_path / "plain.db") as other:
        assert dict(one.execute("select id, name from recipes"))["leek-cream"] == "Leek silk"
        for what in ("id from recipes", "recipe_id, position, item_id, sub_recipe_id, line from components",
                     "trial_id, version, began_from from trial_versions", "recipe_id, words from tastings",
                     "recipe_id, quantity from pars", "trial_id, dish_id from promotions"):  # fmt: skip
            rows = [sorted(file.execute(f"select {what}"), key=str) for file in (one, other)]
            assert rows[0] == rows[1] != [], what


def test_files_that_hold_the_renamed_dish_are_taken_as_they_are(kitchen: Path, db: sqlite3.Connection) -> None:
    """With version, name and first name, as the warning says: nothing is told any more."""
    put(db, BRILL, 7, "Brill, burnt leek")
    apply(db)
    head = "name: Brill, burnt leek\nfirst called: Brill and leeks\nversion: 7\n"
    files = own_files(kitchen.parent / "files", ("name: Brill and leeks\n", head))
    result = build(files, kitchen)
    assert result.errors == 0 and "Brill" not in str([p for p in result.problems if p.code == "promotion-kept"])
    assert name_of(db, "brill-and-leeks") == "Brill, burnt leek"
    assert db.execute("select count(*) from recipes where name like 'Brill%'").fetchone() == (1,)


def test_files_that_forget_the_first_name_are_told(kitchen: Path, db: sqlite3.Connection) -> None:
    """Else there would be two dishes of one name; nothing is written."""
    put(db, BRILL, 7, "Brill, burnt leek")
    apply(db)
    files = own_files(kitchen.parent / "files", ("name: Brill and leeks\n", "name: Brill, burnt leek\nversion: 7\n"))
    (files / "trial_versions.csv").unlink()
    (files / "tastings.csv").unlink()
    (told,) = [p for p in build(files, kitchen).problems if p.severity == "error"]
    assert told.code == "promotion-unread" and "there is the recipe Brill, burnt leek of that name" in told.what
    assert told.fix.startswith("write `first called: Brill and leeks` in the recipe")
    assert name_of(db, "brill-and-leeks") == "Brill, burnt leek"
