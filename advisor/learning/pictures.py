"""Pictures of a calibration as SVG: predicted against measured, drift with its CUSUM, before and after."""

from __future__ import annotations

import io
import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from advisor.learning.calibrate import Fit, factor_over
from advisor.learning.contradictions import NAMES
from advisor.learning.drift import LIMIT, drifts
from advisor.learning.teach import Lesson

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_INK, _SOFT, _BAND, _DOT, _DOUBT, _LINE, _GROUND = (
    "#1b2025", "#535a61", "#bfd6e6", "#0f5c8c", "#b3261e", "#0f5c8c", "#ffffff",
)  # fmt: skip
_OURS: dict[Any, Any] = {  # matplotlib types each name on its own
    "svg.fonttype": "none",
    "svg.hashsalt": "advisor",
    "text.parse_math": False,
    "font.family": "sans-serif",
    "font.size": 10.0,
    "axes.edgecolor": _SOFT,
    "axes.labelcolor": _INK,
    "axes.titlesize": 10.0,
    "axes.spines.top": False,
    "axes.spines.right": False,
    "text.color": _INK,
    "xtick.color": _SOFT,
    "ytick.color": _SOFT,
    "figure.facecolor": _GROUND,
}
#: So many scopes get a panel: those with most trials.
MOST_PANELS = 6
_FAR = 3.0


@dataclass(frozen=True, slots=True)
class Picture:
    """A picture: its name as a file, what it shows, and the same in words for who cannot see it."""

    name: str
    caption: str
    words: str
    svg: str


def pictures(lesson: Lesson) -> tuple[Picture, ...]:
    """Every picture of a lesson: three for each coefficient that was measured.

    The same lesson gives the same bytes with one version of the drawing library.
    """
    return tuple(picture for found in lesson.fits for picture in _of_fit(found))


def drawn(lesson: Lesson) -> Iterator[tuple[str, str]]:
    """The pictures as names and SVG texts, for a folder."""
    for picture in pictures(lesson):
        yield picture.name, picture.svg


def _of_fit(found: Fit) -> Iterator[Picture]:
    title, _ = NAMES[found.coefficient]
    scopes = _scopes(found)
    before, after = miss(found.ratios), miss(found.surprise.off)
    yield Picture(
        f"{found.coefficient}-measured",
        f"{title[0].upper()}{title[1:]}: measured against predicted, by alloy and media",
        "; ".join(
            f"{name}: {factor_over(found, rows)[1]:.2f} times the published in {len(rows)} readings"
            for name, rows in scopes
        ),
        _svg(lambda: _measured(found, scopes)),
    )
    yield Picture(
        f"{found.coefficient}-drift",
        f"{title[0].upper()}{title[1:]}: drift over time, with its CUSUM, and over the life of the media",
        (
            " ".join(said for item in drifts(found) if (said := item.sentence()))
            or f"No cell wandered off: no sum passes its limit of {LIMIT:g}."
        )
        + f" A triangle is a reading more than {_FAR:g} times off.",
        _svg(lambda: _drift(found)),
    )
    yield Picture(
        f"{found.coefficient}-before-after",
        f"{title[0].upper()}{title[1:]}: how far predictions miss, before and after calibration",
        f"The typical prediction missed by a factor of {before:.2f}; calibrated on all other trials, {after:.2f}.",
        _svg(lambda: _before_after(found)),
    )


def miss(logs: Sequence[float] | np.ndarray[Any, Any]) -> float:
    """The factor by which the typical prediction misses: the median of the distances, either way.

    >>> round(miss([0.0, 0.4, -0.4]), 3)
    1.492
    """
    return math.exp(float(np.median(np.abs(logs))))


def _scopes(found: Fit) -> list[tuple[str, list[int]]]:
    rows: dict[str, list[int]] = {}
    for place, item in enumerate(found.readings):
        rows.setdefault(f"{item.scope['alloy']}, {item.scope['media']}", []).append(place)
    ranked = sorted(rows.items(), key=lambda pair: (-len(pair[1]), pair[0]))
    return ranked[:MOST_PANELS]


def _svg(draw: Callable[[], Figure]) -> str:
    """A figure as SVG without date and with our settings alone."""
    import matplotlib as mpl

    with mpl.rc_context():
        mpl.rcdefaults()
        mpl.rcParams.update(_OURS)
        figure = draw()
        out = io.StringIO()
        figure.savefig(out, format="svg", metadata={"Date": None, "Creator": None})
    return out.getvalue()


def _figure(width: float, height: float) -> Figure:
    from matplotlib.backends.backend_svg import FigureCanvasSVG
    from matplotlib.figure import Figure

    figure = Figure(figsize=(width, height), dpi=72, layout="constrained")
    FigureCanvasSVG(figure)
    return figure


