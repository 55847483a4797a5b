"""What the rules can still tell apart once everything but the start and the finish of a face is fixed.

Planning hundreds of faces that differ in their start and finish only, most questions come up again
and again. Two situations that leave the same rules alive, in the same state, get the same answer from every
decision, so the answer is kept under that state.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from advisor.inference.tests import Situation, answer
from advisor.knowledge.rules import Advice, Conclusion, Condition, Rule
from advisor.knowledge.vocabulary import Value, Vocabulary

#: What differs between two faces of the sweep that have alloy, shape and cell in common.
VARYING = frozenset(
    {
        "defect", "defect.local", "defect.kind", "depth_mm", "remaining_mm", "incoming_ra_um", "felt",
        "coating.hazard", "finish.key", "finish.designation", "finish.texture", "finish.lay",
        "finish.ra_low_um", "finish.ra_high_um", "finish.sample",
    }
)  # fmt: skip

State = bytes


@dataclass(frozen=True, slots=True)
class Residue:
    """What is left of a rule: the varying conditions of its `when`, and those of its `unless`.

    `silenced` is None where there is no `unless`, or the fixed facts keep it from holding; `open_unless`
    tells that it also tests decisions or conclusions, which come later.
    """

    when: tuple[Condition, ...]
    silenced: tuple[Condition, ...] | None
    open_unless: bool


def residues(rules: Iterable[Rule], fixed: Situation, vocabulary: Vocabulary) -> tuple[Residue, ...]:
    """What is left of the rules that advise or conclude and that these facts do not rule out.

    `fixed` holds everything that does not vary: the alloy, the cell, the shape, the stage. What it does
    not hold (decisions, conclusions) stays open.
    """
    left = []
    for rule in rules:
        if not any(isinstance(item, (Advice, Conclusion)) for item in rule.then):
            continue
        if any(_ruled_out(item, fixed, vocabulary) for item in rule.when):
            continue
        when = tuple(item for item in rule.when if item.attribute in VARYING)
        silenced: tuple[Condition, ...] | None = None
        open_unless = False
        if rule.unless and not any(_ruled_out(item, fixed, vocabulary) for item in rule.unless):
            silenced = tuple(item for item in rule.unless if item.attribute in VARYING)
            open_unless = any(_is_open(item, fixed) for item in rule.unless)
        if when or silenced:
            left.append(Residue(when, silenced, open_unless))
    return tuple(dict.fromkeys(left))


def _is_open(condition: Condition, fixed: Situation) -> bool:
    return condition.attribute not in VARYING and condition.attribute not in fixed


def _ruled_out(condition: Condition, fixed: Situation, vocabulary: Vocabulary) -> bool:
    if condition.attribute in VARYING or condition.attribute not in fixed:
        return False
    return answer(condition, fixed[condition.attribute], vocabulary) != "yes"


def state(left: Sequence[Residue], varying: Situation, vocabulary: Vocabulary) -> State:
    """One letter a residue: `d` for dead, `a` for alive, `q` for alive unless an open condition silences it."""
    return bytes(_letter(residue, varying, vocabulary) for residue in left)


_DEAD, _ALIVE, _QUESTIONED = b"daq"


def _letter(residue: Residue, varying: Situation, vocabulary: Vocabulary) -> int:
    if not _hold(residue.when, varying, vocabulary):
        return _DEAD
    if residue.silenced is None or not _hold(residue.silenced, varying, vocabulary):
        return _ALIVE
    return _QUESTIONED if residue.open_unless else _DEAD


def _hold(conditions: Iterable[Condition], facts: Situation, vocabulary: Vocabulary) -> bool:
    return all(answer(item, facts.get(item.attribute), vocabulary) == "yes" for item in conditions)


def fixed_facts(facts: Situation, stage: str, vocabulary: Vocabulary, media: str | None = None) -> Situation:
    """The facts that hold for every face of a bench at a stage; with `media`, once it is chosen.

    Decisions, conclusions, and what the search or a formula sets later are left out: they are open.
    """
    fixed: dict[str, Value | None] = {"stage": stage, "symptom": None, "handling": facts.get("handling")}
    for key, attribute in vocabulary.attributes.items():
        if attribute.set_by in ("job", "table") and key not in VARYING:
            fixed[key] = facts.get(key)
    if media is not None:
        fixed["media"] = media
    return fixed
