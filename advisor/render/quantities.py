"""Quantities as both kinds of reader want them: the reader's own system first, the other in brackets."""

from __future__ import annotations

import re
from decimal import ROUND_FLOOR, Decimal

from advisor.reasons import Fact, in_words
from advisor.sheet.model import Band, Window
from advisor.units import US_UNIT, System, convert, figure, show, show_both, show_window

# The end of an attribute's name says its unit; longer endings come first.
_SUFFIXES = {
    "_mm_s": "mm/s", "_n_mm": "N/mm", "_m_s": "m/s", "_cm2": "cm2", "_kpa": "kPa", "_mm": "mm", "_um": "um",
    "_kg": "kg", "_kw": "kW", "_hv": "HV", "_rpm": "rpm", "_n": "N", "_s": "s", "_w": "W", "_c": "C",
}  # fmt: skip
_NUMBERS = re.compile(r"(?<![\w.])-?\d+(?:\.\d+)?(?= |$)")
# A decision has no unit in its name; the vocabulary gives it, and a test holds the two against each other.
DECISION_UNITS = {
    "wheel_hardness": "Shore A", "wheel_width": "mm", "wheel_edge": "mm", "surface_speed": "m/s",
    "force": "N/mm", "feed": "mm/s", "overlap": "%",
}  # fmt: skip
_ROUGHNESS = re.compile(r"\bR[azt]\b|rough", re.IGNORECASE)
_NUMBER = r"\d+(?:\.\d+)?"
_WRITTEN = re.compile(
    rf"(?<![\w.\-])(?:(?P<low>{_NUMBER}) (?P<word>to|and) )?(?P<value>{_NUMBER}) "
    r"(?P<unit>N/mm|mm/s|m/s|cm2|mm|um|kg|kW|W|N)(?![\w/(]| \()"
)


def both_units(unit: str, system: System) -> str:
    """The two units of a column for its head.

    >>> both_units("m/s", "si"), both_units("m/s", "us"), both_units("s", "us")
    ('m/s (ft/min)', 'ft/min (m/s)', 's')
    """
    other = US_UNIT.get(unit)
    if other is None:
        return unit
    return f"{other} ({unit})" if system == "us" else f"{unit} ({other})"


def both_figures(window: Window, unit: str, system: System) -> str:
    """A stretch (or one value, low equal to high) in both units without naming them: a cell of a column.

    >>> both_figures((22, 22), "m/s", "si"), both_figures((30, 60), "N", "us")
    ('22 (4300)', '6.74 to 13.5 (30 to 60)')
    >>> both_figures((9, 12), "s", "us")
    '9 to 12'
    """
    own, other = _figures(window, unit, system)
    return f"{own} ({other})" if other else own


def both(value: float, unit: str, system: System) -> str:
    """A value with its unit in both systems."""
    return show_both(value, unit, system)


def both_length(value: float, unit: str, system: System) -> str:
    """The same for what is no roughness: a length in micrometres is read in thousandths of an inch.

    >>> both_length(201, "um", "si"), both_length(201, "um", "us"), both_length(18, "mm", "si")
    ('201 um (7.91 thou)', '7.91 thou (201 um)', '18 mm (0.71 in)')
    """
    if unit != "um":
        return both(value, unit, system)
    metric, inch = show(value, "um"), f"{figure(convert(value, 'um', 'thou'))} thou"
    return f"{inch} ({metric})" if system == "us" else f"{metric} ({inch})"


def both_window(window: Window, unit: str, system: System) -> str:
    """A stretch with its unit in both systems.

    >>> both_window((0.3, 0.5), "um", "si"), both_window((9, 12), "s", "us")
    ('0.3 to 0.5 um (12 to 20 uin)', '9 to 12 s')
    """
    own, other = _figures(window, unit, system)
    if not other:
        return f"{own} {unit}"
    first, second = (US_UNIT[unit], unit) if system == "us" else (unit, US_UNIT[unit])
    return f"{own} {first} ({other} {second})"


def at_most(value: float, unit: str, system: System) -> str:
    """A limit in both systems, rounded down in both, so that reading it never leads past it.

    >>> at_most(40, "m/s", "si"), at_most(40, "m/s", "us")
    ('40 m/s (7870 ft/min)', '7870 ft/min (40 m/s)')
    """
    other = US_UNIT.get(unit)
    metric = f"{_down(value)} {unit}"
    if other is None:
        return metric
    inch = f"{_down(convert(value, unit, other))} {other}"
    return f"{inch} ({metric})" if system == "us" else f"{metric} ({inch})"


