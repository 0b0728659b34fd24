"""Drafts read as files are, versions that become dishes, and what a load leaves of them."""

from __future__ import annotations

import shutil
import sqlite3
from datetime import date
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from stillroom.db.drafts import Draft, DraftLine, check_in, draft_of, loop, read_lines, write_lines
from stillroom.db.explosion import read_graph
from stillroom.db.graph import paths
from stillroom.db.log import append
from stillroom.db.promotions import Unread, apply_due, become, standing
from stillroom.db.recipe_lines import names_of
from stillroom.loaders.build import build

MINI = Path(__file__).parents[1] / "data" / "mini"
TODAY = date(2026, 11, 25)
NOW = "2026-11-25T12:00:00Z"


def version(db: sqlite3.Connection, number: int, lines: str, **more: Any) -> None:
    """One version of the trial of a dish."""
    row = {
        "request_id": f"v-{more.get('trial_id', '')}{number}-{lines[:9]}", "actor": "Marit", "origin": "web",
        "trial_id": "brill-and-leeks", "trial": "Brill and leeks", "version": number, "written_on": "2026-11-20",
        "yield_text": "2 plates", "lines": lines, **more,
    }  # fmt: skip
    append(db, "trial_versions", row)


def promote(db: sqlite3.Connection, number: int, on: str, **more: Any) -> None:
    """A promotion of that trial."""
    row = {
        "request_id": f"p-{number}-{on}", "actor": "Marit", "origin": "web", "trial_id": "brill-and-leeks",
        "trial": "Brill and leeks", "version": number, "dish_id": "brill-and-leeks", "decided_on": "2026-11-20",
        "from_on": on, **more,
    }  # fmt: skip
    append(db, "promotions", row)


def lines_of(db: sqlite3.Connection, recipe: str) -> list[str]:
    """A recipe's lines as they stand."""
    return [x for (x,) in db.execute("select line from components where recipe_id = ? order by position", (recipe,))]


def items_of(db: sqlite3.Connection, recipe: str) -> dict[str, Fraction]:
    """What the explosion says is in one unit of a recipe's yield."""
    found: dict[str, Fraction] = {}
    for item, quantity in db.execute("select item_id, quantity from explosion where recipe_id = ?", (recipe,)):
        found[item] = found.get(item, Fraction(0)) + Fraction(quantity)
    return found


def check(db: sqlite3.Connection, draft: Draft, recipe: str = "new") -> Any:
    """A draft against the kitchen."""
    return check_in(db, draft, recipe, names_of(db))


def test_a_dish_as_a_draft_is_the_dish(db: sqlite3.Connection) -> None:
    """Nothing is lost on the way into a draft: the same components come out of it, and its text reads back."""
    draft = draft_of(db, "brill-and-leeks")
    assert draft is not None and draft.lines[2] == DraftLine("40 g Brown butter", can_be_left_off=True)
    assert read_lines(write_lines(draft.lines)) == draft.lines
    checked = check(db, draft, "brill-and-leeks")
    assert checked.problems == {} and checked.made == 2 and str(checked.price) == "26"
    kept = db.execute("select quantity from components where recipe_id = 'brill-and-leeks' order by position")
    assert [c.read.quantity for c in checked.components] == [Fraction(q) for (q,) in kept]
    assert draft_of(db, "lamb-chop") is None and draft_of(db, "nothing") is None


def test_what_stands_behind_a_bar_is_read_back() -> None:
    """Left off, edible part and scaling survive text, whatever case they are typed in."""
    line = DraftLine("60 g leeks, fine", True, "62 %", "salt")
    assert read_lines(f"{line}\n\n  2 ea lemons | CAN BE LEFT OFF\n") == (line, DraftLine("2 ea lemons", True))


@pytest.mark.parametrize(
    ("line", "words"),
    [("2 qt unobtainium", "there is no"), ("2-3 lemons", "range"), ("1 cup leeks", "leeks: nothing says"),
     ("0 g leeks", "not above zero"), ("5O g leeks", "not a number"), ("leeks", "says no quantity"),
     ("1 batch New", "there is no"), ("x" * 400, "longer")],
)  # fmt: skip
def test_each_wrong_line_is_told_at_its_field(db: sqlite3.Connection, line: str, words: str) -> None:
    """The field is named, the others are read all the same."""
    found = check(db, Draft("New", yield_text="1 plate", lines=(DraftLine("100 g brill"), DraftLine(line))))
    assert list(found.problems) == ["line2"] and words in found.problems["line2"].what
    assert [c.read.thing.id for c in found.components] == ["brill"]


def test_wrong_fields_of_the_head_are_told(db: sqlite3.Connection) -> None:
    """Yield, price, target, station, surface: each in its own words."""
    bad = Draft("New", yield_text="", price="12,50", target_cost="300 %", station="Moon", surfaces=("Moon",))
    assert set(check(db, bad).problems) == {"yield", "price", "target", "station", "surfaces"}