def _measured(found: Fit, scopes: Sequence[tuple[str, list[int]]]) -> Figure:
    columns = min(3, len(scopes))
    lines = math.ceil(len(scopes) / columns)
    figure = _figure(3.1 * columns, 3.0 * lines + 0.4)
    unit = NAMES[found.coefficient][1]
    shown = f" ({unit})" if unit else ""
    panels = figure.subplots(lines, columns, squeeze=False)
    for axes in panels.flat[len(scopes) :]:
        axes.set_visible(False)
    for axes, (name, rows) in zip(panels.flat, scopes, strict=False):
        predicted = np.array([found.readings[row].predicted for row in rows])
        measured = np.array([found.readings[row].measured for row in rows]) / np.exp(_aging(found)[rows])
        _one_scope(axes, found, rows, predicted, measured)
        axes.set_title(f"{name} ({len(rows)})")
    figure.supxlabel(f"predicted by the published coefficients{shown}", fontsize=10.0)
    figure.supylabel(f"measured, brought to fresh media{shown}", fontsize=10.0)
    _legend(figure, list(panels.flat[: len(scopes)]))
    return figure


def _aging(found: Fit) -> Any:
    """What age and wheel did to each reading, as a logarithm."""
    own = [column[0] in ("age", "wheel") for column in found.layout.columns]
    return found.design[:, own] @ found.belief.mean[own]


def _one_scope(axes: Axes, found: Fit, rows: Sequence[int], predicted: Any, measured: Any) -> None:
    """One scope: the published line, the learned one with the band of the next part, and the readings."""
    low, high = min(predicted.min(), measured.min()) / 1.25, max(predicted.max(), measured.max()) * 1.25
    line = np.array([low, high])
    middle = factor_over(found, rows)[1]
    spread = math.exp(1.645 * found.belief.noise)
    axes.fill_between(
        line, line * middle / spread, line * middle * spread, color=_BAND, label="learned, 90 %"
    )
    axes.plot(line, line * middle, color=_LINE, linewidth=1.6, label="learned")
    axes.plot(line, line, color=_SOFT, linewidth=1.0, linestyle=(0, (4, 3)), label="as published")
    sound = found.counted[list(rows)] > 0.5
    axes.plot(predicted[sound], measured[sound], "o", color=_DOT, markersize=3.5, alpha=0.7, label="trial")
    if not sound.all():
        axes.plot(
            predicted[~sound], measured[~sound], "x", color=_DOUBT, markersize=6, label="trial in doubt"
        )
    axes.set(xscale="log", yscale="log", xlim=(low, high), ylim=(low, high))
    _plain_ticks(axes, low, high)


def _plain_ticks(axes: Axes, low: float, high: float) -> None:
    """Ticks that read as numbers on a logarithmic axis, few enough to stand apart."""
    from matplotlib.ticker import FixedLocator, FuncFormatter, NullLocator

    steps = (1, 1.5, 2, 3, 5, 7) if high / low < 8 else (1, 2, 5) if high / low < 60 else (1,)
    first, last = math.floor(math.log10(low)), math.ceil(math.log10(high))
    ticks = [step * 10.0**power for power in range(first, last + 1) for step in steps]
    inside = [tick for tick in ticks if low <= tick <= high]
    for axis in (axes.xaxis, axes.yaxis):
        axis.set_major_locator(FixedLocator(inside))
        axis.set_minor_locator(NullLocator())
        axis.set_major_formatter(FuncFormatter(lambda value, _: f"{value:g}"))


def _legend(figure: Figure, panels: Sequence[Axes]) -> None:
    """One legend for all panels: a trial in doubt may stand in the last of them alone."""
    found: dict[str, Any] = {}
    for axes in panels:
        handles, labels = axes.get_legend_handles_labels()
        found |= {label: handle for handle, label in zip(handles, labels, strict=True) if label not in found}
    figure.legend(
        list(found.values()), list(found), loc="outside upper center", ncols=len(found), frameon=False,
        fontsize=9.0,
    )  # fmt: skip


def _drift(found: Fit) -> Figure:
    cells = drifts(found)
    aged = [row for row, item in enumerate(found.readings) if item.age_known]
    figure = _figure(8.4, 2.5 * len(cells) + (2.6 if aged else 0.0))
    heights = [1.0] * len(cells) + ([1.0] if aged else [])
    parts = figure.subfigures(len(heights), 1, squeeze=False, height_ratios=heights)[:, 0]
    place = {item.trial: row for row, item in enumerate(found.readings)}
    for part, cell in zip(parts, cells, strict=False):
        left, right = part.subplots(1, 2)
        rows = [place[trial] for trial in cell.trials]
        ratios = np.exp(found.ratios[rows] - found.expected[rows])
        order = np.arange(1, len(rows) + 1)
        left.axhline(1.0, color=_SOFT, linewidth=1.0, linestyle=(0, (4, 3)))
        _dots(left, order, ratios)
        left.set(yscale="log", ylabel="measured / calibrated", xlabel="trial, in order")
        _ratio_ticks(left, ratios)
        right.plot(order, cell.above, color=_LINE, linewidth=1.5, label="above")
        right.plot(order, -cell.below, color="#9c3d17", linewidth=1.5, label="below")
        for edge in (LIMIT, -LIMIT):
            label = "limit" if edge > 0 else None
            right.axhline(edge, color=_DOUBT, linewidth=1.0, linestyle=(0, (4, 3)), label=label)
        top = max(LIMIT, float(cell.above.max()), float(cell.below.max())) * 1.1
        if cell.alarm is not None:
            right.vlines(cell.alarm + 1, -top, top, color=_DOUBT, linewidth=1.0, label="noticed")
        right.set(ylabel="CUSUM", xlabel="trial, in order")
        right.set_ylim(-top, top * 1.5)  # room for the legend above everything drawn
        right.legend(frameon=False, fontsize=9.0, loc="upper left", ncols=4, columnspacing=1.0)
        part.suptitle(cell.cell or "cell without a name", fontsize=10.0)
    if aged:
        _over_life(parts[-1].subplots(1, 1), found, aged)
    return figure


