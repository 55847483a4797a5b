"""How the face comes along: roughness and what is left of the defect, against time, with their bands."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from advisor.render.figures.canvas import (
    BAND,
    BOX,
    INK,
    LINE,
    RULE,
    SOFT,
    STAGES,
    TARGET,
    WIDTH,
    Picture,
    canvas,
    panel,
    to_svg,
)
from advisor.render.speech import Speech
from advisor.sheet.model import Band, Feature
from advisor.units import convert, figure

if TYPE_CHECKING:
    from matplotlib.axes import Axes

_LEFT, _RIGHT = 46.0, 14.0
_TALL, _LOW = 150.0, 110.0
_FOOT, _HEAD, _BETWEEN = 36.0, 24.0, 34.0
_NICE = (1.0, 2.0, 5.0)


@dataclass(frozen=True)
class _Point:
    """A state of the face: after how many seconds, and between what and what."""

    time_s: float
    band: Band
    label: str
    stage: str | None


def progress(feature: Feature, speech: Speech, key: str) -> Picture | None:
    """Roughness and remaining defect over the likely time, None where a step has no time or no roughness."""
    ends = _ends(feature)
    rough = _roughness(feature, ends)
    if ends is None or len(rough) < 2:
        return None
    left = _remaining(feature, ends)
    height = _HEAD + _TALL + _FOOT + (_LOW + _BETWEEN if left else 0)
    drawing = canvas(height)
    wide = WIDTH - _LEFT - _RIGHT
    upper = panel(drawing, _LEFT, height - _HEAD - _TALL, wide, _TALL)
    unit = "uin" if speech.system == "us" else "um"
    _trace(upper, rough, "um", unit)
    _log_scale(upper, feature, rough, unit)
    upper.set_title(f"Ra across the lay, {unit}", loc="left", fontsize=11, pad=8)
    panels = [upper]
    if left:
        lower = panel(drawing, _LEFT, _FOOT, wide, _LOW)
        unit = "thou" if speech.system == "us" else "um"
        _trace(lower, left, "um", unit)
        lower.set_ylim(bottom=0)
        lower.set_title(f"Left of the defect, {unit}", loc="left", fontsize=11, pad=8)
        panels.append(lower)
        upper.tick_params(labelbottom=False)  # both panels share the times below
    for each in panels:
        each.set_xlim(-0.03 * ends[-1], 1.04 * ends[-1])
        for end in ends:
            each.axvline(end, color=RULE, linewidth=0.6, zorder=0)
    panels[-1].set_xlabel("likely time at the part, s")
    caption = f"{feature.name}: roughness{' and remaining defect' if left else ''} against time"
    told = _in_words(rough, left, speech)
    return Picture(to_svg(drawing, key, caption, told), caption, told)


def _ends(feature: Feature) -> list[float] | None:
    """When each step ends, likely; None where a step has no time."""
    total, ends = 0.0, []
    for step in feature.steps:
        if step.time_s is None:
            return None
        total += step.time_s.expected
        ends.append(total)
    return ends or None


def _roughness(feature: Feature, ends: Sequence[float] | None) -> list[_Point]:
    start = feature.start.ra_um if feature.start is not None else None
    points = [] if not start else [_Point(0.0, Band(low=start, expected=start, high=start), "start", None)]
    for step, end in zip(feature.steps, ends or (), strict=False):
        if step.ra_um is not None and step.ra_um.low > 0:
            points.append(_Point(end, step.ra_um, str(step.number), step.stage))
    return points


def _remaining(feature: Feature, ends: Sequence[float]) -> list[_Point]:
    depth = feature.start.depth_mm if feature.start is not None else None
    if depth is None:
        return []
    typical, worst = depth[0] * 1000, depth[1] * 1000
    points = [_Point(0.0, Band(low=typical, expected=typical, high=worst), "start", None)]
    for step, end in zip(feature.steps, ends, strict=True):
        if step.remaining_um is not None:
            points.append(_Point(end, step.remaining_um, str(step.number), step.stage))
    return points if len(points) > 1 else []


def _trace(axes: Axes, points: Sequence[_Point], own: str, unit: str) -> None:
    """The likely line with its band, and a numbered mark for the end of each step."""

    def told(values: Sequence[float]) -> list[float]:
        return [convert(value, own, unit) for value in values]

    times = [point.time_s for point in points]
    likely = told([point.band.expected for point in points])
    low, high = told([point.band.low for point in points]), told([point.band.high for point in points])
    axes.fill_between(times, low, high, color=BAND, linewidth=0)
    axes.plot(times, likely, color=LINE)
    for point, value in zip(points, likely, strict=True):
        colour = SOFT if point.stage is None else STAGES[point.stage]
        size = 7 if point.stage is None else 13
        axes.plot([point.time_s], [value], "o", color=colour, markersize=size, clip_on=False, zorder=3)
        if point.stage is not None:
            axes.annotate(
                point.label, (point.time_s, value), xytext=(0, -3.5), textcoords="offset points",
                color=BOX, fontsize=10, fontweight="bold", ha="center", zorder=4,
            )  # fmt: skip


def _log_scale(axes: Axes, feature: Feature, points: Sequence[_Point], unit: str) -> None:
    """Roughness by ratio, for that is how steps divide it, with the band asked for as a strip."""
    from matplotlib.ticker import NullLocator

    axes.set_yscale("log")
    target = feature.target.ra_um if feature.target is not None else None
    seen = [value for point in points for value in (point.band.low, point.band.high)] + list(target or ())
    low, high = (convert(value, "um", unit) for value in (min(v for v in seen if v > 0) / 1.3, max(seen) * 1.3))
    axes.set_ylim(low, high)
    ticks = [value for power in range(-4, 6) for nice in _NICE if low <= (value := nice * 10.0**power) <= high]
    axes.set_yticks(ticks, [figure(value) for value in ticks])
    axes.yaxis.set_minor_locator(NullLocator())
    if target is not None:
        bottom, top = (convert(value, "um", unit) for value in target)
        axes.axhspan(max(bottom, low), top, color=TARGET, linewidth=0, zorder=0)
        for edge in (max(bottom, low), top):  # seen through the band too
            axes.axhline(edge, color=STAGES["finish"], linewidth=0.8, zorder=1.5)
        axes.annotate(
            "asked for", (0.0, top), xytext=(4, -11), textcoords="offset points",
            xycoords=axes.get_yaxis_transform(), color=INK, fontsize=10,
        )  # fmt: skip


def _in_words(rough: Sequence[_Point], left: Sequence[_Point], speech: Speech) -> str:
    from advisor.render.quantities import band_text, both, both_window

    def after(point: _Point) -> str:
        return "At the start" if point.stage is None else f"After step {point.label}, {figure(point.time_s)} s"

    said = []
    for point in rough:
        band = point.band
        within = "" if band.low == band.high else f", {both_window((band.low, band.high), 'um', speech.system)}"
        said.append(f"{after(point)}: Ra {both(band.expected, 'um', speech.system)}{within}.")
    said += [f"{after(point)}: {band_text(point.band, 'um')} of the defect left." for point in left]
    return " ".join(said)
