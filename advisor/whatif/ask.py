"""Answers a what-if: works the changed job out and holds it against the job as given."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from advisor.comparison.compare import compare
from advisor.comparison.model import Comparison
from advisor.errors import InputError, Problem
from advisor.job.model import Job
from advisor.pipeline import Desk, sheet_of, work_out
from advisor.sheet.model import Sheet
from advisor.sheet.weighed import named_rules
from advisor.whatif.chains import Chooser, JobChoice
from advisor.whatif.change import PLACE, Span, Wanted, changed_job, opened, read_change, value_of
from advisor.whatif.limits import limits_of
from advisor.whatif.model import Asked, FaceSays, StepSays, StretchSays, SwitchSays, WhatIf, WhatIfRange
from advisor.whatif.scan import Stretch, scan, switches

Progress = Callable[[int], None]


def what_if(
    job: Job, changes: Iterable[str], desk: Desk, progress: Progress | None = None
) -> WhatIf | WhatIfRange:
    """What some changes do to the recommendation: each `field=value`, at most one `field=low..high`.

    `progress` is told how many points of a range are worked out. Raises InputError with everything that is
    wrong with the changes.

    >>> import advisor
    >>> desk = advisor.open_desk()
    >>> job = advisor.read_job(advisor.demo_jobs() / "vent-lever.yaml", desk.knowledge)
    >>> found = what_if(job, ["features[throat].radius=60 mm"], desk)
    >>> [(change.field, change.first, change.second) for change in found.comparison.job]
    [('features[throat].radius', '45 mm', '60 mm')]
    >>> desk.close()
    """
    wanted = _read(changes)
    ranges = [item for item in wanted if item.span is not None]
    single = [item for item in wanted if item.span is None]
    if ranges:
        return _over_range(job, ranges[0], single, desk, progress)
    return _single(job, single, desk)


def _read(changes: Iterable[str]) -> tuple[Wanted, ...]:
    wanted: list[Wanted] = []
    problems: list[Problem] = []
    for text in changes:
        try:
            wanted.append(read_change(text))
        except InputError as error:
            problems += error.problems
    ranges = [item.field for item in wanted if item.span is not None]
    if len(ranges) > 1:
        problems.append(Problem(PLACE, f"only one range at a time; these are {len(ranges)}", ", ".join(ranges)))
    twice = {item.field for item in wanted if [each.field for each in wanted].count(item.field) > 1}
    problems += [Problem(PLACE, "the same field is changed twice", name) for name in sorted(twice)]
    if not wanted and not problems:
        problems.append(Problem(PLACE, "nothing to change", allowed="field=value, such as start.depth=0.3 mm"))
    if problems:
        raise InputError(problems)
    return tuple(wanted)


def _values(wanted: Sequence[Wanted]) -> list[tuple[str, str]]:
    return [(item.field, item.value) for item in wanted]


def _asked(wanted: Sequence[Wanted]) -> tuple[Asked, ...]:
    return tuple(Asked(field=item.field, value=item.value) for item in wanted)


def _single(job: Job, wanted: Sequence[Wanted], desk: Desk) -> WhatIf:
    changed = changed_job(job, _values(wanted), desk.knowledge)
    of_cell = any(item.field.startswith("cell.") for item in wanted)
    given = opened(job, desk.knowledge) if of_cell else job
    before, after = (sheet_of(work_out(each, desk, draws_of=job), desk.knowledge) for each in (given, changed))
    told = "; ".join(f"{item.field}={item.value}" for item in wanted)
    return WhatIf(
        name=job.name,
        changes=_asked(wanted),
        comparison=compare(before, after, ("as given", told), same_draws=True),
        refused_before=before.refused,
        refused_after=after.refused,
    )


@dataclass(slots=True)
class _Line:
    """The job along a range, each point worked out once."""

    job: Job
    name: str
    span: Span
    desk: Desk
    chooser: Chooser
    progress: Progress | None
    asked: int = 0
    _sheets: dict[float, Sheet] = field(default_factory=dict)

    def at(self, value: float) -> Job:
        return changed_job(self.job, [(self.name, self.span.text(value))], self.desk.knowledge)

    def choice(self, value: float) -> JobChoice:
        found = self.chooser.choice(self.at(value))
        self.asked += 1
        if self.progress is not None:
            self.progress(self.asked)
        return found

    def sheet(self, value: float) -> Sheet:
        if value not in self._sheets:
            worked_out = work_out(self.at(value), self.desk, draws_of=self.job)
            self._sheets[value] = sheet_of(worked_out, self.desk.knowledge)
        return self._sheets[value]


def _over_range(
    job: Job, ranged: Wanted, single: Sequence[Wanted], desk: Desk, progress: Progress | None
) -> WhatIfRange:
    span = ranged.span
    assert span is not None
    base = changed_job(job, _values(single), desk.knowledge) if single else job
    line = _Line(base, ranged.field, span, desk, Chooser(desk), progress)
    _check_ends(line)
    limits = limits_of(ranged.field, span.unit, base, desk.knowledge)
    stretches, asked = scan(line.choice, span.low, span.high, limits, whole=span.whole)
    return WhatIfRange(
        name=job.name,
        field=ranged.field,
        low=span.low,
        high=span.high,
        unit=span.unit,
        given=value_of(base, ranged.field, span.unit),
        changes=_asked(single),
        stretches=tuple(map(_stretch, stretches)),
        switches=tuple(_switch(each.below, each.above, line, limits) for each in switches(stretches)),
        asked=asked,
    )


def _check_ends(line: _Line) -> None:
    """Both ends must be values the field can have. Raises InputError, once where both are wrong alike."""
    problems: list[Problem] = []
    for end in (line.span.low, line.span.high):
        try:
            line.at(end)
        except InputError as error:
            problems += error.problems
    if problems:
        raise InputError({(item.place, item.what): item for item in problems}.values())


def _stretch(found: Stretch[JobChoice]) -> StretchSays:
    faces = tuple(
        FaceSays(
            name=face.name,
            steps=tuple(
                StepSays(
                    stage=step.stage,
                    media=step.media,
                    grain=step.grain,
                    grade=step.grade,
                    set_up=dict(step.set_up),
                )
                for step in face.steps
            ),
        )
        for face in found.answer.faces
    )
    return StretchSays(low=found.low, high=found.high, handling=found.answer.handling, faces=faces)


def _switch(
    below: float, above: float, line: _Line, limits: Mapping[float, tuple[str, ...]]
) -> SwitchSays:
    here = [value for value in limits if below <= value <= above]
    sheets = line.sheet(below), line.sheet(above)
    speak = [named_rules(sheet) | set(sheet.weighed) for sheet in sheets]
    drawn = {rule for value in here for rule in limits[value]}
    names = tuple(f"{line.name}={line.span.text(value)}" for value in (below, above))
    found = compare(*sheets, (names[0], names[1]), same_draws=True)
    return SwitchSays(
        below=below,
        above=above,
        limits=tuple(here),
        rules=tuple(sorted(drawn & (speak[0] ^ speak[1]) or drawn & (speak[0] | speak[1]))),
        comparison=settings_only(found),
    )


def settings_only(found: Comparison) -> Comparison:
    """A comparison without predictions and sentences: what a person would fit or set otherwise."""
    kept = {"setting", "refusal"}
    faces = tuple(
        face.model_copy(
            update={
                "changes": tuple(item for item in face.changes if item.kind in kept),
                "steps": tuple(
                    pair.model_copy(
                        update={"changes": tuple(item for item in pair.changes if item.kind in kept)}
                    )
                    for pair in face.steps
                ),
            }
        )
        for face in found.faces
    )
    whole = tuple(item for item in found.whole if item.kind in kept)
    return found.model_copy(update={"faces": faces, "whole": whole, "job": (), "within_draws": 0})
