"""A made-up shop whose trials follow rules on alloys, shapes and media, for the statistics of proposals."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache

import numpy as np

from advisor.knowledge.rules import Rule
from advisor.learning.followed import Heard
from tests.small import rule_text, rules_of

ALLOYS = ("a-steel", "a-brass", "an-aluminium", "a-zinc")
SHAPES = ("flat", "convex", "edge")
MEDIA = ("belt", "flap-wheel")


@cache
def rules(count: int = 24) -> tuple[Rule, ...]:
    """Rules without a meaning, all of form but the first, which is one of safety."""
    text = "".join(
        rule_text(rule=f"rule-{number}", concern="safety" if number == 0 else "form")
        for number in range(count)
    )
    return rules_of(text)


def shop(alloys: Sequence[str], failing: Sequence[float], draw: np.random.Generator) -> tuple[Heard, ...]:
    """Trials in the order of the alloys given, each with its own chance to fail.

    As in a real base a rule speaks by alloy, shape or media, so that many speak on the same trials.
    """
    found = []
    for number, (alloy, chance) in enumerate(zip(alloys, failing, strict=True)):
        shape, media = SHAPES[draw.integers(3)], MEDIA[draw.integers(2)]
        failed = bool(draw.random() < chance)
        where = {"alloy.key": alloy, "feature.shape": shape, "media": media}
        for place, rule in enumerate(rules()):
            speaks = (True, shape == SHAPES[place % 3], media == MEDIA[place % 2], alloy != ALLOYS[3])[
                place % 4
            ]
            if speaks:
                when = ("2026-05-04", "", f"{number:03d}")
                found.append(Heard(rule, f"t{number:03d}", when, True, failed, where))
    return tuple(found)