def _over_life(axes: Axes, found: Fit, rows: Sequence[int]) -> None:
    """What is left of each ratio once everything but age is taken off, over the life of the media."""
    age = np.array([found.readings[row].age for row in rows])
    column = found.layout.place()[("age", "")]
    slope = float(found.belief.mean[column])
    left = found.ratios[list(rows)] - found.expected[list(rows)] + slope * age
    _dots(axes, age, np.exp(left))
    line = np.linspace(0.0, max(1.0, float(age.max())), 40)
    axes.plot(line, np.exp(slope * line), color=_LINE, linewidth=1.6)
    axes.axhline(1.0, color=_SOFT, linewidth=1.0, linestyle=(0, (4, 3)))
    axes.set(yscale="log", xlabel="share of the media's life behind it", ylabel="measured / fresh media")
    axes.set_title(f"over the life of the media: at its end {math.exp(slope):.2f} times as on fresh media")
    _ratio_ticks(axes, np.exp(left))


def _dots(axes: Axes, across: Any, ratios: Any) -> None:
    """Readings as dots; those beyond a factor of three stand as arrows at the edge, so that the rest shows."""
    near = (ratios < _FAR) & (ratios > 1 / _FAR)
    axes.plot(across[near], ratios[near], "o", color=_DOT, markersize=3.0, alpha=0.7)
    for edge, marker in ((_FAR, "^"), (1 / _FAR, "v")):
        beyond = ratios >= edge if edge > 1 else ratios <= edge
        axes.plot(across[beyond], np.full(int(beyond.sum()), edge), marker, color=_DOUBT, markersize=6.0)


def _ratio_ticks(axes: Axes, ratios: Any) -> None:
    from matplotlib.ticker import FixedLocator, FuncFormatter, NullLocator

    reach = min(_FAR, max(1.3, float(np.max(ratios)), 1.0 / float(np.min(ratios)))) * 1.08
    ticks = [0.33, 0.5, 0.67, 0.8, 1.0, 1.25, 1.5, 2.0, 3.0]
    axes.set_ylim(1 / reach, reach)
    axes.yaxis.set_major_locator(FixedLocator([tick for tick in ticks if 1 / reach <= tick <= reach]))
    axes.yaxis.set_minor_locator(NullLocator())
    axes.yaxis.set_major_formatter(FuncFormatter(lambda value, _: f"{value:g}"))


def _before_after(found: Fit) -> Figure:
    from matplotlib.ticker import FixedLocator, FuncFormatter, NullLocator

    figure = _figure(7.0, 3.4)
    panels = figure.subplots(2, 1, sharex=True, sharey=True)
    reach = float(
        np.clip(np.percentile(np.abs(np.concatenate([found.ratios, found.surprise.off])), 98), 0.4, 3.0)
    )
    edges = np.linspace(-reach, reach, 33)
    pairs = (("published coefficients", found.ratios), ("calibrated on all other trials", found.surprise.off))
    for axes, (name, logs) in zip(panels, pairs, strict=True):
        axes.hist(
            np.clip(logs, -reach, reach), bins=edges.tolist(), color=_BAND, edgecolor=_DOT, linewidth=0.6
        )
        axes.axvline(0.0, color=_SOFT, linewidth=1.0, linestyle=(0, (4, 3)))
        axes.set_title(f"{name}: the typical prediction misses by a factor of {miss(logs):.2f}")
        axes.set_ylabel("trials")
    marks = (0.1, 0.2, 0.33, 0.5, 0.67, 1.0, 1.5, 2.0, 3.0, 5.0, 10.0)
    ticks = [value for value in marks if abs(math.log(value)) <= reach]
    panels[-1].xaxis.set_major_locator(FixedLocator([math.log(value) for value in ticks]))
    panels[-1].xaxis.set_minor_locator(NullLocator())
    panels[-1].xaxis.set_major_formatter(FuncFormatter(lambda value, _: f"{math.exp(value):.2g}"))
    panels[-1].set_xlabel("measured / predicted")
    return figure
