"""Time and money in words: ranges as people plan in, where they go, and what moves them most."""

from __future__ import annotations

from advisor.render import words
from advisor.render.speech import Speech
from advisor.sheet.model import Band, Driver
from advisor.units import figure

_LINES = {
    "working": "working the steps",
    "dulling": "slower cut as the media dulls",
    "handling": "handling",
    "inspection": "inspection",
    "set-up": "its share of the set-up",
    "dressing": "its share of dressing",
    "changing": "its share of changing media",
    "rework": "allowance for rework",
    "media": "media used up",
}


def time_range(band: Band | None) -> str:
    """A time with its band, in the unit that people plan in.

    >>> time_range(Band(low=126, expected=184, high=287)), time_range(Band(low=9, expected=12, high=18))
    ('about 3.1 min (2.1 to 4.8 min)', 'about 12 s (9 to 18 s)')
    >>> time_range(Band(low=50000, expected=90000, high=120000)), time_range(None)
    ('about 25 h (14 to 33 h)', '-')
    >>> time_range(Band(low=0.01, expected=0.05, high=0.2))
    'under 1 s'
    """
    if band is None:
        return "-"
    if band.high < 1.0:
        return "under 1 s"
    sizes = (("h", 3600.0), ("min", 60.0))
    unit, size = next(((unit, size) for unit, size in sizes if band.expected >= 2 * size), ("s", 1.0))
    likely, low, high = (figure(each / size, 2) for each in (band.expected, band.low, band.high))
    return f"{likely} {unit}" if low == high else f"about {likely} {unit} ({low} to {high} {unit})"


def money_range(band: Band | None, currency: str | None) -> str:
    """An amount with its band, to two digits: more would be a promise; `-` where it is not known.

    >>> money_range(Band(low=2.04, expected=2.81, high=4.4), "EUR")
    'about 2.8 EUR (2 to 4.4 EUR)'
    >>> money_range(Band(low=0.0002, expected=0.0007, high=0.003), "EUR")
    'under 0.01 EUR'
    """
    if band is None:
        return "-"
    unit = f" {currency}" if currency else ""
    if band.high < 0.01:
        return f"under 0.01{unit}"
    likely, low, high = (figure(each, 2) for each in (band.expected, band.low, band.high))
    return f"{likely}{unit}" if low == high else f"about {likely}{unit} ({low} to {high}{unit})"


def share_words(share: float) -> str:
    """A probability as a person bets on it.

    >>> share_words(0.714), share_words(0.998), share_words(0.01)
    ('about 71 %', 'over 95 %', 'under 5 %')
    """
    if share > 0.95:
        return "over 95 %"
    return "under 5 %" if share < 0.05 else f"about {share * 100:.0f} %"


def parts(speech: Speech) -> words.Table | None:
    """Where the time and the cost of a good part go, None where the sheet does not say."""
    totals = speech.sheet.totals
    rows = [
        [
            _LINES[line.what],
            time_range(line.time_s) if line.time_s.high else "-",
            money_range(line.cost, totals.currency),
        ]
        for line in totals.lines
    ]
    if not rows:
        return None
    rows.append(["together", time_range(totals.part_time_s), money_range(totals.part_cost, totals.currency)])
    return words.speaking(["One good part", "Time", "Cost"], rows)


def media(speech: Speech) -> words.Table | None:
    """What a thousand parts use up, None where the sheet does not say."""
    rows = [
        [
            f"{speech.grade(use.grade)} {speech.name(use.media)}" if use.grade else speech.name(use.media),
            ", ".join(use.serves) or "-",
            _pieces(use.per_1000_parts),
            money_range(use.cost_per_1000, speech.sheet.totals.currency),
        ]
        for use in speech.sheet.totals.media
    ]
    if not rows:
        return None
    return words.speaking(["Media", "For", "Pieces per 1000 parts", "Cost per 1000 parts"], rows)


def _pieces(band: Band) -> str:
    likely, low, high = (figure(each, 2) for each in (band.expected, band.low, band.high))
    return likely if low == high else f"about {likely} ({low} to {high})"


def excluded(speech: Speech) -> list[str]:
    """What no figure holds, each as a sentence."""
    return [words.upper(words.sentence(speech.prose(text))) for text in speech.sheet.totals.excluded]


def driven(speech: Speech) -> str:
    """What the drivers move, in words."""
    return "time" if speech.sheet.totals.driven == "part_time_s" else "cost"


def driven_amount(value: float, speech: Speech) -> str:
    """An amount of what the drivers move, with its unit."""
    totals = speech.sheet.totals
    unit = "s" if totals.driven == "part_time_s" else totals.currency
    return f"{figure(value)} {unit}" if unit else figure(value)


def drivers(speech: Speech) -> words.Table | None:
    """Which assumptions move the total, widest first: each at its two ends, all others as expected."""
    totals = speech.sheet.totals
    if not totals.drivers:
        return None
    rows = [
        [
            words.upper(driver.assumption),
            _ends(driver),
            driven_amount(driver.low, speech),
            driven_amount(driver.high, speech),
        ]
        for driver in totals.drivers
    ]
    return words.Table(["Assumption", "From low to high", "Total at low", "Total at high"], rows)


def _ends(driver: Driver) -> str:
    unit = "" if driver.unit == "1" else f" {driver.unit}"
    return f"{figure(driver.at_low)} to {figure(driver.at_high)}{unit}"
