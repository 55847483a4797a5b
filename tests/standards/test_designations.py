"""Finish designations against what the standards and associations are quoted to say."""

from __future__ import annotations

from typing import Any

import pytest

from advisor.job.names import fold_code

from .conftest import rows

DESIGNATIONS = rows("designations")
FINISHES = rows("finishes")

#: BHMA code, US code, texture and base metal, as listed by two pages and by extracts of A156.18.
HARDWARE = {
    "605": ("US3", "bright", "copper"), "606": ("US4", "satin", "copper"), "609": ("US5", "satin", "copper"),
    "611": ("US9", "bright", "copper"), "612": ("US10", "satin", "copper"),
    "613": ("US10B", "satin", "copper"),
    "618": ("US14", "bright", "copper"), "619": ("US15", "satin", "copper"),
    "625": ("US26", "bright", "copper"),
    "626": ("US26D", "satin", "copper"), "628": ("US28", "satin", "aluminium"),
    "629": ("US32", "bright", "stainless"), "630": ("US32D", "satin", "stainless"),
}  # fmt: skip

#: Ra in um that third parties print where the standard itself gives none.
THIRD_PARTY = {
    "en-10088-2-1g": (2.0, 2.5), "en-10088-2-2g": (2.0, 2.5), "en-10088-2-1j": (0.2, 1.0),
    "en-10088-2-2j": (0.2, 1.0), "en-10088-2-1p": (0.01, 0.1), "en-10088-2-2p": (0.01, 0.1),
    "astm-a480-no-3": (0.7, 1.2), "astm-a480-no-4": (0.3, 0.6), "astm-a480-no-6": (0.25, 0.50),
    "astm-a480-no-7": (0.06, 0.20), "astm-a480-no-8": (0.02, 0.10),
}  # fmt: skip

#: Aluminum Association mechanical finishes: the grits of the last step, aluminium oxide, 6000 ft/min.
ALUMINIUM_SATINS = {"aa-m31": ("320", "400"), "aa-m32": ("180", "220"), "aa-m33": ("80", "100")}


def band(key: str) -> tuple[float, float]:
    """The Ra window of a designation: its own, else that of its finish."""
    row = DESIGNATIONS[key]
    low, high = row.ra_um or FINISHES[row.finish].ra_um
    return low, high


def test_there_are_enough_and_each_leads_to_a_finish() -> None:
    assert len(DESIGNATIONS) >= 24
    assert {row.finish for row in DESIGNATIONS.values()} <= set(FINISHES)
    for code in ("1g", "2g", "1j", "2j", "1k", "2k", "1p", "2p"):
        assert DESIGNATIONS[f"en-10088-2-{code}"].groups == ("stainless",)


@pytest.mark.parametrize("key", ["en-10088-2-1k", "en-10088-2-2k"])
def test_k_finish_stays_at_half_a_micrometre_across_the_lines(key: str) -> None:
    """Quoted: transverse Ra below 0.5 um and a clean-cut surface."""
    assert band(key)[1] == 0.5
    assert FINISHES[DESIGNATIONS[key].finish].texture == "satin"
    assert "0.5" in DESIGNATIONS[key].says


def test_only_k_among_the_ground_and_brushed_finishes_has_a_limit_of_its_own() -> None:
    """And 2G a band of its own, drawn about what third parties print: the standard gives it none."""
    limited = {key for key, row in DESIGNATIONS.items() if key.startswith("en-10088") and row.ra_um}
    assert limited == {"en-10088-2-1k", "en-10088-2-2k", "en-10088-2-2g"}
    assert "no Ra" in DESIGNATIONS["en-10088-2-2g"].note


@pytest.mark.parametrize(("key", "printed"), THIRD_PARTY.items())
def test_band_meets_what_third_parties_print(key: str, printed: tuple[float, float]) -> None:
    low, high = band(key)
    assert low <= printed[1] and printed[0] <= high


def test_bioprocess_limits_equal_the_published_table(published: Any) -> None:
    listed = published("asme_bpe_sf")
    assert len(listed) == 6
    for line in listed:
        row = DESIGNATIONS[f"asme-bpe-{line['code'].lower()}"]
        assert row.ra_um[1] == float(line["max_ra_um"])
        assert float(line["max_ra_uin"]) * 0.0254 == pytest.approx(float(line["max_ra_um"]), abs=0.006)
        follows = "electropolish" in row.says.casefold()
        assert follows is (line["electropolished"] == "yes"), line["code"]
    assert DESIGNATIONS["asme-bpe-sf1"].ra_um[1] == 0.51


