"""Asks for a trial on standard error, one field after another, each read by the reader of trial files."""

from __future__ import annotations

import json
from collections.abc import Callable
from copy import deepcopy
from datetime import datetime
from pathlib import Path
from typing import Any

from advisor.cli.asking import typed_line
from advisor.cli.layout import paragraph
from advisor.cli.streams import STANDARD_INPUT, prompt, say
from advisor.errors import InputError, Problem, nearest
from advisor.knowledge.base import Knowledge
from advisor.sheet.model import Sheet
from advisor.trials.fields import USED_FIELDS
from advisor.trials.from_sheet import used_of
from advisor.trials.questions import DIFFERED, QUESTIONS, Question
from advisor.trials.read import parse_trial
from advisor.trials.store import believed

Read = Callable[[], str | None]
Draft = dict[str, Any]
#: What a step beyond the sheet has to say itself, where its media comes in more than one.
_SAID_BY_NO_SHEET = ("used.grain", "used.grade")
_WELCOME = (
    "One trial is one step on one face. Answer with what was set and found; quantities carry their unit.\n"
    "Not known or not measured? Press Enter. < goes back one question."
)


def ask_for_trial(
    knowledge: Knowledge, sheet: Sheet | None, now: datetime, read: Read | None = None
) -> Draft:
    """The trial as the mapping of a trial file.

    Raises InputError where standard input ends early; what was answered is then shown, so that it is not lost.
    """
    read = read or typed_line
    say(_WELCOME)
    steps: list[tuple[Question, Draft]] = []
    draft: Draft = {} if sheet is None else {"job": dict(sheet.job)}
    questions = [each for each in QUESTIONS if sheet is None or each.field != "job"]
    place = 0
    while place < len(questions):
        question = questions[place]
        from_sheet = sheet is not None and not draft.get("extra")
        if sheet is not None and from_sheet and question.field == "used.media":
            draft = _differed(draft, sheet, knowledge, read)
        if (from_sheet and question.field.startswith("used.")) or not question.when(draft):
            place += 1
            continue
        text = _asked(question, draft, knowledge, read)
        if text == "<":
            if steps:
                before, draft = steps.pop()
                place = questions.index(before)
            continue
        steps.append((question, deepcopy(draft)))
        grown = _answered(question, text, draft, knowledge, now)
        if grown is None:
            steps.pop()
            continue
        draft, place = grown, place + 1
    return draft


def kept_text(draft: Draft) -> str:
    """What was answered as a trial file (JSON is YAML too)."""
    return json.dumps(draft, ensure_ascii=False, indent=1)


def _asked(question: Question, draft: Draft, knowledge: Knowledge, read: Read) -> str:
    like = f" (such as {question.like})" if question.like else ""
    if question.field == "feature":
        like = f" ({', '.join(_features(draft, knowledge))})"
    say(f"\n{question.asks}{like}")
    prompt("> ")
    text = read()
    if text is None:
        say("The answers so far, as a trial file to go on with:\n" + kept_text(draft))
        what = f"ended before this was answered: {question.asks}. Nothing is stored."
        raise InputError(Problem(STANDARD_INPUT, what))
    return text.strip()


def _answered(
    question: Question, text: str, draft: Draft, knowledge: Knowledge, now: datetime
) -> Draft | None:
    """The draft with an answer; None (and what is wrong, said) where it cannot stand."""
    if not text or text == "?":
        of_itself = draft.get("extra") and question.field in _SAID_BY_NO_SHEET
        if question.needed or (of_itself and _problems(draft, question.field, knowledge)):
            say("   This one is needed.")
            return None
        if question.field == "date" and believed(now) is not None:
            return {**draft, "date": now.date().isoformat()}
        return draft
    if question.field == "step":
        grown = _step(draft, text)
    elif question.many:
        grown = _with(draft, question.field, [each.strip() for each in text.split(",") if each.strip()])
    else:
        grown = _with(draft, question.field, _plain(text))
    problems = _problems(grown, question.field, knowledge)
    for problem in problems:
        say(paragraph(f"That does not work: {problem}", 3, 2))
    return None if problems else grown


