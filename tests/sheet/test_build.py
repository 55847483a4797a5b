"""Sheets as they are built from real jobs: what is said first, what was assumed, what nobody can switch off."""

from __future__ import annotations

import inspect
import re
from typing import Any

import pytest
import typer.main

from advisor.cli.app import app
from advisor.errors import InputError
from advisor.inference.engine import Engine
from advisor.inference.matchers import matcher_maker
from advisor.job.model import Job
from advisor.pipeline import recommend
from advisor.reasons import Trail
from advisor.render.json import from_json, to_json
from advisor.render.markdown import to_markdown
from advisor.sequence.joint import share_set_ups
from advisor.sheet.explain import Explainer
from advisor.sheet.model import Sheet
from tests import invented
from tests.small import knowledge_of, rule_text, rules_of, small_vocabulary

every_job = pytest.mark.parametrize("name", invented.JOBS)
MARKS = {"defect": "machining-marks"}

#: Alloy, what else the job says, words that must stand among the cautions.
HAZARDS: list[tuple[str, dict[str, Any], tuple[str, ...]]] = [
    ("a96061", {}, ("explosible", "shop vacuum")),
    ("a96061", {"cell": "robot-wet-belt-cell"}, ("hydrogen", "explosible")),
    ("m11916", {}, ("magnesium", "water")),
    ("r56400", {}, ("titanium", "water")),
    ("c17200", {"cell": "robot-wet-belt-cell"}, ("beryllium",)),
    ("c36000", {}, ("lead",)),
    ("unidentified-copper-alloy", {}, ("lead", "beryllium")),
    ("z33525", {}, ("zinc",)),
    ("g10180", {"start": {"defect": "paint"}, "finish": "keyed-paint"}, ("coating",)),
    ("g10180", {"start": {"defect": "plating"}, "finish": "ground-medium"}, ("coating",)),
]


def hazard(alloy: str, more: dict[str, Any]) -> Sheet:
    return invented.sheet_of(**{"alloy": alloy, "start": MARKS, "finish": "satin-medium", **more})


@pytest.mark.parametrize(("alloy", "more", "words"), HAZARDS)
def test_a_hazardous_metal_or_coating_is_said_on_the_sheet(
    alloy: str, more: dict[str, Any], words: tuple[str, ...]
) -> None:
    found = hazard(alloy, more)
    said = " ".join(f"{note.text} {note.rule}" for note in found.cautions).casefold()
    for word in words:
        assert word in said
    concerns = {rule.id: rule.concern for rule in invented.knowledge().rules}
    assert all(note.rule is not None and concerns[note.rule] == "safety" for note in found.cautions)
    assert all(note.source for note in found.cautions)


@pytest.mark.parametrize(("alloy", "more", "words"), HAZARDS)
def test_cautions_come_first_for_the_reader(alloy: str, more: dict[str, Any], words: tuple[str, ...]) -> None:
    found = hazard(alloy, more)
    text = to_markdown(found, "si")
    first = found.cautions[0].text.split(".")[0][:30]
    assert first in text
    assert text.index(first) < text.index("Step 1" if "Step 1" in text else found.features[0].name)


def test_a_harmless_job_has_fewer_cautions_and_none_of_dust_that_explodes() -> None:
    steel = hazard("s30400", {})
    said = " ".join(note.text for note in steel.cautions).casefold()
    assert "explosible" not in said and "beryllium" not in said
    assert len(steel.cautions) < len(hazard("a96061", {}).cautions)


@every_job
def test_every_safety_rule_that_fires_in_a_step_is_on_the_sheet(name: str) -> None:
    """Written out from the plan: nothing between the rules and the sheet may lose a caution."""
    found = invented.sheet(name)
    engine = invented.desk().decider.engine
    shown = {note.rule for note in found.cautions}
    for step in invented.plan(name).path:
        for firing in engine.consult("notes", step.candidate.situation):
            if firing.rule.concern == "safety" and firing.rule.notes("caution"):
                assert firing.rule.id in shown


