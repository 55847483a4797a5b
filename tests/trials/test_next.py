"""The advice for the next try: one thing at a time, never what is forbidden, never the same twice."""

from __future__ import annotations

import random
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
from hypothesis import Phase, given, settings
from hypothesis import strategies as st

from advisor.errors import InputError
from advisor.inference.tests import conjunction
from advisor.job.read import parse_job
from advisor.knowledge.base import Knowledge
from advisor.knowledge.locate import demo_jobs
from advisor.knowledge.rules import Rule
from advisor.knowledge.strict_yaml import plain, read_file
from advisor.pipeline import Desk, recommend
from advisor.trials.advice import Advice
from advisor.trials.bench import open_bench
from advisor.trials.case import open_case
from advisor.trials.cloud import Cloud
from advisor.trials.log import Log
from advisor.trials.model import Trial
from advisor.trials.next_try import next_try
from advisor.trials.read import parse_trial
from advisor.trials.run import Run
from advisor.trials.write import to_plain
from tests.trials.made import JOB, trial
from tests.trials.shop import GRAIN_UM, generated_job


@pytest.fixture(scope="module")
def desk(knowledge: Knowledge) -> Any:
    desk = Desk(knowledge)
    yield desk
    desk.close()


def log_of(*trials: Trial) -> tuple[Trial, Log]:
    named = tuple(one.model_copy(update={"id": f"try-{n}"}) for n, one in enumerate(trials, 1))
    return named[-1], Log(Path(), named)


def advice(desk: Desk, *trials: Trial) -> Advice:
    last, log = log_of(*trials)
    return next_try(last, log, desk)


def last_step(desk: Desk, **fields: Any) -> dict[str, Any]:
    """A failed trial of the last step of the gate arm, set as its sheet says, with some fields replaced."""
    sheet = recommend(parse_job(JOB, desk.knowledge), desk)
    step = sheet.features[0].steps[-1]
    used = {"media": step.media, "grain": step.grain, "grade": step.grade, "passes": step.passes,
            "force": f"{step.force_n} N", "surface_speed": f"{step.surface_speed_m_s} m/s",
            "feed": f"{step.feed_mm_s} mm/s"}  # fmt: skip
    return {
        "job": JOB, "feature": "outer sweep", "step": step.number, "verdict": "fail",
        "used": {key: value for key, value in used.items() if value is not None}, **fields,
    }  # fmt: skip


def read(desk: Desk, data: dict[str, Any]) -> Trial:
    return parse_trial(data, desk.knowledge)


def test_a_trial_that_met_everything_needs_no_change(desk: Desk) -> None:
    target = parse_job(JOB, desk.knowledge).features[0].finish
    middle = (target.ra_low_um * target.ra_high_um) ** 0.5
    said = advice(desk, read(desk, last_step(desk, verdict="pass", measured={"ra": f"{middle} um"})))
    assert (said.moves, said.missed, said.stuck) == ((), (), False)
    assert said.remarks == ("Nothing was missed: keep this set-up.",)


def test_a_failed_trial_that_says_nothing_gets_an_honest_answer(desk: Desk) -> None:
    said = advice(desk, read(desk, last_step(desk)))
    assert said.moves == ()
    assert said.stuck
    assert "nothing says how" in said.remarks[0]


def test_too_rough_is_answered_with_something_finer_or_lighter(desk: Desk) -> None:
    target = parse_job(JOB, desk.knowledge).features[0].finish
    said = advice(desk, read(desk, last_step(desk, measured={"ra": f"{2 * target.ra_high_um} um"})))
    assert said.missed[0].what == "roughness"
    assert said.moves
    assert all(move.chance is not None for move in said.moves)
    for move in said.moves:
        if move.ra_um is not None:
            assert move.ra_um.expected < 2 * target.ra_high_um, move.do


def test_every_change_is_one_setting_and_what_must_follow_it_is_told(desk: Desk) -> None:
    said = advice(
        desk,
        trial(
            desk.knowledge, symptoms=["chatter", "glazed-media"], measured__removal="40 um", verdict="fail"
        ),
    )
    assert said.moves
    for move in said.moves:
        own = set(move.settings) - ({"passes"} if move.with_it else set())
        assert len(own) <= 1, move
        assert len(move.with_it) == len(move.settings) - len(own) or move.before