def test_a_loop_is_named_whole(db: sqlite3.Connection) -> None:
    """Leek cream with the plate that uses it: the ring is said from end to end."""
    draft = Draft("Leek cream", "sub-recipe", yield_text="1 kg", lines=(DraftLine("1 ea Brill and leeks"),))
    found = check(db, draft, "leek-cream")
    assert "Brill and leeks" in found.problems["line1"].what and found.problems["line1"].code == "loop"
    ring = found.problems["line1"].what.removeprefix("a recipe uses itself: ").split(" > ")
    assert ring[0] == ring[-1] and set(ring) == {"Leek cream", "Brill and leeks"}
    own = Draft("New", yield_text="1 plate", lines=(DraftLine("1 batch Leek cream"),))
    assert check(db, own).problems == {} and loop(db, "new", check(db, own).components) == []
    itself = Draft("Leek cream", "sub-recipe", yield_text="1 kg", lines=(DraftLine("1 batch Leek cream"),))
    assert check(db, itself, "leek-cream").problems["line1"].code == "loop"


def test_a_promoted_version_is_the_dish_at_once(db: sqlite3.Connection) -> None:
    """Lines, explosion and levels are those that a load of the same recipe would make."""
    version(db, 7, "300 g brill\n100 g Leek cream\n20 ml rapeseed oil | can be left off", price="28")
    promote(db, 7, "2026-11-25")
    assert apply_due(db, TODAY, NOW) == ["brill-and-leeks"]
    assert lines_of(db, "brill-and-leeks") == ["300 g brill", "100 g Leek cream", "20 ml rapeseed oil"]
    yields, lines = read_graph(db)
    fresh = paths(yields, lines)["brill-and-leeks"]
    kept = db.execute("select quantity, removable_id is not null from explosion where recipe_id = 'brill-and-leeks'")
    assert [(p.quantity, p.removable is not None) for p in fresh] == [(Fraction(q), bool(r)) for q, r in kept]
    assert "butter" not in items_of(db, "brill-and-leeks") and items_of(db, "brill-and-leeks")["brill"] == 150
    head = db.execute("select menu_price, version, from_on, status, station_id from recipes where id='brill-and-leeks'")
    assert head.fetchone() == ("28", 7, "2026-09-01", "active", None)
    assert db.execute("pragma foreign_key_check").fetchall() == []
    assert apply_due(db, TODAY, NOW) == []


def test_a_day_to_come_changes_nothing_before_it(db: sqlite3.Connection) -> None:
    """A dish that is served stays as it is until the day; then it is the version."""
    version(db, 7, "300 g brill")
    promote(db, 7, "2026-12-01")
    assert apply_due(db, TODAY, NOW) == [] and len(lines_of(db, "brill-and-leeks")) == 4
    assert apply_due(db, date(2026, 12, 1), NOW) == ["brill-and-leeks"]
    assert lines_of(db, "brill-and-leeks") == ["300 g brill"]


def test_the_last_promotion_in_force_counts(db: sqlite3.Connection) -> None:
    """Version 7, then back to version 1: the later day wins, whichever number is higher."""
    version(db, 7, "300 g brill")
    promote(db, 7, "2026-11-20")
    promote(db, 1, "2026-11-24")
    apply_due(db, TODAY, NOW)
    assert len(lines_of(db, "brill-and-leeks")) == 4
    assert standing(db)["brill-and-leeks"][-1].version == 1


def test_a_new_dish_is_there_before_its_first_day(db: sqlite3.Connection) -> None:
    """The small kitchen's mussel pot comes on 1 December: it can be costed now, and is on no menu yet."""
    row = db.execute("select name, status, from_on, version from recipes where id = 'mussel-pot'").fetchone()
    assert row == ("Mussel pot", "active", "2026-12-01", 1)
    assert items_of(db, "mussel-pot") == {"mussels": 500, "cream": 50}


def test_what_uses_a_promoted_sub_recipe_follows(db: sqlite3.Connection) -> None:
    """A whole batch of walnut crumb is 500 g now, so the leek cream takes more of it, and the plate too."""
    before = items_of(db, "brill-and-leeks")["walnuts"]
    version(db, 1, "400 g walnuts\n100 g flour", trial_id="walnut-crumb", trial="Walnut crumb", kind="sub-recipe",
            yield_text="500 g")  # fmt: skip
    promote(db, 1, "2026-11-25", trial_id="walnut-crumb", trial="Walnut crumb", dish_id="walnut-crumb")
    apply_due(db, TODAY, NOW)
    quantity = db.execute("select quantity from components where line = '1 batch Walnut crumb'").fetchone()
    assert quantity == ("500",) and items_of(db, "brill-and-leeks")["walnuts"] == 2 * before


def test_a_yield_that_its_users_cannot_take_is_refused(db: sqlite3.Connection) -> None:
    """Leek cream in pieces: the plate takes it by weight, and nothing says what a piece weighs."""
    version(db, 1, "1 kg leeks", trial_id="leek-cream", trial="Leek cream", kind="sub-recipe", yield_text="4 ea")
    promote(db, 1, "2026-11-25", trial_id="leek-cream", trial="Leek cream", dish_id="leek-cream")
    with pytest.raises(Unread) as caught:
        become(db, standing(db)["leek-cream"][0])
    assert "Leek cream" in caught.value.problems["yield"].what


