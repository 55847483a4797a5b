"""What was typed in by hand: column sums catch a slipped digit, windows and names are checked for sense."""

from __future__ import annotations

import csv
import math
import re
from itertools import pairwise
from typing import Any

import pytest

from .conftest import KNOWLEDGE, MODELS, OPTION_TABLES, PUBLISHED, rows

#: Sums of the columns, added up from the research notes before the tables were typed.
SUMS = {
    ("iso6344_p_grades", "um"): 8226.1,
    ("cami_grades", "um_printing_1"): 3837.9,
    ("cami_grades", "um_printing_2"): 5702.0,
    ("cami_grades", "um_rounded_chart"): 2453.0,
    ("jis_r6001", "d50_um"): 337.4,
    ("jis_r6001", "tolerance_um"): 23.4,
    ("n_grades", "ra_um"): 100.175,
    ("n_grades", "ra_uin"): 4001,
    ("asme_bpe_sf", "max_ra_uin"): 135,  # 20 + 25 + 30 + 15 + 20 + 25
    ("asme_bpe_sf", "max_ra_um"): 3.44,  # 0.51 + 0.64 + 0.76 + 0.38 + 0.51 + 0.64
    ("handbook_belt_speeds", "low_ft_min"): 39_000,
    ("handbook_belt_speeds", "high_ft_min"): 56_000,
    ("stainless_grit_ra", "ra_um"): 22.41,  # 10.62 in table A, 11.79 in table B
    ("osha_g5", "exhaust_cfm"): 4390,  # 300 + 500 + 610 + 740 + 1040 + 1200
}

DEFECTS = [
    "casting-skin", "parting-line", "flash", "gate-stub", "die-lines", "weld-bead", "spatter",
    "heat-tint", "mill-scale", "forging-scale", "laser-edge", "burr", "machining-marks",
    "previous-grinding", "deep-scratch", "light-scratch", "dents", "porosity", "mill-surface",
    "lacquer", "paint", "plating",
]  # fmt: skip
FINISHES = [
    "ground-coarse", "ground-medium", "ground-fine", "keyed-powder", "keyed-paint", "keyed-bond",
    "satin-coarse", "satin-medium", "satin-fine", "satin-extra-fine", "hairline", "hygienic-satin",
    "satin-crossed", "swirl-random", "bright-lines", "bright", "mirror", "plate-ready",
]  # fmt: skip
MEDIA = [
    "belt", "slack-belt", "platen-belt", "file-belt", "nonwoven-belt", "surface-conditioning-belt",
    "flap-wheel", "mounted-flap-wheel", "nonwoven-flap-wheel", "interleaved-flap-wheel",
    "unitized-wheel", "convolute-wheel", "fibre-disc", "flap-disc", "surface-conditioning-disc",
    "orbital-disc", "cartridge-roll", "filament-brush", "wire-wheel", "buff",
]  # fmt: skip
PER_FAMILY = ("specific_energy_80", "force_ratio_80", "alloy_roughness_factor", "disturbed_layer_factor")
WINDOWS = (
    "hardness", "width_mm", "edge_mm", "speed_m_s", "force_n_mm", "feed_mm_s", "overlap_percent", "passes",
    "life_minutes",
)  # fmt: skip

#: Specific energy of surface grinding, J/mm3, as printed in a manufacturing textbook.
TEXTBOOK_ENERGY = {
    "wrought-aluminium": (7, 27), "grey-iron": (12, 60), "carbon-steel": (14, 68), "titanium": (16, 55),
    "tool-steel": (18, 82),
}  # fmt: skip


@pytest.mark.parametrize(("where", "total"), SUMS.items())
def test_columns_add_up(published: Any, where: tuple[str, str], total: float) -> None:
    name, column = where
    assert sum(float(row[column]) for row in published(name) if row[column]) == pytest.approx(total, abs=1e-6)


def test_every_published_table_is_summed_and_names_its_source(plain: Any) -> None:
    keys = {row["key"] for row in plain("sources")}
    names = {path.stem for path in PUBLISHED.glob("*.csv")}
    assert {name for name, _ in SUMS} <= names
    for name in {name for name, _ in SUMS}:
        head = (PUBLISHED / f"{name}.csv").read_text(encoding="utf-8").splitlines()[0]
        cited = re.findall(r"key ([a-z0-9-]+)", head)
        assert cited and set(cited) <= keys, name


