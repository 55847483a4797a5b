"""The trial card: what to set for a trial of each step, with blanks in the order of a trial file."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import ceil

from advisor.render import lines, words
from advisor.render.cards.card import Card, Cell, Fill, Grid, Group, Page, Section
from advisor.render.cards.common import cautions, head, own, own_band, own_window, places, setting
from advisor.render.speech import Speech
from advisor.sheet.model import Feature, Step, Wheel

#: Cut-off lengths for an expected Ra up to so many um: ISO 4288, which ISO 21920-3 keeps for Ra (from memory).
_CUTOFFS = ((0.02, 0.08), (0.1, 0.25), (2.0, 0.8), (10.0, 2.5), (80.0, 8.0))
_COLUMNS = 4  # steps on one page, so that a blank has room for a pen
_FREE_COLUMNS = 2  # for further tries of a face that has one step
_HOW = (
    "One column is one trial. What is printed is planned; write what was really set and found. A blank left "
    "empty under 'used' ran as planned; one left empty elsewhere was not measured."
)


def trial_card(speech: Speech) -> Card:
    """One page a face, each with the safety cautions, what is planned, and room for what came out."""
    planned = [feature for feature in speech.sheet.features if feature.steps]
    pages = [page for feature in planned for page in _pages(feature, speech)]
    refused = [feature for feature in speech.sheet.features if not feature.steps]
    if refused and not planned:
        pages = [Page("No plan", head(speech), cautions(speech, short=True), (_no_plan(refused, speech),))]
    elif refused:
        last = pages[-1]
        pages[-1] = Page(last.title, last.head, last.cautions, (*last.sections, _no_plan(refused, speech)))
    return Card("trial-card", f"Trial card: {lines.title(speech)}", tuple(pages), lines.foot(speech))


def _no_plan(refused: Sequence[Feature], speech: Speech) -> Section:
    said = [
        f"{feature.name}: {barrier.text}"
        for feature in refused
        for barrier in lines.barriers(feature, speech)[:1]
    ]
    return Section("Faces without a plan", tuple(said), stop=True)


def _pages(feature: Feature, speech: Speech) -> Iterator[Page]:
    """The pages of a face: one, unless it has more steps than columns fit on paper."""
    first = speech.sheet.first_try
    tried = first is not None and first.feature in (None, feature.name)
    start = [f"{label}: {text}" for label, text in lines.first_try(speech)] if tried else []
    keys = ", ".join(speech.sheet.symptoms)
    pages = ceil(len(feature.steps) / _COLUMNS)
    across = ceil(len(feature.steps) / pages)
    for begin in range(0, len(feature.steps), across):
        steps = feature.steps[begin : begin + across]
        sections = [Section("First try, on scrap", tuple(start))] if start and begin == 0 else []
        sections.append(Section("Planned and found", (_HOW,), grids=(_grid(feature, steps, speech),)))
        if keys:
            sections.append(Section("Keys of symptoms", (f"{keys}. What one looks like: advisor words KEY.",)))
        face = feature.name if pages == 1 else places([(feature.name, step.number) for step in steps])
        title = f"Face: {face}"
        yield Page(title, head(speech), cautions(speech, feature.name, short=True), tuple(sections))


def _grid(feature: Feature, steps: Sequence[Step], speech: Speech) -> Grid:
    """A column a step; the rows are the fields of a trial file, in its order and under its names."""
    free = _FREE_COLUMNS if len(feature.steps) == 1 else 0
    head_row = ["step", *(_mounted(step, speech) for step in steps)]
    head_row += [f"{steps[0].number}, try {place + 2}" for place in range(free)]

    def row(name: str, planned: Sequence[str]) -> tuple[Cell, ...]:
        return (name, *(Fill(text) for text in planned), *(Fill() for _ in range(free)))

    def each(name: str, text: str = "") -> tuple[Cell, ...]:
        return (name, *(Fill(text) for _ in range(len(steps) + free)))

    used = [_used(step, speech) for step in steps]
    found = [_incoming(feature, step, speech) for step in steps]
    rows: list[tuple[Cell, ...] | Group] = [
        Group("used"),
        *(row(name, [column[name] for column in used]) for name in used[0]),
        each("media_age (parts)"),
        each("media_lot"),
        Group("incoming: as this part really was"),
        *(row(name, [column[name] for column in found]) for name in found[0]),
        Group("measured, after the whole step"),
        row("ra", [own_band(step.ra_um, "um", speech) for step in steps]),
        row("removal", [own_band(step.removal_um, "um", speech, length=True) for step in steps]),
        row("time", [own_band(step.time_s, "s", speech) for step in steps]),
        row("parts_per_media", [_parts(step) for step in steps]),
        Group("roughness: how ra was measured"),
        row("cutoff", [_cutoff(step) for step in steps]),
        each("direction", "across"),
        Group("and then"),
        each("symptoms"),
        each("verdict", "pass / fail"),
        each("by"),
        each("date"),
        each("note"),
    ]
    about = places([(feature.name, step.number) for step in steps])
    return Grid(f"{about}: planned and found", tuple(head_row), tuple(rows))


def _mounted(step: Step, speech: Speech) -> str:
    turns = "" if step.rpm is None else f", {step.rpm} rpm"
    return f"{step.number} {step.stage}: {speech.media(step)}{turns}"


def _used(step: Step, speech: Speech) -> dict[str, str]:
    """The planned settings by the names of a trial file; keys of options stand as they are typed."""
    wheel, window = step.wheel or Wheel(), step.windows
    return {
        "media": step.media,
        "grain": step.grain or "",
        "grade": step.grade or "",
        "backing": step.backing or "",
        "hardness_shore_a": own(wheel.hardness_shore_a, "1", speech),
        "force": setting(step.force_n, window.force_n, "N", speech),
        "surface_speed": setting(step.surface_speed_m_s, window.surface_speed_m_s, "m/s", speech),
        "feed": setting(step.feed_mm_s, window.feed_mm_s, "mm/s", speech),
        "passes": "" if step.passes is None else str(step.passes),
        "lubricant": step.lubricant or "",
        "wheel_diameter": own(wheel.diameter_mm, "mm", speech),
        "wheel_width": own(wheel.width_mm, "mm", speech),
    }


def _incoming(feature: Feature, step: Step, speech: Speech) -> dict[str, str]:
    """What the face is expected to look like before a step: as the job says, or as the step before left it."""
    before = next((each for each in feature.steps if each.number == step.number - 1), None)
    if before is not None:
        return {
            "defect": "",
            "depth": own_band(before.remaining_um, "um", speech, length=True),
            "ra": own_band(before.ra_um, "um", speech),
        }
    start = feature.start
    return {
        "defect": words.join(list(start.defects)) if start is not None else "",
        "depth": own_window(start.depth_mm, "mm", speech) if start is not None else "",
        "ra": own(start.ra_um, "um", speech) if start is not None else "",
    }


def _parts(step: Step) -> str:
    if step.wear is None or step.wear.parts_per_media is None:
        return ""
    return f"{step.wear.parts_per_media:.3g}"


def _cutoff(step: Step) -> str:
    """The cut-off length for the Ra expected, always in mm, as instruments are set."""
    if step.ra_um is None:
        return ""
    fitting = (length for ra, length in _CUTOFFS if step.ra_um.expected <= ra)
    return next((f"{length:g} mm" for length in fitting), "")
