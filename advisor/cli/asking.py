"""Holds the interview: asks on standard error, reads a line, and answers back."""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path

from advisor.ask.answers import is_dont_know, offers
from advisor.ask.interview import (
    Asked,
    Interview,
    answer,
    back,
    dont_know,
    draft,
    how_to_find_out,
    next_question,
)
from advisor.ask.job_text import job_text
from advisor.cli.layout import paragraph
from advisor.cli.streams import DASH, STANDARD_INPUT, check_output, prompt, say, write_whole
from advisor.errors import InputError, Problem
from advisor.job.model import Job
from advisor.job.read import parse_job
from advisor.knowledge.base import Knowledge

_WELCOME = """\
This takes about two minutes. Answer with a number from the list, a name, or a size with its unit.
Don't know? Press Enter or type ?, and it tells how to find out and goes on. < goes back one question."""
_LONGEST = 10_000
_HARMLESS = ("line", "more")  # kinds of question where a stand-in changes nothing on the metal

Read = Callable[[], str | None]


class _BrokenOffError(Exception):
    """Standard input ended, or somebody broke off, before the last question."""

    def __init__(self, interview: Interview, question: str, interrupted: bool = False) -> None:
        self.interview = interview
        self.question = question
        self.interrupted = interrupted


def check_save(path: str | None) -> None:
    """Refuse early a file that the answers cannot be saved to. Raises InputError."""
    if path is None:
        return
    if path == DASH:
        raise InputError(Problem("--save", "a file name is needed; standard output is for the sheet", path))
    check_output(path)
    if Path(path).exists():
        raise InputError(Problem(path, "is there already and is not overwritten; name a new file for --save"))


def ask_for_job(knowledge: Knowledge, save: str | None, read: Read | None = None) -> Job:
    """Ask everything, show the summary, save the job where that is wanted, and give the job.

    Raises InputError where standard input ends early; what was answered is then saved beside `save`.
    """
    say(_WELCOME)
    try:
        interview = _hold(knowledge, read or typed_line)
    except _BrokenOffError as end:
        if end.interrupted:
            say("\n" + _keep(end.interview, knowledge, save))
            raise KeyboardInterrupt from None
        what = f"ended before this was answered: {end.question}"
        raise InputError(Problem(STANDARD_INPUT, f"{what} {_keep(end.interview, knowledge, save)}")) from None
    if save is not None:
        write_whole(save, job_text(interview, knowledge))
        say(f"The job is saved in {save}.")
    taken = [given for given in interview.answers if not given.known and given.value is not None]
    doubtful = [
        f"{given.asked.question.title}: {given.value}"
        for given in taken
        if given.asked.question.kind not in _HARMLESS
    ]
    if doubtful:
        say(
            paragraph(
                f"Taken for now because nobody knew: {'; '.join(doubtful)}. Find out before the work begins."
            )
        )
    return parse_job(draft(interview), knowledge, "the answers")


def _hold(knowledge: Knowledge, read: Read) -> Interview:
    interview = Interview()
    shown: Asked | None = None
    while True:
        asked = next_question(interview, knowledge)
        try:
            if asked is None:
                _summary(interview)
                prompt("Enter goes on, < changes the last answer: ")
                if (read() or "").strip() != "<":  # nothing more to come is as good as Enter here
                    return interview
                interview, shown = back(interview), None
                continue
            if asked != shown:
                _show(asked, interview, knowledge)
            prompt("> ")
            text = read()
        except KeyboardInterrupt:
            raise _BrokenOffError(interview, "", interrupted=True) from None
        if text is None:
            raise _BrokenOffError(interview, asked.question.asks)
        shown = None if text.strip() == "<" else asked
        interview = _step(interview, asked, text.strip(), knowledge)


def _step(interview: Interview, asked: Asked, text: str, knowledge: Knowledge) -> Interview:
    if text == "<":
        if not interview.answers:
            say("   This is the first question.")
        return back(interview)
    if is_dont_know(text):
        grown, taken = dont_know(interview, asked, knowledge)
        if text or asked.question.kind not in ("rows", "more"):  # there an empty answer is a plain no
            hint = how_to_find_out(interview, asked, knowledge)
            say(paragraph(f"To find out: {hint}", 3, 2) if hint else "")
        say(paragraph(f"For now: {taken.say}", 3, 2))
        return grown
    try:
        grown = answer(interview, asked, text, knowledge)
    except InputError as error:
        for problem in error.problems:
            say(paragraph(f"That does not work: {problem}", 3, 2))
        return interview
    say(f"   {grown.answers[-1].shown}")
    return grown


def _show(asked: Asked, interview: Interview, knowledge: Knowledge) -> None:
    question = asked.question
    say(f"\n{len(interview.answers) + 1}. {question.asks}")
    listed = () if question.kind == "rows" else offers(question, knowledge)
    width = max((len(offer.key) for offer in listed), default=0)
    for number, offer in enumerate(listed, 1):
        says = "" if offer.says == offer.key else f"  {offer.says}"
        say(f"{number:>5}  {offer.key:<{width}}{says}".rstrip())
    if question.like:
        say(f"   ({question.like})")


def _summary(interview: Interview) -> None:
    say("\nThis is what I understood:")
    for given in interview.answers:
        if given.asked.question.kind != "more":
            say(paragraph(f"{given.asked.question.title}: {given.shown}", 2, 2))


def _keep(interview: Interview, knowledge: Knowledge, save: str | None) -> str:
    """Save what was answered beside the file that was wanted, and say where it is."""
    count = len(interview.answers)
    if save is None or not count:
        return "Nothing is saved."
    beside = f"{save}.unfinished"
    write_whole(beside, job_text(interview, knowledge, finished=False))
    return (
        f"The {count} answer{'s' if count > 1 else ''} so far are kept in {beside}, to be completed by hand."
    )


def typed_line() -> str | None:
    """The next line of standard input; None at its end. Raises InputError where it is not text."""
    if sys.stdin is None:
        return None
    try:
        line = sys.stdin.readline(_LONGEST)
    except (UnicodeDecodeError, OSError, ValueError) as error:
        raise InputError(
            Problem(STANDARD_INPUT, f"cannot be read as text ({type(error).__name__})")
        ) from None
    return line if line else None
