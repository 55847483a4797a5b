"""The answers of an interview as a job file that a person can go on with: commented, and valid at once."""

from __future__ import annotations

import json
import re
import textwrap
from collections.abc import Iterator, Sequence

from advisor.ask.answers import Value
from advisor.ask.interview import Answer, Interview, how_to_find_out
from advisor.ask.questions import STAND_INS
from advisor.errors import InputError
from advisor.knowledge.base import Knowledge
from advisor.knowledge.strict_yaml import load, plain

_WIDTH = 100
_WORDS = ("yes", "no", "on", "off", "y", "n", "true", "false", "null", "~")
_NUMBER = re.compile(r"[-+.\d][\d_.,:eExX+-]*$")
_SECTIONS = ("name", "alloy", "part", "start", "features", "finish", "environment", "after", "cell", "batch")
_HEAD = "A job, written by the questions of advisor ask. What nobody knew is left out, with how to find out."
_UNFINISHED = (
    "UNFINISHED: the questions broke off. Add what is missing: name, alloy, start, features, finish, cell."
)


def job_text(interview: Interview, knowledge: Knowledge, finished: bool = True) -> str:
    """The job file as YAML text with comments."""
    lines = [*_comment(_HEAD, 0)] if finished else [*_comment(_UNFINISHED, 0)]
    for section in _SECTIONS:
        given = [answer for answer in interview.answers if _section(answer) == section]
        if section == "features":
            lines += _features(given, interview, knowledge)
        elif section in ("part", "start"):
            lines += _mapping(section, given, interview, knowledge)
        else:
            lines += [line for answer in given for line in _field(answer, section, 0, interview, knowledge)]
    return "\n".join(lines) + "\n"


def _section(answer: Answer) -> str:
    name = answer.asked.field.partition(".")[0].partition("[")[0]
    return "alloy" if name == "metal" else name


def _mapping(
    section: str, given: Sequence[Answer], interview: Interview, knowledge: Knowledge
) -> Iterator[str]:
    if any(answer.value is not None for answer in given):
        yield f"{section}:"
    for answer in given:
        indent = 2 if any(each.value is not None for each in given) else 0
        yield from _field(answer, answer.asked.field.partition(".")[2], indent, interview, knowledge)


def _features(given: Sequence[Answer], interview: Interview, knowledge: Knowledge) -> Iterator[str]:
    if given:
        yield "features:"
    for answer in given:
        key = answer.asked.field.partition("].")[2]
        if key == "name":
            yield from _note(answer, 2, interview, knowledge)
            yield f"  - name: {scalar(str(answer.value))}"
        elif key != "more":
            yield from _field(answer, key, 4, interview, knowledge)


def _field(
    answer: Answer, key: str, indent: int, interview: Interview, knowledge: Knowledge
) -> Iterator[str]:
    yield from _note(answer, indent, interview, knowledge)
    if answer.value is None:
        return
    value: Value | int = answer.value
    if answer.asked.field == "metal":
        key, value = "alloy", STAND_INS[str(answer.value)]
    elif answer.asked.question.kind == "count":
        value = int(str(answer.value))
    yield f"{' ' * indent}{key}: {_written(value)}" + _name_of(answer)


def _note(answer: Answer, indent: int, interview: Interview, knowledge: Knowledge) -> Iterator[str]:
    """The comment above a field that nobody knew."""
    if answer.known or answer.asked.question.kind == "rows":
        return
    title = answer.asked.question.title
    taken = f"{title}: not known" if answer.value is None else f"{title}: not known; this is taken for now"
    yield from _comment(f"{taken}. {how_to_find_out(interview, answer.asked, knowledge)}", indent)


def _name_of(answer: Answer) -> str:
    """The plain name of a row, as a comment behind its key."""
    named = answer.asked.question.kind in ("alloy", "row", "finish")
    if not named or f"{answer.value} (" not in answer.shown:
        return ""
    return "  # " + answer.shown.removeprefix(f"{answer.value} (").partition(")")[0]


def _comment(text: str, indent: int) -> Iterator[str]:
    before = f"{' ' * indent}# "
    yield from textwrap.wrap(
        text, _WIDTH, initial_indent=before, subsequent_indent=before, break_long_words=False
    )


def _written(value: Value | int) -> str:
    if isinstance(value, tuple):
        return f"[{', '.join(scalar(each, inside=True) for each in value)}]"
    return str(value) if isinstance(value, int) else scalar(str(value))


def scalar(text: str, inside: bool = False) -> str:
    """Text as a YAML scalar, in quotes only where some reader of YAML could take it for something else.

    >>> scalar("0.25 mm"), scalar("no"), scalar("1018"), scalar("# one")
    ('0.25 mm', '"no"', '"1018"', '"# one"')
    """
    if text.casefold() not in _WORDS and not _NUMBER.match(text):
        try:
            node = load(f"key: [{text}]" if inside else f"key: {text}", "text").value["key"]
            if plain(node) == ([text] if inside else text):
                return text
        except (InputError, LookupError, TypeError):
            pass
    return json.dumps(text, ensure_ascii=False)
