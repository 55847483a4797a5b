"""Laws of the standing that hold for any advice: presence and not number, no order, nothing undone."""

from __future__ import annotations

from collections.abc import Sequence
from random import Random

from hypothesis import assume, given, settings
from hypothesis import strategies as st

from advisor.choices.listed import choose_listed
from advisor.choices.model import ListChoice, RangeChoice, Spoken
from advisor.choices.ranges import choose_range
from tests.strategies import OPTIONS, listed_advice, range_advice

OFFERED = st.lists(st.sampled_from(OPTIONS), min_size=1, unique=True)
USUAL = st.one_of(st.none(), st.sampled_from(OPTIONS))
LAWS = settings(max_examples=200)


def listed(
    spoken: Sequence[Spoken], offered: Sequence[str] = OPTIONS, usual: str | None = None
) -> ListChoice:
    return choose_listed("backing", offered, spoken, usual=usual if usual in offered else None)


def ranged(
    spoken: Sequence[Spoken], values: Sequence[float] | None = None, whole: bool = True
) -> RangeChoice:
    return choose_range("speed", 0.0, 10.0, spoken, "middle", values=values, whole=whole)


def picture(choice: ListChoice) -> object:
    return (
        choice.winner,
        [(item.option, item.standing, item.values, item.mays, item.contested) for item in choice.options],
        choice.conflict is not None,
    )


def stretch(choice: RangeChoice) -> object:
    if choice.conflict is not None:
        return "conflict", choice.conflict.hidden
    return choice.low, choice.high, choice.value, choice.aim


def renamed(item: Spoken) -> Spoken:
    return Spoken(item.rule.model_copy(update={"id": f"again-{item.rule.id}"}), item.advice)


@given(listed_advice(), OFFERED, USUAL, st.data())
@LAWS
def test_repeating_a_rule_under_another_id_never_changes_the_standing(
    spoken: list[Spoken], offered: list[str], usual: str | None, data: st.DataObject
) -> None:
    again = [renamed(item) for item in spoken if data.draw(st.booleans())]
    assert picture(listed([*spoken, *again], offered, usual)) == picture(listed(spoken, offered, usual))


@given(range_advice(), st.data())
@LAWS
def test_repeating_a_rule_under_another_id_never_changes_a_stretch(
    spoken: list[Spoken], data: st.DataObject
) -> None:
    again = [renamed(item) for item in spoken if data.draw(st.booleans())]
    assert stretch(ranged([*spoken, *again])) == stretch(ranged(spoken))


@given(listed_advice(), OFFERED, USUAL, st.randoms(use_true_random=False))
@LAWS
def test_the_order_of_advice_does_not_matter(
    spoken: list[Spoken], offered: list[str], usual: str | None, random: Random
) -> None:
    shuffled = random.sample(spoken, len(spoken))
    assert picture(listed(shuffled, offered, usual)) == picture(listed(spoken, offered, usual))


@given(range_advice(), st.randoms(use_true_random=False), st.booleans())
@LAWS
def test_the_order_of_advice_does_not_matter_to_a_stretch(
    spoken: list[Spoken], random: Random, whole: bool
) -> None:
    shuffled = random.sample(spoken, len(spoken))
    first, second = ranged(spoken, whole=whole), ranged(shuffled, whole=whole)
    assert stretch(first) == stretch(second)
    assert {item.spoken.rule.id for item in first.struck} == {item.spoken.rule.id for item in second.struck}
    assert {item.rule.id for item in first.contested} == {item.rule.id for item in second.contested}


@given(listed_advice(), OFFERED, USUAL)
@LAWS
def test_an_option_removed_by_never_never_wins(
    spoken: list[Spoken], offered: list[str], usual: str | None
) -> None:
    choice = listed(spoken, offered, usual)
    forbidden = {
        option for item in spoken if item.advice.strength == "never" for option in item.advice.options
    }
    assert choice.winner not in forbidden
    assert not forbidden & set(choice.candidates(0))


@given(listed_advice(), OFFERED, USUAL)
@LAWS
def test_what_wins_is_named_by_every_must_and_was_offered(
    spoken: list[Spoken], offered: list[str], usual: str | None
) -> None:
    choice = listed(spoken, offered, usual)
    assume(choice.winner is not None)
    assert choice.winner in offered
    for item in spoken:
        assert item.advice.strength != "must" or choice.winner in item.advice.options


@given(listed_advice(), OFFERED, USUAL)
@LAWS
def test_every_offered_option_stands_once_and_a_reason_is_given_for_each_that_lost(
    spoken: list[Spoken], offered: list[str], usual: str | None
) -> None:
    choice = listed(spoken, offered, usual)
    assert sorted(item.option for item in choice.options) == sorted(offered)
    for item in choice.options:
        assert (item.lost_on is None) == (item.option == choice.winner)


@given(listed_advice(), OFFERED)
@LAWS
def test_fewer_concerns_never_narrow_the_field(spoken: list[Spoken], offered: list[str]) -> None:
    choice = listed(spoken, offered)
    for concerns in range(7):
        assert set(choice.candidates(concerns + 1)) <= set(choice.candidates(concerns))


@given(range_advice(), range_advice(most=3, strengths=("must", "should", "avoid", "never")))
@LAWS
def test_narrowing_never_widens(spoken: list[Spoken], more: list[Spoken]) -> None:
    """Whatever is said last of all concerns leaves at most what the others left."""
    last = [
        Spoken(
            item.rule.model_copy(update={"id": f"late-{item.rule.id}", "concern": "economy"}),
            item.advice.model_copy(update={"strength": "should"}),
        )
        for item in more
    ]
    earlier = [item for item in spoken if item.rule.concern != "economy" or item.advice.span is None]
    before, after = ranged(earlier), ranged([*earlier, *last])
    assume(before.conflict is None)
    assert after.conflict is None
    assert before.low <= after.low <= after.high <= before.high


@given(range_advice(), st.one_of(st.none(), st.lists(st.integers(0, 10).map(float), min_size=1, unique=True)))
@LAWS
def test_the_value_lies_in_the_window_and_the_window_in_every_bound(
    spoken: list[Spoken], values: list[float] | None
) -> None:
    choice = ranged(spoken, values)
    assume(choice.conflict is None)
    assert 0 <= choice.low <= choice.value <= choice.high <= 10
    if values is not None:
        assert {choice.value, choice.low, choice.high} <= set(values)
    for item in spoken:
        span = item.advice.span
        assert span is not None
        if item.advice.strength == "must":
            assert (span.low is None or choice.low >= span.low) and (
                span.high is None or choice.high <= span.high
            )
        if item.advice.strength == "never":
            assert (span.low is None or choice.high < span.low) and (
                span.high is None or choice.low > span.high
            )


@given(range_advice(strengths=("may",)))
@LAWS
def test_may_never_moves_a_bound(spoken: list[Spoken]) -> None:
    choice = ranged(spoken)
    assert (choice.low, choice.high) == (0, 10)
