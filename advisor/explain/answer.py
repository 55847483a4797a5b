"""The whole answer to "why": an overview of a job, of a step, or the chain of one value."""

from __future__ import annotations

from collections.abc import Iterable

from advisor.errors import InputError, Problem
from advisor.explain.link import Link
from advisor.explain.point import Place, Question, asked_places, decision_of
from advisor.explain.why import not_applicable, why, why_handling
from advisor.knowledge.base import Knowledge
from advisor.pipeline import WorkedOut
from advisor.sheet.model import Feature, Sheet

#: What an overview tells of every step.
FOREMOST = ("media", "grain", "grade", "force", "passes", "ra")
#: What the page of one step tells, in the order of the sheet.
OF_A_STEP = (
    "stage", "media", "pressure", "grain", "grade", "build", "coat", "top_coat", "backing", "wheel_cover",
    "wheel_hardness", "wheel_face", "wheel_width", "lubricant", "direction", "overlap", "surface_speed", "rpm",
    "force", "feed", "passes", "removal", "remaining", "ra", "time", "power", "contact", "heat", "wear",
)  # fmt: skip
#: How deep a chain is told where one value is asked for, where several are, and in an overview.
DEEP, BROAD, SHALLOW = 6, 3, 1


def explain(
    question: Question, found: WorkedOut, sheet: Sheet, knowledge: Knowledge
) -> tuple[tuple[Link, ...], int]:
    """The chains that answer a question, and how deep they are worth telling.

    Raises InputError for a feature, step or decision that does not exist.
    """
    decision = _checked(question, found, sheet, knowledge)
    asked = asked_places(question, found, sheet)
    if decision == "handling":
        return (why_handling(found, sheet, knowledge),), DEEP
    if decision is not None:
        links = [why(place, decision, found, sheet, knowledge) for place in asked]
        told = tuple(link for link in links if link is not None)
        if not told and asked:
            raise not_applicable(decision, asked)
        refused = _refusals(question, sheet)
        return (*told, *refused), DEEP if len(told) == 1 else BROAD
    if question.step is not None:
        return tuple(_page(place, OF_A_STEP, found, sheet, knowledge) for place in asked), SHALLOW
    head = (why_handling(found, sheet, knowledge),) if question.feature is None else ()
    pages = tuple(_page(place, FOREMOST, found, sheet, knowledge) for place in asked)
    return (*head, *pages, *_refusals(question, sheet)), SHALLOW


def _checked(question: Question, found: WorkedOut, sheet: Sheet, knowledge: Knowledge) -> str | None:
    """The decision meant, with every fault of the question told at once."""
    problems: list[Problem] = []
    decision = None
    try:
        asked_places(question, found, sheet)
    except InputError as error:
        problems += error.problems
    if question.decision is not None:
        try:
            decision = decision_of(question.decision, knowledge.vocabulary)
        except InputError as error:
            problems += error.problems
    if problems:
        raise InputError(problems)
    return decision


def _page(place: Place, names: Iterable[str], found: WorkedOut, sheet: Sheet, knowledge: Knowledge) -> Link:
    """One step with the foremost reason of each of some values."""
    lines = []
    for name in names:
        link = why(place, name, found, sheet, knowledge)
        if link is None:
            continue
        shown = link.what.removeprefix(f"{place.name}, ")
        reason = next((each for each in link.because if each.kind == "ruled"), None)
        reason = reason or next(iter(link.because), link)
        lines.append(
            reason.model_copy(
                update={"what": shown + (f" (rule {reason.rule})" if reason.rule else ""), "because": ()}
            )
        )
    stage = place.step.stage
    return Link(
        what=f"{place.name}, to {stage}",
        text=f"Step {place.step.number} of {place.feature.name} is there to {stage}.",
        kind="planned",
        because=tuple(lines),
    )


def _refusals(question: Question, sheet: Sheet) -> tuple[Link, ...]:
    """Why a feature in question has no plan."""
    wanted = question.feature.strip().casefold() if question.feature is not None else None
    return tuple(
        refusal(feature)
        for feature in sheet.features
        if not feature.steps and wanted in (None, feature.name.casefold())
    )


def refusal(feature: Feature) -> Link:
    """Why a face has no plan, and what would open one."""
    entries = tuple(
        Link(
            what=entry.limit or (f"rule {entry.rule}" if entry.rule else "in the way"),
            text=entry.text + (f" What would open it: {entry.opens.rstrip('.')}." if entry.opens else ""),
            kind="limited",
            rule=entry.rule,
            source=entry.source,
        )
        for entry in feature.blocked
    )
    return Link(
        what=f"{feature.name}: no plan",
        text=f"No process is admissible for {feature.name}.",
        kind="limited",
        because=entries,
    )
