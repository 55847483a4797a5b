"""What is learned holds the truth as often as its bands say, when truth and noise come from the prior."""

from __future__ import annotations

import math

import numpy as np
import pytest

from advisor.learning.calibrate import SCOPES, factors_of, fit
from advisor.learning.effects import AGE, NOISE, PARTS, WHEEL, columns_of, design, layout_of, prior
from advisor.learning.posterior import belief, updated
from advisor.learning.readings import Reading
from advisor.learning.robust import robust_update

RUNS = 1000
#: The largest variance of the noise that is drawn: readings a factor of 30 million apart.
WILDEST = 300.0
ALLOYS = (("brass", "c26000"), ("brass", "c36000"), ("carbon-steel", "g10180"))


def readings(draw: np.random.Generator, noise: float, count: int = 14) -> tuple[list[Reading], np.ndarray]:
    """Readings of a shop drawn from the prior, with `noise` times its noise, and the truth of each."""
    shape, scale = NOISE["removal"]
    variance = scale / draw.gamma(shape)
    while variance > WILDEST:  # a factor of e^40 does not fit into a float; this leaves out 1 shop in 300
        variance = scale / draw.gamma(shape)
    parts: dict[tuple[str, str], float] = {}
    age, wheel = (
        mean + draw.normal() * math.sqrt(spread * variance) for mean, spread in (AGE["removal"], WHEEL)
    )
    found, truths = [], []
    for number in range(count):
        family, alloy = ALLOYS[draw.integers(3)]
        scope = {
            "family": family, "alloy": alloy, "media": ("belt", "flap-disc")[draw.integers(2)],
            "grain": "aluminium-oxide", "grades": ("P80 to P120", "P150 to P240")[draw.integers(2)],
            "cell": "a cell",
        }  # fmt: skip
        for column in columns_of(scope):
            if column not in parts:
                parts[column] = draw.normal() * math.sqrt(PARTS[column[0]] * variance)
        truth = sum(parts[column] for column in columns_of(scope))
        done, smaller = draw.random(), draw.normal() * 0.1
        log = truth + age * done + wheel * smaller + noise * draw.normal() * math.sqrt(variance)
        found.append(
            Reading(
                "removal", f"t{number}", ("", "", f"{number:03d}"), math.exp(log), 1.0, scope, {},
                age=done, age_known=True, diameter=smaller,
            )
        )  # fmt: skip
        truths.append(truth)
    return found, np.array(truths)


def held(noise: float, seed: int) -> dict[tuple[str, ...], float]:
    """For each kind of scope how often the 95 % band held the truth, over all runs."""
    draw = np.random.default_rng(seed)
    hits: dict[tuple[str, ...], list[bool]] = {}
    for _ in range(RUNS):
        found, truths = readings(draw, noise)
        learned = fit("removal", found)
        for row in factors_of(learned, SCOPES_LOOKED_AT):
            inside = [all(item.scope[key] == value for key, value in row.scope.items()) for item in found]
            truth = math.exp(float(np.average(truths[inside], weights=learned.counted[inside])))
            hits.setdefault(tuple(row.scope), []).append(row.low <= truth <= row.high)
    return {scope: float(np.mean(values)) for scope, values in hits.items()}


SCOPES_LOOKED_AT = (SCOPES[0], ("alloy",), ("media",), SCOPES[-1])


#: From one reading to many.
COUNTS = (1, 2, 3, 5, 8, 14, 40)


def held_by_count(noise: float, count: int, seed: int, runs: int = RUNS) -> float:
    """How often the band holds in the hardest case: one scope, nothing known of age and wheel.

    Then the parts of the model are one effect with the sum of their variances.
    """
    draw = np.random.default_rng(seed)
    shape, scale = NOISE["removal"]
    whole = sum(PARTS.values())
    before, design_ = belief([0.0], [whole], shape, scale), np.ones((count, 1))
    held_ = 0
    for _ in range(runs):
        deviation = math.sqrt(scale / draw.gamma(shape))
        truth = draw.normal() * math.sqrt(whole) * deviation
        after, _ = robust_update(before, design_, truth + noise * deviation * draw.normal(size=count))
        low, _, high = after.band([1.0])
        held_ += low <= truth <= high
    return held_ / runs


@pytest.mark.parametrize("count", COUNTS)
def test_bands_from_any_number_of_readings_hold_the_truth(count: int) -> None:
    assert 0.93 <= held_by_count(1.0, count, 41) <= 0.97
    assert held_by_count(2.0, count, 42) >= 0.85


