"""Steps that answer each other are found by what they are, not by their number."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations

from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.comparison.align import aligned_faces, aligned_steps, likeness
from advisor.sheet.model import Feature, Step

LEAST = 4

steps = st.lists(
    st.builds(
        lambda stage, media, grade: Step(number=1, stage=stage, media=media, grade=grade),
        st.sampled_from(("clear", "refine", "finish")),
        st.sampled_from(("belt", "buff")),
        st.sampled_from(("P80", "P150", None)),
    ),
    max_size=4,
).map(lambda chain: [step.model_copy(update={"number": n}) for n, step in enumerate(chain, start=1)])


def most_points(first: Sequence[Step], second: Sequence[Step]) -> int:
    """The best of all alignments, tried one by one."""
    best = 0
    for size in range(min(len(first), len(second)) + 1):
        for ones in combinations(first, size):
            for twos in combinations(second, size):
                points = [likeness(one, two) for one, two in zip(ones, twos, strict=True)]
                if all(point >= LEAST for point in points):
                    best = max(best, sum(points))
    return best


@settings(max_examples=150)
@given(steps, steps)
def test_no_alignment_is_better_and_every_step_stands_in_it_once_in_order(
    first: list[Step], second: list[Step]
) -> None:
    pairs = aligned_steps(first, second)
    assert [one for one, _ in pairs if one] == first
    assert [two for _, two in pairs if two] == second
    points = [likeness(one, two) for one, two in pairs if one and two]
    assert all(point >= LEAST for point in points)
    assert sum(points) == most_points(first, second)


def test_a_step_put_in_between_moves_nothing_else() -> None:
    def step(number: int, grade: str) -> Step:
        return Step(number=number, stage="refine", media="belt", grade=grade)

    first = [step(1, "P80"), step(2, "P150"), step(3, "P240")]
    second = [step(1, "P80"), step(2, "P120"), step(3, "P150"), step(4, "P240")]
    pairs = [(one and one.number, two and two.number) for one, two in aligned_steps(first, second)]
    assert pairs == [(1, 1), (None, 2), (2, 3), (3, 4)]


def test_faces_are_paired_by_name_then_by_shape() -> None:
    def face(name: str, shape: str) -> Feature:
        return Feature(name=name, shape=shape)

    pairs = aligned_faces(
        [face("rim", "convex"), face("top", "flat"), face("old", "edge")],
        [face("top", "flat"), face("outer", "convex"), face("throat", "concave")],
    )
    assert [(one and one.name, two and two.name) for one, two in pairs] == [
        ("top", "top"), ("rim", "outer"), (None, "throat"), ("old", None),
    ]  # fmt: skip
