"""Lays two sheets side by side and finds everything in which they advise otherwise."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any

from advisor.comparison.align import aligned_faces, aligned_steps
from advisor.comparison.causes import Facts, alike, causes, facts_of, follows
from advisor.comparison.job_fields import job_changes
from advisor.comparison.model import Change, ChangeKind, Comparison, FacePair, Side, StepPair
from advisor.reasons import Reason
from advisor.sheet.model import Band, Feature, ForceLimit, Part, Sheet, Step

#: Bands of two jobs rest on different draws: so far the middle and the ends may lie apart by them alone, at
#: least as a share of the value, and as a share of the band's own width in logarithms (some four standard
#: errors of the percentiles of 400 draws).
DRAWN = (0.05, 0.20)
DRAWN_OF_WIDTH = (0.08, 0.15)
_NOT_SET = {"number", "reasons", "rivals", "limits", "flags", "grade_scale", "ra_probability"}
_SENTENCES = ("go_on_when", "if_not")
_PREDICTED = {
    "removal_um", "remaining_um", "ra_um", "rz_um", "time_s", "power_w", "contact", "heat", "wear", "force_limits",
}  # fmt: skip
_UNITS = {
    "_mm_s": "mm/s", "_m_s": "m/s", "_mm": "mm", "_um": "um", "_n": "N", "_w": "W", "_kpa": "kPa", "_s": "s",
    "_k": "K", "_shore_a": "Shore A", "rpm": "rpm", "_cm3": "cm3",
}  # fmt: skip
_NOTES = ("cautions", "precautions", "outside", "after", "conflicts")


def compare(
    first: Sheet,
    second: Sheet,
    names: tuple[str, str] = ("first", "second"),
    *,
    same_draws: bool = False,
) -> Comparison:
    """Everything that differs between two sheets, of one job or of two.

    `names` are what to call them. With `same_draws` the bands of both rest on the same draws, and every
    difference counts; otherwise bands of different jobs that lie as close as the draws make them
    (`DRAWN`), or that have nothing behind them that differs, count as the same.
    """
    return _Bench(first, second, same_draws or first.job_fingerprint == second.job_fingerprint).run(names)


class _Bench:
    """Two sheets at work; counts the predictions that differ by the draws alone."""

    def __init__(self, first: Sheet, second: Sheet, exact: bool) -> None:
        self.first, self.second, self.exact = first, second, exact
        self.within_draws = 0

    def run(self, names: tuple[str, str]) -> Comparison:
        first, second = self.first, self.second
        pairs = aligned_faces(first.features, second.features)
        faces = tuple(self._faces(one, two) for one, two in pairs)
        whole = tuple(self._whole())
        return Comparison(
            first=_side(first, names[0]),
            second=_side(second, names[1]),
            job=job_changes(first.job, second.job, _names(pairs)),
            whole=whole,
            faces=faces,
            within_draws=self.within_draws,
        )

    def _faces(self, first: Feature | None, second: Feature | None) -> FacePair:
        if first is None or second is None:
            only = first or second
            assert only is not None
            steps = aligned_steps(first.steps if first else (), second.steps if second else ())
            return FacePair(
                first=first.name if first else None,
                second=second.name if second else None,
                steps=tuple(_alone(one, two) for one, two in steps),
            )
        pairs = [self._steps(one, two) for one, two in aligned_steps(first.steps, second.steps)]
        changes = list(self._bands(first, second, ("time_s", "cost")))
        blocked = [tuple(item.text for item in face.blocked) for face in (first, second)]
        changes += _sentences("refusal", "blocked", *blocked)
        return FacePair(first=first.name, second=second.name, steps=tuple(pairs), changes=tuple(changes))

    def _steps(self, first: Step | None, second: Step | None) -> StepPair:
        if first is None or second is None:
            return _alone(first, second)
        changes: list[Change] = []
        known = self._known(self.first, first), self._known(self.second, second)
        for name in Step.model_fields:
            if name in _NOT_SET:
                continue
            one, two = getattr(first, name), getattr(second, name)
            if name in _SENTENCES:
                changes += _sentences("sentence", name, one, two)
                continue
            reasons = self._reasons(self.first, first, name), self._reasons(self.second, second, name)
            behind = causes(*reasons, known)
            kind: ChangeKind = "prediction" if name in _PREDICTED else "setting"
            if not behind and not self.exact and isinstance(one, Band) and isinstance(two, Band):
                self.within_draws += one != two
                continue
            why = behind or (follows(first, second) if kind == "setting" else ())
            differing = _limits(one, two) if name == "force_limits" else self._differing(name, one, two)
            changes += (
                Change(kind=kind, field=field, first=before, second=after, unit=unit_of(field), causes=why)
                for field, before, after in differing
            )
        return StepPair(
            first=first.number,
            second=second.number,
            first_says=says(first),
            second_says=says(second),
            changes=tuple(changes),
        )

    def _differing(self, name: str, first: Any, second: Any) -> Iterator[tuple[str, Any, Any]]:
        """The single values under a field that differ, with their path."""
        if isinstance(first, Band) and isinstance(second, Band):
            if self._band_differs(first, second):
                yield name, first.model_dump(), second.model_dump()
        elif isinstance(first, Part) and isinstance(second, Part):
            for inner in type(first).model_fields:
                yield from self._differing(f"{name}.{inner}", getattr(first, inner), getattr(second, inner))
        elif isinstance(first, tuple) and isinstance(second, tuple):
            if len(first) != len(second) or not all(map(self._alike, first, second)):
                yield name, _json(first), _json(second)
        elif not alike(first, second):
            yield name, _json(first), _json(second)

    def _alike(self, first: Any, second: Any) -> bool:
        return not list(self._differing("", first, second))

    def _band_differs(self, first: Band, second: Band) -> bool:
        if first == second:
            return False
        middle, ends = (1e-5, 1e-5) if self.exact else _drawn_apart(first, second)
        close = alike(first.expected, second.expected, middle) and all(
            alike(getattr(first, end), getattr(second, end), ends) for end in ("low", "high")
        )
        self.within_draws += close
        return not close

    def _bands(self, first: Part, second: Part, fields: tuple[str, ...]) -> Iterator[Change]:
        for name in fields:
            for field, before, after in self._differing(name, getattr(first, name), getattr(second, name)):
                yield Change(
                    kind="prediction", field=field, first=before, second=after, unit=unit_of(field)
                )

    def _whole(self) -> Iterator[Change]:
        first, second = self.first, self.second
        if first.handling.value != second.handling.value:
            before, after = ([sheet.reasons[key] for key in sheet.handling.reasons] for sheet in (first, second))
            yield Change(
                kind="setting",
                field="handling",
                first=first.handling.value,
                second=second.handling.value,
                causes=causes(before, after),
            )
        yield from self._bands(first.totals, second.totals, ("time_s", "cost"))
        for name in _NOTES:
            told = [tuple(note.text for note in getattr(sheet, name)) for sheet in (first, second)]
            yield from _sentences("sentence", name, *told)

    def _known(self, sheet: Sheet, step: Step) -> Facts:
        return facts_of(sheet.reasons[key] for ids in step.reasons.values() for key in ids)

    def _reasons(self, sheet: Sheet, step: Step, name: str) -> list[Reason]:
        return [sheet.reasons[key] for key in step.reasons.get(name, ())]


def _limits(first: Sequence[ForceLimit], second: Sequence[ForceLimit]) -> Iterator[tuple[str, Any, Any]]:
    """What bounds the force otherwise, by what it is that bounds."""
    one, two = ({item.by: item.allowed_n for item in limits} for limits in (first, second))
    for by in dict.fromkeys((*one, *two)):
        if not alike(one.get(by), two.get(by)):
            yield f"force_limits.{by}_n", one.get(by), two.get(by)


def _names(pairs: Iterable[tuple[Feature | None, Feature | None]]) -> dict[str, str]:
    """What to call a face of the second sheet that stands beside one of another name."""
    return {two.name: one.name for one, two in pairs if one is not None and two is not None}


def _drawn_apart(first: Band, second: Band) -> tuple[float, float]:
    """How far the middle and the ends of two bands may lie apart by their draws alone, as shares."""
    wide = max((math.log(band.high / band.low) for band in (first, second) if band.low > 0), default=0.0)
    middle, ends = (
        max(least, -math.expm1(-share * wide)) for least, share in zip(DRAWN, DRAWN_OF_WIDTH, strict=True)
    )
    return middle, ends


def says(step: Step) -> str:
    """A step in two words.

    >>> says(Step(number=1, stage="clear", media="belt", grade="P80"))
    'P80 belt'
    """
    return " ".join(filter(None, (step.grade, step.media)))


def unit_of(field: str) -> str | None:
    """The unit of a field of the sheet, told by the end of its name.

    >>> unit_of("windows.surface_speed_m_s"), unit_of("wheel.width_mm"), unit_of("backing")
    ('m/s', 'mm', None)
    """
    name = field.rpartition(".")[2]
    return next((unit for end, unit in _UNITS.items() if name.endswith(end)), None)


def _alone(first: Step | None, second: Step | None) -> StepPair:
    return StepPair(
        first=first.number if first else None,
        second=second.number if second else None,
        first_says=says(first) if first else None,
        second_says=says(second) if second else None,
    )


def _sentences(
    kind: ChangeKind, field: str, first: tuple[str, ...], second: tuple[str, ...]
) -> Iterator[Change]:
    """Sentences that only one side says."""
    before, after = dict.fromkeys(first), dict.fromkeys(second)
    for text in before:
        if text not in after:
            yield Change(kind=kind, field=field, first=text)
    for text in after:
        if text not in before:
            yield Change(kind=kind, field=field, second=text)


def _json(value: Any) -> Any:
    if isinstance(value, Part):
        return value.model_dump(mode="json")
    return [_json(each) for each in value] if isinstance(value, tuple) else value


def _side(sheet: Sheet, name: str) -> Side:
    known: Mapping[str, Any] = {"fingerprint": sheet.knowledge.fingerprint, "rules": sheet.knowledge.rules}
    return Side(name=name, program=sheet.program.version, **known)
