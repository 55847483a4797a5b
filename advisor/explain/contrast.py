"""Why not that: how an option stood against the one taken, what kept it out, what it would have cost."""

from __future__ import annotations

from advisor.choices.model import ListChoice, OptionStanding, RangeChoice
from advisor.explain.again import taken
from advisor.explain.forced import Wish, forbidden, forced_path, outside, place_of
from advisor.explain.link import Link
from advisor.explain.origins import Origins
from advisor.explain.point import Place
from advisor.explain.standing import behind, behind_text, spoken_links
from advisor.explain.words import place_words, span_words
from advisor.figures.coefficients import Draws
from advisor.job.write import canonical_json
from advisor.knowledge.base import Knowledge
from advisor.knowledge.reference import Frozen
from advisor.knowledge.rules import Rule
from advisor.knowledge.vocabulary import Value
from advisor.numbers.path_bands import path_bands
from advisor.pipeline import WorkedOut
from advisor.sequence.candidates import offered_media
from advisor.sequence.paths import EQUAL, Path
from advisor.units import figure


class Cost(Frozen):
    """What a chain with the option in it would have cost, beside the one taken; None where there is none."""

    admissible: bool
    chain: tuple[str, ...] = ()
    time_s: float | None = None
    time_more_s: float | None = None
    cost_more: float | None = None
    currency: str | None = None
    ra_um: float | None = None
    ra_taken_um: float | None = None
    text: str


class Contrast(Frozen):
    """The answer to "why not that": in links for reading, and the cost as figures.

    `step` is 0 for the handling and on a face without a plan; `stage` is empty for the handling.
    """

    feature: str
    step: int
    stage: str = ""
    decision: str
    option: Value
    instead_of: Value | None
    links: tuple[Link, ...]
    cost: Cost


def contrast(place: Place, decision: str, option: Value, found: WorkedOut, knowledge: Knowledge) -> Contrast:
    """How an option stood in a decision of a step, and what taking it would have meant."""
    origins = Origins.of_step(found, knowledge, place.plan, place.planned)
    choice = taken(place, decision)
    wish = Wish(place.step.stage, decision, option)
    links: list[Link] = []
    if isinstance(choice, ListChoice):
        links += _against_list(place, choice, str(option), origins)
    elif isinstance(choice, RangeChoice):
        links += _against_range(place, choice, option, origins)
    cost = _cost(place, wish, found, origins)
    links.append(Link(what="what it would have cost", text=cost.text, kind="derived"))
    return Contrast(
        feature=place.feature.name,
        step=place.step.number,
        stage=place.step.stage,
        decision=decision,
        option=option,
        instead_of=place.planned.candidate.values.get(decision),
        links=tuple(links),
        cost=cost,
    )


def contrast_handling(option: str, found: WorkedOut, knowledge: Knowledge) -> Contrast:
    """How a handling stood; its cost is that of another cell, and asked of `what-if`."""
    origins, choice = Origins.of_job(found, knowledge), found.handling
    best = choice.of(str(choice.winner))
    row = next((row for row in choice.options if row.option == option), None)
    links: list[Link] = []
    if row is None:
        text = f"The cell does not allow {option.replace('-', ' ')} (cell.handling)."
        links.append(Link(what="limit of the cell", text=text, kind="limited"))
    elif row.option != best.option:
        text = behind_text(behind(choice, row, best), choice, row, best, origins)
        links.append(Link(what="where it fell behind", text=text, kind="chosen"))
        links += _spoken(choice, row, best, option, origins)
    text = f"Ask for it: advisor what-if JOB --change cell.handling=[{option}]."
    return Contrast(
        feature=found.job.features[0].name,
        step=0,
        decision="handling",
        option=option,
        instead_of=choice.winner,
        links=tuple(links),
        cost=Cost(admissible=row is not None, text=text),
    )


