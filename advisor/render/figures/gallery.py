"""All pictures of a sheet, face by face, drawn in one go."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from advisor.render.figures.canvas import Picture, own_look
from advisor.render.figures.ladder import ladder
from advisor.render.figures.progress import progress
from advisor.render.figures.schedule import schedule
from advisor.render.figures.standing import standing
from advisor.render.figures.tornado import tornado
from advisor.render.speech import Speech
from advisor.sheet.model import Feature


@dataclass(frozen=True)
class Gallery:
    """The pictures of one face; `schedules` by the number of the step. What has no data has no picture."""

    ladder: Picture | None = None
    progress: Picture | None = None
    standing: Picture | None = None
    schedules: Mapping[int, Picture] = field(default_factory=dict)


def galleries(speech: Speech) -> list[Gallery]:
    """The pictures of each face of the sheet, in its order."""
    with own_look():
        return [_gallery(feature, speech, f"p{place}") for place, feature in enumerate(speech.sheet.features, 1)]


def total_picture(speech: Speech) -> Picture | None:
    """What moves the total of the sheet, None where the sheet does not say."""
    with own_look():
        return tornado(speech, "total")


def _gallery(feature: Feature, speech: Speech, key: str) -> Gallery:
    if not feature.steps:
        return Gallery()
    schedules = {
        step.number: schedule(step, speech, f"{feature.name}, step {step.number}", f"{key}-life{step.number}")
        for step in feature.steps
    }
    return Gallery(
        ladder=ladder(feature, speech, f"{key}-ladder"),
        progress=progress(feature, speech, f"{key}-progress"),
        standing=standing(feature, speech, f"{key}-standing"),
        schedules={number: drawn for number, drawn in schedules.items() if drawn is not None},
    )