def test_tables_have_no_ragged_lines() -> None:
    for path in PUBLISHED.glob("*.csv"):
        lines = [line for line in path.read_text(encoding="utf-8").splitlines() if not line.startswith("#")]
        assert len({len(row) for row in csv.reader(lines)}) == 1, path.name


def test_speeds_convert_exactly(published: Any) -> None:
    """1 ft/min is 0.3048 / 60 = 0.00508 m/s."""
    for row in published("handbook_belt_speeds"):
        for side in ("low", "high"):
            assert float(row[f"{side}_m_s"]) == pytest.approx(
                float(row[f"{side}_ft_min"]) * 0.00508, abs=0.051
            )


def test_belts_can_run_at_every_handbook_speed(published: Any, table: Any) -> None:
    low, high = table("media")["belt"].speed_m_s
    for row in published("handbook_belt_speeds"):
        assert low <= float(row["low_m_s"]) < float(row["high_m_s"]) <= high


def test_roughness_grades_double(published: Any) -> None:
    values = [float(row["ra_um"]) for row in published("n_grades")]
    assert all(fine * 2 == pytest.approx(coarse, rel=0.03) for fine, coarse in pairwise(values))
    for row in published("n_grades"):
        assert float(row["ra_uin"]) * 0.0254 == pytest.approx(float(row["ra_um"]), rel=0.02)


def test_grit_charts_agree_where_both_speak_of_us_numbers(published: Any) -> None:
    american = [row for row in published("stainless_grit_ra") if row["system"] == "US"]
    a, b = ({row["grit"]: float(row["ra_um"]) for row in american if row["table"] == name} for name in "AB")
    assert a["80"] == pytest.approx(b["80"], rel=0.08) and a["320"] == b["320"]
    for row in published("stainless_grit_ra"):
        exact = float(row["ra_uin"]) * 0.0254
        if row["table"] == "B":
            assert float(row["ra_um"]) == pytest.approx(exact, rel=0.02), row["grit"]
        elif (row["system"], row["grit"]) != ("UK", "240"):  # the source contradicts itself there
            assert float(row["ra_um"]) == pytest.approx(exact, rel=0.08), row["grit"]


def test_roughness_coefficients_reproduce_the_sanitary_chart(published: Any, table: Any) -> None:
    """Ra = c d^n with US sizes is within a factor 1.6 of the chart; the band of c holds it from 60 on."""
    sizes = {
        row["grade"]: float(row["um_printing_1"]) for row in published("cami_grades") if row["um_printing_1"]
    }
    c = table("coefficients")["roughness-c"].band
    n = table("coefficients")["roughness-n"].band.expected
    for row in published("stainless_grit_ra"):
        if row["table"] != "B":
            continue
        scale, ra = sizes[row["grit"]] ** n, float(row["ra_um"])
        assert abs(math.log(c.expected * scale / ra)) <= math.log(1.6), row["grit"]
        if int(row["grit"]) >= 60:
            assert c.low * scale <= ra <= c.high * scale, row["grit"]


def test_exhaust_scales_with_width_as_in_the_regulation(published: Any) -> None:
    """Worked example of the rule: a wheel 4.5 in wide in the 16 to 19 in class needs 686, say 690 cfm."""
    row = next(row for row in published("osha_g5") if row["up_to_in"] == "19")
    assert 4.5 / float(row["width_in"]) * float(row["exhaust_cfm"]) == pytest.approx(686, abs=0.5)


@pytest.mark.parametrize("name", [*MODELS, *OPTION_TABLES, "cells"])
def test_every_row_has_a_listed_source(plain: Any, name: str) -> None:
    known = {row["key"] for row in plain("sources")}
    if name != "cells":
        assert rows(name)
    for row in plain(name):
        assert isinstance(row["source"], list) and row["source"], row["key"]
        assert set(row["source"]) <= known, row["key"]