#: What switches something off somewhere; no option and no field of a job may be called so.
SWITCHES = re.compile(
    r"(no|skip|hide|without|omit|suppress|ignore|mute|quiet|disable)[-_ ]?.*(caution|safety|warning|hazard|dust)"
    r"|(caution|safety|warning|hazard)", re.IGNORECASE,
)  # fmt: skip


def test_no_option_of_any_command_switches_cautions_off() -> None:
    group = typer.main.get_command(app)
    commands = dict(getattr(group, "commands", {}))
    assert "recommend" in commands
    for command in [group, *commands.values()]:
        for parameter in command.params:
            for name in (*parameter.opts, *parameter.secondary_opts):
                assert not SWITCHES.search(name), (command.name, name)


def test_no_field_of_a_job_switches_cautions_off() -> None:
    assert not [name for name in Job.model_fields if SWITCHES.search(name)]
    assert set(inspect.signature(recommend).parameters) == {"job", "desk"}
    for name in ("cautions", "safety", "no_cautions"):
        with pytest.raises(InputError):
            invented.job_of(alloy="a96061", start=MARKS, finish="satin-medium", **{name: "no"})


def test_what_nobody_knows_counts_as_the_worst() -> None:
    """An old coating nobody named and an alloy nobody identified get the cautions of the worst ones."""
    start = {"defect": "paint"}
    unknown = invented.sheet_of(alloy="g10180", start=start, finish="keyed-paint")
    safe = invented.sheet_of(alloy="g10180", start={**start, "coating": "none"}, finish="keyed-paint")
    more = {note.rule for note in unknown.cautions} - {note.rule for note in safe.cautions}
    assert more
    assert any("coating" in entry.field for entry in unknown.assumed)
    assert not any("coating" in entry.field for entry in safe.assumed)


# ---------------------------------------------------------------- what was assumed


def test_what_was_not_given_is_listed_with_a_way_to_measure_it() -> None:
    asked = {**invented.PLAIN_FACE}
    del asked["area"]
    found = invented.sheet_of(
        alloy="s30400", start={"defect": "casting-skin"}, finish="satin-medium", features=[asked]
    )
    fields = {entry.field: entry for entry in found.assumed}
    assert {"start.depth", "start.roughness", "part.contour", "features[face].area"} <= set(fields)
    assert fields["start.depth"].measure and fields["features[face].area"].measure
    assert all(entry.why and entry.value for entry in found.assumed)
    assert any(line.startswith("start.depth: ") for line in found.measure_next)


def test_what_was_given_is_not_listed() -> None:
    found = invented.sheet_of(
        alloy="s30400", finish="satin-medium", part={"contour": "low"},
        start={"defect": "casting-skin", "depth": "0.2 mm", "roughness": "6 um"}, after="none",
    )  # fmt: skip
    fields = {entry.field for entry in found.assumed}
    assert not fields & {"start.depth", "start.roughness", "part.contour", "features[face].area", "after"}


@every_job
def test_assumed_fields_are_those_of_the_job_and_more(name: str) -> None:
    assert {item.field for item in invented.job(name).assumed} <= {
        entry.field for entry in invented.sheet(name).assumed
    }


def test_unknowns_that_would_have_mattered_are_named_and_knowing_them_helps() -> None:
    """The number of rules is that of rules, each counted once; given a wall, it is asked for no more."""
    found = invented.sheet("oar-lock")
    lines = [line for line in found.measure_next if "('wall' of the part)" in line]
    assert len(lines) == 1
    number = int(re.findall(r"(\d+) rules? waits?", lines[0])[0])
    testing = [
        rule.id for rule in invented.knowledge().rules
        if any(condition.attribute == "part.wall_mm" for condition in rule.when)
    ]  # fmt: skip
    assert 1 <= number <= len(testing)
    told = invented.sheet_of(**{**invented.JOBS["oar-lock"], "part": {"wall": "5 mm"}})
    assert not [line for line in told.measure_next if "('wall' of the part)" in line]


# ---------------------------------------------------------------- first try, rivals, totals


@every_job
def test_a_first_try_says_what_to_do_in_either_case(name: str) -> None:
    first = invented.sheet(name).first_try
    assert first is not None
    steps = len(invented.plan(name).path)
    assert first.start_with and first.if_too_weak and first.if_too_strong
    assert first.parts_needed is not None and first.parts_needed.startswith(f"{steps + 2} parts")


