"""A rule that fails for one alloy is found, and a log without fault is left alone."""

from __future__ import annotations

import numpy as np

from advisor.learning.exceptions import failing
from tests.learning.shop import ALLOYS, rules, shop

RUNS = 200


def test_a_planted_false_rule_is_found_in_nine_runs_of_ten() -> None:
    """12 trials on the alloy where it fails nine times in ten, 30 on others where it fails once in ten."""
    draw = np.random.default_rng(21)
    found = 0
    for _ in range(RUNS):
        alloys = [ALLOYS[0]] * 12 + [ALLOYS[1 + number % 3] for number in range(30)]
        order = draw.permutation(42)
        alloys = [alloys[place] for place in order]
        chances = [0.9 if alloy == ALLOYS[0] else 0.1 for alloy in alloys]
        proposed = failing(shop(alloys, chances, draw))
        found += any(
            (item.rule.id, item.attribute, item.value) == ("rule-4", "alloy.key", ALLOYS[0])
            for item in proposed
        )
    assert found / RUNS >= 0.9


def test_a_log_without_fault_is_left_alone_in_nineteen_runs_of_twenty() -> None:
    draw = np.random.default_rng(22)
    wrong = 0
    for _ in range(RUNS):
        alloys = [ALLOYS[draw.integers(4)] for _ in range(60)]
        spoke = shop(alloys, [0.25] * 60, draw)
        looks = (spoke[: len(spoke) // 3], spoke[: 2 * len(spoke) // 3], spoke)
        wrong += any(failing(look) for look in looks)  # looked at while the trials came in
    assert wrong / RUNS <= 0.05


def test_a_rule_of_safety_is_never_in_question() -> None:
    draw = np.random.default_rng(23)
    alloys = [ALLOYS[number % 2] for number in range(80)]
    proposed = failing(shop(alloys, [1.0 - number % 2 for number in range(80)], draw))
    assert proposed
    assert rules()[0].concern == "safety"
    assert all(item.rule.id != "rule-0" for item in proposed)


def test_rules_that_spoke_on_the_same_trials_name_each_other() -> None:
    draw = np.random.default_rng(24)
    alloys = [ALLOYS[number % 2] for number in range(80)]
    proposed = failing(shop(alloys, [1.0 - number % 2 for number in range(80)], draw))
    suspects = {item.rule.id for item in proposed if item.attribute == "alloy.key"}
    first = next(item for item in proposed if item.rule.id == "rule-4")
    assert {*first.alike, "rule-4"} <= suspects


def test_the_order_of_the_log_does_not_matter() -> None:
    draw = np.random.default_rng(25)
    spoke = shop(
        [ALLOYS[number % 2] for number in range(60)], [1.0 - number % 2 for number in range(60)], draw
    )
    assert failing(spoke) == failing(spoke[::-1])
