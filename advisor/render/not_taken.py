"""What every printed view says of what was not taken: other chains, advice not followed, options that lost."""

from __future__ import annotations

from dataclasses import dataclass

from advisor.render import words
from advisor.render.lines import chain, cost_text
from advisor.render.quantities import band_text
from advisor.render.speech import Speech
from advisor.sheet.model import Feature, PathRival
from advisor.units import figure

#: What a sheet says of a rival that costs no more than a tie; the heading says it for all.
EQUAL = "equal within a tenth"


@dataclass(frozen=True)
class Loser:
    """An option that lost a decision of a step, and the reasons that say why."""

    where: str
    text: str
    ids: tuple[str, ...]


def other_chains(speech: Speech) -> list[tuple[str, str]]:
    """Each other chain that would do: its face, then its grades, what it costs, and what set it back."""
    return [(rival.feature, _told(rival, speech)) for rival in speech.sheet.rivals]


def _told(rival: PathRival, speech: Speech) -> str:
    said = [_steps_of(rival, speech)]
    if rival.time_band_s is not None or rival.time_s is not None:
        said.append(band_text(rival.time_band_s, "s") if rival.time_band_s else f"{figure(rival.time_s or 0)} s")
    cost = rival.cost_band if rival.cost_band is not None else rival.cost
    said += [cost_text(cost, speech.sheet.totals.currency)] if cost is not None else []
    why = speech.prose(rival.why.removesuffix("."))
    if rival.equal:
        said += ["equal", *(part for part in why.split("; ") if part and part != EQUAL)]
    else:
        said += [words.lost_on(rival.lost_on)] if rival.lost_on else []
        said += [why] if why else []
    return f"{'; '.join(said)}."


def _steps_of(rival: PathRival, speech: Speech) -> str:
    """The steps of another chain, each with its grade and media, since chains may differ in either alone."""
    media, grades = [speech.name(each) for each in rival.media], [speech.grade(each) for each in rival.grades]
    if len(grades) != len(media):  # some media have no grade; then nobody could tell whose it is
        return ", ".join([*grades, *media])
    return chain(zip(grades, media, strict=True)) or "-"


def not_followed(speech: Speech) -> list[tuple[str, str]]:
    """Advice that the cell or the face cannot follow, and rules that disagree, each with its kind."""
    sheet, said = speech.sheet, []
    said += [
        ("Advice this cell or face cannot follow", _about(entry, entry.text, _rule(entry), speech))
        for entry in sheet.hidden_advice
    ]
    for conflict in sheet.conflicts:
        rules = f" (rules {', '.join(conflict.rules)})" if conflict.rules else ""
        said.append(("Rules disagree", _about(conflict, conflict.text, rules, speech)))
    said += [("Passed over", _about(entry, entry.text, _rule(entry), speech)) for entry in sheet.passed_over]
    for entry in sheet.struck:
        by = f", struck by {entry.by}" if entry.by else ""
        rule = f" (rule {entry.rule}{by})" if entry.rule else ""
        said.append(("Struck out", _about(entry, entry.text, rule, speech)))
    return said


def _rule(entry: object) -> str:
    rule = getattr(entry, "rule", None)
    return f" (rule {rule})" if rule else ""


def _about(item: object, text: str, rule: str, speech: Speech) -> str:
    """An entry led by the feature, step and decision it is about; by nothing where it is about the job."""
    feature, step, decision = (getattr(item, key, None) for key in ("feature", "step", "decision"))
    said = [str(feature)] if feature else []
    said += [f"step {step}"] if step is not None else []
    said += [words.name(decision, {})] if decision else []
    where = f"{', '.join(said)}: " if said else ""
    return f"{where}{words.sentence(speech.prose(text))}{rule}"


def losers(feature: Feature, speech: Speech) -> list[Loser]:
    """Why not the other options, step by step."""
    said = []
    for step in feature.steps:
        for rival in step.rivals:
            option = speech.option(rival.decision, rival.option)
            text = f"why not {option} ({speech.name(rival.decision)}): {words.lost_on(rival.lost_on)}."
            if rival.text:
                text += f" {words.sentence(speech.prose(rival.text))}"
            said.append(Loser(f"{feature.name}, step {step.number}", text, rival.reasons))
    return said
