"""The advice for the next try in words, and as JSON."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence

from advisor.sheet.remarks import step_words
from advisor.trials.advice import Advice, Expected, Move, Tried
from advisor.units import System, show

_WIDTH = 96
_MOST_TRIED = 12


def advice_json(advice: Advice) -> str:
    """The advice as JSON with a final line feed."""
    return advice.model_dump_json(indent=1) + "\n"


def advice_text(advice: Advice, system: System = "si") -> str:
    """The advice as a person reads it: cautions first, then the changes in order of promise."""
    step = step_words(advice.step, advice.extra)
    lines = [f"Next try after trial {advice.trial}: {advice.job}, {advice.feature}, {step}"]
    lines += _listed("Cautions: read these first", advice.cautions)
    lines += _listed("Missed", [miss.text for miss in advice.missed])
    for remark in advice.remarks:
        lines += ["", *_wrapped(remark, "", "")]
    if advice.moves:
        lines += ["", "Change one thing, and look again. In order of promise:"]
    elif advice.missed:
        lines += ["", "No change is left that is allowed here and was not tried."]
    for number, move in enumerate(advice.moves, 1):
        lines += ["", *_move(number, move, system)]
    lines += _listed("Not offered", [f"{refused.do}: {refused.because}" for refused in advice.not_offered])
    if len(advice.tried) > 1:
        shown = [_tried(each) for each in advice.tried[-_MOST_TRIED:]]
        before = len(advice.tried) - len(shown)
        earlier = [f"and {before:,} earlier trial{'s' if before > 1 else ''}"] if before else []
        lines += _listed("Tried so far on this step", [*earlier, *shown])
    return "\n".join(lines) + "\n"


def _listed(title: str, texts: Sequence[str]) -> list[str]:
    """A heading with its points, or nothing."""
    if not texts:
        return []
    return ["", title, *(line for text in texts for line in _wrapped(text, "  - ", "    "))]


def _tried(tried: Tried) -> str:
    text = f"{tried.date or 'no date'}, {tried.trial}, {tried.verdict}: {tried.set_up}"
    return f"{text}; {tried.found}" if tried.found else text


def _move(number: int, move: Move, system: System) -> Iterator[str]:
    yield from _wrapped(f"{move.do.rstrip('.')}.", f"{number}. ", "   ")
    for follow in move.with_it:
        yield from _wrapped(f"With it: {follow}.", "   ", "     ")
    if move.chance is not None:
        yield f"   Promise: {_tenths(move.chance)}"
    if move.ra_um is not None:
        yield f"   Expect: Ra {_band(move.ra_um, system)}"
    if move.removal_um is not None:
        yield f"   Expect: {_band(move.removal_um, system)} off in the whole step"
    yield from _wrapped(f"Why: {move.why}", "   ", "     ")
    if move.rule:
        yield f"   Rule: {move.rule} ({move.source or 'no source'})"
    for sign in move.watch:
        yield from _wrapped(f"Watch for {sign}", "   ", "     ")


def _band(band: Expected, system: System) -> str:
    low, high = show(band.low, "um", system), show(band.high, "um", system)
    return f"{show(band.expected, 'um', system)} ({low} to {high})"


def _tenths(chance: float) -> str:
    """A chance as people say it."""
    tenths = round(chance * 10)
    if tenths == 0:
        return "not enough by itself, but the right way"
    return "very likely" if tenths == 10 else f"about {tenths} in 10"


def _wrapped(text: str, first: str, later: str) -> list[str]:
    return textwrap.wrap(
        text,
        _WIDTH,
        initial_indent=first,
        subsequent_indent=later,
        break_long_words=False,
        break_on_hyphens=False,
    )
