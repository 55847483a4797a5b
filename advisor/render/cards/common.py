"""What every card begins with: its revision, and the cautions that no card may leave out."""

from __future__ import annotations

from collections.abc import Sequence
from hashlib import sha256

from advisor.render import lines, words
from advisor.render.cards.card import Cell, Grid
from advisor.render.json import to_json
from advisor.render.speech import Speech
from advisor.sheet.model import Band, Sheet
from advisor.units import convert, figure, show, show_window

_REVISION = 8  # characters, enough to tell any two sheets of a shop apart


def revision(sheet: Sheet) -> str:
    """A short mark that changes whenever anything on the sheet does: its job, its knowledge, a number.

    The first eight characters of the SHA-256 of the sheet as JSON.
    """
    return sha256(to_json(sheet).encode()).hexdigest()[:_REVISION]


def head(speech: Speech, *more: tuple[str, Cell]) -> tuple[tuple[str, Cell], ...]:
    """Job and revision, and whatever else one card asks for."""
    made = f"{revision(speech.sheet)}, from knowledge {lines.fingerprint(speech)}"
    return (("Job", lines.title(speech)), ("Revision", made), *more)


def cautions(speech: Speech, face: str | None = None, short: bool = False) -> tuple[lines.Line, ...]:
    """Every caution of safety, or those that hold for one face; `short` leaves out rule and source."""
    kept = [
        (note, line)
        for note, line in zip(speech.sheet.cautions, lines.cautions(speech), strict=True)
        if face is None or not note.features or face in note.features
    ]
    return tuple(lines.Line(line.text) if short else line for _, line in kept)


def own(value: float | None, unit: str, speech: Speech, length: bool = False) -> str:
    """A value in the reader's own units alone, where a cell is narrow; nothing where it is not known.

    `length` says that micrometres are a depth, which is read in thousandths of an inch, not a roughness.
    """
    if value is None:
        return ""
    if length and unit == "um" and speech.system == "us":
        return f"{figure(convert(value, 'um', 'thou'))} thou"
    return show(value, unit, speech.system)


def own_stretch(window: tuple[float, float] | None, unit: str, speech: Speech, length: bool = False) -> str:
    """A stretch in the reader's own units alone, for beside a value: without the unit."""
    if window is None:
        return ""
    low, high = (own(each, unit, speech, length).split(" ")[0] for each in window)
    return f"{low} to {high}"


def own_window(window: tuple[float, float] | None, unit: str, speech: Speech) -> str:
    """A stretch with its unit in the reader's own system; nothing where it is not known."""
    return "" if window is None else show_window(*window, unit, speech.system)


def setting(
    value: float | None, within: tuple[float, float] | None, unit: str, speech: Speech, length: bool = False
) -> str:
    """A value and, in brackets, the stretch around it: the window of a setting or the band of a result."""
    if value is None:
        return ""
    stretch = own_stretch(within, unit, speech, length)
    return f"{own(value, unit, speech, length)}{f' ({stretch})' if stretch else ''}"


def own_band(band: Band | None, unit: str, speech: Speech, length: bool = False) -> str:
    """The likely figure with its band in brackets; nothing where there is none."""
    if band is None:
        return ""
    within = None if band.low == band.high else (band.low, band.high)
    return setting(band.expected, within, unit, speech, length)


def as_grid(name: str, table: words.Table) -> Grid:
    """A table without blanks as a grid."""
    return Grid(name, tuple(table.head), tuple(tuple(row) for row in table.rows))


def places(steps: Sequence[tuple[str, int]]) -> str:
    """Steps of faces in short, each face once.

    >>> places([("rim", 1), ("hub", 1), ("rim", 2), ("rim", 3)])
    'rim, steps 1, 2 and 3; hub, step 1'
    """
    faces: dict[str, list[str]] = {}
    for face, number in steps:
        numbers = faces.setdefault(face, [])
        numbers += [str(number)] if str(number) not in numbers else []
    return "; ".join(
        f"{face}, step{'s' if len(numbers) > 1 else ''} {words.join(sorted(numbers, key=int))}"
        for face, numbers in faces.items()
    )
