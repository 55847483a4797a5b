"""Eases a candidate that makes the skin too hot: less force down to where the grain glazes, then less speed."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from advisor.choices.model import RangeChoice
from advisor.figures.effect import Effect, effect
from advisor.figures.media_life import media_life
from advisor.figures.setup import Setup
from advisor.figures.warming import warming
from advisor.sequence.candidate import Candidate
from advisor.sequence.feature_desk import FeatureDesk
from advisor.sequence.limits import unmet_limits

#: A force or speed is eased by this share until the limit holds, and then found between the last two.
_EASING = 0.85
_HALVINGS = 14


class Cooling:
    """The eased candidates of one feature, each worked out once."""

    def __init__(self, desk: FeatureDesk) -> None:
        self._desk = desk
        self._eased: dict[tuple[int, float], tuple[Candidate, Candidate | None]] = {}

    def gentler(self, candidate: Candidate) -> Iterator[Candidate]:
        """The candidate eased so far that it keeps the alloy's limit: at its own feed, and at its slowest.

        Nothing where no force inside the window of the rules, above glazing and in the range of the compliant
        tool does, nor any speed of its window with the least of these.
        """
        setup = candidate.setup
        for feed in dict.fromkeys((setup.feed, setup.slowest_feed)):
            key = (id(candidate), feed)
            if key not in self._eased:
                self._eased[key] = (candidate, self._at(candidate, feed))  # the first is kept for its id
            found = self._eased[key][1]
            if found is not None:
                yield found

    def _at(self, candidate: Candidate, feed: float) -> Candidate | None:
        setup = candidate.setup
        hot, cool = setup, None
        for tried in self._ladder(candidate):
            if not self._sound(tried, candidate):
                break
            if self._cool(tried, candidate, feed):
                cool = tried
                break
            hot = tried
        if cool is None:
            return None
        for _ in range(_HALVINGS):
            between = replace(
                cool, line_load=(hot.line_load + cool.line_load) / 2, speed=(hot.speed + cool.speed) / 2
            )
            if self._cool(between, candidate, feed):
                cool = between
            else:
                hot = between
        values = self._desk.expected(candidate.tool.media, candidate.grain, candidate.grade)
        cool = replace(cool, eased_for_heat=True)
        outcome = effect(cool, values)
        life = media_life(cool, outcome, values, self._desk.economy(candidate.tool.media))
        return replace(candidate, setup=cool, effect=outcome, life=life)

    def _ladder(self, candidate: Candidate) -> Iterator[Setup]:
        """Less and less force inside its window, and then less and less speed inside its own."""
        setup = candidate.setup
        force, speed = candidate.choices.get("force"), candidate.choices.get("surface_speed")
        least = force.low * 1e3 if isinstance(force, RangeChoice) else setup.line_load
        slowest = speed.low if isinstance(speed, RangeChoice) else setup.speed
        load = setup.line_load
        while load > least * (1 + 1e-9):
            load = max(least, load * _EASING)
            yield replace(setup, line_load=load)
        rim = setup.speed
        while rim > slowest * (1 + 1e-9):
            rim = max(slowest, rim * _EASING)
            yield replace(setup, line_load=load, speed=rim)

    def _sound(self, setup: Setup, candidate: Candidate) -> bool:
        """Whether the grain still cuts and the tool still holds the force."""
        return not any(True for _ in unmet_limits(setup, self._effect(setup, candidate), self._desk.job))

    def _cool(self, setup: Setup, candidate: Candidate, feed: float) -> bool:
        values = self._desk.expected(candidate.tool.media, candidate.grain, candidate.grade)
        found = warming(setup, self._effect(setup, candidate), values, feed, 1.0)
        return found is None or float(found.passing or 0.0) < found.limit

    def _effect(self, setup: Setup, candidate: Candidate) -> Effect:
        return effect(setup, self._desk.expected(candidate.tool.media, candidate.grain, candidate.grade))