def test_a_load_keeps_what_was_promoted(kitchen: Path, db: sqlite3.Connection) -> None:
    """The files still hold the old dish: the version stays. They say `version: 7` with other lines: the files count."""
    version(db, 7, "300 g brill\n20 ml rapeseed oil")
    promote(db, 7, "2026-11-25")
    apply_due(db, TODAY, NOW)
    again = build(MINI, kitchen)
    assert again.errors == 0
    told = [p.what for p in again.problems if p.code == "promotion-kept"]
    assert '"Brill and leeks" is version 7 of its trial, which the files do not hold yet' in told
    assert db.execute("select count(*) from warnings where code = 'promotion-kept'").fetchone() == (len(told),)
    assert lines_of(db, "brill-and-leeks") == ["300 g brill", "20 ml rapeseed oil"]
    assert "butter" not in items_of(db, "brill-and-leeks")
    files = kitchen.parent / "files"
    shutil.copytree(MINI, files)
    book = files / "recipes" / "book.yaml"
    book.write_text(book.read_text().replace("yield: 2 plates", "yield: 2 plates\nversion: 7"))
    settled = build(files, kitchen)
    assert settled.errors == 0 and "Brill" not in str([p for p in settled.problems if p.code == "promotion-kept"])
    assert len(lines_of(db, "brill-and-leeks")) == 4


def test_a_load_that_lost_an_item_of_a_promoted_version_says_so(kitchen: Path, db: sqlite3.Connection) -> None:
    """Nothing is written, and the words name trial, version, day and line."""
    version(db, 7, "300 g brill\n20 ml rapeseed oil")
    promote(db, 7, "2026-11-25")
    files = kitchen.parent / "files"
    shutil.copytree(MINI, files)
    for name in ("items.csv", "products.csv", "substitutes.csv", "trial_versions.csv"):
        rows = (files / name).read_text().splitlines(keepends=True)
        (files / name).write_text("".join(r for r in rows if "rapeseed" not in r) if "trial" not in name else rows[0])
    (files / "tastings.csv").unlink()
    (files / "promotions.csv").unlink()
    loads = db.execute("select count(*) from loads").fetchone()
    result = build(files, kitchen)
    (told,) = [p for p in result.problems if p.severity == "error"]
    assert told.code == "promotion-unread" and "rapeseed oil" in told.what and "version 7" in str(told.place)
    assert db.execute("select count(*) from loads").fetchone() == loads
    assert len(lines_of(db, "brill-and-leeks")) == 4


def test_a_recipe_of_two_hundred_components_is_promoted_whole(db: sqlite3.Connection) -> None:
    """Order, number and explosion hold."""
    version(db, 7, "\n".join(f"{n} g {'leeks' if n % 2 else 'salt'}" for n in range(1, 201)))
    promote(db, 7, "2026-11-25")
    apply_due(db, TODAY, NOW)
    assert len(lines_of(db, "brill-and-leeks")) == 200
    assert items_of(db, "brill-and-leeks") == {"leeks": 5000, "salt": 5050}


def test_written_out_and_built_again_nothing_is_lost(kitchen: Path, db: sqlite3.Connection, tmp_path: Path) -> None:
    """Versions, a promotion in force, one to come, notes on a trial from nothing: the same dish, tables and bytes."""
    from stillroom.loaders.dump import write_out
    from stillroom.loaders.same import differences

    lines = "300 g brill, off the bone\n20 ml rapeseed oil | can be left off | does not scale: taste"
    version(db, 7, lines, price="28",
            method="Grill.\nDress.", surfaces="Charcoal grill", station="Grill")  # fmt: skip
    version(db, 1, "40 g walnuts", trial_id="walnut-pot", trial="Walnut pot", yield_text="1 plate")
    promote(db, 7, "2026-11-25")
    promote(db, 1, "2027-01-05")
    append(db, "tastings", {"request_id": "t", "actor": "Ann", "origin": "web", "recipe_id": "walnut-pot", "version": 1,
                            "tasted_on": "2026-11-25", "score": 7, "words": "More, \"please\""})  # fmt: skip
    apply_due(db, TODAY, NOW)
    (tmp_path / "out").mkdir()
    write_out(kitchen, tmp_path / "out")
    assert "version: 7" in "".join(p.read_text() for p in (tmp_path / "out").rglob("*.yaml"))
    result = build(tmp_path / "out", tmp_path / "again.db")
    assert result.errors == 0, result.problems
    assert differences(kitchen, tmp_path / "again.db") == []
    again = sqlite3.connect(tmp_path / "again.db", isolation_level=None)
    assert lines_of(again, "brill-and-leeks") == lines_of(db, "brill-and-leeks")
    assert apply_due(again, TODAY, NOW) == []
    assert len(standing(again)["brill-and-leeks"]) == 2
    again.close()
