"""The whole answer to "why not that": the contrast, its cost, and the smallest changes that turn it."""

from __future__ import annotations

import json
import textwrap
import time
from collections.abc import Callable, Sequence

from advisor.errors import InputError, Problem
from advisor.explain.contrast import Contrast, contrast, contrast_handling
from advisor.explain.forced import Wish
from advisor.explain.options import contested_place, option_of
from advisor.explain.point import Place, Question, asked_places, decision_of
from advisor.explain.refused import contrast_refused, refused_face, wish_on_refused
from advisor.explain.remedies.search import Progress
from advisor.explain.show import WIDTH, sentences, tidy, tree
from advisor.explain.smallest import SECONDS, Smallest, smallest_changes
from advisor.explain.words import shown
from advisor.knowledge.base import Knowledge
from advisor.knowledge.reference import Frozen
from advisor.pipeline import WorkedOut
from advisor.sequence.plan import FeaturePlan
from advisor.sheet.model import Sheet
from advisor.sheet.weighed import named_rules


class WhyNot(Frozen):
    """Why an option does not stand, and what would make it."""

    title: str
    contrast: Contrast
    smallest: Smallest | None


def explain_not(
    question: Question,
    found: WorkedOut,
    sheet: Sheet,
    knowledge: Knowledge,
    say: Progress,
    seconds: float | None = SECONDS,
    clock: Callable[[], float] = time.monotonic,
) -> WhyNot:
    """The answer to a question with an option; without `seconds` no smallest changes are looked for.

    Raises InputError for a feature, step, decision or option that does not exist, all at once.
    """
    vocabulary, text = knowledge.vocabulary, question.option or ""
    problems: list[Problem] = []
    decision = None
    try:
        asked = asked_places(question, found, sheet)
    except InputError as error:
        problems += error.problems
        asked = ()
    try:
        decision = None if question.decision is None else decision_of(question.decision, vocabulary)
        if problems and decision is not None:
            option_of(text, decision, vocabulary, None)
    except InputError as error:
        problems += error.problems
    if problems:
        raise InputError(problems)
    told, wish, plan, taken = _contrast(question, decision, asked, found, sheet, knowledge)
    small = None
    if seconds is not None and told.option != told.instead_of and not wish.met_in(plan.path):
        heard = named_rules(sheet) | set(sheet.weighed)
        small = smallest_changes(plan, taken, wish, found, knowledge, heard, say, seconds, clock)
    return WhyNot(title=_title(told, knowledge), contrast=told, smallest=small)


def _contrast(
    question: Question,
    decision: str | None,
    asked: Sequence[Place],
    found: WorkedOut,
    sheet: Sheet,
    knowledge: Knowledge,
) -> tuple[Contrast, Wish, FeaturePlan, str | None]:
    """The contrast, what was wished for, and the plan and the media that it was not part of."""
    vocabulary, text = knowledge.vocabulary, question.option or ""
    if decision == "handling" or (decision is None and text in vocabulary.decisions["handling"].options):
        option = str(option_of(text, "handling", vocabulary, None))
        told, wish = contrast_handling(option, found, knowledge), Wish("", "handling", option)
        first = next(iter(asked), None)
        if first is None:
            return told, wish, found.planned[0].plan, None
        return told, wish, first.plan, first.planned.candidate.tool.media.key
    refused = refused_face(question, found, sheet)
    if refused is not None:
        wish = wish_on_refused(text, decision, refused, vocabulary)
        return contrast_refused(refused, wish, found, knowledge), wish, refused.plan, None
    place, decided, value = contested_place(text, decision, asked, vocabulary)
    told, wish = contrast(place, decided, value, found, knowledge), Wish(place.step.stage, decided, value)
    return told, wish, place.plan, place.planned.candidate.tool.media.key


def _title(told: Contrast, knowledge: Knowledge) -> str:
    declared = knowledge.vocabulary.decisions[told.decision]
    unit = declared.unit or ""
    option, taken = (shown(each, unit, knowledge) for each in (told.option, told.instead_of))
    where = f"{told.feature}, step {told.step}, " if told.step else ""
    if told.instead_of is None and told.stage:
        return (
            f"{told.feature}, {declared.title} to {told.stage}: why not {option}, on a face that has no plan"
        )
    if told.option == told.instead_of:
        return f"{where}{declared.title}: {option} is what is taken"
    return f"{where}{declared.title}: why not {option}, but {taken}"


def to_text(answer: WhyNot, depth: int) -> str:
    """The answer for reading."""
    lines = [answer.title, "=" * min(len(answer.title), WIDTH)]
    seen: set[str] = set()
    for link in answer.contrast.links:
        lines += tree(link.cut(depth), 0, seen)
    if answer.smallest is not None:
        lines += ["", "The smallest changes that would make it win, each proved by a whole recommendation:"]
        for number, remedy in enumerate(answer.smallest.remedies, start=1):
            lines.append(f"  {number}. {' and '.join(remedy.changes)}")
        lines += textwrap.wrap(answer.smallest.text, WIDTH, initial_indent="  ", subsequent_indent="  ")
        if any(remedy.fields for remedy in answer.smallest.remedies):
            lines.append("  Try one with: advisor what-if JOB --change 'FIELD=VALUE'")
    return "\n".join(lines) + "\n"


def to_json(answer: WhyNot, depth: int) -> str:
    """The answer as JSON, keys in a fixed order."""
    told = answer.contrast
    links = [link.cut(depth) for link in told.links]
    data = {
        "why_not": {
            "title": answer.title,
            **told.model_dump(mode="json", exclude={"links"}),
            "sentences": [line for link in links for line in sentences(link)],
            "tree": [link.model_dump(mode="json") for link in links],
            "smallest": None if answer.smallest is None else answer.smallest.model_dump(mode="json"),
        }
    }
    return json.dumps(tidy(data), ensure_ascii=False, indent=1) + "\n"
