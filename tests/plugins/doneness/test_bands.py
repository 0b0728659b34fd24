"""Published bands: where cores lie in them, and that each names its source by title."""

from __future__ import annotations

from stillroom.plugins.doneness.bands import band_counts, band_rows
from stillroom.plugins.physics.reference import rows, source_titles


def test_cores_fall_in_the_bands_as_printed() -> None:
    """Lamb: rare 125 to 130, medium rare 130 to 140 (the upper end is the next band's), well from 160; 155 to 160 is
    nobody's. Source: American reference book bands, doneness.csv."""
    (found,) = [one for one in band_counts("lamb", [124.9, 129.9, 130.0, 139.9, 140.0, 157.0, 171.0])
                if one.kind.startswith("American reference")]  # fmt: skip
    assert dict(found.counts) == {
        "blue / extra rare": 1, "rare": 1, "medium rare": 2, "medium": 1, "well": 1, "none of them": 1,
    }  # fmt: skip


def test_every_core_is_counted_once_in_a_set_without_overlap() -> None:
    """The counts of a set add up to the readings."""
    cores = [float(temp) for temp in range(100, 180)]
    for found in band_counts("lamb", cores):
        if "reference" in found.kind or "practice" in found.kind:
            assert sum(count for _, count in found.counts) == len(cores), found.kind


def test_sources_are_titles() -> None:
    """No key of the table of sources is shown, and no title promises anything."""
    keys = {row["id"] for row in rows("sources.csv")}
    for food in ("lamb", "beef", "pork", "duck", "fish", "salmon"):
        assert band_rows(food)
        for found in band_counts(food, [140.0]):
            assert not any(key in found.source for key in keys) and "safe" not in found.source.lower()
    assert source_titles("S-JC5;S-JC6") == source_titles("S-JC5") and source_titles("nowhere") == "nowhere"


def test_bands_of_two_charts_are_two_sets() -> None:
    """Pork "medium" is 137 °F in one chart and 145 in another: never one row. Source: S-TVWB, S-MEATTEMP."""
    found = [one for one in band_counts("pork", [137.0, 145.0]) if one.kind.startswith("common practice")]
    assert len(found) == 2 and len({one.source for one in found}) == 2
    rows_of = {row["chart"]: float(row["low_f"]) for row in band_rows("pork") if row["band"] == "medium"}
    assert (rows_of["pork_chef"], rows_of["pork_cp"]) == (137.0, 145.0)


def test_words_and_sources_are_those_of_people() -> None:
    """No agency's letters for a doneness, no note to ourselves for a source."""
    for food in ("lamb", "beef", "pork", "duck", "fish", "salmon"):
        for row in band_rows(food):
            assert row["band"] not in {"usda", "restaurant"} and row["band"] == row["band"].strip()
    for found in band_counts("lamb", [140.0]):
        assert "section" not in found.source and "charts" not in found.source
    (guide,) = {one.source for one in band_counts("lamb", [140.0]) if one.kind.startswith("sous vide guide")}
    assert guide.startswith("D. Baldwin, A Practical Guide to Sous Vide Cooking")
