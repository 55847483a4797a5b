"""Situations with one state are those that the rules cannot tell apart."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from advisor.coverage.residue import VARYING, fixed_facts, residues
from advisor.inference.tests import answer
from advisor.knowledge.load import load_knowledge
from advisor.knowledge.rules import Advice, Conclusion, Rule
from advisor.knowledge.vocabulary import Value

KNOWLEDGE = load_knowledge()
VOCABULARY = KNOWLEDGE.vocabulary
DEFECTS = tuple(KNOWLEDGE.tables.defects.values())
FINISHES = tuple(KNOWLEDGE.tables.finishes.values())
Facts = dict[str, Value | None]


@st.composite
def faces(draw: st.DrawFn) -> Facts:
    """The varying facts of a face, with depths at, beside and away from the limits that rules name."""
    defect, finish = draw(st.sampled_from(DEFECTS)), draw(st.sampled_from(FINISHES))
    depth = draw(st.sampled_from([*defect.depth_mm, 0.05, 0.1, 0.2, 0.5, 0.501]))
    return {
        "defect": defect.key, "defect.local": defect.local, "defect.kind": defect.kind, "depth_mm": depth,
        "remaining_mm": depth, "incoming_ra_um": defect.ra_um, "felt": None,
        "coating.hazard": draw(st.sampled_from(["none", "hazardous"])), "finish.key": finish.key,
        "finish.designation": None, "finish.texture": finish.texture, "finish.lay": finish.lay,
        "finish.ra_low_um": finish.ra_um[0], "finish.ra_high_um": finish.ra_um[1], "finish.sample": False,
    }  # fmt: skip


def _fires(rule: Rule, facts: Facts) -> tuple[bool, bool]:
    """Whether the conditions that are settled hold, and whether the `unless` may still silence the rule."""
    settled = [item for item in rule.when if item.attribute in facts]
    holds = all(answer(item, facts[item.attribute], VOCABULARY) == "yes" for item in settled)
    within = [item for item in rule.unless if item.attribute in facts]
    silenced = bool(rule.unless) and all(
        answer(item, facts[item.attribute], VOCABULARY) == "yes" for item in within
    )
    whole = len(within) == len(rule.unless)
    return holds and not (silenced and whole), silenced and holds and not whole


@given(faces(), faces(), st.sampled_from(["clear", "refine", "prepare", "finish"]))
def test_two_faces_of_one_state_leave_the_same_rules(one: Facts, two: Facts, stage: str) -> None:
    base: Facts = dict.fromkeys(VOCABULARY.attributes)
    base |= {"alloy.family": "brass", "alloy.group": "copper", "feature.shape": "flat", "operator": "robot"}
    fixed = fixed_facts(base, stage, VOCABULARY)
    left = residues(KNOWLEDGE.rules, fixed, VOCABULARY)
    speaking = [
        rule for rule in KNOWLEDGE.rules if any(isinstance(x, (Advice, Conclusion)) for x in rule.then)
    ]
    same = [_fires(rule, {**fixed, **one}) for rule in speaking] == [
        _fires(rule, {**fixed, **two}) for rule in speaking
    ]
    assert (left.state(one) == left.state(two)) == same


def test_what_varies_is_declared_and_what_is_fixed_does_not_vary() -> None:
    assert set(VOCABULARY.attributes) >= VARYING
    fixed = fixed_facts(dict.fromkeys(VOCABULARY.attributes), "clear", VOCABULARY, "belt")
    assert not VARYING & set(fixed)
    assert fixed["media"] == "belt"
    assert not set(fixed) & {
        key for key, each in VOCABULARY.attributes.items() if each.set_by in ("rule", "formula")
    }
