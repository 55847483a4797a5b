"""What is shared between changes gives the answer of work done from scratch: jobs, candidates, and who wins."""

from __future__ import annotations

import random
from functools import cache

import pytest

from advisor.errors import InputError
from advisor.explain.forced import Wish
from advisor.explain.point import Place, places
from advisor.explain.remedies.change import Change, changed, left_out
from advisor.explain.remedies.jobs import Jobs
from advisor.explain.remedies.outlook import Outlook
from advisor.explain.remedies.proposals import single_changes
from advisor.explain.remedies.replan import STAGES, Replanner, worked_at
from advisor.figures.coefficients import CoefficientBook
from advisor.pipeline import WorkedOut, sheet_of, work_out
from advisor.sequence.candidates import stage_field
from advisor.situations import feature_situation
from tests import invented

NAMES = ("oar-lock", "tap-lever", "pump-throat", "hub-cap", "kettle-seam")


@cache
def worked(name: str) -> tuple[WorkedOut, Place]:
    found = work_out(invented.job(name), invented.desk())
    return found, places(found, sheet_of(found, invented.knowledge()))[0]


@cache
def outlook(name: str) -> Outlook:
    found, place = worked(name)
    base, feature = invented.knowledge(), place.feature.name
    window = place.planned.candidate.tool.media.grades
    grade = next(key for key in window if key != place.step.grade)
    book = CoefficientBook(base.tables.coefficients.values())
    return Outlook(
        found,
        base,
        feature,
        Wish(place.step.stage, "grade", grade),
        Replanner(base, found.decider, book),
        Jobs(found.job, feature, base),
    )


@cache
def proposals(name: str) -> tuple[Change, ...]:
    found, place = worked(name)
    rules = [rule.id for rule in invented.knowledge().rules if rule.id in found.decider.engine.heard()]
    facts = place.plan.desk.facts
    media = (place.step.media, "slack-belt")
    return tuple(single_changes(found.job, place.plan.feature, facts, invented.knowledge(), rules, media))


@pytest.mark.parametrize("name", NAMES)
def test_a_job_put_together_quickly_is_the_job_read_from_its_text(name: str) -> None:
    jobs, base = outlook(name).jobs, invented.knowledge()
    for change in random.Random(name).sample(proposals(name), 60):
        quick = jobs.alone((change,))
        try:
            read = changed(jobs.base, (change,), base)
        except InputError:
            continue  # told to nobody: what is told is read again
        assert quick is not None
        assert told_by(quick) == told_by(read), change


def told_by(job: object) -> object:
    """Everything of a job that plans and rules look at."""
    face = job.features[0]  # type: ignore[attr-defined]
    cell = job.cell.model_copy(update={"key": None, "source": (), "note": None, "name": None})  # type: ignore[attr-defined]
    return feature_situation(job, face, invented.knowledge()), cell, face.start.depth_mm, face.start.defects  # type: ignore[arg-type]


@pytest.mark.parametrize("name", NAMES)
def test_candidates_kept_from_other_changes_are_those_made_anew(name: str) -> None:
    view = outlook(name)
    for change in random.Random(name).sample(proposals(name), 25):
        face = view.face((change,))
        if face is None:
            continue
        for stage in STAGES:
            for situation in view.replanner.situations(face, stage):
                desk = worked_at(face.desk, situation)
                kept = view.replanner.fields.of(desk, situation, 7, face.silent).candidates
                made = stage_field(desk, situation, 7).candidates
                assert [shown(each) for each in kept] == [shown(each) for each in made], (change, stage)


def shown(candidate: object) -> object:
    tool, setup = candidate.tool, candidate.setup  # type: ignore[attr-defined]
    figures = candidate.effect, candidate.life  # type: ignore[attr-defined]
    return tool.station.name, candidate.key, candidate.values, setup.line_load, setup.speed, figures  # type: ignore[attr-defined]


@pytest.mark.parametrize("name", NAMES)
def test_who_wins_is_the_same_as_worked_out_from_scratch(name: str) -> None:
    view, dice = outlook(name), random.Random(name)
    for _ in range(8):
        pair = tuple(dice.sample(proposals(name), dice.choice((1, 1, 2))))
        if len({change.place for change in pair}) < len(pair) or view.jobs.whole(pair) is None:
            continue
        assert view.wins(pair) is view.proved(pair), (pair, left_out(pair))
