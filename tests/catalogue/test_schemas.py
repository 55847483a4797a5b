"""The schemas allow what the readers allow, and refuse what somebody typically gets wrong."""

from __future__ import annotations

import copy
import json
import re
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from hypothesis import given
from hypothesis import strategies as st

from advisor.catalogue.schema_parts import dimension_text
from advisor.catalogue.schemas import FOLDER, schemas, with_first_line
from advisor.errors import InputError
from advisor.job.feature import FEATURE_KEYS
from advisor.job.read import JOB_KEYS
from advisor.knowledge.base import ROW_MODELS
from advisor.knowledge.files import read_files
from advisor.knowledge.load import load_knowledge
from advisor.knowledge.locate import knowledge_folder
from advisor.knowledge.parse import parse_knowledge
from advisor.knowledge.read_rules import OPTIONAL, REQUIRED
from advisor.knowledge.strict_yaml import plain, read_file
from advisor.units import DIMENSIONS, UNITS, parse_quantity

ROOT = Path(__file__).parents[2]
KNOWLEDGE = load_knowledge()
SCHEMAS = {name: jsonschema.Draft7Validator(schema) for name, schema in schemas(KNOWLEDGE).items()}


def refused(name: str, data: object) -> bool:
    """Whether a schema refuses some data."""
    return not SCHEMAS[name].is_valid(data)


def changed(data: Any, path: str, value: object) -> Any:
    """Data with one place changed; a path is keys and numbers joined by slashes."""
    data = copy.deepcopy(data)
    inner = data
    *steps, last = path.split("/")
    for step in steps:
        inner = inner[int(step) if step.isdigit() else step]
    if value is GONE:
        del inner[last]
    else:
        inner[int(last) if last.isdigit() else last] = value
    return data


GONE = object()
TABLES = {
    path.stem: plain(read_file(path)) for path in sorted((knowledge_folder() / "reference").glob("*.yaml"))
}


# ------------------------------------------------------------------------------------ what is allowed


def test_a_rule_may_have_the_fields_that_the_reader_knows() -> None:
    rule = SCHEMAS["rules"].schema["definitions"]["rule"]
    assert tuple(rule["properties"]) == (*REQUIRED, *OPTIONAL)
    assert rule["required"] == list(REQUIRED)
    assert all(field.get("description") for field in rule["properties"].values())


def test_conditions_and_advice_offer_the_whole_vocabulary_with_its_meaning() -> None:
    definitions = SCHEMAS["rules"].schema["definitions"]
    offered = definitions["conditions"]["properties"]
    assert list(offered) == list(KNOWLEDGE.vocabulary.testable)
    for key, attribute in KNOWLEDGE.vocabulary.testable.items():
        assert attribute.means in offered[key]["description"]
    for strength in ("must", "should", "may", "avoid", "never"):
        assert list(definitions[f"advice: {strength}"]["properties"]) == list(KNOWLEDGE.vocabulary.decisions)


def test_a_job_and_a_feature_have_the_fields_that_the_reader_knows() -> None:
    definitions = SCHEMAS["job"].schema["definitions"]
    assert tuple(definitions["job"]["properties"]) == JOB_KEYS
    assert tuple(definitions["feature"]["properties"]) == FEATURE_KEYS


@pytest.mark.parametrize("table", ROW_MODELS)
def test_a_table_has_the_columns_of_its_model(table: str) -> None:
    row = SCHEMAS[table.replace("_", "-")].schema["definitions"]["row"]
    assert list(row["properties"]) == list(ROW_MODELS[table].model_fields)
    assert row["additionalProperties"] is False


def test_every_schema_lies_where_the_first_lines_point() -> None:
    for name, validator in SCHEMAS.items():
        stored = json.loads((ROOT / FOLDER / f"{name}.schema.json").read_text(encoding="utf-8"))
        assert stored == validator.schema


