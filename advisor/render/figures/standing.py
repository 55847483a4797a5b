"""How far each option got: the options of each decision, and the concern on which they fell out."""

from __future__ import annotations

from textwrap import shorten

from advisor.render.figures.canvas import BAD, BAND, INK, RULE, SOFT, STAGES, WIDTH, Paper, Picture, to_svg
from advisor.render.speech import Speech
from advisor.render.words import lost_on
from advisor.sheet.model import Feature, Step, StepRival

#: The order in which concerns are compared; what an option loses on first, it falls out on.
_ORDER = ("limit", "safety", "specification", "corrosion", "form", "look", "economy", "cost", "tie")
_HEADS = {"tie": "equal", "limit": "limits"}
_NAMES = 168.0  # points for the name of an option
_COLUMN = (WIDTH - _NAMES) / (len(_ORDER) + 1)
_HEAD, _ROW, _STEP = 76.0, 17.0, 24.0
_LETTERS = 29


def standing(feature: Feature, speech: Speech, key: str) -> Picture | None:
    """The options of every step with the concern each fell out on, None where nothing had a rival."""
    steps = [step for step in feature.steps if step.rivals]
    if not steps:
        return None
    rows = {step.number: _rows(step) for step in steps}
    count = sum(map(len, rows.values()))
    height = _HEAD + _STEP * len(steps) + _ROW * count + 6
    paper = Paper(height)
    for place, concern in enumerate(_ORDER):
        x = _NAMES + (place + 0.5) * _COLUMN
        paper.text(x + 4, _HEAD - 6, _HEADS.get(concern, concern), SOFT, 10, turned=90)
        paper.line(x, _HEAD, x, height - 4, RULE, 0.6)
    at = _HEAD
    for step in steps:
        at += _STEP
        paper.text(0, at - 5, f"Step {step.number}, {step.stage}", INK, 11, bold=True)
        for decision, option, lost in rows[step.number]:
            at += _ROW
            _row(paper, at, speech.option(decision, option), lost, step.stage)
    caption = f"{feature.name}: how far each option got"
    return Picture(to_svg(paper.figure, key, caption, _told(steps, speech)), caption, _told(steps, speech))


def _rows(step: Step) -> list[tuple[str, str, str | None]]:
    """Decision, option and what it fell out on (None for the one taken), decision by decision."""
    rows: list[tuple[str, str, str | None]] = []
    for decision in dict.fromkeys(rival.decision for rival in step.rivals):
        taken = chosen(step, decision)
        rows += [(decision, taken, None)] if taken else []
        rivals = [rival for rival in step.rivals if rival.decision == decision]
        rows += [(decision, rival.option, rival.lost_on) for rival in sorted(rivals, key=_farthest)]
    return rows


def _farthest(rival: StepRival) -> int:
    return -_ORDER.index(rival.lost_on)


def chosen(step: Step, decision: str) -> str | None:
    """The option a step takes for a decision, None where it is not one of a list.

    >>> chosen(Step(number=1, stage="clear", media="belt"), "media")
    'belt'
    """
    holder = step.wheel if decision.startswith("wheel_") else step
    value = getattr(holder, decision.removeprefix("wheel_"), None)
    return value if isinstance(value, str) else None


def _row(paper: Paper, at: float, name: str, lost: str | None, stage: str) -> None:
    paper.text(
        8, at - 4, shorten(name, _LETTERS, placeholder=" ..."), INK if lost is None else SOFT, 10.5,
        bold=lost is None,
    )  # fmt: skip
    middle, colour = at - _ROW / 2, STAGES[stage]
    if lost is None:
        paper.box(_NAMES, middle - 4, WIDTH - _NAMES - 2, 8, fill=colour)
        return
    end = _NAMES + (_ORDER.index(lost) + 0.5) * _COLUMN
    paper.box(_NAMES, middle - 3, end - _NAMES, 6, fill=BAND)
    for slope in (-3.5, 3.5):
        paper.line(end - 3.5, middle - slope, end + 3.5, middle + slope, BAD, 1.8)


def _told(steps: list[Step], speech: Speech) -> str:
    said = []
    for step in steps:
        for decision in dict.fromkeys(rival.decision for rival in step.rivals):
            taken = chosen(step, decision)
            kept = f"{speech.option(decision, taken)} is taken; " if taken else ""
            lost = ", ".join(
                f"{speech.option(decision, rival.option)} {lost_on(rival.lost_on)}"
                for rival in step.rivals
                if rival.decision == decision
            )
            said.append(f"Step {step.number}, {speech.name(decision)}: {kept}{lost}.")
    return " ".join(said)
