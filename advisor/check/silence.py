"""Combinations that no rule speaks about, decision by decision.

Looked at are: for grain, every alloy family × stage × media that has a grain and serves the stage; for
media, every alloy family × defect (clear) and alloy family × finish (finish); for grade, every media ×
stage (clear and finish); for pressure, lubricant and surface speed, every media × alloy group.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from itertools import product

from advisor.check.finding import Code, Finding
from advisor.check.joints import used
from advisor.check.meaning import Meaning
from advisor.check.solver import Case
from advisor.check.where import Where
from advisor.knowledge.base import Tables
from advisor.knowledge.rules import Rule
from advisor.knowledge.vocabulary import Value

NO_GRAIN = Code(
    "K501", "no-grain-rule", "warning",
    "For an alloy family, a stage and a media no rule speaks for any grain.",
    "A grain must be spoken for, so this media drops out there without a reason anybody wrote down.",
    "Add the family or the media to a grain rule, or write one; if the media has no business there, a rule of the "
    "media says so with `avoid` or `never`.",
)  # fmt: skip
NO_MEDIA_TO_CLEAR = Code(
    "K502", "no-media-for-defect", "warning",
    "For an alloy family and a defect no rule that tests the defect speaks for any media.",
    "A media may clear only what a rule names it for: every such job is refused.",
    "Write which media takes this defect off this metal, or name the other process with `outside`.",
)  # fmt: skip
NO_MEDIA_TO_FINISH = Code(
    "K503", "no-media-for-finish", "warning",
    "For an alloy family and a finish no rule that tests the finish speaks for any media.",
    "A media may finish only what a rule names it for: every such job is refused.",
    "Write which media lays this texture on this metal, or name the other process with `outside`.",
)  # fmt: skip
NO_GRADE = Code(
    "K504", "no-grade-rule", "warning",
    "For a media and a stage no rule speaks on the grade.",
    "The whole table of grades is then open, and the cheapest path alone decides.",
    "Write the window of grades that is used, with its scale.",
)  # fmt: skip
NO_SETTING = Code(
    "K505", "no-setting-rule", "note",
    "For a media and an alloy group no rule speaks on pressure, lubricant or surface speed.",
    "The window of the media table is used whole, whatever the metal.",
    "Write the rule, or leave it where the metal makes no difference.",
)  # fmt: skip
CODES = (NO_GRAIN, NO_MEDIA_TO_CLEAR, NO_MEDIA_TO_FINISH, NO_GRADE, NO_SETTING)

_POSITIVE = ("must", "should", "may")
_DEFECT = frozenset({"defect", "defect.kind", "defect.local"})
_FINISH = frozenset({"finish.key", "finish.texture", "finish.designation"})
_SETTINGS = ("pressure", "lubricant", "surface_speed")
Combination = tuple[Value, ...]


def silent_combinations(base: Meaning, where: Where) -> Iterator[Finding]:
    """One finding for each decision and first value, with the combinations that nobody speaks about."""
    tables: Tables | None = getattr(base.knowledge, "tables", None)
    if tables is None:
        return
    families, groups = _alloys(tables)
    file = where.file("rules")
    stages = ("clear", "refine", "prepare", "finish")
    grains = [
        (family, media, stage)
        for media, row in tables.media.items()
        if row.grains
        for family in families
        for stage in stages
        if stage in row.stages
    ]
    axes = ("alloy.family", "media", "stage")
    left = _unspoken(base, _speaking(base, "grain", _POSITIVE), axes, grains)
    for (family, media), rest in _told(left, 2):
        yield Finding(NO_GRAIN, file, f"no grain for {family} with {media} to {' or '.join(rest)}")
    clearing = [(family, defect) for family in families for defect in tables.defects]
    nominating = _speaking(base, "media", _POSITIVE, _DEFECT)
    left = _unspoken(base, nominating, ("alloy.family", "defect"), clearing, ("stage", "clear"))
    for (family,), rest in _told(left, 1):
        yield Finding(NO_MEDIA_TO_CLEAR, file, f"no media clears {', '.join(rest)} on {family}")
    finishing = [(family, finish) for family in families for finish in tables.finishes]
    nominating = _speaking(base, "media", _POSITIVE, _FINISH)
    left = _unspoken(base, nominating, ("alloy.family", "finish.key"), finishing, ("stage", "finish"))
    for (family,), rest in _told(left, 1):
        yield Finding(NO_MEDIA_TO_FINISH, file, f"no media lays {', '.join(rest)} on {family}")
    graded = [
        (media, stage)
        for media, row in tables.media.items()
        if row.grades
        for stage in ("clear", "finish")
        if stage in row.stages
    ]
    left = _unspoken(base, _speaking(base, "grade", None), ("media", "stage"), graded)
    for (media,), rest in _told(left, 1):
        yield Finding(NO_GRADE, file, f"no word on the grade of {media} to {' or '.join(rest)}")
    for decision in _SETTINGS:
        asked = [
            (media, group) for media, row in tables.media.items() if used(row, decision) for group in groups
        ]
        left = _unspoken(base, _speaking(base, decision, None), ("media", "alloy.group"), asked)
        for (media,), rest in _told(left, 1):
            yield Finding(NO_SETTING, file, f"no word on {decision} of {media} on {', '.join(rest)}")


def _alloys(tables: Tables) -> tuple[list[str], list[str]]:
    rows = tables.alloys.values()
    families = list(dict.fromkeys(row.family for row in rows))
    return families, list(dict.fromkeys(row.group for row in rows))


def _speaking(
    base: Meaning, decision: str, strengths: Sequence[str] | None, tests: frozenset[str] = frozenset()
) -> list[Rule]:
    """The rules with advice on a decision that test one of some attributes."""
    return [
        rule
        for rule in base.rules
        if any(
            item.decision == decision and (strengths is None or item.strength in strengths)
            for item in rule.advice()
        )
        and (not tests or any(item.attribute in tests for item in rule.when))
    ]


def _unspoken(
    base: Meaning,
    rules: Sequence[Rule],
    axes: Sequence[str],
    asked: Sequence[Combination],
    fixed: tuple[str, str] | None = None,
) -> list[Combination]:
    """The combinations in which none of some rules can fire."""
    if any(axis not in base.vocabulary.testable for axis in axes):
        return []
    left = dict.fromkeys(asked)
    cells: Callable[[str, Value], int] = base.space.cell
    for rule in sorted(rules, key=lambda rule: len(rule.when)):
        if not left:
            break
        fires = base.fires(rule)
        literals = (*fires.literals, *(((fixed[0], cells(*fixed)),) if fixed else ()))
        box = base.space.narrowed({}, literals)
        if box is None:
            continue
        fitting = [[value for value in dict.fromkeys(values) if cells(axis, value) & box.get(axis, -1)]
                   for axis, values in zip(axes, zip(*left, strict=True), strict=True)]  # fmt: skip
        for combination in product(*fitting):
            if combination not in left:
                continue
            here = tuple((axis, cells(axis, value)) for axis, value in zip(axes, combination, strict=True))
            if base.find(Case((*literals, *here), fires.clauses)) is not None:
                del left[combination]
    return list(left)


def _told(left: Sequence[Combination], first: int) -> Iterator[tuple[tuple[str, ...], list[str]]]:
    """Combinations gathered under their first values."""
    gathered: Mapping[tuple[str, ...], list[str]] = {}
    gathered = {}
    for combination in left:
        names = tuple(str(value) for value in combination)
        gathered.setdefault(names[:first], []).append(names[-1])
    yield from gathered.items()