def test_the_first_line_is_put_in_once_and_an_older_one_replaced() -> None:
    once = with_first_line("# Words.\nwords: []\n", "knowledge/words.yaml")
    assert once.startswith("# yaml-language-server: $schema=../docs/schema/words.schema.json\n# Words.\n")
    assert with_first_line(once, "knowledge/words.yaml") == once
    assert with_first_line(once, "shop/rules/x.yaml").splitlines()[1:] == once.splitlines()[1:]
    assert with_first_line("x\n", "README.md") == "x\n"


AMOUNTS = st.sampled_from(["18", "0.5", ".5", "5.", "1e3", "1/8", "1 1/8", "-3", "+2"])


@given(
    st.sampled_from(sorted(DIMENSIONS)),
    AMOUNTS,
    st.sampled_from(["", " ", "  "]),
    st.sampled_from(sorted({*UNITS, "MM", "In", "µm", "in²", "in^2", "furlong", "", "mm."})),
)
def test_a_quantity_is_text_that_the_reader_reads(dimension: str, amount: str, gap: str, unit: str) -> None:
    text = f"{amount}{gap}{unit}"
    try:
        parse_quantity(text, dimension)
    except InputError:
        read = False
    else:
        read = True
    assert bool(re.search(dimension_text(dimension)["pattern"], text)) == read


# ------------------------------------------------------------------------------------ what is refused

RULE: dict[str, Any] = {
    "rule": "a-test", "title": "A test",
    "when": {"stage": "clear", "media": "belt", "feature.radius_mm": {"at most": 20}},
    "then": [{"should": {"backing": ["J"]}}], "concern": "form", "because": "It must be so.",
    "not for": "Other cases than this one.", "source": "common-practice",
    "examples": [
        {"given": {"stage": "clear", "media": "belt", "feature.radius_mm": 20}, "expect": "fires"},
        {"given": {"stage": "clear", "media": "belt", "feature.radius_mm": 21}, "expect": "silent"},
    ],
}  # fmt: skip

RULE_SLIPS = {
    "an id with a space": ("rule", "a test"),
    "an attribute that is not there": ("when/feature.radius", 20),
    "a value that is not there": ("when/media", "belts"),
    "a value in the wrong case": ("when/media", "Belt"),
    "a comparison misspelt": ("when/feature.radius_mm", {"at last": 20}),
    "two lower ends": ("when/feature.radius_mm", {"at least": 1, "above": 2}),
    "an order where there is none": ("when/media", {"at least": "belt"}),
    "text for a number": ("when/feature.radius_mm", {"at most": "20 mm"}),
    "a number out of its range": ("when/feature.radius_mm", {"at most": 20_000}),
    "a conclusion asked whether it is known": ("when/work.toughness", {"known": True}),
    "an empty list": ("when/media", []),
    "nothing asked": ("when/media", {}),
    "an empty unless": ("unless", {}),
    "an option of another decision": ("then/0", {"should": {"backing": ["rubber"]}}),
    "a decision that is not there": ("then/0", {"should": {"backings": ["J"]}}),
    "two decisions at once": ("then/0", {"should": {"backing": "J", "coat": "open"}}),
    "two things said at once": ("then/0", {"should": {"backing": "J"}, "avoid": {"backing": "X"}}),
    "nothing said": ("then", []),
    "a strength that is not there": ("then/0", {"ought": {"backing": "J"}}),
    "must for the look": ("concern", "taste"),
    "a bare number for a stretch": ("then/0", {"should": {"wheel_hardness": 30}}),
    "an aim for an option": ("then/0", {"should": {"pressure": {"aim": "low"}}}),
    "an aim against something": ("then/0", {"avoid": {"force": {"aim": "low"}}}),
    "an aim of the wrong kind": ("then/0", {"should": {"force": {"aim": "fine"}}}),
    "never on both sides": ("then/0", {"never": {"force": {"at least": 1, "at most": 2}}}),
    "a grade without its scale": ("then/0", {"should": {"grade": 80}}),
    "a conclusion from a job's attribute": ("then/0", {"conclude": {"environment": "food"}}),
    "a conclusion of the wrong value": ("then/0", {"conclude": {"work.toughness": "high"}}),
    "a remedy without a symptom": ("then/0", {"remedy": "Slow down."}),
    "a change without a remedy": ("then/0", {"caution": "Slow down.", "change": {"surface_speed": "lower"}}),
    "a filler": ("not for", "N/A."),
    "an empty reason": ("because", " "),
    "no reason": ("because", GONE),
    "a source that is not listed": ("source", "somebody-said"),
    "no source": ("source", []),
    "a status that is not there": ("status", "new"),
    "a field that is not there": ("priority", 1),
    "one example only": ("examples", RULE["examples"][:1]),
    "an example of something unknown": ("examples/0/given", {"size": 3}),
    "an example that expects something else": ("examples/0/expect", "true"),
}


