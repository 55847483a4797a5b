"""A job written out is a valid job file and reads back as the same job."""

from __future__ import annotations

import json
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.errors import InputError
from advisor.job import canonical_json, parse_job, set_field, to_json
from advisor.knowledge.strict_yaml import load, plain

from .conftest import CELL, JOB, build

KNOWLEDGE = build()
INLINE = {k: v for k, v in plain(load(CELL, "x")).items() if k not in ("key", "source")}


def optional(**fields: st.SearchStrategy[Any]) -> st.SearchStrategy[dict[str, Any]]:
    return st.fixed_dictionaries({}, optional=fields)


def amount(low: float, high: float, *units: str) -> st.SearchStrategy[str]:
    return st.builds(lambda v, u: f"{v!r} {u}", st.floats(low, high), st.sampled_from(units))


depths = amount(0.01, 1, "mm") | st.tuples(amount(0.01, 0.1, "mm"), amount(0.2, 1, "mm", "cm")).map(list)
parts = optional(
    mass=amount(0.01, 9, "kg", "lb"),
    size=amount(300, 900, "mm"),
    wall=amount(1, 9, "mm"),
    contour=st.sampled_from(["low", "high"]),
)
said = {
    "also": st.lists(st.sampled_from(["heat-tint", "paint", "parting-line"]), max_size=2, unique=True),
    "depth": depths,
    "roughness": amount(1, 30, "um", "uin"),
    "felt": st.sampled_from(["no", "catches", "steps"]),
    "coating": st.sampled_from(["none", "hazardous"]),
}
defects = st.sampled_from(["parting-line", "gate-stub", "paint"])
starts = st.fixed_dictionaries({"defect": defects}, optional=said)
own_starts = st.fixed_dictionaries({}, optional=said | {"defect": defects})
finishes = st.one_of(
    st.sampled_from(["satin-fine", "mirror", "EN 10088-2 2K", "BHMA 630", "No. 4"]),
    st.fixed_dictionaries(
        {"texture": st.sampled_from(["satin", "mirror"])},
        optional={"lay": st.sampled_from(["linear", "any"]), "ra": amount(0.1, 1, "um")},
    ),
    st.fixed_dictionaries(
        {"match": st.just("sample"), "texture": st.just("satin")},
        optional={"gloss": st.just("30 GU"), "ra": amount(0.1, 1, "um"), "lighting": st.just("lamp")},
    ),
)
shapes = st.one_of(
    st.fixed_dictionaries({"shape": st.sampled_from(["flat", "edge"])}),
    st.fixed_dictionaries(
        {"shape": st.sampled_from(["convex", "concave"]), "radius": amount(1, 99, "mm", "in")}
    ),
)
others = optional(
    width=amount(1, 99, "mm"),
    area=amount(1, 99, "cm2", "in2"),
    visible=st.sampled_from(["A", "B", "C"]),
    edge_radius=amount(0.1, 1, "mm"),
    max_stock=amount(0.1, 1, "mm"),
    start=own_starts,
    finish=finishes,
)


@st.composite
def jobs(draw: st.DrawFn) -> dict[str, Any]:
    count = draw(st.integers(1, 3))
    features = [{"name": f"f {i}", **draw(shapes), **draw(others)} for i in range(count)]
    more = draw(
        optional(
            part=parts,
            environment=st.sampled_from(["food", "indoor"]),
            after=st.sampled_from(["none", "plate"]),
            batch=st.integers(1, 900),
        )
    )
    return {
        "name": draw(st.sampled_from(["a", "12", "yes", "µ-part: 3 # x"])),
        "alloy": draw(st.sampled_from(["316L", "1.4404", "s31603"])),
        "start": draw(starts),
        "finish": draw(finishes),
        "cell": draw(st.sampled_from(["bench", INLINE])),
        "features": features,
        **more,
    }


@settings(max_examples=150, deadline=None)
@given(jobs())
def test_round_trip(data: dict[str, Any]) -> None:
    job = parse_job(data, KNOWLEDGE)
    written = to_json(job)
    assert parse_job(written, KNOWLEDGE) == job
    assert parse_job(load(json.dumps(written), "job.json"), KNOWLEDGE) == job
    assert to_json(parse_job(written, KNOWLEDGE)) == written


def test_the_written_job_is_in_base_units(job_text: str) -> None:
    written = to_json(parse_job(load(job_text.replace("18 mm", "0.75 in"), "x"), KNOWLEDGE))
    assert written["features"][0]["radius"] == "19.05 mm"
    assert written["start"] == {
        "defect": "parting-line",
        "also": ["heat-tint"],
        "depth": "0.25 mm",
        "roughness": "6.3 um",
        "felt": "catches",
    }
    assert (
        "roughness" not in to_json(parse_job(set_field(written, "start.roughness", ""), KNOWLEDGE))["start"]
    )
    assert list(written) == [
        "name",
        "alloy",
        "part",
        "start",
        "features",
        "finish",
        "environment",
        "after",
        "cell",
        "batch",
    ]


def test_canonical_text_does_not_depend_on_order_or_units(job_text: str) -> None:
    first = parse_job(load(job_text, "x"), KNOWLEDGE)
    data = dict(reversed(list(plain(load(job_text, "x")).items())))
    data["part"]["wall"] = "0.4 cm"
    assert canonical_json(parse_job(data, KNOWLEDGE)) == canonical_json(first)
    assert json.loads(canonical_json(first)) == to_json(first)


@pytest.mark.parametrize(
    ("path", "value", "where", "result"),
    [
        ("alloy", "1.4310", lambda j: j.alloy, "s31000"),
        ("start.depth", "0.3 mm", lambda j: j.features[0].start.depth_mm, (0.3, 0.3)),
        ("features[outer sweep].radius", "5 mm", lambda j: j.features[0].radius_mm, 5),
        ("features[stub].start.depth", "[1 mm, 2 mm]", lambda j: j.features[1].start.depth_mm, (1, 2)),
        ("batch", "7", lambda j: j.batch, 7),
        ("batch", "", lambda j: j.is_assumed("batch"), True),
        ("finish", "{texture: satin, ra: 0.4 um}", lambda j: j.finish.ra_high_um, 0.4),
    ],
)
def test_one_field_changed(path: str, value: str, where: Any, result: Any) -> None:
    before = to_json(parse_job(load(JOB, "x"), KNOWLEDGE))
    copy = json.loads(json.dumps(before))
    assert where(parse_job(set_field(before, path, value), KNOWLEDGE)) == result
    assert before == copy


def test_the_only_feature_needs_no_name() -> None:
    data = to_json(parse_job(load(JOB, "x"), KNOWLEDGE))
    with pytest.raises(InputError, match="not just one feature"):
        set_field(data, "feature.radius", "5 mm")
    data["features"] = data["features"][:1]
    assert set_field(data, "feature.radius", "5 mm")["features"][0]["radius"] == "5 mm"


@pytest.mark.parametrize(
    ("path", "says"),
    [
        ("", "not the name of a field"),
        ("a..b", "not the name of a field"),
        ("a.", "not the name of a field"),
        ("features[x", "not the name of a field"),
        ("features[outer swept].radius", "nearest: outer sweep"),
        ("features[stub]", "a field of the feature"),
        ("cell.wet", "cell is a single value here"),
    ],
)
def test_paths_that_lead_nowhere(path: str, says: str) -> None:
    with pytest.raises(InputError, match=says):
        set_field(to_json(parse_job(load(JOB, "x"), KNOWLEDGE)), path, "true")
