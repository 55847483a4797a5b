"""Takes one decision of a planned step again, with other rules, all earlier decisions held as they are."""

from __future__ import annotations

from collections.abc import Sequence
from copy import copy

from advisor.choices.decide import Decider, Room
from advisor.choices.model import Choice, ListChoice, RangeChoice
from advisor.explain.muted import without
from advisor.explain.point import Place
from advisor.inference.tests import Situation
from advisor.pipeline import WorkedOut
from advisor.sequence.candidates import SPOKEN_BY, offered_media
from advisor.sequence.later_decisions import later_decisions
from advisor.sequence.plan import decide_handling
from advisor.sequence.step_maker import StepMaker

RECEIVED = ("passes", "jump", "accepts")


class _OneOther(Decider):
    """A decider that asks another one for a single decision."""

    def __init__(self, base: Decider, decision: str, other: Decider) -> None:
        self.__dict__.update(base.__dict__)
        self._decision, self._other = decision, other

    def listed(
        self,
        decision: str,
        situation: Situation,
        offered: Sequence[str],
        usual: str | None = None,
        spoken_by: frozenset[str] | None = None,
    ) -> ListChoice:
        """The choice, by the other decider where it is the decision in question."""
        if decision == self._decision:
            return self._other.listed(decision, situation, offered, usual, spoken_by)
        return super().listed(decision, situation, offered, usual, spoken_by)

    def stretch(
        self, decision: str, situation: Situation, room: Room, scale: str | None = None
    ) -> RangeChoice:
        """The window, by the other decider where it is the decision in question."""
        if decision == self._decision:
            return self._other.stretch(decision, situation, room, scale)
        return super().stretch(decision, situation, room, scale)


def taken(place: Place, decision: str) -> Choice | None:
    """The choice behind a decision of a step; None where the decision does not apply to its media."""
    planned = place.planned
    if decision in RECEIVED:
        return planned.received.get(decision)
    return planned.candidate.choices.get(decision)


def again(place: Place, decision: str, silent: Sequence[str]) -> Choice | None:
    """The same decision with some rules silent."""
    base = place.plan.desk.decider
    desk = copy(place.plan.desk.at(place.planned.defect))
    desk.decider = decider = _OneOther(base, decision, without(base, silent))
    candidate = place.planned.candidate
    facts, media = dict(candidate.situation), candidate.tool.media
    if decision == "media":
        offered, _ = offered_media(desk, candidate.stage)
        return decider.listed("media", facts, tuple(offered), spoken_by=SPOKEN_BY[candidate.stage])
    if decision == "pressure":
        aim = "middle" if candidate.stage == "clear" else "low"
        return decider.stretch("pressure", facts, Room(0, 2, (0, 1, 2), aim))
    if decision == "grain":
        return decider.listed("grain", facts, media.grains, spoken_by=frozenset())
    if decision == "grade":
        places = sorted(decider.vocabulary.rank[key][1] for key in media.grades)
        room = Room(min(places), max(places), tuple(map(float, places)), "coarse")
        return decider.stretch("grade", facts, room, media.scale)
    if decision in RECEIVED:
        maker = StepMaker(desk, desk.job.batch)
        return maker.received(place.planned.kind, candidate, place.planned.before).get(decision)
    for name, choice in later_decisions(desk, facts, candidate.tool, candidate.grade):
        if name == decision:
            return choice
    return None


def handling_again(found: WorkedOut, silent: Sequence[str]) -> ListChoice:
    """The handling with some rules silent."""
    return decide_handling(found.job, without(found.decider, silent), found.facts)


def moved(before: Choice, after: Choice | None, concerns: int) -> bool:
    """Whether two takes of one decision come out differently: other candidates, winner or window."""
    if isinstance(before, ListChoice) and isinstance(after, ListChoice):
        if before.decision in ("media", "grain"):  # all of the best go on, and cost decides
            return set(before.candidates(concerns)) != set(after.candidates(concerns))
        return before.winner != after.winner
    if isinstance(before, RangeChoice) and isinstance(after, RangeChoice):
        return (before.low, before.high, before.value) != (after.low, after.high, after.value)
    return True