@every_job
def test_the_first_try_is_never_coarser_than_the_plan(name: str) -> None:
    first, path = invented.sheet(name).first_try, invented.plan(name).path
    grade = path[0].candidate.grade
    assert first is not None and grade is not None
    tried = re.findall(r"\bP\d+\b", first.start_with)
    sizes = invented.knowledge().tables.grades
    for key in tried:
        assert sizes[key].um <= grade.um


@every_job
def test_rivals_on_the_sheet_are_those_of_the_plan(name: str) -> None:
    shown = invented.sheet(name).rivals
    rivals = [rival for plan in share_set_ups(invented.plans_of(invented.job(name)))[0] for rival in plan.rivals]
    assert len(shown) == len(rivals)
    for line, rival in zip(shown, rivals, strict=True):
        assert line.media == tuple(step.candidate.tool.media.key for step in rival.path)
        assert line.why and line.equal is rival.equal
        assert line.time_s == pytest.approx(sum(step.time for step in rival.path))


@every_job
def test_totals_add_up(name: str) -> None:
    found = invented.sheet(name)
    times = [feature.time_s for feature in found.features if feature.time_s]
    assert found.totals.time_s is not None and len(times) == len(found.features)
    assert found.totals.time_s.expected == pytest.approx(sum(time.expected for time in times))
    assert found.totals.steps == sum(len(feature.steps) for feature in found.features)


def test_options_that_lost_say_on_what() -> None:
    seen = set()
    for name in invented.JOBS:
        for feature in invented.sheet(name).features:
            for step in feature.steps:
                for rival in step.rivals:
                    assert rival.option not in (step.media, step.grain, step.backing) or rival.decision not in (
                        "media", "grain", "backing",
                    )  # fmt: skip
                    seen.add(rival.lost_on)
    assert len(seen) >= 3


def test_the_dish_is_held_against_the_limit_of_this_very_part() -> None:
    """A tenth of a thin wall, not the general limit."""
    for wall, allowed in (("0.8 mm", 0.08), ("20 mm", 0.15)):
        found = invented.sheet_of(
            alloy="s30400", start={"defect": "weld-bead", "depth": "0.8 mm"}, finish="ground-fine",
            part={"wall": wall}, cell={
                "operator": "person", "handling": ["part-in-hand"],
                "stations": [{
                    "name": "backstand", "takes": ["belt"], "power": "4 kW", "speed": ["800 rpm", "2600 rpm"],
                    "wheel_diameter": "250 mm", "wheel_hardness": [70],
                }],
            },
        )  # fmt: skip
        dishes = [
            limit for step in found.features[0].steps for limit in step.limits
            if limit.limit == "dish beside the strip"
        ]  # fmt: skip
        assert dishes
        for limit in dishes:
            assert limit.allowed == pytest.approx(allowed)
            assert isinstance(limit.value, float) and limit.value <= allowed


# ---------------------------------------------------------------- heard and not followed


def test_advice_on_what_the_cell_does_not_have_is_shown() -> None:
    """A No. 6 is softened by a non-woven belt or wheel; without either the sheet says what is missed."""

    def asked(*takes: str) -> Sheet:
        return invented.sheet_of(
            alloy="s30400", start={"defect": "previous-grinding"}, finish="A480 No. 6",
            cell={
                "operator": "person", "handling": ["part-in-hand"],
                "stations": [{
                    "name": "backstand", "takes": ["belt", *takes], "power": "4 kW",
                    "speed": ["400 rpm", "2600 rpm"], "wheel_diameter": "250 mm", "wheel_hardness": [35],
                }],
            },
        )  # fmt: skip

    without = asked("surface-conditioning-belt")
    hidden = [entry for entry in without.hidden_advice if entry.decision == "media"]
    assert [entry.rule for entry in hidden] == ["soft-sheen-of-a-no-6"]
    assert hidden[0].concern == "specification"
    assert "non-woven belt" in hidden[0].text
    assert not asked("nonwoven-belt").hidden_advice


