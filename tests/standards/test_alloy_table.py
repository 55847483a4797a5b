"""The alloy table against element data, published property windows and its own flags."""

from __future__ import annotations

import re
from typing import Any

import periodictable
import pytest

from advisor.job.names import fold

from .conftest import rows

ALLOYS = rows("alloys")
WITH_COMPOSITION = [key for key, alloy in ALLOYS.items() if alloy.composition]

GROUPS = {
    "carbon-steel": "steel", "tool-steel": "steel",
    "austenitic-stainless": "stainless", "ferritic-stainless": "stainless",
    "duplex-stainless": "stainless", "hardening-stainless": "stainless",
    "grey-iron": "iron", "ductile-iron": "iron",
    "wrought-aluminium": "aluminium", "cast-aluminium": "aluminium",
    "leaded-brass": "copper", "brass": "copper", "bronze": "copper", "copper": "copper",
    "unidentified-copper-alloy": "copper", "zinc-die-cast": "zinc", "titanium": "titanium",
    "nickel-alloy": "nickel-cobalt", "cobalt-chrome": "nickel-cobalt", "magnesium": "magnesium",
}  # fmt: skip

#: Density g/cm3, conductivity W/(m K), specific heat J/(kg K) as printed for room temperature.
#: Copper alloys: Copper Development Association data as republished. Zinc: B86 alloys in six places.
#: Stainless: EN 10088-1 as quoted. Aluminium: Aluminum Association data as copied. Rest: materials pages.
PUBLISHED_WINDOWS = {
    "c26000": ((8.53, 8.53), (121, 121), (377, 390)),
    "c36000": ((8.49, 8.50), (115, 116), (380, 380)),
    "c83600": ((8.83, 8.83), (72, 72), (377, 377)),
    "c65500": ((8.53, 8.53), (36.3, 36.3), (377, 377)),
    "c95400": ((7.45, 7.45), (58.7, 58.7), (419, 419)),
    "c86300": ((7.70, 7.83), (35.5, 35.5), (377, 377)),
    "c11000": ((8.89, 8.94), (388, 394), (385, 386)),
    "z33525": ((6.6, 6.7), (113, 113), (419, 419)),
    "z35533": ((6.6, 6.7), (109, 109), (419, 419)),
    "a96061": ((2.70, 2.70), (167, 167), (896, 896)),
    "a95052": ((2.68, 2.68), (138, 138), (880, 900)),
    "a13800": ((2.71, 2.71), (96, 109), (963, 963)),
    "s30400": ((7.9, 8.0), (15, 16.2), (500, 500)),
    "s31603": ((8.0, 8.0), (15, 15), (500, 500)),
    "s43000": ((7.7, 7.7), (25, 25), (460, 460)),
    "s32205": ((7.8, 7.8), (15, 15), (500, 500)),
    "s17400": ((7.8, 7.8), (16, 16), (500, 500)),
    "g10180": ((7.87, 7.87), (51.9, 51.9), (486, 486)),
    "f12101": ((7.15, 7.5), (46, 50), (460, 490)),
    "r56400": ((4.42, 4.43), (6.6, 7.2), (526, 586)),
    "n07718": ((8.19, 8.22), (11.4, 11.4), (435, 435)),
    "n06625": ((8.44, 8.44), (9.8, 10.9), (402, 410)),
    "r30075": ((8.3, 8.4), (13, 13), (450, 450)),
}

#: ISO 10456 design values: density kg/m3, conductivity W/(m K), specific heat J/(kg K).
BUILDING_STANDARD = {
    "wrought-aluminium": (2800, 160, 880), "brass": (8400, 120, 380), "copper": (8900, 380, 380),
    "grey-iron": (7500, 50, 450), "carbon-steel": (7800, 50, 450), "austenitic-stainless": (7900, 17, 460),
    "zinc-die-cast": (7200, 110, 380),
}  # fmt: skip

