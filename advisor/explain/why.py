"""Why a value stands on the sheet: the chain from it to the rules, facts, formulas and sources behind it."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence

from advisor.choices.model import Choice, ListChoice, OptionStanding, RangeChoice
from advisor.errors import InputError, Problem
from advisor.explain.again import again, handling_again, moved, taken
from advisor.explain.link import Link
from advisor.explain.numbers import number_links
from advisor.explain.origins import Origins
from advisor.explain.point import PLACE, Place, field_is_whole, field_on_sheet
from advisor.explain.standing import behind, behind_text, spoken_links
from advisor.explain.words import list_words, place_words, span_words, value_words
from advisor.knowledge.base import Knowledge
from advisor.knowledge.rules import Rule
from advisor.pipeline import WorkedOut
from advisor.reasons import Input, Reason
from advisor.render.trail import value_words as value_name
from advisor.sheet.model import Sheet
from advisor.units import figure

#: So many options that fell behind are told one by one.
MOST_RIVALS = 6
Again = Callable[[Sequence[str]], Choice | None]


def why_handling(found: WorkedOut, sheet: Sheet, knowledge: Knowledge) -> Link:
    """Why the part goes to the tool, or the tool to the part."""
    origins = Origins.of_job(found, knowledge)
    choice = found.handling
    if len(found.job.cell.handling) == 1:
        text = f"This cell only allows {str(choice.winner).replace('-', ' ')} (cell.handling)."
        because: tuple[Link, ...] = (Link(what="limit of the cell", text=text, kind="limited"),)
    else:
        because = _of_list(
            choice, str(choice.winner), origins, lambda silent: handling_again(found, silent), (), 7
        )
    shown = str(choice.winner).replace("-", " ")
    return Link(
        what=f"handling: {shown}",
        text=f"The handling of the whole job is {shown}.",
        kind="value",
        value=str(choice.winner),
        because=because,
    )


def why(place: Place, decision: str, found: WorkedOut, sheet: Sheet, knowledge: Knowledge) -> Link | None:
    """Why a decision or value of a step stands; None where it does not apply to the step."""
    origins = Origins.of_step(found, knowledge, place.plan, place.planned)
    if decision in knowledge.vocabulary.attributes:
        link = origins.fact(decision)
        return link.model_copy(update={"what": f"{place.name}: {link.what}"})
    choice = taken(place, decision)
    field = field_on_sheet(decision)
    shown = value_words(place, decision, knowledge)
    if shown is None and choice is None:
        return None
    title = knowledge.vocabulary.decisions[decision].title if decision in knowledge.vocabulary.order else None
    title = title if title and decision != "force" else value_name(field or decision)
    because: list[Link] = []
    if choice is not None:
        concerns = place.plan.concerns
        chain = _chain(place, sheet, decision)
        value = place.planned.candidate.values.get(decision)

        def retake(silent: Sequence[str]) -> Choice | None:
            return again(place, decision, silent)

        if isinstance(choice, ListChoice):
            because += _of_list(choice, str(value), origins, retake, chain, concerns)
        else:
            because += _of_range(choice, origins, retake, chain, place)
    calculated = number_links(place, decision, origins)
    ids = place.step.reasons.get(field or "", ()) if field_is_whole(decision) else ()
    if not calculated:  # nothing of our own to tell: what the sheet says, or its formulas alone
        calculated = from_sheet(
            (each for each in ids if not because or sheet.reasons[each].kind == "derived"), sheet, origins
        )
    because += calculated
    told = shown or "as below"
    return Link(
        what=f"{place.name}, {title}: {told}",
        text=f"Step {place.step.number} of {place.feature.name} has {title}: {told}.",
        kind="value",
        because=tuple(because),
    )


def _chain(place: Place, sheet: Sheet, decision: str) -> tuple[Reason, ...]:
    """What the sheet says of the whole chain, where cost decided among options that stand alike."""
    ids = place.step.reasons.get(decision, ())
    return tuple(
        sheet.reasons[each]
        for each in ids
        if sheet.reasons[each].kind == "chosen" and "chain" in sheet.reasons[each].text
    )


# ---------------------------------------------------------------------- an option among others
def _of_list(
    choice: ListChoice, taken: str, origins: Origins, retake: Again, chain: Iterable[Reason], concerns: int
) -> tuple[Link, ...]:
    row = choice.of(taken)
    alone = _alone((*row.speaks_for, *_against_others(choice, taken)), choice, retake, concerns)
    links = list(spoken_links(row.speaks_for, choice.decision, (taken,), origins, alone))
    if not links:
        title = origins.knowledge.vocabulary.decisions[choice.decision].title
        only = len(choice.options) == 1
        text = (
            f"Nothing but {origins.explain.name(taken)} can be had here as {title}."
            if only
            else f"No rule asks for a {title}; {origins.explain.name(taken)} is the usual one for this media."
        )
        links.append(
            Link(what="only one" if only else "usual", text=text, kind="limited" if only else "known")
        )
    if row.contested:
        text = f"Rules also speak against it on {list_words(row.contested)}; both together count for nothing."
        links.append(
            Link(
                what="contested",
                text=text,
                kind="chosen",
                because=spoken_links(row.speaks_against, choice.decision, (taken,), origins, alone),
            )
        )
    links += [Link(what="chain", text=reason.text, kind="chosen") for reason in chain]
    links += _struck(choice, origins)
    links += _others(choice, row, origins, alone)
    return tuple(links)


def _against_others(choice: ListChoice, taken: str) -> tuple[Rule, ...]:
    return tuple(
        rule
        for row in choice.options
        if row.option != taken
        for rule in (*row.speaks_against, *row.speaks_for)
    )


def _alone(rules: Iterable[Rule], choice: Choice, retake: Again, concerns: int) -> dict[str, bool]:
    """For each rule whether the decision would come out otherwise without it."""
    return {rule.id: moved(choice, retake((rule.id,)), concerns) for rule in dict.fromkeys(rules)}


def _struck(choice: Choice, origins: Origins) -> list[Link]:
    return [
        Link(
            what=f"struck out: rule {item.spoken.rule.id}",
            text=f"Not followed, because {item.by} stands against it: "
            f"{origins.explain.sentence(item.spoken.rule.because, origins.situation)}",
            kind="ruled",
            rule=item.spoken.rule.id,
            strength=item.spoken.advice.strength,
            concern=item.spoken.rule.concern,
        )
        for item in choice.struck
    ]


def _others(choice: ListChoice, best: OptionStanding, origins: Origins, alone: dict[str, bool]) -> list[Link]:
    """The options that fell behind, each with the place where it did; the silent ones in one line."""
    told: list[Link] = []
    silent = [row.option for row in choice.options if row.standing == "not spoken for"]
    heard = [row for row in choice.options if row.option not in (*silent, best.option)]
    for row in heard[:MOST_RIVALS]:
        at = behind(choice, row, best)
        told.append(
            Link(
                what=f"not {origins.explain.name(row.option)} ({at.concern or at.level})",
                text=behind_text(at, choice, row, best, origins),
                kind="chosen",
                value=row.option,
                because=spoken_links(at.rules, choice.decision, (best.option, row.option), origins, alone),
            )
        )
    if len(heard) > MOST_RIVALS:
        more = list_words([origins.explain.name(row.option) for row in heard[MOST_RIVALS:]])
        told.append(Link(what="not either", text=f"Further behind: {more}.", kind="chosen"))
    if silent:
        names = list_words([origins.explain.name(option) for option in silent])
        told.append(Link(what="not spoken for", text=f"No rule speaks for {names}.", kind="chosen"))
    return told


# ---------------------------------------------------------------------- a value in a window
def _of_range(
    choice: RangeChoice, origins: Origins, retake: Again, chain: Iterable[Reason], place: Place
) -> tuple[Link, ...]:
    explain, decision = origins.explain, choice.decision
    unit = explain.knowledge.vocabulary.decisions[decision].unit or ""
    scale = place.planned.candidate.tool.media.scale
    low, high = (
        place_words(choice, end, unit, scale, origins.knowledge) for end in (choice.low, choice.high)
    )
    window = low if low == high else f"{low} to {high}"
    told = decision in ("grade", "pressure", "accepts", "jump")
    aim = f"Left open is {window}." if told else explain.aim(choice, unit).text
    links = [Link(what="window" if told else "aim", text=aim, kind="chosen")]
    spoken: list[Link] = []
    for rule in choice.shaped_by:
        words = [
            f"{item.strength}: {span_words(item, unit, origins.knowledge)}"
            for item in rule.advice()
            if item.decision == decision
        ]
        after = retake((rule.id,))
        spoken.append(origins.rule(rule, "; ".join(words), moved(choice, after, 7)))
    links += sorted(spoken, key=lambda link: not link.alone)  # those that decide first
    if not choice.shaped_by:
        text = f"No rule narrows it: {window} is what the table, the cell and the face leave."
        links.append(Link(what="table", text=text, kind="limited"))
    links += _struck(choice, origins)
    if choice.contested:
        ids = list_words([item.rule.id for item in choice.contested])
        text = f"Rules that contradict each other here are set aside: {ids}."
        links.append(Link(what="contested", text=text, kind="chosen"))
    links += [Link(what="chain", text=reason.text, kind="chosen") for reason in chain]
    return tuple(links)


# ---------------------------------------------------------------------- what only the sheet tells
def from_sheet(ids: Iterable[str], sheet: Sheet, origins: Origins) -> list[Link]:
    """Reasons of the sheet as links; rules are traced on to their facts, formulas show their inputs."""
    links = []
    for each in ids:
        reason = sheet.reasons[each]
        if reason.rule is not None and reason.rule in origins.knowledge.rule:
            links.append(origins.rule(origins.knowledge.rule[reason.rule]))
            continue
        inputs = tuple(_input(name, given) for name, given in reason.inputs.items())
        links.append(
            Link(
                what=_formula(reason) if reason.formula else reason.kind,
                text=reason.text,
                kind=reason.kind,
                formula=reason.formula,
                source=reason.source,
                source_words=reason.source_kind,
                because=inputs,
            )
        )
    return links


def _input(name: str, given: Input) -> Link:
    """One input of a formula; a coefficient with the band it may lie in."""
    shown = _amount(given)
    if given.low is not None and given.high is not None:
        shown += f" ({figure(given.low)} to {figure(given.high)})"
    return Link(
        what=f"{name}: {shown}",
        text=f"{name[:1].upper()}{name[1:]}: {shown}.",
        kind="value",
        value=given.value,
        unit=given.unit,
    )


def _formula(reason: Reason) -> str:
    name = (reason.formula or "").replace("_", " ")
    return name if reason.gives is None else f"{name}, which gives {_amount(reason.gives)}"


def _amount(given: Input) -> str:
    value = figure(given.value, 6) if isinstance(given.value, float) else str(given.value)
    return value if given.unit == "1" else f"{value} {given.unit}"


def not_applicable(decision: str, places: Sequence[Place]) -> InputError:
    """The fault of asking for what no step in question has."""
    where = places[0].name if len(places) == 1 else "any of these steps"
    media = ", ".join(dict.fromkeys(place.step.media for place in places))
    what = f"does not apply to {where} ({media})" if places else "no step has it, for there is no plan"
    return InputError(Problem(f"{PLACE} --decision", what, decision))
