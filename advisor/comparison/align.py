"""Finds which faces and which steps of two sheets answer each other."""

from __future__ import annotations

from collections.abc import Sequence

from advisor.sheet.model import Feature, Step

_POINTS = {"stage": 4, "media": 3, "grade": 2, "grain": 1}
#: What a pair must reach to be one: the same stage, or the same media with the same grade.
_LEAST = 4


def aligned_faces(
    first: Sequence[Feature], second: Sequence[Feature]
) -> list[tuple[Feature | None, Feature | None]]:
    """Faces of the same name; of those left over, those of the same shape in their order; then the rest."""
    left = {feature.name: feature for feature in first}
    pairs: list[tuple[Feature | None, Feature | None]] = []
    named = {feature.name for feature in second}
    spare = [feature for feature in first if feature.name not in named]
    for feature in second:
        partner = left.get(feature.name)
        if partner is None:
            partner = next((each for each in spare if each.shape == feature.shape), None)
            if partner is not None:
                spare.remove(partner)
        pairs.append((partner, feature))
    return [*pairs, *((feature, None) for feature in spare)]


def aligned_steps(first: Sequence[Step], second: Sequence[Step]) -> list[tuple[Step | None, Step | None]]:
    """The best alignment of two chains: the order of both is kept, and like steps stand side by side.

    Pairs are worth points for the same stage, media, grade and grain; the alignment with the most points
    in all is taken, and of equals the one that pairs the earliest steps.

    >>> def step(number, stage, media, grade):
    ...     return Step(number=number, stage=stage, media=media, grade=grade)
    >>> long = [step(1, "clear", "belt", "P80"), step(2, "refine", "belt", "P150"), step(3, "finish", "buff", "cut")]
    >>> short = [step(1, "clear", "belt", "P80"), step(2, "finish", "buff", "cut")]
    >>> [(one and one.number, two and two.number) for one, two in aligned_steps(long, short)]
    [(1, 1), (2, None), (3, 2)]
    """
    rows, columns = len(first), len(second)
    best = [[0] * (columns + 1) for _ in range(rows + 1)]
    for row in range(rows - 1, -1, -1):
        for column in range(columns - 1, -1, -1):
            pair = likeness(first[row], second[column])
            paired = pair + best[row + 1][column + 1] if pair >= _LEAST else -1
            best[row][column] = max(paired, best[row + 1][column], best[row][column + 1])
    pairs: list[tuple[Step | None, Step | None]] = []
    row = column = 0
    while row < rows and column < columns:
        pair = likeness(first[row], second[column])
        if pair >= _LEAST and best[row][column] == pair + best[row + 1][column + 1]:
            pairs.append((first[row], second[column]))
            row, column = row + 1, column + 1
        elif best[row][column] == best[row + 1][column]:
            pairs.append((first[row], None))
            row += 1
        else:
            pairs.append((None, second[column]))
            column += 1
    return [*pairs, *((step, None) for step in first[row:]), *((None, step) for step in second[column:])]


def likeness(first: Step, second: Step) -> int:
    """How much two steps have in common, in points."""
    same = (name for name in _POINTS if getattr(first, name) == getattr(second, name))
    return sum(_POINTS[name] for name in same if getattr(first, name) is not None)
