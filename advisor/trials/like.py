"""Past trials of jobs like this one: how far away each is, and why, in words.

The distance counts points. The same alloy is nothing away, another of its family one, of its group three, any
other metal six; in the same way for the defect, the shape with its radius, the finish and the media.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from advisor.job.model import Feature, Job
from advisor.knowledge.base import Knowledge
from advisor.sheet.model import Sheet
from advisor.sheet.remarks import Past
from advisor.trials.log import Log
from advisor.trials.model import Trial
from advisor.trials.show import measured_words, set_up_words
from advisor.units import figure

#: Points for what is alike in a lesser way, and for what is not alike. Own choice; the metal weighs most.
ALLOY = {"same family": 1.0, "same group": 3.0, "another metal": 6.0}
DEFECT = {"same kind of defect": 1.0, "another defect": 3.0}
SHAPE = {"another shape": 2.0}
FINISH = {"same texture": 1.0, "another texture": 4.0}
MEDIA = {"same kind of media": 0.5, "other media": 1.0}
#: A radius or a roughness twice as large is a point; more than this they never add.
MOST_FOR_A_RATIO = 2.0
#: What is further away than this says little.
FURTHEST = 8.0
#: So many trials of a face are shown.
SHOWN = 10


@dataclass(frozen=True, slots=True)
class Near:
    """A past trial with its distance in points and what the distance is made of."""

    trial: Trial
    points: float
    because: tuple[str, ...]


def like(
    job: Job, feature: Feature, media: frozenset[str], log: Log, knowledge: Knowledge, most: int = SHOWN
) -> tuple[Near, ...]:
    """The nearest past trials of one face, failures first, each group by distance.

    `media` are those that the sheet of this job uses on the face; empty where nobody knows.
    """
    near = [_near(job, feature, media, trial, knowledge) for trial in log.standing]
    close = sorted((each for each in near if each.points <= FURTHEST), key=_order)[:most]
    return tuple(sorted(close, key=lambda each: (not each.trial.failed, *_order(each))))


def _order(near: Near) -> tuple[float, int]:
    """Nearest first; of two as near, the one of the later day."""
    day = near.trial.when[0].replace("-", "")
    return near.points, -int(day or 0)


def _near(job: Job, feature: Feature, media: frozenset[str], trial: Trial, knowledge: Knowledge) -> Near:
    parts = [
        _alloy(job.alloy, trial.job.alloy, knowledge),
        _defect(feature, trial, knowledge),
        _shape(feature, trial.face),
        _finish(feature, trial.face),
        *([_media(media, trial.used.media, knowledge)] if media else []),
    ]
    return Near(trial, round(sum(points for points, _ in parts), 2), tuple(words for _, words in parts))


def _alloy(one: str, other: str, knowledge: Knowledge) -> tuple[float, str]:
    if one == other:
        return 0.0, "same alloy"
    first, second = knowledge.tables.alloys[one], knowledge.tables.alloys[other]
    if first.family == second.family:
        words = "same family"
    else:
        words = "same group" if first.group == second.group else "another metal"
    return ALLOY[words], f"{words} ({second.name})"


def _defect(feature: Feature, trial: Trial, knowledge: Knowledge) -> tuple[float, str]:
    came = {trial.incoming.defect} if trial.incoming.defect else set(trial.face.start.defects)
    own, rows = set(feature.start.defects), knowledge.tables.defects
    shared = sorted(str(each) for each in own & came)
    if shared:
        return 0.0, f"same defect ({', '.join(shared)})"
    named = ", ".join(sorted(str(each) for each in came))
    alike = {rows[each].kind for each in own} & {rows[str(each)].kind for each in came}
    words = "same kind of defect" if alike else "another defect"
    return DEFECT[words], f"{words} ({named})"


def _shape(one: Feature, other: Feature) -> tuple[float, str]:
    if one.shape != other.shape:
        return SHAPE["another shape"], f"another shape ({other.shape})"
    if one.radius_mm and other.radius_mm:
        points = _ratio(one.radius_mm, other.radius_mm)
        if points >= 0.1:
            return (
                points,
                f"same shape, {figure(other.radius_mm)} mm radius instead of {figure(one.radius_mm)} mm",
            )
    return 0.0, f"same shape ({one.shape})"


def _finish(one: Feature, other: Feature) -> tuple[float, str]:
    first, second = one.finish, other.finish
    shown = second.designation or second.finish or second.texture
    if (first.finish, first.designation, first.ra_um) == (second.finish, second.designation, second.ra_um):
        return 0.0, f"same finish ({shown})"
    if first.texture != second.texture:
        return FINISH["another texture"], f"another texture ({shown})"
    return FINISH["same texture"] + _ratio(first.ra_high_um, second.ra_high_um), f"same texture ({shown})"


def _media(planned: frozenset[str], used: str, knowledge: Knowledge) -> tuple[float, str]:
    if used in planned:
        return 0.0, f"same media ({used})"
    rows = knowledge.tables.media
    kinds = {rows[each].abrasive for each in planned}
    words = "same kind of media" if rows[used].abrasive in kinds else "other media"
    return MEDIA[words], f"{words} ({used})"


def _ratio(one: float, other: float) -> float:
    """A point for each doubling."""
    return min(abs(math.log2(one / other)), MOST_FOR_A_RATIO)


def with_past(sheet: Sheet, job: Job, log: Log, knowledge: Knowledge) -> Sheet:
    """The sheet with what was tried on jobs like this one."""
    return sheet.model_copy(update={"past": tuple(past_of(sheet, job, log, knowledge))})


def past_of(sheet: Sheet, job: Job, log: Log, knowledge: Knowledge) -> Iterator[Past]:
    """What was tried on jobs like this one, face by face, failures first."""
    media = {face.name: frozenset(step.media for step in face.steps) for face in sheet.features}
    for feature in job.features:
        for near in like(job, feature, media[feature.name], log, knowledge):
            yield as_past(feature.name, near, knowledge)


def as_past(feature: str, near: Near, knowledge: Knowledge) -> Past:
    """One past trial as the sheet carries it."""
    trial = near.trial
    rows: Mapping[str, object] = knowledge.tables.symptoms
    found = [*measured_words(trial), *(str(getattr(rows[key], "name", key)) for key in trial.symptoms)]
    return Past(
        feature=feature,
        trial=trial.id,
        date=trial.when[0] or None,
        job=trial.job.name,
        worked=trial.feature,
        step=trial.step,
        extra=trial.extra,
        points=near.points,
        because=near.because,
        tried=set_up_words(trial),
        found=tuple(found),
        verdict=trial.verdict,
        note=trial.note,
    )
