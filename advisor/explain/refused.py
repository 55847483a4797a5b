"""Why not that, on a face that has no plan: what forbids the option there, and what stands in every plan's way."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from advisor.choices.model import ListChoice
from advisor.errors import InputError, Problem, listing
from advisor.explain.answer import refusal
from advisor.explain.contrast import Contrast, Cost
from advisor.explain.forced import Wish
from advisor.explain.link import Link
from advisor.explain.options import NOT, decisions_of, no_such_option, option_of
from advisor.explain.origins import Origins
from advisor.explain.point import Question
from advisor.explain.standing import behind, behind_text, spoken_links
from advisor.knowledge.base import Knowledge
from advisor.knowledge.vocabulary import Value, Vocabulary
from advisor.pipeline import WorkedOut
from advisor.sequence.candidates import StageField, offered_media
from advisor.sequence.plan import FeaturePlan
from advisor.sheet.explain import Explainer
from advisor.sheet.model import Feature, Sheet


@dataclass(frozen=True, slots=True)
class Refused:
    """A face without a plan: as it was worked out, and as it stands on the sheet."""

    plan: FeaturePlan
    feature: Feature


def refused_face(question: Question, found: WorkedOut, sheet: Sheet) -> Refused | None:
    """The face without a plan that a question is about.

    The one it names, or the first where no face has a plan; None where it is about a face that has one.
    """
    wanted = None if question.feature is None else question.feature.strip().casefold()
    if wanted is None and any(feature.steps for feature in sheet.features):
        return None
    for item, feature in zip(found.planned, sheet.features, strict=True):
        if not feature.steps and wanted in (None, feature.name.casefold()):
            return Refused(item.plan, feature)
    return None


def wish_on_refused(text: str, decision: str | None, face: Refused, vocabulary: Vocabulary) -> Wish:
    """The option meant, at the first stage of the work that it serves.

    Raises InputError where no decision has the option, or several have.
    """
    named = (decision,) if decision is not None else decisions_of(text, vocabulary)
    if not named:
        raise no_such_option(text, vocabulary)
    if len(named) > 1:
        what = "belongs to several decisions; name one with --decision"
        raise InputError(Problem(NOT, what, text, listing(named)))
    option = option_of(text, named[0], vocabulary, None)
    return Wish(_stage(named[0], option, face), named[0], option)


def _stage(decision: str, option: Value, face: Refused) -> str:
    tables = face.plan.desk.knowledge.tables
    start = face.plan.feature.start
    rough = any(tables.defects[key].kind != "surface" for key in start.defects)
    stages = ("clear", "finish", "refine", "prepare") if rough else ("finish", "refine", "prepare", "clear")
    serves = tables.media[str(option)].stages if decision == "media" else stages
    return next(stage for stage in stages if stage in serves)


def contrast_refused(face: Refused, wish: Wish, found: WorkedOut, knowledge: Knowledge) -> Contrast:
    """What keeps an option out of a face that has no plan, and what keeps every plan out."""
    links = [*_of_option(face, wish, found, knowledge), refusal(face.feature)]
    text = "Nothing to compare with: this face has no plan."
    return Contrast(
        feature=face.feature.name,
        step=0,
        stage=wish.stage,
        decision=wish.decision,
        option=wish.option,
        instead_of=None,
        links=tuple(links),
        cost=Cost(admissible=False, text=text),
    )


def _of_option(face: Refused, wish: Wish, found: WorkedOut, knowledge: Knowledge) -> Iterator[Link]:
    """Limits before rules, then the standing among the media, then what the numbers forbid."""
    if wish.decision != "media":
        return
    media, name = str(wish.option), Explainer(knowledge).name(str(wish.option))
    worked = [face.plan.desk.at(key) for key in face.plan.feature.start.defects] or [face.plan.desk]
    desk = worked[0] if wish.stage == "clear" else face.plan.desk
    for item in (*offered_media(desk, wish.stage)[1], *face.plan.not_runnable):
        if item.media == media:
            yield Link(what=f"limit: {item.limit}", text=item.text, kind="limited")
            return
    fields = [each for each in face.plan.fields if each.stage == wish.stage]
    for each in fields[:1]:
        yield from _standing(each.media, media, each, face, found, knowledge)
    told = {item.text for each in fields for item in each.unmet if item.media == media}
    for text in sorted(told)[:3]:
        yield Link(what=f"limit of {name}", text=text, kind="limited")


def _standing(
    choice: ListChoice, media: str, at: StageField, face: Refused, found: WorkedOut, knowledge: Knowledge
) -> Iterator[Link]:
    origins = Origins(found, knowledge, face.plan, None, dict(at.situation), Explainer(knowledge))
    row = next((each for each in choice.options if each.option == media), None)
    if row is None:
        return
    name, best = origins.explain.name(media), choice.options[0]
    if media in choice.candidates(len(row.values) + 1):
        text = f"The rules leave {name} among the best to {at.stage}; it is no rule on media that stands in its way."
        yield Link(what="standing", text=text, kind="chosen")
    else:
        fell = behind(choice, row, best)
        because = spoken_links(fell.rules, "media", _named(media, best.option), origins)
        text = behind_text(fell, choice, row, best, origins)
        yield Link(what="where it fell behind", text=text, kind="chosen", because=because)
    for what, rules in (("for", row.speaks_for), ("against", row.speaks_against)):
        inner = spoken_links(rules, "media", (media,), origins)
        count = f"{len(rules)} rule{'s' if len(rules) != 1 else ''}." if rules else "No rule."
        yield Link(what=f"{what} {name}", text=count, kind="chosen", because=inner)


def _named(media: str, best: str) -> Sequence[str]:
    return (media,) if media == best else (best, media)