# ---------------------------------------------------------------------- standing
def _against_list(place: Place, choice: ListChoice, option: str, origins: Origins) -> list[Link]:
    value = str(place.planned.candidate.values.get(choice.decision))
    best, name = choice.of(value), origins.explain.name
    row = next((row for row in choice.options if row.option == option), None)
    if row is None:
        return [_not_offered(place, choice, option, origins), *_spoken(choice, None, best, option, origins)]
    if row.option == best.option:
        return [Link(what="taken", text=f"{name(option)} is what this step takes.", kind="value")]
    at = behind(choice, row, best)
    text = behind_text(at, choice, row, best, origins)
    first = Link(
        what="where it fell behind",
        text=text,
        kind="chosen",
        because=spoken_links(at.rules, choice.decision, (best.option, option), origins),
    )
    return [first, *_spoken(choice, row, best, option, origins)]


def _spoken(
    choice: ListChoice, row: OptionStanding | None, best: OptionStanding, option: str, origins: Origins
) -> list[Link]:
    """Who speaks for and against the option, and for and against the one taken."""
    name = origins.explain.name
    hidden = tuple(item.rule for item in choice.hidden if option in item.advice.options)
    groups: tuple[tuple[str, str, tuple[Rule, ...]], ...] = (
        (f"for {name(option)}", option, row.speaks_for if row else hidden),
        (f"against {name(option)}", option, row.speaks_against if row else ()),
        (f"for {name(best.option)}", best.option, best.speaks_for),
        (f"against {name(best.option)}", best.option, best.speaks_against),
    )
    links = []
    for what, about, rules in groups:
        inner = spoken_links(rules, choice.decision, (about,), origins)
        text = f"{len(rules)} rule{'s' if len(rules) != 1 else ''}." if rules else "No rule."
        links.append(Link(what=what, text=text, kind="chosen", because=inner))
    return links


def _not_offered(place: Place, choice: ListChoice, option: str, origins: Origins) -> Link:
    """The limit of cell, table or face that keeps an option out before any rule speaks."""
    name = origins.explain.name(option)
    if choice.decision == "media":
        _, refused = offered_media(place.plan.desk.at(place.planned.defect), place.step.stage)
        for item in (*refused, *place.plan.not_runnable):
            if item.media == option:
                return Link(what=f"limit: {item.limit}", text=item.text, kind="limited")
    media = place.planned.candidate.tool.media
    title = origins.knowledge.vocabulary.decisions[choice.decision].title
    station = place.planned.candidate.tool.station.name
    text = f"{name} cannot be had as {title} for a {media.name} on {station}."
    return Link(what="limit: not to be had", text=text, kind="limited")


def _against_range(place: Place, choice: RangeChoice, option: Value, origins: Origins) -> list[Link]:
    knowledge, scale = origins.knowledge, place.planned.candidate.tool.media.scale
    vocabulary, decision = knowledge.vocabulary, choice.decision
    unit = vocabulary.decisions[decision].unit or ""
    low, high = (place_words(choice, end, unit, scale, knowledge) for end in (choice.low, choice.high))
    value = place_of(option, decision, vocabulary, scale)
    told = option if isinstance(option, str) else f"{figure(float(option))} {unit}".rstrip()
    if value is None:
        text = f"{told} does not exist for a {place.planned.candidate.tool.media.name}."
        return [Link(what="limit: not to be had", text=text, kind="limited")]
    against = [
        rule
        for rule in choice.shaped_by
        if any(
            item.decision == decision and item.strength != "may" and outside(item, value, vocabulary)
            for item in rule.advice()
            if item.span is not None or item.options
        )
    ]
    if choice.low - 1e-9 <= value <= choice.high + 1e-9:
        text = f"{told} lies in the window that the rules leave, {low} to {high}; "
        text += (
            "the cost of the whole chain decides between the grades in it."
            if decision == "grade"
            else f"the value taken is {place_words(choice, choice.value, unit, scale, knowledge)}."
        )
    elif forbidden(choice, value, vocabulary):
        text = f"{told} is forbidden: the window is {low} to {high}."
    elif against:
        text = f"{told} lies outside the window that the rules leave, {low} to {high}."
    else:
        text = f"{told} lies outside what the table, the cell and the face leave, {low} to {high}."
    links = [Link(what="where it fell behind", text=text, kind="chosen")]
    for what, rules in (
        ("against it", against),
        ("not against it", [r for r in choice.shaped_by if r not in against]),
    ):
        inner = tuple(
            origins.rule(
                rule,
                "; ".join(
                    f"{item.strength}: {span_words(item, unit, knowledge)}"
                    for item in rule.advice()
                    if item.decision == decision
                ),
            )
            for rule in rules
        )
        count = f"{len(rules)} rule{'s' if len(rules) != 1 else ''}." if rules else "No rule."
        links.append(Link(what=what, text=count, kind="chosen", because=inner))
    return links