#: Lowest temperature of melting, C, as printed (zinc 380-381, aluminium 6061 582, A380 540, brass 885).
SOLIDUS = {"z33525": 381, "z35533": 380, "a96061": 582, "a13800": 540, "c36000": 885}


@pytest.mark.parametrize("key", WITH_COMPOSITION)
def test_density_follows_from_the_elements(key: str) -> None:
    """Inverse rule of mixtures with the densities of periodictable; alloys keep to it within 6 %."""
    alloy = ALLOYS[key]
    volume = sum(
        share / getattr(periodictable, element).density for element, share in alloy.composition.items()
    )
    assert alloy.density == pytest.approx(sum(alloy.composition.values()) / volume, rel=0.06)


@pytest.mark.parametrize("key", WITH_COMPOSITION)
def test_composition_adds_up(key: str) -> None:
    assert sum(ALLOYS[key].composition.values()) == pytest.approx(100, abs=0.5)


@pytest.mark.parametrize("key", PUBLISHED_WINDOWS)
def test_properties_lie_in_the_published_window(key: str) -> None:
    alloy = ALLOYS[key]
    given = (alloy.density, alloy.conductivity, alloy.specific_heat)
    for value, (low, high) in zip(given, PUBLISHED_WINDOWS[key], strict=True):
        assert low <= value <= high


@pytest.mark.parametrize("family", BUILDING_STANDARD)
def test_family_is_near_the_building_standard(family: str) -> None:
    density, conductivity, heat = BUILDING_STANDARD[family]
    members = [alloy for alloy in ALLOYS.values() if alloy.family == family and not alloy.beryllium]
    assert members
    for alloy in members:
        assert alloy.density * 1000 == pytest.approx(density, rel=0.1), alloy.key
        assert alloy.conductivity == pytest.approx(conductivity, rel=0.3), alloy.key
        assert alloy.specific_heat == pytest.approx(heat, rel=0.12), alloy.key


def test_austenitic_and_duplex_stainless_conduct_least_among_the_steels() -> None:
    """EN 10088-1: 15 W/(m K) and 500 J/(kg K), against 25 and 460 for ferritic grades."""
    for alloy in ALLOYS.values():
        if alloy.family in ("austenitic-stainless", "duplex-stainless"):
            assert 14 <= alloy.conductivity <= 17 and 490 <= alloy.specific_heat <= 510, alloy.key
        if alloy.family == "ferritic-stainless":
            assert 22 <= alloy.conductivity <= 27 and 450 <= alloy.specific_heat <= 470, alloy.key


def test_every_family_of_the_vocabulary_has_an_alloy_in_its_group(vocabulary: Any) -> None:
    assert set(GROUPS) == set(vocabulary["attributes"]["alloy.family"]["values"])
    assert {alloy.family for alloy in ALLOYS.values()} == set(GROUPS)
    assert set(GROUPS.values()) == set(vocabulary["attributes"]["alloy.group"]["values"])
    assert {key: alloy.group for key, alloy in ALLOYS.items()} == {
        key: GROUPS[alloy.family] for key, alloy in ALLOYS.items()
    }
    assert len(ALLOYS) >= 30


def test_keys_are_uns_numbers() -> None:
    for key, alloy in ALLOYS.items():
        if alloy.family == "unidentified-copper-alloy":
            assert alloy.uns is None
        else:
            assert (
                alloy.uns is not None and re.fullmatch(r"[A-Z]\d{5}", alloy.uns) and key == alloy.uns.lower()
            )


def test_a_name_leads_to_one_alloy() -> None:
    found: dict[str, str] = {}
    for key, alloy in ALLOYS.items():
        for name in {fold(n) for n in (key, alloy.name, alloy.en or key, *alloy.also)}:
            assert found.setdefault(name, key) == key, name
    wanted = {
        "316L": "s31603",
        "1.4404": "s31603",
        "1.4301": "s30400",
        "free-cutting brass": "c36000",
        "AG40A": "z33525",
    }
    assert {name: found[fold(name)] for name in wanted} == wanted


