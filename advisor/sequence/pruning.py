"""Leaves out candidates that can never be the better choice, before the search begins."""

from __future__ import annotations

from collections.abc import Iterable

from advisor.choices.model import RangeChoice
from advisor.knowledge.cell import Cell
from advisor.sequence.candidate import Candidate


def best_stations(candidates: Iterable[Candidate]) -> list[Candidate]:
    """Of the stations that run one media with one abrasive, the one whose wheel the rules like best.

    A wheel is chosen by the window of its hardness, never by cost: the station on which the fewest
    windows had to be struck out wins, then the order of the cell.
    """
    best: dict[tuple[str, str | None, str | None], Candidate] = {}
    for candidate in candidates:
        standing = best.get(candidate.key)
        if standing is None or _struck(candidate) < _struck(standing):
            best[candidate.key] = candidate
    return list(best.values())


def _struck(candidate: Candidate) -> int:
    choice = candidate.choices.get("wheel_hardness")
    return len(choice.struck) if isinstance(choice, RangeChoice) else 0


def undominated(candidates: Iterable[Candidate], cell: Cell) -> list[Candidate]:
    """Candidates of one stage without those that another of the same grade beats in every respect.

    Compared are the roughness left, the metal taken in a second, the ground covered at the fastest
    feed, the deepest single pass, and what the media costs in money and in changes; whatever stock a step
    has to take, the one that is no worse in all of them is no dearer. On what stands proud, media with and
    without a contact wheel are not compared: how much they dish the face beside it, these merits don't tell.
    """
    kept: list[tuple[tuple[str | None, bool, bool], tuple[float, ...], Candidate]] = []
    for candidate in candidates:
        kind = (
            candidate.grade.key if candidate.grade else None,
            candidate.tool.media.blends,
            candidate.effect.contact is not None and candidate.situation.get("defect.kind") == "proud",
        )
        merits = _merits(candidate, cell)
        if any(kind == other and _no_worse(theirs, merits) for other, theirs, _ in kept):
            continue
        kept = [row for row in kept if row[0] != kind or not _no_worse(merits, row[1])]
        kept.append((kind, merits, candidate))
    return [candidate for _, _, candidate in kept]


def _merits(candidate: Candidate, cell: Cell) -> tuple[float, ...]:
    """What counts for a candidate, each the larger the better."""
    setup, effect, media = candidate.setup, candidate.effect, candidate.tool.media
    lapped = 1.0 / (1.0 - setup.overlap)
    per_volume, per_second = candidate.life.used(1.0, 0.0), candidate.life.used(0.0, 1.0)
    # What the fewest and fastest passes take off is taken off whether it is needed or not.
    least = float(effect.depth(setup.fastest_feed)) * lapped * media.passes[0]
    change = cell.changeover_s(media.form)
    price = float(candidate.life.price)
    return (
        -(float(effect.floor_ra) if effect.floor_ra is not None else 1.0),
        float(effect.depth(setup.feed)) * setup.feed * lapped * setup.step_over,
        setup.step_over
        * (setup.fastest_feed if effect.fixed_depth is None else setup.feed)
        / media.passes[0],
        float(effect.depth(setup.slowest_feed)) * lapped,
        -price * per_volume,
        -price * per_volume * least,
        -price * per_second,
        -change * per_volume,
        -change * per_volume * least,
        -change * per_second,
        -change,
    )


def _no_worse(first: tuple[float, ...], second: tuple[float, ...]) -> bool:
    return all(one >= two for one, two in zip(first, second, strict=True))
