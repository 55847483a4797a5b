"""A law of any planner: asking for less room never makes a face cheaper, beyond what counts as a tie."""

from __future__ import annotations

import math

from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.sequence.paths import EQUAL
from advisor.sequence.plan import FeaturePlan
from tests import invented

MIDDLE = {"satin": 0.5, "ground": 1.2}


def planned(alloy: str, defect: str, texture: str, half_width: float) -> FeaturePlan:
    """The plan for a flat face whose Ra may lie within a factor of the middle of its texture."""
    low, high = (MIDDLE[texture] * math.exp(sign * half_width) for sign in (-1, 1))
    finish = {"texture": texture, "lay": "linear", "ra": [f"{low:.6f} um", f"{high:.6f} um"]}
    start = {"defect": defect, "depth": "0.15 mm"}
    (found,) = invented.plans_of(invented.job_of(alloy=alloy, start=start, finish=finish))
    return found


@settings(max_examples=5, deadline=None)
@given(
    st.sampled_from(["s31603", "c36000", "g10180"]),
    st.sampled_from(["casting-skin", "mill-scale", "deep-scratch"]),
    st.sampled_from(sorted(MIDDLE)),
    st.floats(0.25, 0.9),
    st.floats(0.3, 0.95),
)
def test_a_tighter_target_is_never_cheaper_by_more_than_a_tie(
    alloy: str, defect: str, texture: str, half_width: float, share: float
) -> None:
    wide, tight = (planned(alloy, defect, texture, width) for width in (half_width, half_width * share))
    alike = (wide.concerns, wide.whole_band) == (tight.concerns, tight.whole_band)
    if not (wide.path and tight.path and alike):  # other rules were passed over: not the same question
        return
    assert tight.cost >= wide.cost / EQUAL * (1 - 1e-9)


def test_the_law_has_something_to_hold() -> None:
    wide, tight = (planned("s31603", "casting-skin", "satin", width) for width in (0.8, 0.3))
    assert wide.path and tight.path
    assert (wide.concerns, wide.whole_band) == (tight.concerns, tight.whole_band)