@pytest.mark.parametrize(
    ("element", "flag", "trace"),
    [
        ("Pb", "lead", 0.3),
        ("Be", "beryllium", 0.1),
        ("Ni", "nickel", 0.5),
        ("Co", "cobalt", 0.5),
        ("Cr", "chromium", 0.6),
    ],
)
def test_flags_agree_with_the_composition(element: str, flag: str, trace: float) -> None:
    """Above the trace the flag is yes; a yes needs the element; not known stands where a trace is allowed."""
    for key in WITH_COMPOSITION:
        share = ALLOYS[key].composition.get(element, 0.0)
        value = getattr(ALLOYS[key], flag)
        assert value is True if share >= trace else value is not True, key


def test_lead_is_as_published_in_the_leaded_alloys() -> None:
    """C36000 2.5 to 3.7 %, C83600 4 to 6 %, C85700 0.8 to 1.5 %, C85800 at most 1.5 %."""
    for key, low, high in (("c36000", 2.5, 3.7), ("c83600", 4, 6), ("c85700", 0.8, 1.5), ("c85800", 0, 1.5)):
        assert low <= ALLOYS[key].composition["Pb"] <= high, key
        assert ALLOYS[key].lead is True


def test_what_is_not_known_is_not_no() -> None:
    unidentified = ALLOYS["unidentified-copper-alloy"]
    flags = (
        unidentified.lead,
        unidentified.beryllium,
        unidentified.nickel,
        unidentified.cobalt,
        unidentified.chromium,
    )
    assert flags == (None,) * 5 and not unidentified.composition
    assert ALLOYS["c86300"].lead is None  # up to 0.2 % is allowed
    assert ALLOYS["c17200"].family == "copper" and ALLOYS["c17200"].beryllium is True


def test_light_metal_dust_is_explosible() -> None:
    """Dust clouds of aluminium, titanium and magnesium are severe, of zinc moderate; copper burns only."""
    for alloy in ALLOYS.values():
        explosible = alloy.group in ("aluminium", "titanium", "magnesium", "zinc")
        assert (alloy.dust == "explosible") is explosible, alloy.key


def test_high_silicon_marks_seven_percent_and_more() -> None:
    for key in WITH_COMPOSITION:
        alloy = ALLOYS[key]
        silicon = alloy.composition.get("Si", 0.0) if alloy.group == "aluminium" else 0.0
        assert alloy.high_silicon is (silicon >= 7), key


def test_heat_limits_stay_well_below_what_the_sources_name() -> None:
    """Warn at 200 C on stainless, keep zinc below 120 to 150 C, 6061-T6 softens above 175 to 200 C."""
    for alloy in ALLOYS.values():
        if alloy.group == "stainless":
            assert alloy.heat_limit_c <= 200, alloy.key
        if alloy.group == "zinc":
            assert alloy.heat_limit_c <= 150, alloy.key
    assert ALLOYS["a96061"].heat_limit_c <= 200
    for key, solidus in SOLIDUS.items():
        assert ALLOYS[key].heat_limit_c < solidus / 2


def test_hardness_lies_near_the_published_brinell_number() -> None:
    """Vickers reads as Brinell (3000 kg) or up to some 5 % more below 350; -5 to +12 % is allowed."""
    published = {"c95400": (170, 170), "c86300": (223, 225), "f12101": (160, 240), "g10180": (126, 167)}
    for key, (low, high) in published.items():
        assert 0.95 * low <= ALLOYS[key].hardness_hv <= 1.12 * high, key
    for key, most in {"s30400": 201, "s31603": 217, "s43000": 183, "s32205": 293}.items():
        assert ALLOYS[key].hardness_hv <= 1.05 * most, key


def test_cast_and_wrought_rows_both_exist_where_shops_see_both() -> None:
    for group in ("steel", "stainless", "aluminium", "copper", "magnesium"):
        assert {alloy.cast for alloy in ALLOYS.values() if alloy.group == group} == {True, False}, group