def test_food_contact_limits_are_the_round_value_of_32_microinches() -> None:
    """32 uin is 32 x 0.0254 = 0.8128 um exactly; 0.8 um is stricter, so the round value is safe."""
    assert pytest.approx(0.8128) == 32 * 0.0254
    for key in ("3-a-product-contact", "ehedg-product-contact"):
        assert band(key)[1] == 0.8 <= 32 * 0.0254
    assert DESIGNATIONS["3-a-product-contact"].grades == ("150",)
    assert "0.8128" in (DESIGNATIONS["3-a-product-contact"].note or "")


@pytest.mark.parametrize(("key", "grits"), ALUMINIUM_SATINS.items())
def test_aluminium_satins_name_the_association_grits(key: str, grits: tuple[str, str]) -> None:
    row = DESIGNATIONS[key]
    assert row.grades == grits and row.grade_scale == "CAMI"
    assert row.grain == "aluminium-oxide" and row.groups == ("aluminium",)
    assert "6000 ft/min" in row.says


def test_a_coarser_satin_code_is_rougher() -> None:
    for body in ("aa", "copper"):
        fine, medium, coarse = (band(f"{body}-m{number}") for number in (31, 32, 33))
        assert fine[0] < medium[0] < coarse[0] and fine[1] < medium[1] < coarse[1]


def test_one_code_means_two_finishes_on_aluminium_and_copper() -> None:
    for number in (31, 32, 33):
        aluminium, copper = DESIGNATIONS[f"aa-m{number}"], DESIGNATIONS[f"copper-m{number}"]
        assert f"M{number}" in aluminium.also and f"M{number}" in copper.also
        assert aluminium.groups == ("aluminium",) and copper.groups == ("copper",)
        assert aluminium.grades != copper.grades


def test_a_name_leads_to_one_row_within_an_alloy_group() -> None:
    every = {group for row in DESIGNATIONS.values() for group in row.groups}
    found: dict[tuple[str, str], str] = {}
    for key, row in DESIGNATIONS.items():
        for name in {fold_code(text) for text in (key, row.name, *row.also)}:
            for group in row.groups or every:
                assert found.setdefault((name, group), key) == key, (name, group)
    for text, group, key in (
        ("2K", "stainless", "en-10088-2-2k"),
        ("EN 2K", "stainless", "en-10088-2-2k"),
        ("EN 10088-2 2K", "stainless", "en-10088-2-2k"),
        ("No.4", "stainless", "astm-a480-no-4"),
        ("A480 No. 4", "stainless", "astm-a480-no-4"),
        ("US32D", "stainless", "bhma-630"),
        ("BHMA 630", "stainless", "bhma-630"),
        ("AA-M32", "aluminium", "aa-m32"),
        ("M32", "copper", "copper-m32"),
    ):
        assert found[fold_code(text), group] == key, text


@pytest.mark.parametrize(("code", "facts"), HARDWARE.items())
def test_hardware_codes_pair_as_listed(code: str, facts: tuple[str, str, str]) -> None:
    row = DESIGNATIONS[f"bhma-{code}"]
    us_code, texture, base = facts
    assert us_code in row.also and code in row.also
    assert FINISHES[row.finish].texture == texture
    assert base in row.groups
    assert row.ra_um is None  # satin is matched to plates, no Ra is given


def test_roughness_numbers_equal_the_published_grades(published: Any) -> None:
    listed = {line["grade"]: line for line in published("n_grades")}
    for number in (5, 6, 7, 8):
        row = DESIGNATIONS[f"iso-1302-n{number}"]
        assert row.ra_um == (float(listed[f"N{number - 1}"]["ra_um"]), float(listed[f"N{number}"]["ra_um"]))
        assert f"{listed[f'N{number}']['ra_uin']} uin" in row.says


def test_sheet_finishes_go_from_intermediate_to_mirror() -> None:
    textures = [FINISHES[DESIGNATIONS[f"astm-a480-no-{n}"].finish].texture for n in (3, 4, 6, 7, 8)]
    assert textures == ["satin", "satin", "satin", "bright", "mirror"]
    highs = [band(f"astm-a480-no-{n}")[1] for n in (3, 4, 6, 7, 8)]
    assert highs == sorted(highs, reverse=True)


def test_named_grades_exist_on_their_scale(published: Any, table: Any) -> None:
    american = {row["grade"] for row in published("cami_grades")}
    for key, row in DESIGNATIONS.items():
        known = american if row.grade_scale == "CAMI" else set(table("grades"))
        assert set(row.grades) <= known, key


def test_windows_are_windows() -> None:
    for key in DESIGNATIONS:
        low, high = band(key)
        assert 0 < low < high <= 5, key
