"""Quantities as people write them, SI or US, become exact numbers in one base unit, and back again."""

from __future__ import annotations

import math
import re
from decimal import ROUND_HALF_EVEN, Decimal
from fractions import Fraction
from typing import Literal

from advisor.errors import InputError, Problem, nearest, shorten
from advisor.unit_table import DIMENSIONS as DIMENSIONS
from advisor.unit_table import FOLDED, KIND_ARTICLE, Dimension, Unit
from advisor.unit_table import UNITS as UNITS

System = Literal["si", "us"]

_SHAPE = re.compile(
    r"(?P<sign>[-+]?)(?:(?:(?P<whole>\d{1,9})[ -])?(?P<top>\d{1,9})/(?P<bottom>\d{1,9})(?!\d)"
    r"|(?P<number>(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d{1,3})?))\s*(?P<unit>.*)",
    re.ASCII | re.DOTALL,
)
_SPELLINGS = str.maketrans({"µ": "u", "μ": "u", "²": "2", "°": None, "º": None, "″": '"', "\u2212": "-"})
_LONGEST = 60
_LARGEST = 10**30
_COMMA = re.compile(r"^[-+]?\d[\d.]*,\d")
_NOT_FINITE = re.compile(r"^[-+]?\.?(inf|infinity|nan)\b", re.IGNORECASE)


def parse_quantity(text: str, dimension: str, place: str = "") -> float:
    """The value of a written quantity in the base unit of its dimension.

    `dimension` is a key of `DIMENSIONS`; its `base` is the unit of the result (length mm, roughness um,
    area cm2, mass kg, force N, power kW, speed m/s, feed mm/s, rotation rpm, time s, temperature C).
    The conversion is exact and rounded once, to the nearest float. Raises InputError (one problem, at
    `place`) for a bare number, a unit of another kind, an unknown unit, a decimal comma, and anything
    that is not a finite quantity.

    >>> [parse_quantity(text, "length") for text in ("18 mm", "0.010 in", "1/8 in")]
    [18.0, 0.254, 3.175]
    >>> parse_quantity("16 uin", "roughness")
    0.4064
    >>> parse_quantity("3 kg", "length")
    Traceback (most recent call last):
    ...
    advisor.errors.InputError: 3 kg is a mass; a length is needed: mm, um, cm, m, in, thou, uin, ft
    """
    return float(parse_exact(text, dimension, place))


def parse_exact(text: str, dimension: str, place: str = "") -> Fraction:
    """The same as `parse_quantity`, before the rounding to a float."""
    row = DIMENSIONS[dimension]
    match = _shaped(text, row, place)
    unit = _unit(match["unit"].strip(), text, row, place)
    if match["bottom"] is not None and int(match["bottom"]) == 0:
        raise InputError(Problem(place, "a fraction cannot have 0 below the line", text))
    value = _number(match)
    if abs(value) > _LARGEST:
        raise InputError(Problem(place, f"far too large for {row.article}", text))
    return _rebase(value, unit, UNITS[row.base])


def _shaped(text: str, row: Dimension, place: str) -> re.Match[str]:
    """The number and the unit of a quantity as they stand in the text."""
    units = ", ".join(row.offered)

    def fault(what: str, given: str | None = text) -> InputError:
        return InputError(Problem(place, what, given))

    if len(text) > _LONGEST:
        raise fault(f"too long for {row.article} (at most {_LONGEST} characters)")
    clean = text.strip().translate(_SPELLINGS)
    if not clean:
        raise fault(f"empty; {row.article} is needed, with its unit: {units}", None)
    if _NOT_FINITE.match(clean):
        raise fault(f"{row.article} must be finite")
    if _COMMA.match(clean):
        raise fault("a comma in a number; write a point, and no thousands mark (1.5, 6000)")
    match = _SHAPE.fullmatch(clean)
    if match is None:
        example = f"18 {row.base}" if row.base != "um" else "0.4 um"
        raise fault(f"not {row.article}; write a number and its unit, as in {example}: {units}")
    return match


def _unit(written: str, text: str, row: Dimension, place: str) -> Unit:
    """The unit that is written, if it measures what is asked for."""
    units = ", ".join(row.offered)
    if not written:
        raise InputError(Problem(place, f"{row.article} needs a unit: {units}", text))
    name = find_unit(written)
    if name is None:
        what = f"unknown unit {shorten(written, 20)!r}; {row.article} is given in: {units}"
        raise InputError(Problem(place, what, text, nearest=_nearest_unit(written, row.offered)))
    unit = UNITS[name]
    if unit.kind != row.kind:
        clean = text.strip().translate(_SPELLINGS)
        what = f"{shorten(clean, 20)} is {KIND_ARTICLE[unit.kind]}; {row.article} is needed: {units}"
        raise InputError(Problem(place, what))
    return unit


def _nearest_unit(written: str, offered: tuple[str, ...]) -> str | None:
    for name in offered:
        if len(name) > 1 and _one_slip(written.casefold(), name.casefold()):
            return name
    return nearest(written, offered) or nearest(written, UNITS)


def _one_slip(first: str, second: str) -> bool:
    """Whether one letter changed, added or left out makes one word of the other."""
    short, long = sorted((first, second), key=len)
    if len(short) == len(long):
        return sum(a != b for a, b in zip(short, long, strict=True)) == 1
    return len(long) == len(short) + 1 and any(long[:i] + long[i + 1 :] == short for i in range(len(long)))


