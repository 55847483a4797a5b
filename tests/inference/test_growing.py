"""A situation that grows has the signature it would have if it were tested anew."""

from __future__ import annotations

import pytest

from advisor.inference.engine import Engine, Growing
from advisor.inference.matchers import matcher_maker
from advisor.inference.properties import grows
from tests import invented

KNOWLEDGE = invented.knowledge()
ENGINE = Engine(KNOWLEDGE, matcher_maker("plain"))
PLACES = [place.name for place in KNOWLEDGE.places]


@pytest.mark.parametrize("name", ["kettle-seam", "cover-strip", "oar-lock"])
def test_a_grown_situation_is_told_apart_as_a_whole_one(name: str) -> None:
    for plan in invented.plans_of(invented.job(name)):
        for step in plan.path:
            whole = dict(step.candidate.situation)
            settled = {key: value for key, value in whole.items() if not grows(key, KNOWLEDGE.vocabulary)}
            grown = Growing(settled)
            for place in PLACES:  # asked early, while nothing is decided, as the walk does
                ENGINE.signature(place, grown)
            for key, value in whole.items():
                if key not in settled:
                    grown = grown.grown({key: value})
            assert dict(grown) == {**settled, **whole}
            for place in PLACES:
                assert ENGINE.signature(place, grown) == ENGINE.signature(place, whole), place


def test_what_grows_is_decided_calculated_or_left_by_the_step_before() -> None:
    vocabulary = KNOWLEDGE.vocabulary
    growing = {key for key in vocabulary.testable if grows(key, vocabulary)}
    assert {*vocabulary.decisions, "wheel.diameter_mm", "previous.grade", "previous.media"} <= growing
    assert not growing & {"stage", "alloy.key", "feature.radius_mm", "remaining_mm", "finish.key"}
