"""Allergen lists against the laws and standards that make them; no test rests on memory alone."""

from __future__ import annotations

import sqlite3

import pytest

LAW, CAUTION = ("read", "read-excerpt"), ("common practice", "memory")
JUGLANS = {"black_walnut", "california_walnut", "heartnut"}
FDA_TWELVE = {
    "almond", "black_walnut", "brazil_nut", "california_walnut", "cashew", "hazelnut", "heartnut",
    "macadamia", "pecan", "pine_nut", "pistachio", "walnut",
}  # fmt: skip
ANNEX_II_EIGHT = {"almond", "hazelnut", "walnut", "cashew", "pecan", "brazil_nut", "pistachio", "macadamia"}
ANNEX_II = {
    "gluten_cereal", "crustacean", "egg", "fish", "peanut", "soy", "milk", "tree_nut", "celery", "mustard",
    "sesame", "sulphite", "lupin", "mollusc",
}  # fmt: skip


def codes(db: sqlite3.Connection, regime: str) -> set[str]:
    """What a regime says must be declared."""
    return {
        c
        for (c,) in db.execute(
            "select code from allergen_regimes where regime = ? and is_listed = 1", (regime,)
        )
    }


def group(db: sqlite3.Connection, regime: str, code: str) -> set[str]:
    """The allergens that count as one of a regime's group."""
    rows = db.execute("select allergen_id from allergen_groups where regime = ? and code = ?", (regime, code))
    return {a for (a,) in rows}


def test_the_eu_declares_fourteen(db: sqlite3.Connection) -> None:
    """Source: Regulation (EU) 1169/2011, Annex II (read in Polish, German, French and English copies)."""
    assert codes(db, "EU") == ANNEX_II
    assert len(ANNEX_II) == 14


def test_the_uk_declares_the_same_fourteen(db: sqlite3.Connection) -> None:
    """Source: Food Information Regulations 2014 with Regulation 1169/2011 as kept; Food Standards Scotland's list."""
    assert codes(db, "UK") == ANNEX_II


@pytest.mark.parametrize("regime", ["EU", "UK"])
def test_annex_ii_names_eight_nuts(db: sqlite3.Connection, regime: str) -> None:
    """Source: Annex II point 8; walnut is Juglans regia, its kin count for caution. No pine nut."""
    nuts = group(db, regime, "tree_nut") - {"tree_nut"}
    assert nuts - JUGLANS == ANNEX_II_EIGHT
    assert not nuts & {"pine_nut", "chestnut", "coconut"}


@pytest.mark.parametrize("regime", ["EU", "UK"])
def test_annex_ii_names_its_cereals(db: sqlite3.Connection, regime: str) -> None:
    """Source: Annex II point 1: wheat (such as spelt and khorasan), rye, barley, oats, their hybrids."""
    cereals = group(db, regime, "gluten_cereal")
    assert {"wheat", "spelt", "khorasan", "rye", "barley", "oats", "triticale"} <= cereals
    assert "buckwheat" not in cereals


def test_the_us_declares_nine(db: sqlite3.Connection) -> None:
    """Source: FALCPA 2004 (eight) and the FASTER Act 2021 (sesame); Minnesota Department of Agriculture."""
    assert codes(db, "US") == {
        "milk",
        "egg",
        "fish",
        "crustacean",
        "tree_nut",
        "wheat",
        "peanut",
        "soy",
        "sesame",
    }


def test_the_fda_lists_twelve_tree_nuts(db: sqlite3.Connection) -> None:
    """Source: FDA Q&A on food allergens, Edition 5, January 2025, Table 1, as Wisconsin DATCP copies it."""
    assert group(db, "US", "tree_nut") - {"tree_nut"} == FDA_TWELVE
    assert len(FDA_TWELVE) == 12


@pytest.mark.parametrize("nut", ["chestnut", "coconut"])
def test_a_nut_that_the_fda_took_off_can_still_be_asked(db: sqlite3.Connection, nut: str) -> None:
    """Source: the same Edition 5, which removed both. No regime lists them; the guest page offers them."""
    assert db.execute("select count(*) from allergens where id = ?", (nut,)).fetchone() == (1,)
    assert db.execute("select count(*) from allergen_groups where allergen_id = ?", (nut,)).fetchone() == (0,)


def test_us_wheat_is_wheat_alone(db: sqlite3.Connection) -> None:
    """Source: FALCPA names wheat, not gluten: no barley, rye or oats. A cereal unsaid which counts."""
    wheat = group(db, "US", "wheat")
    assert {"wheat", "spelt", "durum", "gluten_cereal"} <= wheat
    assert not wheat & {"barley", "rye", "oats"}


@pytest.mark.parametrize(
    ("regime", "lists"),
    [("US", False), ("EU", True), ("UK", True), ("CA", True), ("ANZ", True), ("CODEX_1999", False)],
)
def test_molluscs_are_an_allergen_in_some_laws(db: sqlite3.Connection, regime: str, lists: bool) -> None:
    """Source: Annex II point 14, Health Canada and FSANZ list them; section 201(qq) and CXS 1-1985 do not."""
    assert ("mollusc" in codes(db, regime)) is lists
    assert any("oyster" in group(db, regime, c) for c in codes(db, regime)) is lists


