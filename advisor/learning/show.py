"""What a log teaches as text for a reader and as JSON for a program."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Iterator, Sequence

from advisor.figures.learned import SETTINGS, Learned, LearnedFactor
from advisor.learning.contradictions import NAMES
from advisor.learning.teach import Lesson
from advisor.units import figure

#: Figures as the sheet gives them.
DIGITS = 6
_SHOWN = 12
_KEYS = ("coefficient", "scope", "trials", "factor", "low", "high", "prior_factor")


def to_json(lesson: Lesson) -> str:
    """The learned factors as a JSON list of coefficient, scope, trials, factor, low, high, prior_factor."""
    rows = [{key: _rounded(getattr(row, key)) for key in _KEYS} for row in lesson.learned.factors]
    return json.dumps(rows, ensure_ascii=False, indent=1) + "\n"


def file_text(learned: Learned) -> str:
    """What `learned.json` holds: everything a sheet needs."""
    return learned.model_dump_json(indent=1) + "\n"


def _rounded(value: object) -> object:
    return float(f"{value:.{DIGITS}g}") if isinstance(value, float) else value


def to_text(lesson: Lesson) -> str:
    """A table of factors, then what does not fit, what drifted and what could not be used."""
    if not lesson.learned.factors:
        lines = ["No trial of this log has a measured figure that can be held against a prediction.", ""]
        return "\n".join([*lines, *_unread(lesson)]).rstrip() + "\n"
    lines = [_head(lesson.learned), *_table(lesson.learned.factors), "", *_tried(lesson.learned)]
    for title, sentences in (
        ("Trials that the others contradict", [item.sentence() for item in lesson.contradictions]),
        ("Wandered off", [said for item in lesson.drifts if (said := item.sentence())]),
        ("Not used", list(_unread(lesson))),
    ):
        if sentences:
            lines += ["", title, *(f"  {each}" for each in sentences[:_SHOWN])]
            if len(sentences) > _SHOWN:
                lines.append(f"  and {len(sentences) - _SHOWN} more")
    lines += ["", "Nothing is changed by this. A sheet uses it only with --learned FOLDER (see --output)."]
    return "\n".join(lines) + "\n"


def _head(learned: Learned) -> str:
    count = learned.trials
    trials = f"{count:,} trial{'s' if count != 1 else ''}"
    return f"Measured over predicted by the published coefficients, from {trials} (1 is as published)\n"


def _table(factors: Sequence[LearnedFactor]) -> Iterator[str]:
    head = ("coefficient", "scope", "trials", "factor", "95 % band", "wider scope says")
    rows = [
        (
            row.coefficient,
            name,
            f"{row.trials:,}",
            f"{row.factor:.2f}",
            f"{row.low:.2f} to {row.high:.2f}",
            f"{row.prior_factor:.2f}",
        )
        for name, row in told_once(factors)
    ]
    widths = [max(len(row[place]) for row in (head, *rows)) for place in range(len(head))]
    for row in (head, *rows):
        left = [f"{cell:<{width}}" for cell, width in zip(row[:2], widths[:2], strict=True)]
        right = [f"{cell:>{width}}" for cell, width in zip(row[2:], widths[2:], strict=True)]
        yield "  ".join([*left, *right]).rstrip()


def told_once(factors: Sequence[LearnedFactor]) -> Iterator[tuple[str, LearnedFactor]]:
    """Scopes that the same trials fill stand in one line, under the narrowest name, where the first of them is."""
    alike: dict[tuple[object, ...], list[LearnedFactor]] = {}
    for row in factors:
        alike.setdefault((row.coefficient, row.trials, row.factor, row.low, row.high), []).append(row)
    for rows in alike.values():
        widest, narrowest = rows[0], max(rows, key=lambda row: len(row.scope))
        name = scope_words(narrowest)
        yield (name if widest.scope or len(rows) == 1 else f"all trials: {name}"), narrowest


def scope_words(row: LearnedFactor) -> str:
    """A scope on one line: with its name where it is one thing, else the things alone.

    >>> from advisor.knowledge.reference import Band
    >>> row = LearnedFactor(coefficient="wear", scope={"cell": "bench"}, trials=3, factor=1, low=1, high=1,
    ...     prior_factor=1, next=Band(low=1, expected=1, high=1))
    >>> scope_words(row)
    'cell bench'
    """
    return row.where if len(row.scope) < 2 else ", ".join(row.scope.values())


def _tried(learned: Learned) -> Iterator[str]:
    """What was tried at all, beyond which a factor is an extrapolation."""
    for row in learned.factors:
        if not row.scope:
            said = (
                f"{SETTINGS[name][0]} {_stretch(low, high)} {SETTINGS[name][1]}"
                for name, (low, high) in row.tried.items()
            )
            yield f"Tried for {NAMES[row.coefficient][0]}: {', '.join(said)}."
    yield "Settings beyond 1.5 times what was tried in a scope are told on the sheet as an extrapolation."


def _stretch(low: float, high: float) -> str:
    ends = dict.fromkeys((figure(low), figure(high)))
    return " to ".join(ends)


def _unread(lesson: Lesson) -> Iterator[str]:
    for (coefficient, why), count in Counter((item.coefficient, item.why) for item in lesson.unread).items():
        example = next(
            item.trial for item in lesson.unread if (item.coefficient, item.why) == (coefficient, why)
        )
        times = f"{count:,} times, as" if count > 1 else "once,"
        yield f"{NAMES[coefficient][0]}, {times} in {example}: {why}."