def _down(value: float, digits: int = 3) -> str:
    number = Decimal(repr(value))
    return figure(float(number.quantize(Decimal(1).scaleb(number.adjusted() - digits + 1), ROUND_FLOOR)))


def _figures(window: Window, unit: str, system: System) -> tuple[str, str]:
    """The numbers of a stretch in the reader's system and in the other (empty where it is the same)."""
    low, high = (_NUMBERS.findall(show_both(each, unit, system)) for each in window)
    told = [first if first == last else f"{first} to {last}" for first, last in zip(low, high, strict=True)]
    return told[0], told[1] if len(told) > 1 else ""


def thou(window_um: Window, system: System) -> str:
    """A depth given in micrometres, in micrometres and thousandths of an inch, as a cell of a column.

    >>> thou((180, 340), "si"), thou((250, 250), "us"), thou((0, 20), "si")
    ('180 to 340 (7.1 to 13)', '9.84 (250)', '0 to 20 (0 to 0.79)')
    """
    digits = 3 if system == "us" else 2
    inch = [figure(convert(each, "um", "thou"), digits) for each in window_um]
    metric = [figure(each) for each in window_um]
    told = [low if low == high else f"{low} to {high}" for low, high in (metric, inch)]
    return f"{told[1]} ({told[0]})" if system == "us" else f"{told[0]} ({told[1]})"


def band_text(band: Band, unit: str) -> str:
    """A band for running text, where its unit is the same in both systems.

    >>> band_text(Band(low=9, expected=12, high=18), "s")
    'about 12 s (9 to 18 s)'
    """
    if band.low == band.high:
        return show(band.expected, unit)
    return f"about {show(band.expected, unit)} ({show_window(band.low, band.high, unit)})"


def degrees(rise_k: float, system: System) -> str:
    """A difference of temperature, in degrees of both scales.

    >>> degrees(50, "si"), degrees(50, "us")
    ('50 C (90 F)', '90 F (50 C)')
    """
    celsius, fahrenheit = f"{figure(rise_k)} C", f"{figure(rise_k * 1.8, 3 if system == 'us' else 2)} F"
    return f"{fahrenheit} ({celsius})" if system == "us" else f"{celsius} ({fahrenheit})"


def in_both_units(text: str, system: System) -> str:
    """Running text in which every SI quantity stands in both systems; temperatures are left alone.

    A temperature in a sentence may be a level or a difference, and these convert differently. One
    micrometre value in a text that says nothing of Ra or roughness is a length.

    >>> in_both_units("A stiff cloth bridges an 18 mm curve.", "si")
    'A stiff cloth bridges an 18 mm (0.71 in) curve.'
    >>> in_both_units("Ra 0.3 to 0.5 um", "us")
    'Ra 11.8 to 19.7 uin (0.3 to 0.5 um)'
    >>> in_both_units("P80 has a mean grain of 201 um.", "si")
    'P80 has a mean grain of 201 um (7.91 thou).'
    """
    rough = _ROUGHNESS.search(text) is not None

    def told(found: re.Match[str]) -> str:
        value, unit = float(found["value"]), found["unit"]
        if found["low"] is None:
            return (both if rough else both_length)(value, unit, system)
        if found["word"] == "to":
            return both_window((float(found["low"]), value), unit, system)
        return f"{both(float(found['low']), unit, system)} and {both(value, unit, system)}"

    return _WRITTEN.sub(told, text)


def attribute_words(attribute: str, title: str | None) -> tuple[str, str | None]:
    """An attribute in plain words and the unit of its value, both from its name.

    >>> attribute_words("feature.radius_mm", None), attribute_words("depth_mm", "depth of the defect")
    (('feature radius', 'mm'), ('depth of the defect', 'mm'))
    """
    if attribute in DECISION_UNITS:
        return title or _plain(attribute), DECISION_UNITS[attribute]
    for suffix, unit in _SUFFIXES.items():
        if attribute.endswith(suffix):
            return title or _plain(attribute.removesuffix(suffix)), unit
    return title or _plain(attribute), None


def _plain(attribute: str) -> str:
    return attribute.replace(".", " ").replace("_", " ").replace("-", " ")


def fact_text(value: Fact, unit: str | None, system: System) -> str:
    """A fact in words, with its unit in both systems where it is a quantity.

    >>> fact_text(18.0, "mm", "si"), fact_text(None, "mm", "si"), fact_text(False, None, "us")
    ('18 mm (0.71 in)', 'not known', 'no')
    """
    if unit and isinstance(value, (int, float)) and not isinstance(value, bool):
        return both(float(value), unit, system)
    return in_words(value)
