"""What if a cut gave more or less: the same as a kitchen whose files say so, whatever the way to it."""

from __future__ import annotations

import re
import shutil
import sqlite3
from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction as F
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from stillroom.db.connect import tune
from stillroom.loaders.build import build
from stillroom.plugins.costing.butcher import BY_VALUE, BY_WEIGHT
from stillroom.plugins.costing.compute import Choice, Sheet, cost_all
from stillroom.plugins.costing.house import MEASURED, SPEC, Breakdown, ByProduct, Component, House, Item, Recipe
from stillroom.plugins.costing.prices import LAST, Known, Lot
from stillroom.plugins.costing.rows import read_house, read_sheet
from stillroom.plugins.costing.whatif import Change, apply, what_if
from stillroom.plugins.costing.whatif_cuts import NotPossible, usable_now

DEMO = Path(__file__).parents[3] / "db" / "demo"
CHOICE = Choice("2026-11-25", LAST)
trims = {"brill": ("Brill portion", "trim: 40 %", "trim: 50 %"), "beef": ("Beef rib steak", "trim: 26 %", "trim: 25 %"),
         "saddle": ("Mutton loin chop", "trim: 30 %", "trim: 45 %")}  # fmt: skip
CHANGES = {
    "brill": (Change("brill", edible=F(1, 2)), Change(cut="brill-portion", usable=F(1, 2))),
    "beef": (Change("beef-rib-bone-in", edible=F(66, 100)), Change(cut="beef-rib-steak", usable=F(66, 100))),
    "saddle": (
        Change("marsh-mutton-saddle", edible=F(91 * 55, 10_000)),
        Change(cut="mutton-loin-chop", usable=F(91 * 55, 10_000)),
    ),
}


@pytest.fixture(scope="module")
def changed(tmp_path_factory: pytest.TempPathFactory) -> Sheet:
    """The demonstration kitchen with three other trims in its files, costed."""
    folder = shutil.copytree(DEMO, tmp_path_factory.mktemp("files") / "kitchen")
    cuts = folder / "recipes" / "cuts.yaml"
    text = cuts.read_text("utf-8")
    for name, old, new in trims.values():
        text, count = re.subn(rf"(name: {name}\n(?:(?!---).*\n)*?){old}", rf"\g<1>{new}", text)
        assert count == 1
    cuts.write_text(text, "utf-8")
    path = folder.parent / "kitchen.db"
    assert build(folder, path).errors == 0
    return _sheet(path)


def _sheet(path: Path) -> Sheet:
    connection = sqlite3.connect(path)
    tune(connection)
    found = read_sheet(connection, CHOICE)
    read_house(connection, CHOICE.day)
    connection.close()
    return found


@pytest.mark.parametrize("piece", CHANGES)
@pytest.mark.parametrize("way", [0, 1], ids=["item", "cut"])
def test_as_the_changed_files_cost(demo_db: Path, changed: Sheet, piece: str, way: int) -> None:
    """To the last digit: the cut, and every dish that it alone moves."""
    now = _sheet(demo_db)
    change = CHANGES[piece][way]
    then = apply(now.house, now, change)
    cut = CHANGES[piece][1].cut
    assert then.costs.of(cut) == changed.costs.of(cut) != now.costs.of(cut)
    moved = what_if(now.house, now, change, {})
    assert moved
    others = {c.cut for _, c in CHANGES.values()} - {cut}
    alone = [m for m in moved if m.id not in now.book.reach(others)]
    assert alone and all(m.after == changed.costs.of(m.id) for m in alone)


def piece(method: str, yields: str, trim: dict[str, F] | None = None) -> House:
    """Saddle, a tenth lost by hanging, into loin and neck with fat and bones; broken down twice; a dish of both."""
    trim = trim or {"loin": F(1, 2), "neck": F(3, 4)}
    markets = {"loin": F(20), "neck": F(8)}
    recipes = {
        name: Recipe(name, name, "cut", F(1), "each", shrink=F(1, 10), trim=trim[name], portion=F(100), joint="saddle",
                     market=markets[name] / 1000)
        for name in trim
    }  # fmt: skip
    recipes["dish"] = Recipe("dish", "dish", "dish", F(1), "each", price=F(30))
    lines = [
        Component(n, name, "saddle", None, F(100) / (F(9, 10) * (1 - trim[name])), None, "")
        for n, name in enumerate(trim, 1)
    ]
    parts = {"fat": F(500), "bones": F(1000)}
    broken = [Breakdown("b1", "loin", "2026-03-01", F(9000), {"loin": F(4000), "neck": F(2100)}, parts),
              Breakdown("b2", "loin", "2026-03-02", F(9100), {"loin": F(4300), "neck": F(2200)}, parts)]  # fmt: skip
    return House(
        items={i: Item(i, i, "g", "meat") for i in ("saddle", "fat", "bones")},
        recipes=recipes,
        components=[
            *lines,
            Component(9, "dish", None, "loin", F(2), None, ""),
            Component(10, "dish", None, "neck", F(1), None, ""),
        ],
        by_products=[
            ByProduct("loin", "fat", lines[0].quantity / 20, F(1, 1000)),
            ByProduct("loin", "bones", lines[0].quantity / 10, F(1, 2000)),
            ByProduct("neck", "bones", lines[1].quantity / 50, F(1, 2500)),
        ],
        known={"saddle": Known((Lot("2026-03-01", "a", F(10_000), F(100)),))},
        breakdowns=broken if yields == MEASURED else [],
        joint_method=method,
    )


