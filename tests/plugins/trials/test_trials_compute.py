"""Versions differ exactly where they are said to, and a form loses nothing."""

from __future__ import annotations

from fractions import Fraction

from hypothesis import given
from hypothesis import strategies as st
from stillroom.db.drafts import Draft, DraftLine
from stillroom.plugins.core.tried import Worth
from stillroom.plugins.trials.compute import ADDED, CHANGED, GONE, SAME, Part, diff, mean, turned
from stillroom.plugins.trials.form import columns, head_problems, is_same, typed
from stillroom.plugins.trials.money import Money
from stillroom.plugins.trials.said import span, step_words

THINGS = [f"thing {n}" for n in range(6)]
QUANTITIES = st.integers(1, 4).map(Fraction)
VERSIONS = st.dictionaries(st.sampled_from(THINGS), QUANTITIES)


def parts(version: dict[str, Fraction], more: tuple[str, ...] = ()) -> list[Part]:
    """One line for each thing."""
    return [Part(thing, thing, f"{q} g {thing}", q, more) for thing, q in version.items()]


@given(st.lists(VERSIONS, min_size=2, max_size=4))
def test_versions_differ_exactly_where_their_quantities_do(versions: list[dict[str, Fraction]]) -> None:
    """Every thing of any version has one row; each word says what became of it, and nothing else is said."""
    rows = {row.name: row for row in diff([parts(v) for v in versions])}
    assert set(rows) == {thing for v in versions for thing in v}
    for thing, row in rows.items():
        for n in range(1, len(versions)):
            old, new = versions[n - 1].get(thing), versions[n].get(thing)
            word = SAME if old == new else ADDED if old is None else GONE if new is None else CHANGED
            assert row.how[n] == word
        assert row.how[0] == SAME and row.differs == (len({v.get(thing) for v in versions}) > 1)


@given(VERSIONS.filter(bool), st.randoms())
def test_order_and_parting_of_lines_change_nothing(version: dict[str, Fraction], random: object) -> None:
    """The same things in another order, each parted into halves, are the same version."""
    halves = [Part(p.thing, p.name, p.line, (p.each or Fraction(0)) / 2) for p in parts(version)] * 2
    random.shuffle(halves)  # type: ignore[attr-defined]
    assert not any(row.differs for row in diff([parts(version), halves]))


@given(VERSIONS.filter(bool))
def test_what_else_a_line_says_counts(version: dict[str, Fraction]) -> None:
    """The same quantity that can now be left off is another line."""
    assert all(row.how[1] == CHANGED for row in diff([parts(version), parts(version, ("can be left off",))]))


def test_a_larger_batch_of_the_same_is_the_same() -> None:
    """Quantities are for one unit of yield: 2 plates of 200 g and 1 plate of 100 g agree."""
    one, two = Part("x", "x", "100 g x", Fraction(100)), Part("x", "x", "200 g x", Fraction(200) / 2)
    assert diff([[one], [two]])[0].how == (SAME, SAME)


def test_a_line_that_cannot_be_read_is_held_against_its_words() -> None:
    """Unread in both is the same; read in one is another thing."""
    unread = Part("5 g moondust", "5 g moondust", "5 g moondust", None)
    assert diff([[unread], [unread]])[0].how == (SAME, SAME)
    assert [r.how[1] for r in diff([[unread], [Part("m", "moondust", "5 g moondust", Fraction(5))]])] == [GONE, ADDED]


def test_allergens_gained_and_lost() -> None:
    """may contain to contains is a gain; contains to not reviewed is a loss of strength; unsaid is not declared."""
    before = {"milk": "may contain", "eggs": "contains", "fish": "contains", "celery": "not reviewed"}
    after = {"milk": "contains", "eggs": "not reviewed", "celery": "not reviewed", "nuts": "not reviewed"}
    assert turned(before, after) == (["milk", "nuts"], ["eggs", "fish"])


def test_a_kind_that_takes_the_place_of_another_is_told() -> None:
    """Walnut for hazelnut declares nuts as before; where the group turns itself, its kinds are not said again."""
    within = {"hazelnut": ("nuts",), "walnut": ("nuts",), "crab": ("crustaceans",)}
    before = {"nuts": "contains", "hazelnut": "contains", "walnut": "may contain", "crab": "contains"}
    after = {"nuts": "contains", "walnut": "contains", "crustaceans": "not declared"}
    assert turned(before, after, within) == (["walnut"], ["hazelnut", "crab"])
    assert turned({}, {"nuts": "contains", "walnut": "contains"}, within) == (["nuts"], [])
    assert turned({"nuts": "contains", "hazelnut": "contains"}, {"nuts": "may contain"}, within) == ([], ["nuts"])


def test_a_mean_of_nothing_is_not_known() -> None:
    """No score is no score, not nought."""
    assert mean([]) is None and mean([None]) is None and mean([7, None, 8]) == Fraction(15, 2)


def test_money_is_incomplete_where_anything_is_missing() -> None:
    """No cost, no margin; no price, no margin; a kilogram of a sub-recipe is a thousand grams of it."""
    lacking = Money("dish", "each", Worth(None, ("no price for swede",)), Fraction(30))
    assert lacking.cost == "incomplete" and lacking.margin is None and lacking.share == "–"
    full = Money("dish", "each", Worth(Fraction(6)), Fraction(30))
    assert (full.cost, full.said_margin, full.share, full.unit) == ("6.00", "24.00", "20.0 %", "plate")
    assert Money("sub-recipe", "g", Worth(Fraction(1, 100)), None).cost == "10.00"
    assert Money("dish", "each", None, None).as_json()["incomplete"] == ["prices"]