def test_sources_are_honest_about_what_was_seen(plain: Any) -> None:
    sources = plain("sources")
    assert len({row["key"] for row in sources}) == len(sources)
    for row in sources:
        assert row["title"].strip() and row["seen"] in ("whole", "excerpt", "memory", "none"), row["key"]
        if row["kind"] in ("common-practice", "from-memory"):
            assert row["seen"] in ("memory", "none") and not row["place"], row["key"]
        elif row["seen"] == "excerpt":
            assert row["place"] or row["note"], row["key"]
        if row["kind"] == "standard":
            assert row["seen"] != "whole", row["key"]  # paid texts were seen as quoted only


@pytest.mark.parametrize(("name", "keys"), [("defects", DEFECTS), ("finishes", FINISHES), ("media", MEDIA)])
def test_keys_are_the_agreed_ones(table: Any, name: str, keys: list[str]) -> None:
    assert list(table(name)) == keys


def test_contact_wheels_are_behind_three_media_only(table: Any) -> None:
    with_wheel = {key for key, media in table("media").items() if media.contact_wheel}
    assert with_wheel == {"belt", "nonwoven-belt", "surface-conditioning-belt"}
    for key in with_wheel:
        media = table("media")[key]
        assert media.hardness and media.covers and media.faces


@pytest.mark.parametrize("key", MEDIA)
def test_media_rows_make_sense(table: Any, key: str) -> None:
    media = table("media")[key]
    for name in WINDOWS:
        window = getattr(media, name)
        assert window is None or 0 <= window[0] < window[1], name
    assert media.width_mm[0] <= media.usual_width_mm <= media.width_mm[1]
    assert media.marked_speed_m_s is None or media.speed_m_s[1] <= media.marked_speed_m_s
    assert media.lubricants and media.directions and "any" in media.lays
    grades = table("grades")
    assert {grades[grade].scale for grade in media.grades} <= {media.scale}
    sizes = [grades[grade].um for grade in media.grades]
    assert sizes == sorted(sizes, reverse=True)
    for column, target in (
        ("grains", "grains"),
        ("backings", "backings"),
        ("covers", "covers"),
        ("faces", "faces"),
        ("builds", "builds"),
        ("coats", "coats"),
        ("top_coats", "top_coats"),
        ("lubricants", "lubricants"),
    ):
        options = getattr(media, column)
        assert set(options) <= set(table(target)) and len(set(options)) == len(options), column
    assert (media.scale is None) is (key == "wire-wheel")


def test_media_options_are_those_the_vocabulary_declares(table: Any, vocabulary: Any) -> None:
    decisions = vocabulary["decisions"]
    for column, decision in (
        ("builds", "build"),
        ("coats", "coat"),
        ("top_coats", "top_coat"),
        ("covers", "wheel_cover"),
        ("faces", "wheel_face"),
        ("lubricants", "lubricant"),
    ):
        assert set(table(column)) == set(decisions[decision]["options"]), column
    for media in table("media").values():
        assert set(media.directions) <= set(decisions["direction"]["options"])
        assert set(media.handling) <= set(decisions["handling"]["options"])
        for column, decision in (
            ("speed_m_s", "surface_speed"),
            ("force_n_mm", "force"),
            ("feed_mm_s", "feed"),
            ("overlap_percent", "overlap"),
            ("passes", "passes"),
            ("width_mm", "wheel_width"),
        ):
            low, high = decisions[decision]["range"]
            window = getattr(media, column)
            assert low <= window[0] and window[1] <= high, (media.key, column)


def test_defect_depths_grow_with_what_the_nail_feels(table: Any) -> None:
    for key, defect in table("defects").items():
        typical, worst = defect.depth_mm
        assert 0 < typical <= worst, key
        assert set(defect.felt) == {"no", "catches", "steps"}, key
        lows, highs = zip(*(defect.felt[word] for word in ("no", "catches", "steps")), strict=True)
        assert list(lows) == sorted(lows) and list(highs) == sorted(highs), key
        assert (defect.strip_mm is not None) is defect.local, key


