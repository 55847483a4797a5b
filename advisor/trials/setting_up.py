"""What a trial set, by decision, with the force as the rules count it: for each mm of contact."""

from __future__ import annotations

from advisor.knowledge.vocabulary import Value
from advisor.sequence.feature_desk import FeatureDesk
from advisor.sequence.surface import PlannedStep
from advisor.trials.fields import USED_FIELDS
from advisor.trials.model import Trial
from advisor.trials.run import SetUp


def asked_of(trial: Trial, step: PlannedStep, desk: FeatureDesk) -> SetUp:
    """What a trial set, by decision; where it is silent, what the planned step says for the same media."""
    used, planned = trial.used, step.candidate
    asked = _written(trial)
    if used.media == planned.tool.media.key:
        asked = {**{key: value for key, value in planned.values.items() if value is not None}, **asked}
        asked.setdefault("passes", step.passes)
        if used.feed_mm_s is None:
            asked["feed"] = step.feed * 1e3
    return _per_width(asked, trial, step, desk)


def asked_alone(trial: Trial, step: PlannedStep, desk: FeatureDesk) -> SetUp:
    """What a trial set and nothing else; the rules decide what it leaves open."""
    return _per_width(_written(trial), trial, step, desk)


def _written(trial: Trial) -> dict[str, Value | None]:
    return {
        field.decision: getattr(trial.used, field.attribute)
        for field in USED_FIELDS
        if field.decision and getattr(trial.used, field.attribute) is not None
    }


def _per_width(asked: dict[str, Value | None], trial: Trial, step: PlannedStep, desk: FeatureDesk) -> SetUp:
    if trial.used.force_n is not None:
        asked["force"] = trial.used.force_n / _contact_width(asked, step, desk)
    asked.pop("pressure", None)
    return asked


def _contact_width(asked: SetUp, step: PlannedStep, desk: FeatureDesk) -> float:
    """The width (mm) that the force is spread over."""
    wheel = asked.get("wheel_width") or step.candidate.values.get("wheel_width")
    if not isinstance(wheel, (int, float)):
        wheel = desk.knowledge.tables.media[str(asked["media"])].usual_width_mm
    return desk.contact_width_mm({"wheel_width": float(wheel)})