def test_one_scope_without_age_is_one_effect_with_all_the_variance() -> None:
    """What the case above rests on: the whole model gives the same band there."""
    scope = {
        "family": "brass", "alloy": "c26000", "media": "belt", "grain": "g", "grades": "fine", "cell": "a cell"
    }  # fmt: skip
    logs = [0.25, 0.31, 0.18]
    found = fit(
        "removal",
        [Reading("removal", f"t{row}", ("", "", ""), math.exp(y), 1.0, scope, {}) for row, y in enumerate(logs)],
    )
    plain_ = updated(belief([0.0], [sum(PARTS.values())], *NOISE["removal"]), np.ones((3, 1)), logs)
    for row in factors_of(found):
        assert (row.low, row.factor, row.high) == pytest.approx(np.exp(plain_.band([1.0])), rel=1e-5)


def test_bands_hold_the_truth_as_often_as_they_say() -> None:
    for scope, share in held(noise=1.0, seed=31).items():
        assert 0.93 <= share <= 0.97, scope


def test_bands_hold_the_truth_where_readings_scatter_twice_as_much() -> None:
    for scope, share in held(noise=2.0, seed=32).items():
        assert share >= 0.85, scope


def test_one_trial_after_the_other_teaches_the_same_as_all_at_once() -> None:
    found, _ = readings(np.random.default_rng(33), 1.0, 30)
    layout = layout_of(found)
    x, y = design(layout, found), np.array([item.log_ratio for item in found])
    single = prior(layout, "removal")
    for row in range(len(found)):
        single = updated(single, x[row : row + 1], y[row : row + 1])
    batch = updated(prior(layout, "removal"), x, y)
    assert single.mean == pytest.approx(batch.mean, abs=1e-9)
    assert single.spread == pytest.approx(batch.spread, abs=1e-9)


def test_the_order_of_the_log_changes_nothing() -> None:
    found, _ = readings(np.random.default_rng(34), 1.0, 30)
    forth, back = list(factors_of(fit("removal", found))), list(factors_of(fit("removal", found[::-1])))
    assert [row.model_dump(exclude={"latest"}) for row in forth] == [
        row.model_dump(exclude={"latest"}) for row in back
    ]


def test_the_age_of_the_belt_is_not_learned_as_alloy() -> None:
    """One alloy was only ever done on worn belts: its metal is no harder for that."""
    draw = np.random.default_rng(35)
    found = []
    for number in range(60):
        worn = number % 2 == 0
        family, alloy = ALLOYS[0] if worn else ALLOYS[2]
        scope = {"family": family, "alloy": alloy, "media": "belt", "grain": "aluminium-oxide"}
        done = 0.5 + 0.5 * draw.random() if worn else 0.4 * draw.random()
        log = -1.05 * done + draw.normal(0, 0.14)
        found.append(
            Reading("removal", f"t{number}", ("", "", ""), math.exp(log), 1.0, scope, {}, done, True)
        )
    rows = {row.scope.get("alloy"): row for row in factors_of(fit("removal", found)) if len(row.scope) == 1}
    assert rows["c26000"].factor == pytest.approx(1.0, abs=0.2)
    assert rows["c26000"].low < 1.0 < rows["c26000"].high
    blind = [Reading(**{**plain(item), "age": 0.0, "age_known": False}) for item in found]
    rows = {row.scope.get("alloy"): row for row in factors_of(fit("removal", blind)) if len(row.scope) == 1}
    assert rows["c26000"].high < 0.7, "where nobody wrote the age down, it would be"


def plain(item: Reading) -> dict[str, object]:
    """The fields of a reading."""
    return {name: getattr(item, name) for name in Reading.__slots__}


def test_few_trials_are_drawn_to_the_wider_scope_and_many_stand_for_themselves() -> None:
    def shop(count: int) -> list[Reading]:
        scope = {"family": "brass", "alloy": "c26000", "media": "belt"}
        other = {"family": "brass", "alloy": "c36000", "media": "belt"}
        return [
            Reading("removal", f"o{number}", ("", "", ""), 1.0, 1.0, other, {}) for number in range(20)
        ] + [Reading("removal", f"t{number}", ("", "", ""), 2.0, 1.0, scope, {}) for number in range(count)]

    def factor(count: int) -> float:
        rows = factors_of(fit("removal", shop(count)))
        return next(row.factor for row in rows if row.scope == {"alloy": "c26000"})

    assert 1.0 < factor(1) < factor(4) < factor(40) < 2.0
    assert factor(40) == pytest.approx(2.0, rel=0.05)