def test_the_rule_that_is_spoilt_below_is_good() -> None:
    assert list(SCHEMAS["rules"].iter_errors([RULE])) == []


@pytest.mark.parametrize("slip", RULE_SLIPS)
def test_a_slip_in_a_rule_is_refused_by_the_schema_and_by_the_check(slip: str) -> None:
    path, value = RULE_SLIPS[slip]
    spoilt = changed(RULE, path, value)
    assert refused("rules", [spoilt])
    if slip != "one example only":  # the reader reads it; running the examples finds it
        assert _read(spoilt), "the reader is no laxer than the schema"


def _read(rule: object) -> list[str]:
    """What the reader says about a base with one more rule; JSON is YAML."""
    files = dict(read_files(knowledge_folder()))
    kept = {name: content for name, content in files.items() if not name.startswith("rules/")}
    kept["rules/one.yaml"] = json.dumps([rule]).encode()
    return [str(problem) for problem in parse_knowledge(kept, knowledge_folder())[1]]


@pytest.mark.parametrize("strength", ["must", "never"])
def test_binding_advice_is_for_binding_concerns_only(strength: str) -> None:
    rule = changed(RULE, "then", [{"caution": "Look out."}, {strength: {"backing": "J"}}])
    assert not refused("rules", [rule])
    assert refused("rules", [changed(rule, "concern", "look")])
    assert refused("rules", [changed(rule, "concern", "economy")])


ROW_SLIPS = {
    "a column misspelt": ("alloys", "alloys/0/hardnes_hv", 100),
    "a family that is not there": ("alloys", "alloys/0/family", "steel"),
    "a source that is not listed": ("alloys", "alloys/0/source", ["hearsay"]),
    "no source at all": ("alloys", "alloys/0/source", []),
    "a figure as text": ("alloys", "alloys/0/density", "7.87 g/cm3"),
    "a flag as a word": ("alloys", "alloys/0/lead", "none"),
    "a window of one number": ("defects", "defects/0/depth_mm", [0.2]),
    "a kind that is not there": ("defects", "defects/0/kind", "bump"),
    "a grade that is not there": ("finishes", "finishes/0/grades", ["P45"]),
    "a finish that is not there": ("designations", "designations/0/finish", "satin"),
    "a shape that is not there": ("media", "media/0/shapes", ["round"]),
    "a grain that is not there": ("media", "media/0/grains", ["corundum"]),
    "a media that is not there": ("symptoms", "symptoms/0/media", ["belts"]),
    "a scope that is not there": ("coefficients", "coefficients/0/scope", {"family": "steels"}),
    "a band without its middle": ("coefficients", "coefficients/0/band", {"low": 1, "high": 2}),
    "a power without its unit": ("cells", "cells/0/stations/0/power", 3),
    "a power in another unit": ("cells", "cells/0/stations/0/power", "3 mm"),
    "a handling that is not there": ("cells", "cells/0/handling", ["by-hand"]),
    "a key left out": ("backings", "backings/0/key", GONE),
    "a scale that is not there": ("grades", "grades/0/scale", "FEPA"),
}


