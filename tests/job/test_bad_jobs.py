"""Every way in which a job file can be wrong is named, with its place, and all of it at once."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.errors import InputError
from advisor.job import parse_job, read_job
from advisor.knowledge.strict_yaml import from_plain, load, plain


def faults(text: str, knowledge: Any) -> list[str]:
    with pytest.raises(InputError) as caught:
        parse_job(load(text, "job.yaml"), knowledge, "job.yaml")
    return [str(problem) for problem in caught.value.problems]


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("alloy: s31603", "alloy: s3160", "job.yaml:2:8: alloy: unknown alloy, given 's3160'"),
        ("alloy: s31603", "alloy: s3160", "nearest: s31603"),
        ("alloy: s31603", "alloy: 361L", "nearest: s31603 (316L)"),
        ("alloy: s31603", "alloy: brass", "fits several alloys, given 'brass'; allowed: c36000, c26000"),
        ("alloy: s31603", "alloy: [a]", "job.yaml:2:8: alloy: one line of text is needed"),
        ("radius: 18 mm", "radius: 18", "features[outer sweep].radius: a length needs a unit: mm, um"),
        ("depth: 0.25 mm", "depth: 3 kg", "start.depth: 3 kg is a mass; a length is needed: mm"),
        ("depth: 0.25 mm", "depth: 0,25 mm", "start.depth: a comma in a number"),
        ("radius: 18 mm", "radius: -18 mm", "radius: outside what is possible, given '-18 mm'"),
        ("radius: 18 mm", "radius: 18 km", "unknown unit 'km'"),
        ("radius: 18 mm", "radius: 18000 m", "given '18000 m'; allowed: 0.1 to 5000 mm"),
        ("mass: 0.9 kg", "mass: 0 kg", "part.mass: outside what is possible"),
        ("wall: 4 mm", "wall: 400 mm", "part.wall: larger than the part's longest side"),
        ("depth: 0.25 mm", "depth: nan mm", "start.depth: a length must be finite"),
        ("depth: 0.25 mm", "depth: inf mm", "start.depth: a length must be finite"),
        ("depth: 0.25 mm", "depth: [0.3 mm, 0.1 mm]", "start.depth: the wrong way round"),
        ("depth: 0.25 mm", "depth: [0.3 mm]", "start.depth: one quantity or two"),
        ("depth: 0.25 mm", "depth: {a: 1}", "a length with a unit is needed"),
        ("depth: 0.25 mm", "dept: 0.25 mm", "start.dept: unknown key, given 'dept'; allowed: defect"),
        ("depth: 0.25 mm", "dept: 0.25 mm", "nearest: depth"),
        ("    radius: 18 mm\n", "", "features[outer sweep].radius: a convex face needs its radius"),
        ("shape: convex", "shape: edge", "radius: an edge takes no radius"),
        ("shape: convex", "shape: flat", "radius: a flat face takes no radius"),
        ("shape: convex", "shape: round", "shape: unknown value, given 'round'; allowed: flat, convex"),
        ("shape: convex", "shape: concav", "nearest: concave"),
        ("edges: break", "edges: keep", "edge_radius: kept edges have no radius"),
        ("name: stub", "name: Outer Sweep", "two features of one name; the first stands at job.yaml:15:11"),
        ("name: stub", 'name: "a\\tb"', "control character"),
        ("name: stub", 'name: "\\e[31mred"', "control character"),
        ("name: stub", "name: " + "x" * 81, "longer than 80 characters"),
        ("name: stub", 'name: " "', "is empty"),
        ("defect: parting-line", "defect: partingline2", "nearest: parting-line"),
        ("also: [heat-tint]", "also: [heet-tint]", "start.also: unknown defect, given 'heet-tint'"),
        ("finish: satin-fine", "finish: satin-fin", "finish: unknown finish, given 'satin-fin'"),
        ("finish: satin-fine", "finish: {texture: satin, ra: [2 um, 1 um]}", "finish.ra: the wrong way"),
        ("finish: satin-fine", "finish: {lay: linear}", "finish.texture: a finish needs its texture"),
        ("finish: satin-fine", "finish: {texture: keyed}", "finish.ra: the Ra of a keyed finish is needed"),
        ("finish: satin-fine", "finish: {match: eye, texture: satin}", "finish.match: unknown value"),
        ("finish: satin-fine", "finish: AA-M32", "not for alloys of the group stainless"),
        ("finish: satin-fine\n", "", "features[outer sweep].finish: a finish is needed"),
        ("cell: bench", "cell: bensh", "cell: unknown cell, given 'bensh'; allowed: bench; nearest: bench"),
        ("cell: bench\n", "", "cell: a job needs its cell"),
        ("batch: 400", "batch: 4.5", "batch: a whole number is needed"),
        ("batch: 400", "batch: many", "batch: a whole number without a unit is needed"),
        ("batch: 400", "batch: 0", "batch: outside what is possible"),
        ("environment: coastal", "environment: seaside", "environment: unknown value"),
        ("name: rail-bracket\n", "", "name: a job needs a name"),
        ("part:\n", "part: heavy\npart2:\n", "part: a part is a mapping of fields"),
    ],
)
def test_one_fault_is_named(old: str, new: str, says: str, job_text: str, knowledge: Any) -> None:
    assert old in job_text
    found = faults(job_text.replace(old, new, 1), knowledge)
    assert any(says in fault for fault in found), found
    assert all(fault.startswith("job.yaml:") for fault in found)


def test_everything_wrong_is_told_at_once(job_text: str, knowledge: Any) -> None:
    text = job_text.replace("s31603", "s3160").replace("18 mm", "18").replace("0.25 mm", "3 kg")
    text = text.replace("batch: 400", "batch: -1").replace("coastal", "sea").replace("bench", "bank")
    found = faults(text, knowledge)
    assert len(found) == 6
    assert len({fault.split(": ")[0] for fault in found}) == 6


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "is empty; a job is a mapping"),
        ("# nothing\n", "is empty; a job is a mapping"),
        ("- a\n- b\n", "a job is a mapping of fields, given 'a list of 2'"),
        ("just words", "a job is a mapping of fields, given 'just words'"),
        ("name: x\nname: y", "the key 'name' is repeated"),
        ("name: [", "not YAML"),
        ("name: x\nfeatures: []", "features: a job needs at least one feature"),
        ("name: x\nfeatures:", "features: a job needs at least one feature"),
        ("name: x\nfeatures: {a: 1}", "features: a list is needed"),
        ("name: x\nfeatures: [3]", "features[1]: a feature is a mapping of fields, given '3'"),
        ("colour: red", "colour: unknown key"),
        ("name: !!python/object/apply:os.system ['touch x']", "tags (!...) are not allowed"),
        ("a: &a [x]\nb: &b [*a,*a,*a]\nc: &c [*b,*b,*b]\nd: [" + "*c," * 60 + "]", "too many aliases"),
    ],
)
def test_files_that_are_no_job(text: str, says: str, knowledge: Any) -> None:
    assert any(says in fault for fault in faults(text, knowledge))


def test_paths_that_are_no_job(tmp_path: Path, knowledge: Any) -> None:
    big = tmp_path / "big.yaml"
    with big.open("wb") as stream:
        stream.truncate(50_000_000)
    binary = tmp_path / "binary.yaml"
    binary.write_bytes(bytes(range(256)))
    for path, says in [
        (tmp_path, "is a folder"),
        (tmp_path / "none.yaml", "no such file"),
        (big, "too large"),
        (binary, "binary"),
    ]:
        with pytest.raises(InputError, match=says):
            read_job(path, knowledge)


def test_a_plain_mapping_that_is_no_data(knowledge: Any) -> None:
    for bad in ({"name": object()}, {1: 2}, {"batch": float("nan")}):
        with pytest.raises(InputError):
            parse_job(bad, knowledge)  # type: ignore[arg-type]


ANY = st.recursive(
    st.none()
    | st.booleans()
    | st.integers(-5, 5)
    | st.floats(allow_nan=False, allow_infinity=False)
    | st.text(max_size=6)
    | st.sampled_from(["18 mm", "parting-line", "satin-fine", "belt", "flat", "3 kg"]),
    lambda inner: (
        st.lists(inner, max_size=3)
        | st.dictionaries(
            st.sampled_from(["name", "shape", "defect", "depth", "texture", "takes", "x"]), inner, max_size=3
        )
    ),
    max_leaves=6,
)
PLACES = st.sampled_from(
    [
        ("name",),
        ("alloy",),
        ("part",),
        ("part", "mass"),
        ("start",),
        ("start", "defect"),
        ("start", "also"),
        ("start", "depth"),
        ("features",),
        ("features", 0),
        ("features", 0, "name"),
        ("features", 0, "shape"),
        ("features", 0, "radius"),
        ("features", 1, "start"),
        ("features", 1, "finish"),
        ("finish",),
        ("after",),
        ("cell",),
        ("cell", "stations"),
        ("cell", "stations", 0),
        ("cell", "dust"),
        ("cell", "rates"),
        ("cell", "changeover"),
        ("cell", "compliance"),
        ("cell", "stations", 0, "speed"),
        ("batch",),
    ]
)


@settings(max_examples=300, deadline=None)
@given(PLACES, ANY)
def test_any_value_anywhere_gives_a_job_or_problems(place: tuple[Any, ...], value: object) -> None:
    from .conftest import CELL, JOB, build

    data = plain(load(JOB, "x"))
    data["cell"] = {k: v for k, v in plain(load(CELL, "x")).items() if k not in ("key", "source")}
    at: Any = data
    for step in place[:-1]:
        at = at[step]
    at[place[-1]] = value
    try:
        assert parse_job(from_plain(data), build()).features
    except InputError as error:
        assert error.problems
