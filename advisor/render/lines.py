"""The lines that every printed view says alike: head, answer, refusals and notes."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from advisor.render import words
from advisor.render.quantities import band_text
from advisor.render.speech import Speech
from advisor.render.trail import source_text
from advisor.sheet.model import Band, Blocked, Feature, LearnedValue, Note
from advisor.units import figure

_FINGERPRINT = 12  # characters shown, enough to tell two knowledge bases apart
LAST_WORD = (
    "A starting point for a trial on scrap; local codes, makers' markings and qualified people decide."
)

_MOST_RULES = 4
_MOST_HOLDS = 3


@dataclass(frozen=True)
class Line:
    """What is said, and in few words whom or what it is about and who says it.

    `ids` are the reasons behind it; `faces` is the aside without the rule, for where the ids stand.
    """

    text: str
    aside: str = ""
    ids: tuple[str, ...] = ()
    faces: str = ""


@dataclass(frozen=True)
class Barrier:
    """One thing in the way of a plan: the sentence, its numbers and rule, and what would open it."""

    text: str
    numbers: str
    opens: str | None
    ids: tuple[str, ...]


def title(speech: Speech) -> str:
    """The name of the job."""
    return str(speech.sheet.job.get("name") or "unnamed job")


def fingerprint(speech: Speech) -> str:
    """The knowledge base the sheet was made from, short."""
    return speech.sheet.knowledge.fingerprint.removeprefix("sha256:")[:_FINGERPRINT]


def foot(speech: Speech) -> str:
    """Program, knowledge, and who has the last word."""
    sheet = speech.sheet
    made = f"knowledge {fingerprint(speech)} ({sheet.knowledge.rules} rules)"
    return f"advisor {sheet.program.version}, {made}. {LAST_WORD}"


def cautions(speech: Speech) -> list[Line]:
    """What can hurt or spoil, with its faces and its rule."""
    return notes(speech.sheet.cautions, speech)


def notes(told: Iterable[Note], speech: Speech) -> list[Line]:
    """Sentences with the faces they are for and their rule."""
    return [
        Line(
            words.sentence(speech.prose(note.text)),
            " ".join(filter(None, [_faces(note.features), f"(rule {note.rule})" if note.rule else ""])),
            note.reasons,
            _faces(note.features),
        )
        for note in told
    ]


def _faces(features: tuple[str, ...]) -> str:
    return f"For {', '.join(features)}." if features else ""


def chains(speech: Speech) -> list[tuple[str, str | None]]:
    """Each feature with its chain of steps in a few words, None where there is no plan."""
    return [
        (feature.name, chain((speech.grade(s.grade, s.grade_scale), speech.name(s.media)) for s in feature.steps))
        for feature in speech.sheet.features
    ]


def chain(steps: Iterable[tuple[str, str]]) -> str | None:
    """Steps by grade and media in a few words; media that run on are named once, None where there are none.

    >>> chain([("P80", "belt"), ("P120", "belt"), ("-", "wire wheel")])
    'P80 then P120 belt, then wire wheel'
    """
    runs: list[tuple[list[str], str]] = []
    for grade, media in steps:
        if runs and runs[-1][1] == media and "-" not in (grade, runs[-1][0][-1]):
            runs[-1][0].append(grade)
        else:
            runs.append(([grade], media))
    return ", then ".join(f"{' then '.join(grades)} {media}".removeprefix("- ") for grades, media in runs) or None


def expected(speech: Speech) -> str | None:
    """Time and cost of the whole plan in one sentence, None where nothing is planned."""
    totals = speech.sheet.totals
    said = []
    if totals.time_s is not None:
        said.append(f"{band_text(totals.time_s, 's')} a part")
    if totals.cost is not None:
        said.append(cost_text(totals.cost, totals.currency))
    if not said or not totals.steps:
        return None
    count = f"{totals.steps} {'step' if totals.steps == 1 else 'steps'}"
    return f"The whole plan has {count}: {', '.join(said)}."


def cost_text(cost: Band | float, currency: str | None) -> str:
    """An amount of money, with its band where it has one.

    >>> cost_text(1.62, "EUR")
    '1.62 EUR'
    """
    unit = f" {currency}" if currency else ""
    if isinstance(cost, Band):
        return f"about {figure(cost.expected)}{unit} ({figure(cost.low)} to {figure(cost.high)}{unit})"
    return f"{figure(cost)}{unit}"


def grade_line(speech: Speech) -> str | None:
    """One line on scales for a reader of US units, where any P grade is on the sheet."""
    if speech.system != "us" or not speech.sheet.ansi:
        return None
    return "P grades are of the FEPA scale; ANSI is the nearest grade of the ANSI coated scale, not an equal."


def barriers(feature: Feature, speech: Speech) -> list[Barrier]:
    """What stands in the way of a plan for a face."""
    return [_barrier(entry, speech) for entry in feature.blocked]


def _barrier(entry: Blocked, speech: Speech) -> Barrier:
    numbers = _limit_text(entry)
    said = [f"Limit: {words.sentence(speech.prose(numbers))}"] if numbers else []
    if entry.rule:
        source = f" ({source_text(entry.source, None, speech)})" if entry.source else ""
        said.append(f"Rule {entry.rule}{source}.")
    return Barrier(
        text=words.sentence(speech.prose(entry.text)),
        numbers=" ".join(said),
        opens=words.sentence(speech.prose(entry.opens)) if entry.opens else None,
        ids=entry.reasons,
    )


def _limit_text(blocked: Blocked) -> str | None:
    """The numbers of a broken limit, or None where there are none."""
    if blocked.limit is None or blocked.value is None:
        return None

    def plain(value: object) -> str:
        return figure(value) if isinstance(value, float) else str(value)

    unit = f" {blocked.unit}" if blocked.unit and blocked.unit != "1" else ""
    allowed = blocked.allowed
    limit = " to ".join(plain(each) for each in allowed) if isinstance(allowed, tuple) else plain(allowed)
    ending = "" if allowed is None else f", allowed {limit}{unit}"
    return f"{blocked.limit}: {plain(blocked.value)}{unit}{ending}"


def first_try(speech: Speech) -> list[tuple[str, str]]:
    """The first trial on scrap, with a label to each line."""
    first = speech.sheet.first_try
    if first is None:
        return []
    said = (
        ("Try first", first.start_with),
        ("If that is too weak", first.if_too_weak),
        ("If that is too strong", first.if_too_strong),
        ("Parts to set aside", first.parts_needed),
    )
    return [(label, words.sentence(speech.prose(text))) for label, text in said if text]


def tried_on(speech: Speech) -> str | None:
    """The face that the first trial is made on, where the part has several."""
    first = speech.sheet.first_try
    if first is None or first.feature is None or len(speech.sheet.features) < 2:
        return None
    return first.feature


def assumed(speech: Speech) -> list[tuple[str, str]]:
    """What was taken because nobody said: field and value, then why and how to replace it."""
    said = []
    for entry in speech.sheet.assumed:
        why = [words.sentence(speech.prose(text)) for text in (entry.why, entry.measure) if text]
        said.append((speech.prose(f"{entry.field} = {entry.value}"), " ".join(why)))
    return said


def holds(speech: Speech) -> list[tuple[str, str]]:
    """The few quantities that may be off by the least before the first choice changes, and what draws the limit.

    Then how far all of those may be off that were not found to change anything.
    """
    found = speech.sheet.holds or ()
    told = [hold for hold in found if hold.below or hold.above][:_MOST_HOLDS]
    said = [(speech.prose(hold.text), _drawn_by(hold.rules)) for hold in told]
    still = [hold for hold in found if not (hold.below or hold.above) and hold.low < hold.value < hold.high]
    if still:
        off = min(min(hold.high / hold.value - 1.0, 1.0 - hold.low / hold.value) for hold in still)
        said.append(
            (f"Any one of {len(still)} other quantities may be {100 * off:.0f} % off", "nothing was found to change")
        )
    return said


def _drawn_by(rules: tuple[str, ...]) -> str:
    """The rules that a limit rests on, the first few by name; costs where there is none."""
    if not rules:
        return "no rule draws this limit, the cost of the chains does"
    more = len(rules) - _MOST_RULES
    named = ", ".join(rules[:_MOST_RULES])
    return f"rule{'s' if len(rules) > 1 else ''} {named}{f' and {more} more' if more > 0 else ''}"


def set_ups(speech: Speech) -> list[str]:
    """The batch in one line, then each set-up and the steps it serves."""
    totals, said = speech.sheet.totals, []
    if totals.batch_time_s is not None:
        size = "" if totals.batch is None else f" of {totals.batch}"
        cost = "" if totals.batch_cost is None else _batch_cost(totals.batch_cost, totals.currency)
        said.append(f"The batch{size} takes {band_text(totals.batch_time_s, 's')}{cost}.")
    for one in speech.sheet.operations:
        number = "" if one.number is None else f"Set-up {one.number}: "
        grade = f"{speech.grade(one.grade)} " if one.grade else ""
        station = f" on station {one.station}" if one.station else ""
        mounted = f", {speech.prose(one.set_up)}" if one.set_up else ""
        serves = ", ".join(one.serves)
        said.append(f"{number}{grade}{speech.name(one.media)}{station}{mounted}; serves {serves}.")
        said += [f"Pause: {speech.prose(pause.text)}" for pause in one.pauses]
    return said


def _batch_cost(cost: Band, currency: str | None) -> str:
    return f" and costs {cost_text(cost, currency)}"


def taught(value: LearnedValue) -> str:
    """A value that trials have moved: published and learned side by side, and what the factor rests on."""
    name = {"removal_um": "depth taken off", "ra_um": "Ra", "wear": "parts on one media"}[value.field]
    unit = "parts" if value.field == "wear" else "um"
    said = f"{value.feature}, step {value.step}, {name}: "
    said += f"published {band_text(value.published, unit)}, learned {band_text(value.learned, unit)}; "
    trials = f"{value.trials} trial{'s' if value.trials != 1 else ''}"
    said += f"{figure(value.factor)} times as published ({figure(value.low)} to {figure(value.high)}) in {trials}"
    return f"{said}; beyond what was tried: {'; '.join(value.beyond)}." if value.beyond else f"{said}."


def past(speech: Speech) -> list[tuple[str, str]]:
    """What was tried on jobs like this one: how it ended and how near it is, then what was done."""
    said = []
    for each in speech.sheet.past:
        head = (
            f"{each.feature}: {each.verdict}, {figure(each.points)} points away ({'; '.join(each.because)})"
        )
        found = f"; came out {', '.join(each.found)}" if each.found else ""
        note = f"; {each.note}" if each.note else ""
        tail = f"{each.job}, {each.worked}, {each.step_words}: {each.tried}{found}{note} (trial {each.trial})"
        said.append((head, tail))
    return said