def test_the_changes_come_in_order_of_promise(desk: Desk) -> None:
    target = parse_job(JOB, desk.knowledge).features[0].finish
    said = advice(desk, read(desk, last_step(desk, measured={"ra": f"{1.7 * target.ra_high_um} um"})))
    chances = [move.chance or 0.0 for move in said.moves if move.against == "roughness"]
    assert all(later <= earlier + 0.051 for earlier, later in pairwise(chances)), chances


def test_what_was_tried_is_remembered_and_not_offered_again(desk: Desk) -> None:
    data = last_step(desk, measured={"ra": "1.6 um"})
    first = read(desk, data)
    best = next(move for move in advice(desk, first).moves if move.settings)
    second = read(desk, {**data, "used": {**data["used"], **best.settings}, "measured": {"ra": "1.5 um"}})
    then = advice(desk, first, second)
    again = advice(desk, second, first)  # as if the better set-up had come first
    assert best.do not in [move.do for move in again.moves]
    assert [tried.trial for tried in then.tried] == ["try-1", "try-2"]
    back = [item for item in again.not_offered if item.kind == "tried"]
    assert any(item.trial == "try-1" for item in back) or best.do not in [move.do for move in then.moves]


def test_a_remedy_whose_way_was_gone_without_success_is_not_repeated(desk: Desk) -> None:
    data = last_step(desk, symptoms=["web-transfer"])
    first = read(desk, data)
    force = next(move for move in advice(desk, first).moves if "force" in move.settings)
    second = read(desk, {**data, "used": {**data["used"], **force.settings}})
    then = advice(desk, first, second)
    assert not any("force" in move.settings for move in then.moves)
    assert any(item.kind == "tried" and item.trial == "try-1" for item in then.not_offered)


def test_a_thing_that_was_done_is_not_advised_again(desk: Desk) -> None:
    data = last_step(desk, symptoms=["chatter"])
    done = next(move for move in advice(desk, read(desk, data)).moves if move.decision is None)
    again = advice(desk, read(desk, {**data, "followed": [done.rule]}))
    assert done.do not in [move.do for move in again.moves]
    assert any(item.kind == "tried" and item.rule == done.rule for item in again.not_offered)


def test_a_number_never_asks_for_the_opposite_of_what_a_sign_asks(desk: Desk) -> None:
    """Too little came off and the face is burnt: more force or speed would cut more, and burn more."""
    rules = desk.knowledge.rules
    burnt = [note.change for rule in rules for note in rule.notes("remedy")
              if any(item.attribute == "symptom" and "burn" in item.operand for item in rule.when)]  # fmt: skip
    assert any(change.get("force") == "lower" for change in burnt)
    data = {
        "job": plain(read_file(demo_jobs() / "gutter-corner.yaml")), "feature": "outer seam", "step": 1,
        "used": {"media": "fibre-disc", "grain": "ceramic-alumina", "grade": "P36", "force": "40 N"},
        "measured": {"removal": "0.6 mm"}, "verdict": "fail",
    }  # fmt: skip
    cold, hot = advice(desk, read(desk, data)), advice(desk, read(desk, {**data, "symptoms": ["burn"]}))
    assert any(move.do.startswith("Raise the force") for move in cold.moves)
    assert not any(move.do.startswith("Raise the force") for move in hot.moves)
    assert any(each.do.startswith("Raise the force") and "asks for the opposite" in each.because
               for each in hot.not_offered)  # fmt: skip


def test_a_slip_of_the_unit_is_told_and_moves_nothing(desk: Desk) -> None:
    """One reading of three was taken in thousandths of an inch: neither it nor the others mislead the next try."""
    data = last_step(desk, verdict="pass")
    sound = [read(desk, {**data, "measured": {"ra": f"{value} um"}, "note": value}) for value in ("0.55", "0.6")]
    wild = read(desk, {**data, "measured": {"ra": f"{0.58 * 25.4:.4g} um"}})
    said = advice(desk, *sound, wild)
    assert said.moves == ()
    assert "cannot be of this set-up" in said.remarks[0]
    without, despite = advice(desk, *sound), advice(desk, wild, *sound)
    assert [move.do for move in despite.moves] == [move.do for move in without.moves]


