"""A sheet may use what was learned: it says so, shows both bands, and can be made again from itself."""

from __future__ import annotations

import pytest

from advisor.audit.replay import read_stored, replay
from advisor.figures.learned import Learned
from advisor.job.model import Job
from advisor.learning.teach import teach
from advisor.pipeline import recommend
from advisor.render.html import to_html
from advisor.render.json import to_json
from advisor.render.markdown import to_markdown
from advisor.sheet.model import Sheet, unexplained
from tests.learning.trials import desk, read_trials, sheets, shop_trials


@pytest.fixture(scope="module")
def learned() -> Learned:
    return teach(read_trials(shop_trials(120)), desk()).learned


@pytest.fixture(scope="module")
def job() -> Job:
    return sheets()[-1][0]


@pytest.fixture(scope="module")
def sheet(job: Job, learned: Learned) -> Sheet:
    return recommend(job, desk().with_learned(learned))


def test_published_and_learned_stand_side_by_side(sheet: Sheet) -> None:
    steps = {(face.name, step.number): step for face in sheet.features for step in face.steps}
    assert {value.field for value in sheet.learned} == {"removal_um", "ra_um"}
    for value in sheet.learned:
        shown = getattr(steps[value.feature, value.step], value.field)
        assert value.learned == shown
        assert value.published != shown
    depths = [value for value in sheet.learned if value.field == "removal_um"]
    for value in depths:
        assert value.learned.expected / value.published.expected == pytest.approx(value.factor, rel=0.1)
        width = value.learned.high / value.learned.low
        if value.trials >= 5 and len(value.scope) == 5:
            assert width < value.published.high / value.published.low, "trials narrow the band"


def test_nothing_is_used_in_silence(sheet: Sheet) -> None:
    for value in sheet.learned:
        face = next(face for face in sheet.features if face.name == value.feature)
        step = face.steps[value.step - 1]
        texts = [sheet.reasons[key].text for key in step.reasons[value.field]]
        (told,) = [text for text in texts if "trial" in text and "here (" in text]
        assert f"{value.factor:.2f} times" in told
        assert value.latest[-1] in told
        assert not unexplained(step)
    assert "What trials here taught" in to_markdown(sheet)
    assert "What trials here taught" in to_html(sheet)


def test_without_trials_the_sheet_is_as_it_was(job: Job) -> None:
    empty = Learned(knowledge="", trials=0)
    plain = recommend(job, desk())
    same = recommend(job, desk().with_learned(empty))
    assert same.model_copy(update={"learned_from": None, "learned_fingerprint": None}) == plain
    assert plain.learned == ()
    assert plain.learned_from is None


def test_a_stored_sheet_follows_from_itself(sheet: Sheet) -> None:
    outcome = replay(read_stored(to_json(sheet)), desk())
    assert not outcome.mismatches


def test_settings_far_beyond_what_was_tried_are_told(job: Job, learned: Learned) -> None:
    near = dict.fromkeys(("speed", "feed"), (0.001, 0.002))
    factors = [row.model_copy(update={"tried": near}) for row in learned.factors]
    far = recommend(job, desk().with_learned(learned.model_copy(update={"factors": tuple(factors)})))
    assert far.learned
    for value in far.learned:
        assert len(value.beyond) == 2
        assert "an extrapolation" in value.sentence