def test_steps_are_said_as_cooks_say_them() -> None:
    """°C in a metric kitchen, °F as written elsewhere."""
    step = ("bath", 134.6, 57.0, None, None, 9000.0, None, 0)
    assert step_words(step, is_metric=True) == "bath 57 °C, 2 h 30 min"
    ramp = ("bath", 68.0, 20.0, 140.0, 60.0, 1800.0, None, 0)
    assert step_words(ramp, is_metric=True) == "bath 20 °C to 60 °C, 30 min"
    assert step_words(("grill", 572.0, None, None, None, None, 125.6, 1), is_metric=False) == (
        "grill 572 °F, until the core is at 125.6 °F, turned once"
    )
    assert [span(s) for s in (None, 20.0, 60.0, 7200.0)] == ["", "20 s", "1 min", "2 h"]


def test_a_form_keeps_what_was_typed() -> None:
    """Lines in their order, what stands behind a bar, ticks, surfaces; empty lines are left out."""
    fields = {
        "rows": "4", "line1": " 60 g  leeks ", "edible1": "62 %", "line2": "", "off2": "on",
        "line3": "2 ea lemons | can be left off", "line4": "salt", "scales4": "salt", "paste": "1 kg brill\n\n",
        "yield": "1 plate", "price": "12,5O", "over_Fryer A": "on", "method": "Stir.\n\n  Serve. ", "seen": "3",
        "based_on": "2", "request": "r1", "act": "more", "note": "less salt",
    }  # fmt: skip
    sent = typed(fields, "Soup")
    assert sent.draft.lines == (
        DraftLine("60 g leeks", edible="62 %"), DraftLine("2 ea lemons", True), DraftLine("salt", scales="salt"),
        DraftLine("1 kg brill"),
    )  # fmt: skip
    assert (sent.draft.price, sent.draft.surfaces, sent.draft.method) == ("12,5O", ("Fryer A",), ("Stir.", "Serve."))
    assert (sent.seen, sent.based_on, sent.act, sent.spare) == (3, 2, "more", 12)
    kept = columns(sent.draft, ("soup", "Soup"), 4, 2, None)
    assert kept["lines"].splitlines()[1] == "2 ea lemons | can be left off"  # type: ignore[attr-defined]


def test_heads_that_cannot_be() -> None:
    """No name, a name that is a page, a name that is taken, nothing in it, too much in it."""
    ok = typed({"rows": "1", "line1": "1 kg leeks", "request": "r", "name": "Leek pie"}, "")
    assert head_problems(ok.draft, ok, [], "") == {}
    for name, taken in (("", []), ("New", []), ("***", []), ("x" * 90, []), ("Leek pie", ["the recipe Leek pie"])):
        sent = typed({"rows": "1", "line1": "1 kg leeks", "request": "r", "name": name}, "")
        assert set(head_problems(sent.draft, sent, taken, "")) == {"name"}, name
    empty = typed({"rows": "1", "request": "r", "kind": "cut"}, "Soup")
    assert set(head_problems(empty.draft, empty, [], "Soup")) == {"paste", "kind"}
    many = typed({"paste": "1 g salt\n" * 1001}, "Soup")
    assert set(head_problems(many.draft, many, [], "Soup")) == {"paste", "form"}


def test_a_version_may_have_another_name() -> None:
    """The form's; the trial's where a form has no such field. It may be a page's: the address is made already."""
    fields = {"rows": "1", "line1": "1 kg leeks", "request": "r"}
    for typed_name, name in ((" Leek  potage ", "Leek potage"), ("New", "New"), (None, "Soup")):
        sent = typed(fields | ({} if typed_name is None else {"name": typed_name}), "Soup")
        assert sent.draft.name == name and head_problems(sent.draft, sent, [], "Soup") == {}
        kept = columns(sent.draft, ("soup", "Soup"), 2, 1, None)
        assert (kept["trial_id"], kept["trial"], kept["name"]) == ("soup", "Soup", name)
    assert not is_same(Draft("Soup"), Draft("Potage"))
    for name in ("", "***", "x" * 81):
        sent = typed(fields | {"name": name}, "Soup")
        assert set(head_problems(sent.draft, sent, [], "Soup")) == {"name"}, name
    long = typed(fields | {"name": "x" * 81}, "x" * 81)  # as the kitchen's files have it: not this form's to refuse
    assert head_problems(long.draft, long, [], "x" * 81) == {}


def test_the_note_alone_is_no_change() -> None:
    """A version says another thing only where the recipe does."""
    one = Draft("Soup", yield_text="1 l", note="a")
    assert is_same(one, Draft("Soup", yield_text="1 l", note="b")) and not is_same(one, Draft("Soup", yield_text="2 l"))


def test_an_american_kitchen_reads_fahrenheit_of_a_step_written_in_celsius() -> None:
    """57 °C are 134.6 °F; beside the others of the page in °F it must not stand as 57."""
    assert step_words(("bath", None, 57.0, None, None, 9000.0, None, None), is_metric=False) == (
        "bath 134.6 °F, 2 h 30 min"
    )