def test_cautions_come_with_every_answer(desk: Desk) -> None:
    job = {**JOB, "alloy": "r56400", "name": "strut", "finish": "satin-medium"}
    said = advice(
        desk, trial(desk.knowledge, job=job, symptoms=["titanium-sparks", "chatter"], verdict="fail")
    )
    assert any("dust" in text for text in said.cautions)
    assert said.missed[0].symptom == "titanium-sparks", "what can hurt is answered first"


def test_a_set_up_that_this_cell_cannot_run_is_told_and_nothing_is_made_up(desk: Desk) -> None:
    said = advice(
        desk, trial(desk.knowledge, used={"media": "orbital-disc", "grade": "P120"}, symptoms=["pigtails"])
    )
    assert said.moves == ()
    assert any("No station of this cell" in text or "does not" in text for text in said.remarks)


def test_a_step_that_is_not_on_the_sheet_is_refused(desk: Desk) -> None:
    with pytest.raises(InputError, match="has no such step for 'outer sweep', given '9'; allowed: 1 to"):
        advice(desk, trial(desk.knowledge, step=9))


@settings(max_examples=8, phases=[Phase.generate])
@given(
    seed=st.integers(0, 10_000),
    symptom=st.integers(0, 47),
    rough=st.floats(0.3, 3.0),
    pressed=st.floats(0.5, 2.0),
)
def test_no_change_ever_breaks_a_rule_or_a_limit(
    desk: Desk, seed: int, symptom: int, rough: float, pressed: float
) -> None:
    """Each change is taken to the knowledge and the cell by another road than the one that made it."""
    knowledge = desk.knowledge
    data = generated_job(random.Random(seed))
    job = parse_job(data, knowledge)
    steps = recommend(job, desk).features[0].steps
    if not steps:
        return
    step = steps[-1]
    key = tuple(knowledge.tables.symptoms)[symptom]
    force = (step.force_n or 20.0) * pressed
    used = {"media": step.media, "grade": step.grade, "force": f"{force:.3f} N", "passes": step.passes}
    one = parse_trial(
        {"job": data, "step": step.number, "verdict": "fail", "symptoms": [key],
         "used": {name: value for name, value in used.items() if value is not None},
         "measured": {"ra": f"{rough * job.features[0].finish.ra_high_um:.4f} um"}},
        knowledge,
    )  # fmt: skip
    media, held = knowledge.tables.media, job.cell.compliance
    for move in advice(desk, one).moves:
        settings_ = move.settings
        station = next(s for s in job.cell.stations if s.name == step.station)
        if "media" in settings_:
            station = next(s for s in job.cell.stations if settings_["media"] in s.takes)
        if "force" in settings_ and held is not None and held.force_n is not None:
            newtons = float(str(settings_["force"]).split()[0])
            assert held.force_n[0] * 0.999 <= newtons <= held.force_n[1] * 1.001, move
        if "surface_speed" in settings_:
            speed = float(str(settings_["surface_speed"]).split()[0])
            top = 3.141592653589793 * station.wheel_diameter_mm / 1e3 * station.speed_rpm[1] / 60
            assert speed <= min(top, station.marked_speed_m_s or top) * 1.001, move
        if "grade" in settings_ and "media" not in settings_:
            assert settings_["grade"] in media[step.media].grades, move
        if "hardness_shore_a" in settings_ and station.wheel_hardness:
            assert settings_["hardness_shore_a"] in station.wheel_hardness, move
        for option in ("lubricant", "grain"):
            for rule in knowledge.rules:
                nevers = [
                    item for item in rule.advice() if item.decision == option and item.strength == "never"
                ]
                if option in settings_ and any(settings_[option] in item.options for item in nevers):
                    assert not _certainly_fires(rule.when, knowledge, job.alloy), (move, rule.id)