def test_finish_bands_grow_finer_within_a_texture(table: Any) -> None:
    finishes = table("finishes")
    for series in (
        ("ground-coarse", "ground-medium", "ground-fine"),
        ("satin-coarse", "satin-medium", "satin-fine", "satin-extra-fine"),
        ("bright-lines", "bright", "mirror"),
    ):
        highs = [finishes[key].ra_um[1] for key in series]
        assert highs == sorted(highs, reverse=True)
    for key, finish in finishes.items():
        assert 0 < finish.ra_um[0] < finish.ra_um[1], key
        assert set(finish.grades) <= set(table("grades")), key


def test_symptoms_have_an_order_and_known_media(table: Any) -> None:
    symptoms = table("symptoms")
    orders = [symptom.order for symptom in symptoms.values()]
    assert len(symptoms) == 48 and orders == sorted(orders) and len(set(orders)) == len(orders)
    assert all(set(symptom.media) <= set(MEDIA) for symptom in symptoms.values())


def test_coefficients_are_bands(table: Any) -> None:
    for key, row in table("coefficients").items():
        assert 0 < row.band.low <= row.band.expected <= row.band.high, key
    scopes = [(row.symbol, tuple(row.scope.items())) for row in table("coefficients").values()]
    assert len(set(scopes)) == len(scopes)


@pytest.mark.parametrize("symbol", PER_FAMILY)
def test_every_family_has_its_coefficients(table: Any, vocabulary: Any, symbol: str) -> None:
    families = [row.scope["family"] for row in table("coefficients").values() if row.symbol == symbol]
    assert sorted(families) == sorted(vocabulary["attributes"]["alloy.family"]["values"])


@pytest.mark.parametrize(("family", "printed"), TEXTBOOK_ENERGY.items())
def test_specific_energy_meets_the_textbook(table: Any, family: str, printed: tuple[float, float]) -> None:
    band = table("coefficients")[f"specific-energy-{family}"].band
    assert band.low <= printed[1] and printed[0] <= band.high


@pytest.mark.parametrize("symbol", ["web_ra_um", "web_depth_um"])
def test_a_finer_web_cuts_less_and_leaves_less(table: Any, symbol: str) -> None:
    by_grade = {
        row.scope["grade"]: row.band.expected
        for row in table("coefficients").values()
        if row.symbol == symbol
    }
    names = ("extra-coarse", "coarse", "medium", "fine", "very-fine", "ultra-fine")
    values = [by_grade[name] for name in names]
    assert values == sorted(values, reverse=True) and len(by_grade) == 6


def test_every_media_runs_somewhere_at_a_speed_it_has(plain: Any, table: Any) -> None:
    """A station must reach part of the speed window of all that it takes: v = pi D n."""
    taken = set()
    for cell in plain("cells"):
        for station in cell["stations"]:
            diameter = float(station["wheel_diameter"].removesuffix(" mm")) / 1000
            slow, fast = (
                math.pi * diameter * float(text.removesuffix(" rpm")) / 60 for text in station["speed"]
            )
            for key in station["takes"]:
                low, high = table("media")[key].speed_m_s
                assert max(low, slow) < min(high, fast), (cell["key"], station["name"], key)
                assert set(table("media")[key].handling) & set(cell["handling"]), (cell["key"], key)
                taken.add(key)
    assert taken == set(MEDIA)


def test_words_are_explained_once_and_point_to_words(plain: Any) -> None:
    words = plain("words")
    terms = [word["term"] for word in words]
    names = terms + [name for word in words for name in word.get("also", [])]
    assert len(terms) >= 90
    assert len({name.casefold() for name in terms}) == len(terms)
    doubled = {name for name in names if names.count(name) > 1}
    assert not doubled
    for word in words:
        assert word["means"].endswith("."), word["term"]
        assert set(word.get("see", [])) <= set(terms) - {word["term"]}, word["term"]


def test_no_line_of_the_tables_is_too_long() -> None:
    for path in [
        *(KNOWLEDGE / "reference").glob("*.yaml"),
        KNOWLEDGE / "sources.yaml",
        KNOWLEDGE / "words.yaml",
    ]:
        assert max(map(len, path.read_text(encoding="utf-8").splitlines())) <= 110, path.name
