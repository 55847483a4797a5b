"""Which assumption moves the total most: a bar each, from its low to its high end, the widest on top."""

from __future__ import annotations

from collections.abc import Callable
from textwrap import shorten

from advisor.render import sums, words
from advisor.render.figures.canvas import BAND, INK, LINE, SOFT, WIDTH, Paper, Picture, to_svg
from advisor.render.speech import Speech
from advisor.sheet.model import Driver

_MOST = 10  # bars; the table has them all
_LEFT, _RIGHT, _HEAD, _ROW, _BAR, _FOOT = 8.0, 12.0, 26.0, 34.0, 11.0, 6.0
_LETTERS = 54
_ROOM = 62.0  # points on either side of the bars for the amounts


def tornado(speech: Speech, key: str) -> Picture | None:
    """The drivers of the total as bars about its likely figure, None where the sheet names none."""
    totals = speech.sheet.totals
    if not totals.drivers or totals.driven_total is None:
        return None
    drivers = totals.drivers[:_MOST]
    ends = [totals.driven_total, *(each for driver in drivers for each in (driver.low, driver.high))]
    low, high = min(ends), max(ends)
    span = high - low or 1.0
    left, wide = _LEFT + _ROOM, WIDTH - _LEFT - _RIGHT - 2 * _ROOM

    def across(value: float) -> float:
        return left + (value - low) / span * wide

    paper = Paper(_HEAD + _ROW * len(drivers) + _FOOT)
    middle = across(totals.driven_total)
    likely = f"all as expected: {sums.driven_amount(totals.driven_total, speech)}"
    paper.text(min(max(middle, 90.0), WIDTH - 90.0), 12, likely, INK, 11, bold=True, align="center")
    for place, driver in enumerate(drivers):
        top = _HEAD + place * _ROW
        paper.text(_LEFT, top + 10, shorten(words.upper(driver.assumption), _LETTERS, placeholder=" ..."), INK, 10.5)
        _bar(paper, top + 15, driver, across, middle, speech)
    caption = f"What moves the {sums.driven(speech)} of a good part most"
    told = " ".join(_said(driver, speech) for driver in totals.drivers)
    return Picture(to_svg(paper.figure, key, caption, told), caption, told)


def _bar(
    paper: Paper, top: float, driver: Driver, across: Callable[[float], float], middle: float, speech: Speech
) -> None:
    """The two halves of a bar: light where the assumption is at its low end, full where it is high."""
    for value, colour in ((driver.low, BAND), (driver.high, LINE)):
        start, end = sorted((across(value), middle))
        paper.box(start, top, end - start, _BAR, fill=colour)
    paper.line(middle, top - 2, middle, top + _BAR + 2, INK, 1.2)
    left, right = sorted((driver.low, driver.high))
    paper.text(across(left) - 4, top + 9, sums.driven_amount(left, speech), SOFT, 10, align="right")
    paper.text(across(right) + 4, top + 9, sums.driven_amount(right, speech), SOFT, 10)


def _said(driver: Driver, speech: Speech) -> str:
    low, high = (sums.driven_amount(value, speech) for value in (driver.low, driver.high))
    return f"{words.upper(driver.assumption)}: {low} at its low end, {high} at its high end."