@settings(max_examples=10, phases=[Phase.generate])
@given(
    seed=st.integers(0, 10_000), which=st.integers(0, 9), extra=st.booleans(), symptom=st.integers(0, 47),
    rough=st.floats(0.3, 3.0),
)  # fmt: skip
def test_no_offered_change_meets_a_never_or_brings_on_a_new_caution(
    desk: Desk, seed: int, which: int, extra: bool, symptom: int, rough: float
) -> None:
    """On any step, of the sheet or beyond it: each offered set-up is held against every rule read literally.

    The rules are read one by one as they are written, not through the engine that made the offer.
    """
    knowledge = desk.knowledge
    data = generated_job(random.Random(seed))
    job = parse_job(data, knowledge)
    steps = recommend(job, desk).features[0].steps
    if not steps:
        return
    step = steps[which % len(steps)]
    used = {"media": step.media, "grain": step.grain, "grade": step.grade, "passes": step.passes,
            "force": None if step.force_n is None else f"{step.force_n} N"}  # fmt: skip
    one = parse_trial(
        {"job": data, "step": step.number, "extra": extra, "verdict": "fail",
         "symptoms": [tuple(knowledge.tables.symptoms)[symptom]],
         "used": {name: value for name, value in used.items() if value is not None},
         "measured": {"ra": f"{rough * job.features[0].finish.ra_high_um:.4f} um"}},
        knowledge,
    )  # fmt: skip
    last, log = log_of(one)
    case = open_case(open_bench(last, desk), log)
    base = case.base
    if not isinstance(base, Run):
        return
    before = _forbidding(base, knowledge), _cautioning(base, knowledge)
    for move in next_try(last, log, desk).moves:
        if not move.settings:
            continue
        tried = parse_trial({**_content(one), "used": {**used_of_trial(one), **move.settings}}, knowledge)
        after = case.run_of(case.asked(tried.model_copy(update={"id": "after"})))
        assert isinstance(after, Run), move
        assert _forbidding(after, knowledge) <= before[0], move
        assert _cautioning(after, knowledge) <= before[1], move


def _content(one: Trial) -> dict[str, Any]:
    return {key: value for key, value in to_plain(one).items() if key != "used"}


def used_of_trial(one: Trial) -> dict[str, Any]:
    """What a trial set, as a trial file writes it."""
    return dict(to_plain(one)["used"])


def _holds(rule: Rule, run_: Run, knowledge: Knowledge) -> bool:
    words = knowledge.vocabulary
    silenced = bool(rule.unless) and conjunction(rule.unless, run_.facts, words) == "yes"
    return rule.status != "retired" and not silenced and conjunction(rule.when, run_.facts, words) == "yes"


def _forbidding(run_: Run, knowledge: Knowledge) -> set[tuple[str, str]]:
    """The rules whose `never` names what the set-up has, with the decision; overridden ones apart."""
    speaking = [rule for rule in knowledge.rules if _holds(rule, run_, knowledge)]
    struck = {other for rule in speaking for other in rule.overrides}
    return {
        (rule.id, advice.decision)
        for rule in speaking
        if rule.id not in struck
        for advice in rule.advice()
        if advice.strength == "never" and run_.facts.get(advice.decision) in (advice.options or ())
    }


def _cautioning(run_: Run, knowledge: Knowledge) -> set[str]:
    return {
        rule.id
        for rule in knowledge.rules
        if rule.concern == "safety" and rule.notes("caution") and _holds(rule, run_, knowledge)
    }


def _certainly_fires(conditions: Any, knowledge: Knowledge, alloy: str) -> bool:
    """Whether the alloy alone makes a rule fire."""
    row = knowledge.tables.alloys[alloy]
    facts = {"alloy.key": row.key, "alloy.family": row.family, "alloy.group": row.group}
    return bool(conditions) and all(
        item.attribute in facts and item.operator == "in" and facts[item.attribute] in item.operand
        for item in conditions
    )


def test_a_reading_moves_the_expectation_toward_it_and_narrows_it(desk: Desk) -> None:
    one = read(desk, last_step(desk, measured={"ra": "1.0 um"}))
    last, log = log_of(one)
    case = open_case(open_bench(last, desk), log)
    base = case.base
    prior = Cloud(case.desk, case.step)
    modelled = prior.ra(base, case._found(prior, None, None))  # type: ignore[arg-type]
    assert modelled is not None
    before, wide = prior.outlook(modelled)
    after = case.expected_ra(base)  # type: ignore[arg-type]
    assert after is not None
    assert abs(after[0] - 1.0) < abs(before - 1.0)
    assert after[1] < wide


def test_the_simulated_shop_knows_the_grains_of_the_table(knowledge: Knowledge) -> None:
    """The grain sizes were typed twice; a slipped digit would make the experiment unfair."""
    for key, size in GRAIN_UM.items():
        assert knowledge.tables.grades[key].um == pytest.approx(size, rel=0.03), key