@pytest.mark.parametrize("slip", ROW_SLIPS)
def test_a_slip_in_a_table_is_refused(slip: str) -> None:
    table, path, value = ROW_SLIPS[slip]
    assert not refused(table.replace("_", "-"), TABLES[table])
    assert refused(table.replace("_", "-"), changed(TABLES[table], path, value))


VOCABULARY: Any = plain(read_file(knowledge_folder() / "vocabulary.yaml"))
VOCABULARY_SLIPS = {
    "a kind that is not there": ("attributes/stage/kind", "text"),
    "a number without a range": ("attributes/depth_mm/range", GONE),
    "a choice without values": ("attributes/stage/values", GONE),
    "a table that is not there": ("attributes/defect/values from", "faults"),
    "no meaning": ("decisions/media/means", GONE),
    "a setter that is not there": ("attributes/stage/set by", "user"),
    "options left out": ("decisions/handling/options", GONE),
}


@pytest.mark.parametrize("slip", VOCABULARY_SLIPS)
def test_a_slip_in_the_vocabulary_is_refused(slip: str) -> None:
    assert refused("vocabulary", changed(VOCABULARY, *VOCABULARY_SLIPS[slip]))


@pytest.mark.parametrize(
    ("name", "path", "value"),
    [
        ("sources", "sources/0/kind", "hearsay"),
        ("sources", "sources/0/seen", "yes"),
        ("sources", "sources/0/titel", "x"),
        ("words", "words/0/means", GONE),
        ("words", "words/0/see", "grain"),
    ],
)
def test_a_slip_in_sources_or_words_is_refused(name: str, path: str, value: object) -> None:
    data = plain(read_file(knowledge_folder() / f"{name}.yaml"))
    assert refused(name, changed(data, path, value))


JOB: Any = plain(read_file(ROOT / "shared" / "jobs" / "vent-lever.yaml"))
JOB_SLIPS = {
    "a field misspelt": ("alloi", "z33525"),
    "no cell": ("cell", GONE),
    "a cell that is not there": ("cell", "robot"),
    "a length without its unit": ("features/0/width", 24),
    "a length in kilograms": ("features/0/width", "24 kg"),
    "a comma in a number": ("features/0/width", "2,4 mm"),
    "a round face without its radius": ("features/1/radius", GONE),
    "a flat face with a radius": ("features/0/radius", "5 mm"),
    "a shape that is not there": ("features/0/shape", "round"),
    "a defect that is not there": ("start/defect", "skin"),
    "three depths": ("start/depth", ["1 mm", "2 mm", "3 mm"]),
    "half a part": ("batch", 0.5),
    "an environment that is not there": ("environment", "sea"),
    "no feature": ("features", []),
}


@pytest.mark.parametrize("slip", JOB_SLIPS)
def test_a_slip_in_a_job_is_refused(slip: str) -> None:
    assert not refused("job", JOB)
    assert refused("job", changed(JOB, *JOB_SLIPS[slip]))


WORKED: Any = plain(read_file(min((knowledge_folder() / "jobs").glob("*.yaml"))))
EXPECTED: dict[str, Any] = {"why": "It is so.", "step": "last", "must": {"media": "belt"}}


@pytest.mark.parametrize(
    "slip",
    [
        {"must": {"media": "belts"}},
        {"must": {"steps": {"at most": 3}}},
        {"step": "second"},
        {"must": {"ra": {"at most": 0.5}}},
        {"must": {}},
        {"why": " "},
        {"should": {"media": "belt"}},
    ],
    ids=str,
)
def test_a_slip_in_what_is_expected_is_refused(slip: dict[str, Any]) -> None:
    assert not refused("worked-job", {**WORKED, "expect": [EXPECTED]})
    assert refused("worked-job", {**WORKED, "expect": [{**EXPECTED, **slip}]})