def test_what_nobody_has_identified_is_not_worked_dry() -> None:
    """Leaded and beryllium alloys look like the rest: without fluid there is no plan, and it says what opens it."""
    dry = hazard("unidentified-copper-alloy", {})
    assert dry.refused
    found = [entry for entry in dry.features[0].blocked if entry.rule == "copper-alloy-nobody-has-named"]
    assert found and all("identified" in entry.text and entry.reasons for entry in found)
    assert all(entry.opens == "wet work in this cell" for entry in found)
    wet = hazard("unidentified-copper-alloy", {"cell": "robot-wet-belt-cell"})
    assert not wet.refused
    assert all(step.lubricant == "emulsion" for step in wet.features[0].steps)


def test_a_hidden_must_blocks_and_names_the_rule() -> None:
    """Beryllium copper may only be worked wet."""
    dry = hazard("c17200", {})
    assert dry.refused
    entry = next(entry for entry in dry.features[0].blocked if entry.rule)
    assert "emulsion" in entry.text and entry.opens == "wet work in this cell" and entry.reasons
    assert any("emulsion" in conflict.text for conflict in dry.conflicts)
    wet = hazard("c17200", {"cell": "robot-wet-belt-cell"})
    assert not wet.refused
    assert all(step.lubricant == "emulsion" for step in wet.features[0].steps)


@pytest.mark.parametrize("name", invented.JOBS)
def test_struck_advice_says_what_struck_it(name: str) -> None:
    rules = {rule.id for rule in invented.knowledge().rules}
    for entry in invented.sheet(name).struck:
        assert entry.rule in rules and entry.text
        assert entry.by
        assert entry.by != entry.rule


def test_advice_that_the_shelf_cannot_follow_is_struck_and_shown() -> None:
    """One soft wheel on the shelf, and a coarse belt that asks for a harder one."""
    found = invented.sheet_of(
        alloy="g10180", start={"defect": "mill-scale", "depth": "0.1 mm"}, finish="ground-medium",
        cell={
            "operator": "person", "handling": ["part-in-hand"],
            "stations": [{
                "name": "backstand", "takes": ["belt"], "power": "4 kW", "speed": ["800 rpm", "2600 rpm"],
                "wheel_diameter": "250 mm", "wheel_hardness": [35],
            }],
        },
    )  # fmt: skip
    assert [step.wheel.hardness_shore_a for step in found.features[0].steps if step.wheel] == [35.0] * len(
        found.features[0].steps
    )
    struck = [entry for entry in found.struck if entry.decision == "wheel_hardness"]
    assert struck and {entry.by for entry in struck} == {"what the cell and the tables offer"}


def test_a_chain_that_ends_near_a_limit_is_said_to() -> None:
    """A satin window so narrow that its inner part cannot be reached."""
    for high in (0.52, 0.5, 0.48, 0.46, 0.44, 0.42):
        found = invented.sheet_of(
            alloy="s30400", start=MARKS,
            finish={"texture": "satin", "lay": "linear", "ra": [f"{high - 0.01:.2f} um", f"{high:.2f} um"]},
        )  # fmt: skip
        if found.refused:
            assert any(entry.limit == "roughness" for entry in found.features[0].blocked)
        elif found.passed_over:
            assert "near a limit" in found.passed_over[0].text
            return
    pytest.skip("every one of these windows was met well inside or not at all")


# ---------------------------------------------------------------- a rule that fired though its exception is open


def test_an_exception_that_nobody_knows_is_said() -> None:
    vocabulary = small_vocabulary()
    (rule,) = rules_of(rule_text(unless="{wet: true}", when="{defect: scale}"), vocabulary)
    explain = Explainer(knowledge_of([rule], vocabulary))
    facts: dict[str, Any] = dict.fromkeys(vocabulary.testable)
    open_end = explain.ruled(rule, {**facts, "defect": "scale"}).text
    settled = explain.ruled(rule, {**facts, "defect": "scale", "wet": False}).text
    assert settled == "It is so."
    assert open_end.startswith("It is so. ") and "not known: wet" in open_end


