"""The sequence as a ladder: where the face starts, each step down, and where it is to end."""

from __future__ import annotations

from textwrap import wrap

from advisor.render.figures.canvas import BOX, INK, RULE, SOFT, STAGES, WIDTH, Paper, Picture, to_svg
from advisor.render.quantities import band_text, both, both_window
from advisor.render.speech import Speech
from advisor.render.words import join
from advisor.sheet.model import Feature, Step

_LETTERS = 38  # of the large size in one line of a rung
_SMALL = 50  # of the small size
_LARGE_PT, _SMALL_PT = 16.0, 14.0
_PAD, _GAP = 7.0, 14.0
_LEFT, _BADGE = 6.0, 30.0


def ladder(feature: Feature, speech: Speech, key: str) -> Picture:
    """The steps of a feature from top to bottom with their settings and what they leave."""
    ends = _start(feature, speech), _target(feature, speech)
    rungs = [
        (None, *_lines("Start", ends[0])),
        *((step, *_lines(speech.media(step), *_told(step, speech))) for step in feature.steps),
        (None, *_lines("To become", ends[1])),
    ]
    heights = [2 * _PAD + _LARGE_PT * len(large) + _SMALL_PT * len(small) for _, large, small in rungs]
    paper = Paper(sum(heights) + _GAP * (len(rungs) - 1) + 4)
    top = 2.0
    for rail in (_LEFT + _BADGE / 2, WIDTH - _LEFT - _BADGE / 2):
        paper.line(rail, 4, rail, sum(heights) + _GAP * (len(rungs) - 1), RULE, 3)
    for (step, large, small), height in zip(rungs, heights, strict=True):
        _rung(paper, top, height, step, large, small)
        top += height + _GAP
    caption = f"{feature.name}: the sequence as a ladder of steps"
    steps = [
        f"Step {step.number}, {step.stage}: {speech.media(step)}, {'; '.join(_told(step, speech))}."
        for step in feature.steps
    ]
    told = " ".join([f"Start: {ends[0]}.", *steps, f"To become: {ends[1]}."])
    return Picture(to_svg(paper.figure, key, caption, told), caption, told)


def _lines(large: str, *small: str) -> tuple[list[str], list[str]]:
    """The lines of a rung: a large name and small particulars, broken where they are long."""
    return wrap(large, _LETTERS), [line for text in small for line in wrap(text, _SMALL)]


def _rung(
    paper: Paper, top: float, height: float, step: Step | None, large: list[str], small: list[str]
) -> None:
    width = WIDTH - 2 * _LEFT
    paper.box(_LEFT, top, width, height, fill=BOX, edge=RULE, dashed=step is None)
    if step is not None:
        paper.box(_LEFT, top, _BADGE, height, fill=STAGES[step.stage])
        paper.text(
            _LEFT + _BADGE / 2, top + height / 2 + 5, str(step.number), BOX, 15, bold=True, align="center"
        )
    left = _LEFT + _BADGE + 8
    at = top + _PAD - 4
    for line in large:
        at += _LARGE_PT
        paper.text(left, at, line, INK, 12, bold=True)
    for line in small:
        at += _SMALL_PT
        paper.text(left, at, line, SOFT, 10.5)


def _told(step: Step, speech: Speech) -> list[str]:
    """What is set and what comes out, in a few short lines."""
    setting = [] if step.rpm is None else [f"{step.rpm} rpm"]
    setting += [] if step.force_n is None else [both(step.force_n, "N", speech.system)]
    if step.passes is not None:
        setting.append(f"{step.passes} {'pass' if step.passes == 1 else 'passes'}")
    result: list[str] = [step.stage]
    result += [] if step.ra_um is None else [f"Ra {both(step.ra_um.expected, 'um', speech.system)}"]
    result += [] if step.time_s is None else [band_text(step.time_s, "s")]
    return [" · ".join(each) for each in (setting, result) if each]


def _start(feature: Feature, speech: Speech) -> str:
    start = feature.start
    if start is None:
        return "not described"
    said = [join([speech.name(key) for key in start.defects]) or "not named"]
    if start.depth_mm is not None:
        said.append(f"{both_window(start.depth_mm, 'mm', speech.system)} deep")
    if start.ra_um is not None:
        said.append(f"Ra {both(start.ra_um, 'um', speech.system)}")
    return " · ".join(said)


def _target(feature: Feature, speech: Speech) -> str:
    target = feature.target
    if target is None:
        return "not described"
    said = [speech.name(target.finish or target.texture)]
    if target.ra_um is not None:
        said.append(f"Ra {both_window(target.ra_um, 'um', speech.system)}")
    return " · ".join(said)
