"""Reading a job: what comes out, and what was assumed."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from advisor.job import Job, parse_job, read_job
from advisor.knowledge.entries import RANGES
from advisor.knowledge.strict_yaml import load, plain, read_file

ROOT = Path(__file__).parents[2]


def read(text: str, knowledge: Any) -> Job:
    return parse_job(load(text, "job.yaml"), knowledge, "job.yaml")


def test_the_whole_job(job_text: str, knowledge: Any) -> None:
    job = read(job_text, knowledge)
    assert (job.name, job.alloy, job.batch, job.environment, job.after) == (
        "rail-bracket",
        "s31603",
        400,
        "coastal",
        "none",
    )
    assert (job.part.mass_kg, job.part.size_mm, job.part.wall_mm, job.part.contour) == (0.9, 180, 4, "high")
    sweep, stub = job.features
    assert (sweep.radius_mm, sweep.cross_radius_mm, sweep.width_mm, sweep.area_cm2) == (18, 60, 30, 40)
    assert (sweep.access_mm, sweep.edge_radius_mm, sweep.max_stock_mm) == (45, 0.5, 0.3)
    assert sweep.start.defects == ("parting-line", "heat-tint")
    assert sweep.start.depth_mm == (0.25, 0.25)
    assert sweep.finish.ra_um == (0.25, 0.5)
    assert stub.start.defects == ("gate-stub", "heat-tint")
    assert (stub.start.felt, stub.own_start) == (None, True)
    assert (stub.start.depth_mm, stub.start.roughness_um) == ((1, 1), 6.3)
    assert (stub.finish.finish, stub.own_finish, sweep.own_finish) == ("satin-coarse", True, False)
    assert job.cell.stations[0].wheel_hardness == (30, 40, 60)
    assert job.assumed == ()
    assert job.feature("stub") is stub


def test_us_units_and_json(job_text: str, knowledge: Any, tmp_path: Path) -> None:
    data = plain(load(job_text, "x"))
    data["features"][0]["radius"] = "0.75 in"
    file = tmp_path / "job.json"
    file.write_text(json.dumps(data), encoding="utf-8")
    assert read_job(file, knowledge).features[0].radius_mm == 19.05
    assert parse_job(data, knowledge) == read_job(file, knowledge)


def test_everything_assumed_is_listed(knowledge: Any) -> None:
    text = """\
name: a
alloy: 316l
start: {defect: paint}
features: [{name: f, shape: flat}]
finish: {texture: satin}
cell:
  operator: person
  handling: [part-in-hand]
  media_history: unknown
  stations: [{name: s, takes: [belt], speed: 1400 rpm, wheel_diameter: 10 in}]
"""
    job = read(text, knowledge)
    assert [item.field for item in job.assumed] == [
        "part.contour",
        "after",
        "batch",
        "start.depth",
        "start.roughness",
        "start.coating",
        "finish.ra",
        "finish.lay",
        "cell.media_history",
        "cell.dust.shared_with",
        "cell.changeover",
    ]
    assert job.features[0].start.depth_mm == (0.08, 0.2)
    assert job.features[0].start.roughness_um == 1.6
    assert job.features[0].finish.ra_um == (0.4, 0.8)  # the middle satin of the table
    assert job.cell.media_touched == "steel"
    assert job.cell.stations[0].speed_rpm == (1400, 1400)
    assert job.cell.changeover_s("disc") == 120
    assert job.is_assumed("batch")


@pytest.mark.parametrize(
    ("start", "depth", "source"),
    [
        ("{defect: parting-line}", (0.25, 0.6), "table"),
        ("{defect: parting-line, felt: no}", (0.02, 0.05), "felt"),
        ("{defect: parting-line, felt: steps}", (0.2, 0.6), "felt"),
        ("{defect: heat-tint, felt: no}", (0.003, 0.01), "table"),
        ("{defect: parting-line, depth: 0.3 mm, felt: no}", (0.3, 0.3), "given"),
        ("{defect: parting-line, depth: [0.1 mm, 0.3 mm]}", (0.1, 0.3), "given"),
        ("{defect: parting line, depth: [4 thou, 0.012 in]}", (0.1016, 0.3048), "given"),
        ("parting-line", (0.25, 0.6), "table"),
    ],
)
def test_where_the_depth_comes_from(
    start: str, depth: tuple[float, float], source: str, job_text: str, knowledge: Any
) -> None:
    data = plain(load(job_text, "x")) | {"start": plain(load(start, "x"))}
    job = parse_job(data, knowledge)
    assert job.features[0].start.depth_mm == depth
    assert job.features[0].start.depth_from == source
    assert job.is_assumed("start.depth") == (source != "given")


def test_a_start_of_its_own_is_laid_over_the_jobs(job_text: str, knowledge: Any) -> None:
    merged = read(job_text.replace("{defect: gate-stub, depth: 1 mm}", "{depth: 0.5 mm}"), knowledge)
    start = merged.features[1].start
    assert start.defects == ("parting-line", "heat-tint")
    assert (start.depth_mm, start.roughness_um, start.felt) == ((0.5, 0.5), 6.3, None)
    felt = read(job_text.replace("{defect: gate-stub, depth: 1 mm}", "{felt: steps}"), knowledge)
    assert felt.features[1].start.depth_mm == (0.2, 0.6)


def test_another_defect_takes_the_jobs_depth_and_feel_away(job_text: str, knowledge: Any) -> None:
    job = read(job_text.replace("{defect: gate-stub, depth: 1 mm}", "{defect: paint, also: []}"), knowledge)
    start = job.features[1].start
    assert start.defects == ("paint",)
    assert (start.depth_mm, start.depth_from, start.felt, start.roughness_um) == (
        (0.08, 0.2),
        "table",
        None,
        6.3,
    )
    assert [item.field for item in job.assumed] == [
        "features[stub].start.depth",
        "features[stub].start.coating",
    ]


def test_limits_are_no_narrower_than_the_vocabulary() -> None:
    declared = plain(read_file(ROOT / "knowledge" / "vocabulary.yaml"))["attributes"]
    names = {
        f"feature.{key}_mm": key
        for key in ("radius", "cross_radius", "width", "access", "edge_radius", "max_stock")
    }
    names |= {f"part.{key}_mm": key for key in ("size", "wall")} | {
        "part.mass_kg": "mass",
        "depth_mm": "depth",
    }
    names |= {"feature.area_cm2": "area", "incoming_ra_um": "roughness", "station.power_kw": "power"}
    names |= {"wheel.diameter_mm": "wheel_diameter", "finish.ra_low_um": "ra"}
    for attribute, field in names.items():
        low, high = declared[attribute]["range"]
        assert (RANGES[field][1], RANGES[field][2]) == (low, high), attribute
