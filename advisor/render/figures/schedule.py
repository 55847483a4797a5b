"""The settings over the life of a wheel that wears: speed of the spindle, and how far to move in."""

from __future__ import annotations

from advisor.render.figures.canvas import LINE, STAGES, WIDTH, Picture, canvas, panel, to_svg
from advisor.render.quantities import both
from advisor.render.speech import Speech
from advisor.sheet.model import Step, WearPoint
from advisor.units import convert, figure

_LEFT, _RIGHT, _FOOT, _HEAD, _PANEL, _BETWEEN = 46.0, 16.0, 36.0, 24.0, 100.0, 34.0


def schedule(step: Step, speech: Speech, where: str, key: str) -> Picture | None:
    """Spindle speed and index against the diameter, None where the wheel has no schedule of two points."""
    points = () if step.wear is None else step.wear.schedule
    if len(points) < 2:
        return None
    indexed = all(point.index_mm is not None for point in points)
    length = "in" if speech.system == "us" else "mm"
    sizes = [convert(point.diameter_mm, "mm", length) for point in points]
    series = [("Spindle speed, rpm", [float(point.rpm) for point in points])]
    if indexed:
        moved = [convert(point.index_mm or 0.0, "mm", length) for point in points]
        series.append((f"Moved in by, {length}", moved))
    height = _HEAD + _FOOT + _PANEL * len(series) + _BETWEEN * (len(series) - 1)
    drawing = canvas(height)
    for place, (title, values) in enumerate(series):
        bottom = height - _HEAD - _PANEL - place * (_PANEL + _BETWEEN)
        axes = panel(drawing, _LEFT, bottom, WIDTH - _LEFT - _RIGHT, _PANEL)
        axes.plot(sizes, values, color=LINE if place == 0 else STAGES["finish"], marker="o", clip_on=False)
        axes.set_title(title, loc="left", fontsize=11, pad=8)
        axes.set_xlim(max(sizes), min(sizes))  # a wheel only gets smaller
        ticks = _few(sizes)
        axes.set_xticks(ticks, [figure(size) for size in ticks])
        axes.margins(y=0.15)
        axes.tick_params(labelbottom=place == len(series) - 1)  # the panels share the diameters below
        if place == len(series) - 1:
            axes.set_xlabel(f"wheel diameter as it wears, {length}")
    caption = f"{where}: settings over the life of the wheel"
    told = " ".join(_said(point, speech) for point in points)
    return Picture(to_svg(drawing, key, caption, told), caption, told)


def _few(sizes: list[float]) -> list[float]:
    """At most six of the diameters, first and last among them."""
    if len(sizes) <= 6:
        return sizes
    apart = (len(sizes) - 1) / 5
    return [sizes[round(place * apart)] for place in range(6)]


def _said(point: WearPoint, speech: Speech) -> str:
    moved = "" if point.index_mm is None else f", moved in by {both(point.index_mm, 'mm', speech.system)}"
    force = "" if point.force_n is None else f", {both(point.force_n, 'N', speech.system)}"
    return f"At {both(point.diameter_mm, 'mm', speech.system)}: {point.rpm} rpm{force}{moved}."