shares = st.fractions(F(1, 10), F(3, 8), max_denominator=40)


@given(shares, st.sampled_from([BY_WEIGHT, BY_VALUE]))
def test_cuts_of_one_piece_share_what_one_of_them_leaves(loin: F, method: str) -> None:
    """One cut of a joint gives another share: both carry another part, as with that trim in the file."""
    now = cost_all(piece(method, SPEC), CHOICE)
    then = apply(now.house, now, Change(cut="loin", usable=loin))
    files = cost_all(piece(method, SPEC, {"loin": 1 - loin / F(9, 10), "neck": F(3, 4)}), CHOICE)
    assert [then.costs.of(r) for r in ("loin", "neck", "dish")] == [files.costs.of(r) for r in ("loin", "neck", "dish")]


@given(shares)
def test_the_items_yield_is_that_of_all_its_cuts(share: F) -> None:
    """Loin and neck are two to one of what is sold, and stay so."""
    now = cost_all(piece(BY_WEIGHT, SPEC), CHOICE)
    then = apply(now.house, now, Change("saddle", edible=share))
    sold = {"loin": share * 2 / 3, "neck": share / 3}
    files = cost_all(piece(BY_WEIGHT, SPEC, {r: 1 - x / F(9, 10) for r, x in sold.items()}), CHOICE)
    assert [then.costs.of(r) for r in sold] == [files.costs.of(r) for r in sold]


def test_as_measured_the_same_yield_moves_nothing() -> None:
    """The measured share typed in is what is there; by-products stay as measured, those named twice counted once."""
    now = cost_all(piece(BY_WEIGHT, MEASURED), replace(CHOICE, yields=MEASURED))
    share = usable_now(now.house, now, "loin")
    assert share == F(83, 181) * F(9, 10)
    assert what_if(now.house, now, Change(cut="loin", usable=share), {}) == []
    assert what_if(now.house, now, Change("saddle", edible=share + usable_now(now.house, now, "neck")), {}) == []
    (moved,) = what_if(now.house, now, Change(cut="loin", usable=share * F(9, 10)), {})
    assert moved.by is not None and moved.by > 0


def test_measured_by_products_are_credited_once() -> None:
    """Both cuts name bones: the kilogram that a piece left is credited once, whichever way it is asked."""
    sheet = cost_all(piece(BY_WEIGHT, MEASURED), replace(CHOICE, yields=MEASURED))
    portions = {"loin": F(8300, 100), "neck": F(4300, 100)}  # of both breakdowns
    credits = F(1000) * F(1, 1000) + F(2000) * F(1, 2000)
    bought = F(18_100) / F(9, 10) * F(1, 100)
    assert sum(n * (sheet.costs.of(r) or F(0)) for r, n in portions.items()) == bought - credits


def refused(change: Callable[[Sheet], Change]) -> str:
    sheet = cost_all(piece(BY_WEIGHT, SPEC), CHOICE)
    with pytest.raises(NotPossible) as told:
        apply(sheet.house, sheet, change(sheet))
    return str(told.value)


def test_what_cannot_come_out_of_a_piece_is_refused() -> None:
    """More than hanging leaves; more with what else comes out; nothing; no cut of that name."""
    assert "after shrink 90 % is left" in refused(lambda _: Change(cut="loin", usable=F(95, 100)))
    assert "would weigh 102.5 %" in refused(lambda _: Change(cut="loin", usable=F(63, 100)))
    assert "above 0 %" in refused(lambda _: Change(cut="loin", usable=F(0)))
    assert "no such cut" in refused(lambda _: Change(cut="dish", usable=F(1, 2)))
