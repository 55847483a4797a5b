"""Says what stands in the way of a face for which no chain was found."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from advisor.coverage.bench import Bench
from advisor.coverage.finder import BenchFinder
from advisor.sequence.candidates import ALL_COUNT, StageField
from advisor.sequence.paths import Scope

_ANY_RA = (0.0, 1.0)


@dataclass(frozen=True, slots=True)
class Obstacle:
    """The stage where it shows, the kind of limit or the rule behind it, and one sentence."""

    stage: str
    limit: str
    text: str


def obstacle(bench: Bench, finder: BenchFinder | None) -> Obstacle:
    """What stands in the way of a face without a chain, the first stage without a way out first."""
    if finder is None:
        first = bench.not_runnable[0]
        return Obstacle("any", first.limit, first.text)
    for stage in ("clear", "finish"):
        for (name, _, _, concerns), field in finder.fields.items():
            if name == stage and concerns == ALL_COUNT and not field.candidates:
                return next(_stuck(bench, field))
    return _no_chain(finder)


def _stuck(bench: Bench, field: StageField) -> Iterator[Obstacle]:
    """Why a stage has no candidate: rules that contradict, limits in the numbers, media not to be had."""
    for conflict in field.conflicts:
        names = ", ".join(rule.id for rule in conflict.rules)
        yield Obstacle(field.stage, f"rule {names}", f"To {field.stage}: {conflict.what}.")
    for unmet in field.unmet:
        yield Obstacle(field.stage, unmet.limit, unmet.text)
    engine = bench.decider.engine
    wanted = {
        option
        for rule in engine.rules("media", engine.signature("media", field.situation))
        for advice in rule.advice()
        if advice.decision == "media" and advice.strength in ("must", "should", "may")
        for option in advice.options
    }
    for item in (*field.not_offered, *bench.not_runnable):
        if item.media in wanted:
            yield Obstacle(field.stage, item.limit, item.text)
    yield Obstacle(field.stage, "no rule", f"No rule names a media to {field.stage} here.")


def _no_chain(finder: BenchFinder) -> Obstacle:
    """Every stage has candidates, yet no chain of them arrives."""
    for concerns in (ALL_COUNT, 0):
        path = finder.first(Scope(concerns, _ANY_RA))
        if path:
            reached, target = path[-1].after.ra * 1e6, finder.desk.feature.finish
            text = (
                f"The chain that comes through ends at Ra {reached:.2g} um, "
                f"not {target.ra_low_um:g} to {target.ra_high_um:g} um."
            )
            return Obstacle("finish", "roughness", text)
    text = "No step that is left takes the defect off in the passes allowed without spoiling the face."
    return Obstacle("clear", "passes", text)
