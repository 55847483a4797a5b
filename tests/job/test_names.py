"""Names of alloys and finishes: every spelling leads to its row."""

from __future__ import annotations

from typing import Any

import pytest

from advisor.errors import InputError
from advisor.job import parse_job
from advisor.job.names import resolve_alloy, resolve_finish
from advisor.job.target import SAMPLE_ASKS
from advisor.knowledge.strict_yaml import load, plain


@pytest.mark.parametrize(
    ("text", "key"),
    [
        ("s31603", "s31603"),
        ("S31603", "s31603"),
        ("UNS S31603", "s31603"),
        ("1.4404", "s31603"),
        ("EN 1.4404", "s31603"),
        ("316 l", "s31603"),
        ("AISI 316L", "s31603"),
        ("316-L", "s31603"),
        ("Stainless Steel 316L", "s31603"),
        ("6061 t6", "a96061"),
        ("unknown copper alloy", "unidentified-copper-alloy"),
        ("Unknown Copper-Alloy", "unidentified-copper-alloy"),
        ("free cutting brass", "c36000"),
        ("1.4310", "s31000"),
    ],
)
def test_an_alloy_by_any_of_its_names(text: str, key: str, knowledge: Any) -> None:
    assert resolve_alloy(text, knowledge.tables["alloys"]).key == key


def test_an_en_number_keeps_its_last_digit(job_text: str, knowledge: Any) -> None:
    job = parse_job(load(job_text.replace("alloy: s31603", "alloy: 1.4310"), "job.yaml"), knowledge)
    assert job.alloy == "s31000"


@pytest.mark.parametrize(
    ("text", "group", "finish", "designation"),
    [
        ("satin-fine", "stainless", "satin-fine", None),
        ("Satin Fine", None, "satin-fine", None),
        ("EN 10088-2 2K", "stainless", "satin-fine", "en-10088-2-2k"),
        ("2K", "stainless", "satin-fine", "en-10088-2-2k"),
        ("BHMA 630", "stainless", "satin-medium", "bhma-630"),
        ("US32D", "stainless", "satin-medium", "bhma-630"),
        ("AA-M32", "aluminium", "satin-medium", "aa-m32"),
        ("M32", "aluminium", "satin-medium", "aa-m32"),
        ("M32", "copper", "satin-coarse", "naamm-m32"),
        ("A480 No. 4", "copper", "satin-medium", "a480-no-4"),
        ("ASTM A480 no 4", "stainless", "satin-medium", "a480-no-4"),
        ("3-A", "stainless", "satin-fine", "3-a"),
    ],
)
def test_a_finish_by_key_or_designation(
    text: str, group: str | None, finish: str, designation: str | None, knowledge: Any
) -> None:
    row, named = resolve_finish(text, knowledge.tables["finishes"], knowledge.tables["designations"], group)
    assert row.key == finish
    assert (None if named is None else named.key) == designation


def test_a_code_for_other_alloys_says_for_which(knowledge: Any) -> None:
    with pytest.raises(InputError, match=r"of the group stainless.*only for aluminium, copper"):
        resolve_finish("M32", knowledge.tables["finishes"], knowledge.tables["designations"], "stainless")


def target(finish: Any, knowledge: Any, job_text: str, alloy: str = "s31603") -> Any:
    data = plain(load(job_text, "x")) | {"finish": finish, "alloy": alloy}
    return parse_job(data, knowledge).features[0].finish


def test_a_designation_overrides_the_band(knowledge: Any, job_text: str) -> None:
    found = target("EN 10088-2 2K", knowledge, job_text)
    assert found.ra_um == (0.1, 0.5)
    assert found.source == ("d", "f")
    assert found.says == "Satin with Ra below 0.5 um."
    american = target("AA-M32", knowledge, job_text, "6061")
    assert (american.grades, american.grade_scale, american.grain) == (
        ("180", "220"),
        "CAMI",
        "aluminium-oxide",
    )


def test_an_explicit_finish(knowledge: Any, job_text: str) -> None:
    found = target({"texture": "satin", "lay": "linear", "ra": ["12 uin", "0.5 um"]}, knowledge, job_text)
    assert found.ra_um == (0.3048, 0.5)
    assert (found.finish, found.designation, found.sample, found.ra_assumed) == (None, None, False, False)
    assert target({"texture": "satin", "ra": "0.5 um"}, knowledge, job_text).ra_um == (0, 0.5)
    crossed = target({"texture": "satin", "lay": "crossed"}, knowledge, job_text)
    assert (crossed.ra_um, crossed.ra_assumed) == ((0.3, 0.9), True)


def test_a_sample_asks_for_what_it_lacks(knowledge: Any, job_text: str) -> None:
    bare = target({"match": "sample", "texture": "satin"}, knowledge, job_text)
    assert bare.sample
    assert bare.asks == tuple(SAMPLE_ASKS.values())
    full = {
        "match": "sample",
        "texture": "satin",
        "lay": "linear",
        "ra": ["0.3 um", "0.5 um"],
        "alloy": "316L",
        "limits": "two signed",
        "cutoff": "0.8 mm",
        "gloss": "35 GU at 60 deg",
        "lighting": "shop light, 1 m",
    }
    assert target(full, knowledge, job_text).asks == ()
    with pytest.raises(InputError, match=r"finish.cutoff: 0.8 kg is a mass"):
        target(full | {"cutoff": "0.8 kg"}, knowledge, job_text)