# ---------------------------------------------------------------------- cost
def _cost(place: Place, wish: Wish, found: WorkedOut, origins: Origins) -> Cost:
    """The cheapest chain of this face with the option in it, beside the chain taken."""
    plan = place.plan
    if wish.met_in(plan.path):
        return Cost(
            admissible=True,
            text="Nothing: it is what is taken."
            if wish.met_by(place.planned.candidate)
            else f"Nothing: another step of this face takes it to {wish.stage} already.",
        )
    path = forced_path(plan, wish)
    told = (
        origins.explain.name(str(wish.option)) if isinstance(wish.option, str) else figure(float(wish.option))
    )
    if not path:
        return Cost(admissible=False, text=_no_chain(place, wish, told, origins))
    drawn = Draws(canonical_json(found.job))
    mine, theirs = (path_bands(plan.desk, each, drawn) for each in (path, plan.path))
    more = mine.time_s.expected - theirs.time_s.expected
    rates = found.job.cell.rates
    money = sum(step.cost for step in path) - sum(step.cost for step in plan.path) if rates else None
    ra, ra_taken = mine.steps[-1].ra_um.expected, theirs.steps[-1].ra_um.expected
    chain = tuple(_step_words(path))
    text = (
        f"{', '.join(chain)}: {figure(mine.time_s.expected)} s for this face, "
        f"{figure(abs(more))} s {'more' if more >= 0 else 'less'} than the chain taken"
    )
    if money is not None and rates is not None:
        text += f", {figure(abs(money))} {rates.currency} {'more' if money >= 0 else 'less'} a part"
    text += f"; it ends at Ra {figure(ra)} um instead of {figure(ra_taken)} um."
    dearer, paid = sum(step.cost for step in path), sum(step.cost for step in plan.path)
    if dearer <= paid * EQUAL:
        text += (
            " Chains within a tenth of the cheapest count as equal: of those the one with the fewest steps, then "
            "the finest start, is taken."
        )
    return Cost(
        admissible=True,
        chain=chain,
        time_s=mine.time_s.expected,
        time_more_s=more,
        cost_more=money,
        currency=rates.currency if rates else None,
        ra_um=ra,
        ra_taken_um=ra_taken,
        text=text,
    )


def _no_chain(place: Place, wish: Wish, told: str, origins: Origins) -> str:
    """Why nothing can be compared: a limit, a rule, or the chains themselves."""
    choice, here = taken(place, wish.decision), f"takes {told} to {wish.stage} here"
    row = None
    if isinstance(choice, ListChoice):
        row = next((row for row in choice.options if row.option == wish.option), None)
        if row is None:
            return f"No chain {here}: the limit above comes before any cost."
        if row.standing == "removed":
            return f"No chain {here}: the rules above forbid it, whatever it costs."
    elif isinstance(choice, RangeChoice):
        vocabulary = origins.knowledge.vocabulary
        value = place_of(wish.option, wish.decision, vocabulary, place.planned.candidate.tool.media.scale)
        if value is not None and forbidden(choice, value, vocabulary):
            return f"No chain {here}: the rules above forbid it, whatever it costs."
    band = f"{figure(place.plan.feature.finish.ra_low_um)} to {figure(place.plan.feature.finish.ra_high_um)}"
    return (
        f"No chain that {here} was found, even with every advice of the rules let go: none ends inside Ra {band} um "
        "within the limits of cell and media."
    )


def _step_words(path: Path) -> list[str]:
    return [
        f"{step.candidate.grade.key} {step.candidate.tool.media.name}"
        if step.candidate.grade
        else step.candidate.tool.media.name
        for step in path
    ]