def _number(match: re.Match[str]) -> Fraction:
    if match["top"] is not None:
        value = int(match["whole"] or 0) + Fraction(int(match["top"]), int(match["bottom"]))
    else:
        value = Fraction(match["number"])
    return -value if match["sign"] == "-" else value


def _rebase(value: Fraction, unit: Unit, base: Unit) -> Fraction:
    return (value * unit.factor + unit.offset - base.offset) / base.factor


def find_unit(text: str) -> str | None:
    """The unit meant by a spelling, or None: exact first, then whatever the case of its letters.

    >>> find_unit("µm"), find_unit("RPM"), find_unit("in^2"), find_unit("furlong")
    ('um', 'rpm', 'in2', None)
    """
    name = text.strip().translate(_SPELLINGS).replace("^", "").replace(" ", "").removesuffix(".")
    return name if name in UNITS else FOLDED.get(name.casefold())


def convert(value: float, unit: str, to: str) -> float:
    """A finite value in another unit of the same kind. Raises ValueError where the kinds differ.

    >>> convert(1, "in", "mm"), convert(100, "C", "F")
    (25.4, 212.0)
    """
    source, target = UNITS[unit], UNITS[to]
    if source.kind != target.kind:
        raise ValueError(f"{unit} and {to} measure different things")
    return float(_rebase(Fraction(value), source, target))


def quantity_text(value: float, unit: str) -> str:
    """A value and its unit without any rounding: reading the text gives the same float back.

    >>> quantity_text(18.0, "mm"), quantity_text(0.00001, "mm")
    ('18 mm', '0.00001 mm')
    """
    text = plain_number(value)
    return f"{text if len(text) <= 40 else repr(float(value))} {unit}"


def plain_number(value: float) -> str:
    """The shortest text of a finite number, without an exponent and without a trailing `.0`.

    >>> plain_number(18.0), plain_number(1e-7), plain_number(-0.0)
    ('18', '0.0000001', '0')
    """
    return _tidy(Decimal(repr(float(value))))


def _tidy(number: Decimal) -> str:
    text = format(number, "f")
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return "0" if text in ("-0", "") else text


def round_sig(value: float, digits: int = 6) -> float:
    """A number rounded half to even to significant digits; minus zero becomes zero.

    Raises ValueError where the number is not finite.

    >>> round_sig(1.0000005), round_sig(2101.3456789), round_sig(-0.0)
    (1.0, 2101.35, 0.0)
    """
    if not math.isfinite(value):
        raise ValueError("only a finite number can be rounded")
    return float(_rounded(value, digits)) + 0.0


def _rounded(value: float, digits: int) -> Decimal:
    number = Decimal(repr(float(value)))
    if not number:
        return Decimal(0)
    step = Decimal(1).scaleb(number.adjusted() - digits + 1)
    return number.quantize(step, rounding=ROUND_HALF_EVEN)


# What a reader of the other system expects beside it; a unit without a row is the same in both.
US_UNIT: dict[str, str] = {
    "mm": "in", "um": "uin", "cm2": "in2", "kg": "lb", "N": "lbf", "kW": "hp", "W": "hp", "m/s": "ft/min",
    "mm/s": "in/min", "C": "F", "kPa": "psi", "N/mm": "lbf/in",
}  # fmt: skip
_BARE = ("", "1")


def figure(value: float, digits: int = 3) -> str:
    """A number for reading: three significant digits, four from a thousand on, no trailing zeros.

    >>> figure(0.70866), figure(1725.0), figure(22.0), figure(0.000123456)
    ('0.709', '1725', '22', '0.000123')
    """
    if not math.isfinite(value):
        return "not finite"
    return _tidy(_rounded(value, digits + 1 if abs(value) >= 1000 and digits == 3 else digits))


def show(value: float, unit: str, system: System = "si") -> str:
    """A value for reading in one system; `unit` is the SI unit the value is in.

    A unit that has no US counterpart (rpm, s, HV) is the same in both.

    >>> show(18, "mm"), show(18, "mm", "us"), show(22, "m/s", "us"), show(3, "1")
    ('18 mm', '0.709 in', '4331 ft/min', '3')
    """
    if unit in _BARE:
        return figure(value)
    other = US_UNIT.get(unit) if system == "us" else None
    return f"{figure(convert(value, unit, other))} {other}" if other else f"{figure(value)} {unit}"


def show_both(value: float, unit: str, system: System = "si") -> str:
    """A value in both systems, the reader's own first; the second is given no finer than the first.

    >>> show_both(18, "mm"), show_both(18, "mm", "us"), show_both(2101, "rpm")
    ('18 mm (0.71 in)', '0.709 in (18 mm)', '2101 rpm')
    """
    other = US_UNIT.get(unit)
    if other is None:
        return show(value, unit)
    if system == "us":
        return f"{show(value, unit, 'us')} ({show(value, unit)})"
    digits = min(3, max(2, len(figure(value).lstrip("-0.").replace(".", ""))))
    return f"{show(value, unit)} ({figure(convert(value, unit, other), digits)} {other})"


def show_window(low: float, high: float, unit: str, system: System = "si") -> str:
    """A stretch from low to high for reading, with the unit once.

    >>> show_window(20, 25, "m/s"), show_window(0.3, 0.5, "um", "us"), show_window(5, 5, "mm")
    ('20 to 25 m/s', '11.8 to 19.7 uin', '5 mm')
    """
    first, last = show(low, unit, system), show(high, unit, system)
    return last if first == last else f"{first.split(' ')[0]} to {last}"