def _step(draft: Draft, text: str) -> Draft:
    """The step that was named; "after 2" is one of the user's own behind the second of the sheet."""
    plain = {key: value for key, value in draft.items() if key != "extra"}
    behind = text.casefold().startswith("after")
    number = text[len("after") :].removeprefix(" step").strip() if behind else text
    return {**plain, "step": _plain(number), **({"extra": True} if behind else {})}


def _differed(draft: Draft, sheet: Sheet, knowledge: Knowledge, read: Read) -> Draft:
    """The settings of the sheet, with what was set otherwise."""
    feature = next(each for each in sheet.features if each.name == draft["feature"])
    step = next((each for each in feature.steps if each.number == draft["step"]), None)
    if step is None:
        raise InputError(
            Problem("--sheet", f"the sheet has no such step for {feature.name!r}", str(draft["step"]))
        )
    draft = {**draft, "used": used_of(step)}
    say("\nThe sheet says: " + ", ".join(f"{key} {value}" for key, value in draft["used"].items()))
    titles = {field.title: field.key for field in USED_FIELDS} | {
        field.key: field.key for field in USED_FIELDS
    }
    while True:
        text = _asked(DIFFERED, draft, knowledge, read)
        if not text:
            return draft
        key = next(
            (name for name in sorted(titles, key=len, reverse=True) if text.casefold().startswith(name)), None
        )
        if key is None:
            near = nearest(text.split()[0], titles)
            say(f"   Which setting is that? {', '.join(titles.values())}; nearest: {near or 'none'}")
            continue
        grown = _with(draft, f"used.{titles[key]}", _plain(text[len(key) :].strip(" :=")))
        problems = _problems(grown, f"used.{titles[key]}", knowledge)
        for problem in problems:
            say(paragraph(f"That does not work: {problem}", 3, 2))
        draft = draft if problems else grown


def _with(draft: Draft, field: str, value: Any) -> Draft:
    outer, _, inner = field.partition(".")
    if not inner:
        return {**draft, outer: value}
    return {**draft, outer: {**draft.get(outer, {}), inner: value}}


def _plain(text: str) -> Any:
    """A whole number as one, anything else as the text it is."""
    return int(text) if text.isdecimal() and len(text) < 12 else text


def _problems(draft: Draft, field: str, knowledge: Knowledge) -> list[str]:
    """What is wrong with the last answer: the draft is read with stand-ins for what is still to come."""
    if field == "photos":
        return [f"no such file: {photo}" for photo in draft["photos"] if not Path(photo).is_file()]
    used = {"media": next(iter(knowledge.tables.media)), **draft.get("used", {})}
    whole = {"step": 1, "verdict": "pass", **draft, "used": used}
    if "feature" not in draft:
        whole["feature"] = next(iter(_features(draft, knowledge)), "face")
    if "media" not in draft.get("used", {}):
        used.pop("grade", None)
    try:
        parse_trial(whole, knowledge, "")
    except InputError as error:
        name = field.rpartition(".")[2]
        own = [each for each in error.problems if field in each.what or name in each.what or field == "job"]
        return [str(each) for each in own]
    return []


def _features(draft: Draft, knowledge: Knowledge) -> list[str]:
    """The features of the job, as far as it can be read."""
    stand_in = {
        "job": draft.get("job"),
        "feature": "?",
        "step": 1,
        "verdict": "pass",
        "used": {"media": "belt"},
    }
    try:
        parse_trial(stand_in, knowledge, "")
    except InputError as error:
        allowed = next((each.allowed for each in error.problems if "no such feature" in each.what), None)
        return allowed.split(", ") if allowed else []
    return []
