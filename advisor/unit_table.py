"""The units a shop writes, SI and US, each by its exact definition."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

_INCH = Fraction("25.4")  # mm, exact by definition since 1959
_FOOT = 12 * _INCH
_POUND = Fraction("0.45359237")  # kg, exact
_GRAVITY = Fraction("9.80665")  # m/s2, standard
_POUND_FORCE = _POUND * _GRAVITY  # N
_HORSEPOWER = 550 * _POUND_FORCE * _FOOT / 1_000_000  # kW: 550 foot pounds-force a second


@dataclass(frozen=True, slots=True)
class Unit:
    """A unit: `value * factor + offset` is in the first unit of its kind."""

    kind: str
    factor: Fraction
    offset: Fraction = Fraction(0)


def _table() -> dict[str, Unit]:
    rows: dict[str, dict[str, Fraction | int | str]] = {
        "length": {
            "mm": 1, "um": "0.001", "cm": 10, "m": 1000, "nm": "0.000001",
            "in": _INCH, '"': _INCH, "inch": _INCH, "mil": _INCH / 1000, "thou": _INCH / 1000,
            "uin": _INCH / 1_000_000, "ft": _FOOT,
        },
        "area": {"cm2": 1, "mm2": "0.01", "m2": 10_000, "in2": _INCH**2 / 100, "ft2": _FOOT**2 / 100},
        "mass": {
            "kg": 1, "g": "0.001", "t": 1000, "lb": _POUND, "lbs": _POUND, "oz": _POUND / 16,
        },
        "force": {"N": 1, "kN": 1000, "lbf": _POUND_FORCE, "ozf": _POUND_FORCE / 16, "kgf": _GRAVITY},
        "line force": {"N/mm": 1, "N/cm": "0.1", "N/m": "0.001", "lbf/in": _POUND_FORCE / _INCH},
        "power": {"kW": 1, "W": "0.001", "hp": _HORSEPOWER},
        "speed": {
            "m/s": 1, "m/min": Fraction(1, 60), "mm/s": "0.001", "mm/min": Fraction(1, 60_000),
            "cm/s": "0.01", "ft/min": _FOOT / 60_000, "sfpm": _FOOT / 60_000, "sfm": _FOOT / 60_000,
            "fpm": _FOOT / 60_000, "ft/s": _FOOT / 1000, "in/s": _INCH / 1000, "in/min": _INCH / 60_000,
            "ipm": _INCH / 60_000,
        },
        "rotation": {"rpm": 1, "1/min": 1, "r/min": 1, "rev/min": 1, "1/s": 60},
        "time": {"s": 1, "sec": 1, "ms": "0.001", "min": 60, "h": 3600},
        "angle": {"deg": 1},
        "pressure": {
            "kPa": 1, "Pa": "0.001", "MPa": 1000, "bar": 100, "psi": 1000 * _POUND_FORCE / _INCH**2,
        },
    }  # fmt: skip
    table = {name: Unit(kind, Fraction(factor)) for kind, row in rows.items() for name, factor in row.items()}
    table["C"] = Unit("temperature", Fraction(1))
    table["K"] = Unit("temperature", Fraction(1), Fraction("-273.15"))
    table["F"] = Unit("temperature", Fraction(5, 9), Fraction(-160, 9))
    return table


UNITS: dict[str, Unit] = _table()
FOLDED = {name.casefold(): name for name in UNITS}


@dataclass(frozen=True, slots=True)
class Dimension:
    """What a field measures: the kind of unit, the unit it is kept in, and the units named in messages."""

    article: str
    kind: str
    base: str
    offered: tuple[str, ...]


DIMENSIONS: dict[str, Dimension] = {
    "length": Dimension("a length", "length", "mm", ("mm", "um", "cm", "m", "in", "thou", "uin", "ft")),
    "roughness": Dimension("a roughness", "length", "um", ("um", "mm", "uin")),
    "removal": Dimension("a depth removed", "length", "um", ("um", "mm", "thou", "uin")),
    "area": Dimension("an area", "area", "cm2", ("cm2", "mm2", "m2", "in2", "ft2")),
    "mass": Dimension("a mass", "mass", "kg", ("kg", "g", "lb", "oz")),
    "force": Dimension("a force", "force", "N", ("N", "kN", "lbf", "kgf")),
    "line force": Dimension("a force per width", "line force", "N/mm", ("N/mm", "N/cm", "lbf/in")),
    "power": Dimension("a power", "power", "kW", ("kW", "W", "hp")),
    "speed": Dimension("a surface speed", "speed", "m/s", ("m/s", "m/min", "ft/min", "sfpm")),
    "feed": Dimension("a feed", "speed", "mm/s", ("mm/s", "mm/min", "m/min", "in/s", "in/min")),
    "rotation": Dimension("a rotation", "rotation", "rpm", ("rpm", "1/min")),
    "time": Dimension("a time", "time", "s", ("s", "min", "h")),
    "angle": Dimension("an angle", "angle", "deg", ("deg",)),
    "temperature": Dimension("a temperature", "temperature", "C", ("C", "F", "K")),
    "pressure": Dimension("a pressure", "pressure", "kPa", ("kPa", "Pa", "MPa", "bar", "psi")),
}
KIND_ARTICLE = {row.kind: row.article for row in DIMENSIONS.values()} | {
    "length": "a length", "speed": "a speed", "line force": "a force per width",
}  # fmt: skip
