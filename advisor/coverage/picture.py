"""Draws the sweep as heat maps: one self-contained SVG, every square with its words for a reader or a screen."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from xml.sax.saxutils import escape

from advisor.coverage.answers import Coverage, Tally, across, along
from advisor.coverage.report import percent, summary

_TILE = (34, 20)
_LEFT, _TOP, _GAP = 190, 130, 46
_NOBODY = (228, 228, 228)
_STYLE = (
    "text{font:11px sans-serif;fill:#222}.n{text-anchor:middle}.w{fill:#fff}"
    ".e{text-anchor:end}.b{font-weight:bold}"
)
Scale = Sequence[tuple[float, tuple[int, int, int]]]
#: What a value looks like: red and blue stay apart for every eye, and the violet grows darker with the value.
_SHARE: Scale = ((0.0, (178, 58, 46)), (0.5, (243, 226, 199)), (1.0, (43, 108, 138)))
_MEMORY: Scale = ((0.0, (238, 244, 247)), (0.2, (126, 111, 160)), (1.0, (72, 40, 100)))
_RULES: Scale = ((0.0, (247, 244, 236)), (120.0, (52, 118, 92)))


@dataclass(frozen=True, slots=True)
class Map:
    """One heat map: its title, its axes, the value of a square, its colours and how it is written."""

    title: str
    rows: str
    columns: str
    value: Callable[[Tally], float | None]
    scale: Scale
    number: Callable[[float], str]  # inside the square
    words: Callable[[Tally], str]  # for a reader who does not see it


def _share_number(share: float) -> str:
    return "" if share == 1.0 else percent(share).removesuffix(" %")


def _share_words(sums: Tally) -> str:
    return f"{percent(sums.share)} ({sums.planned} of {sums.sensible} planned)"


MAPS = (
    Map(
        "Share of the sensible combinations that have a plan, by family and defect (per cent)",
        "family", "defect", lambda sums: sums.share, _SHARE, _share_number, _share_words,
    ),
    Map(
        "Share of the sensible combinations that have a plan, by family and finish (per cent)",
        "family", "finish", lambda sums: sums.share, _SHARE, _share_number, _share_words,
    ),
    Map(
        "Rules that spoke for a plan (median), by family and defect",
        "family", "defect", lambda sums: sums.rules, _RULES, lambda value: f"{value:.0f}",
        lambda sums: "no plan" if sums.rules is None else f"{sums.rules:g} rules",
    ),
    Map(
        "Share of these rules that rests on memory or own judgement only, by family and defect (per cent)",
        "family", "defect", lambda sums: sums.memory, _MEMORY, lambda value: f"{value * 100:.0f}",
        lambda sums: f"{percent(sums.memory)} on memory",
    ),
)  # fmt: skip


def to_svg(coverage: Coverage) -> str:
    """The picture of a sweep as SVG text, readable without any other file."""
    drawn: list[str] = []
    down, widest = 40, 0
    for each in MAPS:
        rows, columns = list(along(coverage.answers, each.rows)), list(along(coverage.answers, each.columns))
        squares = across(coverage.answers, each.rows, each.columns)
        drawn += _map(each, rows, columns, squares, down)
        down += _TOP + len(rows) * _TILE[1] + _GAP
        widest = max(widest, _LEFT + len(columns) * _TILE[0] + 60)
    head = (
        f"<svg xmlns='http://www.w3.org/2000/svg' width='{widest}' height='{down}' "
        f"viewBox='0 0 {widest} {down}' role='img' aria-labelledby='title summary'>"
    )
    words = (
        f"<style>{_STYLE}</style>"
        "<title id='title'>Where the knowledge has a plan, and how much of it rests on memory</title>"
        f"<desc id='summary'>{escape(summary(coverage))}</desc>"
        f"<metadata>knowledge {escape(coverage.fingerprint)}</metadata>"
    )
    legend = (
        "<text x='12' y='24'>Blank blue: every sensible combination has a plan. "
        "A number: the share in per cent. Grey with a dash: nobody asks for it.</text>"
    )
    ground = f"<rect width='{widest}' height='{down}' fill='#fff'/>"
    return "\n".join([head, words, ground, legend, *drawn, "</svg>"]) + "\n"


def _map(
    each: Map,
    rows: Sequence[str],
    columns: Sequence[str],
    squares: Mapping[tuple[str, str], Tally],
    down: int,
) -> Iterator[str]:
    wide, high = _TILE
    yield f"<g transform='translate(0 {down})'>"
    yield f"<text class='b' x='12' y='16'>{escape(each.title)}</text>"
    for number, column in enumerate(columns):
        x, y = _LEFT + number * wide + wide / 2, _TOP - 6
        yield (f"<text transform='translate({x:g} {y}) rotate(-50)'>{escape(column)}</text>")
    for line, row in enumerate(rows):
        y = _TOP + line * high
        yield f"<text class='e' x='{_LEFT - 6}' y='{y + 14}'>{escape(row)}</text>"
        for number, column in enumerate(columns):
            sums = squares.get((row, column))
            if sums is not None:
                yield _square(each, row, column, sums, _LEFT + number * wide, y)
    yield "</g>"


def _square(each: Map, row: str, column: str, sums: Tally, x: int, y: int) -> str:
    wide, high = _TILE
    value = each.value(sums)
    told = "nobody asks for it" if sums.sensible == 0 else each.words(sums)
    colour = _NOBODY if value is None else _colour(each.scale, value)
    text = "-" if value is None else each.number(value)
    tile = f"<rect x='{x}' y='{y}' width='{wide - 1}' height='{high - 1}' fill='{_hex(colour)}'/>"
    if text:
        ink = "n w" if _dark(colour) else "n"
        middle = x + (wide - 1) / 2
        tile += f"<text class='{ink}' x='{middle:g}' y='{y + 14}'>{text}</text>"
    return f"<g><title>{escape(f'{row}, {column}: {told}')}</title>{tile}</g>"


def _hex(colour: tuple[int, int, int]) -> str:
    red, green, blue = colour
    return f"#{red:02x}{green:02x}{blue:02x}"


def _colour(scale: Scale, value: float) -> tuple[int, int, int]:
    """The colour of a value, straight between the points of its scale.

    >>> _colour(((0.0, (0, 0, 0)), (1.0, (200, 100, 50))), 0.5)
    (100, 50, 25)
    """
    for (low, cold), (high, warm) in pairwise(scale):
        if value <= high:
            part = (value - low) / (high - low)
            red, green, blue = (round(one + (two - one) * part) for one, two in zip(cold, warm, strict=True))
            return red, green, blue
    return scale[-1][1]


def _dark(colour: tuple[int, int, int]) -> bool:
    """Whether white ink is read better than dark ink on a colour (relative luminance of sRGB, WCAG 2).

    >>> _dark((0, 0, 0)), _dark((255, 255, 255))
    (True, False)
    """
    parts = (
        part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4
        for part in (value / 255 for value in colour)
    )
    luminance = sum(weight * part for weight, part in zip((0.2126, 0.7152, 0.0722), parts, strict=True))
    return luminance < 0.18
