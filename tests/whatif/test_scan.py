"""Where an answer switches along a range is found, to the closeness that is promised."""

from __future__ import annotations

from bisect import bisect_right

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.whatif.scan import CLOSE, scan, switches

limits = st.lists(st.floats(1.0, 100.0), min_size=0, max_size=6, unique=True).map(sorted)


@settings(max_examples=200)
@given(limits, st.floats(0.5, 20.0), st.floats(25.0, 200.0))
def test_every_switch_at_a_named_limit_is_found_however_narrow(marks: list[float], low: float, high: float) -> None:
    """The answer is the stretch between the marks in which a point lies: no stretch inside is missed."""
    stretches, asked = scan(lambda x: bisect_right(marks, x), low, high, marks)
    inside = [mark for mark in marks if low < mark <= high]
    wanted = [bisect_right(marks, low), *(bisect_right(marks, mark) for mark in inside)]
    assert [each.answer for each in stretches] == wanted
    assert stretches[0].low == low and stretches[-1].high == high
    for switch, mark in zip(switches(stretches), inside, strict=True):
        assert switch.below <= mark <= switch.above
        assert switch.above - switch.below <= CLOSE * abs(switch.above) * 1.0001
    assert asked <= 2 * len(marks) + 20 + 12 * len(inside)


@settings(max_examples=100)
@given(st.floats(5.2, 59.8))
def test_a_switch_that_nothing_names_is_found_to_one_per_cent(mark: float) -> None:
    stretches, _ = scan(lambda x: x >= mark, 5.0, 60.0)
    (switch,) = switches(stretches)
    assert switch.below < mark <= switch.above
    assert (switch.above - switch.below) / mark <= 0.0101


@settings(max_examples=100)
@given(st.integers(1, 300), st.integers(400, 1000), st.integers(300, 400))
def test_whole_numbers_are_told_exactly(low: int, high: int, mark: int) -> None:
    stretches, _ = scan(lambda x: x >= mark, low, high, [mark], whole=True)
    asked = [point for each in stretches for point in (each.low, each.high)]
    assert all(point == int(point) for point in asked)
    if low < mark:
        (switch,) = switches(stretches)
        assert (switch.below, switch.above) == (mark - 1, mark)


def test_both_ends_are_part_of_the_range() -> None:
    seen: list[float] = []
    scan(lambda x: bool(seen.append(x)), 5.0, 60.0)
    assert min(seen) == 5.0 and max(seen) == 60.0


@pytest.mark.parametrize("low", [0.0, -3.0])
def test_a_range_may_begin_at_nothing(low: float) -> None:
    (switch,) = switches(scan(lambda x: x > 0.5, low, 1.0)[0])
    assert switch.below <= 0.5 <= switch.above and switch.above - switch.below < 0.011