def test_canada_declares_its_list(db: sqlite3.Connection) -> None:
    """Source: Health Canada, priority food allergens: nine nuts, mustard and sulphites among them."""
    assert {"mustard", "sulphite", "sesame", "mollusc", "gluten", "wheat"} <= codes(db, "CA")
    assert group(db, "CA", "tree_nut") - {"tree_nut"} - JUGLANS == ANNEX_II_EIGHT | {"pine_nut"}


def test_australia_and_new_zealand_name_each_nut_and_cereal(db: sqlite3.Connection) -> None:
    """Source: Food Standards Code 1.2.3 and Schedule 9 (NSW Food Authority's table of required names)."""
    assert ANNEX_II_EIGHT | {"pine_nut", "wheat", "barley", "oats", "rye", "lupin", "mollusc"} <= codes(
        db, "ANZ"
    )


@pytest.mark.parametrize("code", ["almond", "walnut", "pine_nut"])
def test_a_label_that_says_only_nuts_is_each_nut(db: sqlite3.Connection, code: str) -> None:
    """Common practice, no source: where kinds are listed one by one, an unsaid kind counts as every kind."""
    assert "tree_nut" in group(db, "ANZ", code)
    assert "gluten_cereal" in group(db, "ANZ", "barley")


def test_codex_before_its_revision(db: sqlite3.Connection) -> None:
    """Source: CXS 1-1985, 4.2.1.4 (foodallergens.info): eight entries, peanut and soy in one."""
    eight = {"gluten_cereal", "crustacean", "egg", "fish", "peanut_soy", "milk", "tree_nut", "sulphite"}
    assert codes(db, "CODEX_1999") == eight
    assert {"wheat", "rye", "barley", "oats", "spelt"} <= group(db, "CODEX_1999", "gluten_cereal")


def test_what_is_remembered_of_codex_takes_no_warning_away(db: sqlite3.Connection) -> None:
    """That CCFL48 revised it was read (natlawreview.com); its shorter list is memory and drops nothing."""
    assert {
        basis for (basis,) in db.execute("select basis from allergen_regimes where regime = 'CODEX_2024'")
    } == {"memory"}
    assert group(db, "CODEX_1999", "gluten_cereal") <= group(db, "CODEX_2024", "gluten_cereal")
    assert ANNEX_II_EIGHT | {"pine_nut"} <= group(db, "CODEX_2024", "tree_nut")


def test_sulphites_begin_at_ten_milligrams(db: sqlite3.Connection) -> None:
    """Source: Annex II point 12 says more than 10 mg/kg; Health Canada and FSANZ say 10 or more."""
    said = dict(
        db.execute("select regime, threshold from allergen_regimes where code = 'sulphite'").fetchall()
    )
    assert said["EU"].startswith("more than 10 mg/kg")
    assert "10" in said["CA"] and "more than" not in said["CA"].split("or more")[0]
    assert said["ANZ"].startswith("10 mg/kg or more")


def test_every_member_of_a_group_says_where_it_comes_from() -> None:
    """Named by the law, or counted in for caution and marked so."""
    from stillroom.db.reference_data import reference_rows

    rows = reference_rows("allergen_groups")
    assert {r["basis"] for r in rows} <= {*LAW, *CAUTION}
    assert not [r for r in rows if not r["source"]]
    kin = [r for r in rows if r["allergen_id"] in JUGLANS and r["regime"] != "US"]
    assert {r["basis"] for r in kin} == {"common practice"}


WORDS = [
    ("whey", "milk"), ("casein", "milk"), ("ghee", "milk"), ("lactalbumin", "milk"), ("albumen", "egg"),
    ("ovalbumin", "egg"), ("lysozyme", "egg"), ("mayonnaise", "egg"),
]  # fmt: skip


@pytest.mark.parametrize(("word", "allergen"), WORDS)
def test_a_word_on_a_label_points_to_its_allergen(db: sqlite3.Connection, word: str, allergen: str) -> None:
    """Source: Minnesota Department of Agriculture, Food Ingredients that May Cause Allergies."""
    found = db.execute(
        "select allergen_id, basis from label_words where word = ? and presence = 'contains'", (word,)
    ).fetchall()
    assert (allergen, "read-excerpt") in found


def test_the_hidden_list_is_among_the_words(db: sqlite3.Connection) -> None:
    """Source: Food Standards Agency, 14 allergens leaflet; USDA SR28 entry 16123 (soy sauce)."""
    rows = set(
        db.execute(
            "select word, allergen_id from label_words"
            " where presence = 'contains' and basis in ('read', 'read-excerpt')"
        ).fetchall()
    )
    assert {
        ("worcestershire-style sauce", "fish"),
        ("worcestershire sauce", "fish"),
        ("soy sauce", "wheat"),
        ("e220", "sulphite"),
    } <= rows