def test_the_sentence_stands_on_real_sheets_until_the_value_is_given() -> None:
    engine = Engine(invented.knowledge(), matcher_maker("plain"))
    explain = Explainer(invented.knowledge())
    said = []
    for name in invented.JOBS:
        found = invented.sheet(name)
        for step in invented.plan(name).path:
            for decision in step.candidate.choices:
                for firing in engine.consult(decision, step.candidate.situation):
                    if firing.unless_unknown:
                        text = explain.ruled(firing.rule, step.candidate.situation).text
                        if any(reason.text == text for reason in found.reasons.values()):
                            said.append(text)
    assert said and all("this is not known:" in text for text in said)


def test_equal_reasons_are_one_and_numbered_as_they_are_met() -> None:
    trail = Trail()
    explain = Explainer(invented.knowledge())
    rule = invented.knowledge().rules[0]
    facts: dict[str, Any] = {condition.attribute: None for condition in rule.when}
    first, second = explain.ruled(rule, facts), explain.ruled(rule, facts)
    assert trail.refer(first) == trail.refer(second) == ("r1",)


# ---------------------------------------------------------------- the whole


@every_job
def test_the_sheet_reads_back_from_its_own_json(name: str) -> None:
    """Every number is rounded once; reading back and writing again changes nothing."""
    text = to_json(invented.sheet(name))
    assert to_json(from_json(text)) == text


@every_job
def test_no_sentence_shows_a_hole_where_a_value_belongs(name: str) -> None:
    found = invented.sheet(name)
    texts = [reason.text for reason in found.reasons.values()]
    texts += [note.text for note in (*found.cautions, *found.precautions, *found.outside, *found.after)]
    for feature in found.features:
        for step in feature.steps:
            texts += [*step.go_on_when, *step.if_not]
    for text in texts:
        assert not re.search(r"[{}]|\bNone\b|\bnan\b", text), text
        assert text.strip() == text and text


def test_a_job_of_three_features_has_a_plan_for_each() -> None:
    found = recommend(
        invented.job_of(
            alloy="z33525", finish="satin-fine", start={"defect": "casting-skin", "depth": "0.05 mm"},
            features=[
                {**invented.PLAIN_FACE, "name": "top"},
                {"name": "rim", "shape": "convex", "radius": "20 mm", "width": "12 mm", "area": "10 cm2"},
                {"name": "lip", "shape": "flat", "width": "20 mm", "area": "15 cm2",
                 "start": {"defect": "parting-line", "depth": "0.2 mm"}, "finish": "satin-medium"},
            ],
        ),
        invented.desk(),
    )  # fmt: skip
    assert [feature.name for feature in found.features] == ["top", "rim", "lip"]
    assert all(feature.steps for feature in found.features)
    lip = found.features[2]
    assert lip.start is not None and lip.start.defects == ("parting-line",)
    assert {reason for feature in found.features for step in feature.steps for ids in step.reasons.values()
            for reason in ids} <= set(found.reasons)  # fmt: skip


# ---------------------------------------------------------------- the deepest place


def test_a_deeper_place_is_told_with_its_passes() -> None:
    """The numbers are those of the typical depth; the technician must hear what the worst one costs."""
    start = {"defect": "parting-line", "depth": ["0.1 mm", "1.1 mm"]}
    steps = invented.sheet_of(alloy="c36000", start=start, finish="satin-fine").features[0].steps
    said = [check for step in steps for check in step.go_on_when if check.startswith("The numbers are for")]
    assert len(said) == 1 and said[0] in steps[0].go_on_when
    passes = int(re.search(r"about (\d+) pass", said[0])[1])  # type: ignore[index]
    removal, done = steps[0].removal_um, steps[0].passes
    assert removal is not None and done is not None
    # 1 mm more at the depth of a pass, in whole passes; the middle of a band is not the plan's own figure.
    needed = 1000.0 / (removal.expected / done)
    assert 0.8 * needed <= passes <= 1.2 * needed + 1


def test_one_depth_has_no_deeper_place() -> None:
    start = {"defect": "parting-line", "depth": "0.1 mm"}
    steps = invented.sheet_of(alloy="c36000", start=start, finish="satin-fine").features[0].steps
    assert not [check for step in steps for check in step.go_on_when if "The numbers are for" in check]
