"""What a worked job is: a job, where its answer is known from, and what is expected of the sheet."""

from __future__ import annotations

from typing import Literal

from advisor.job.model import Job
from advisor.knowledge.reference import Frozen
from advisor.knowledge.rules import Span

#: How a fact is judged: a key is one of the options, a number lies in the span, a sentence holds one of
#: the options, every option is found in some sentence of the sheet, a yes or no is the option.
Kind = Literal["key", "number", "words", "notes", "flag"]
Selection = Literal["first", "last", "any", "every", "clear", "refine", "prepare", "finish"]


class Fact(Frozen):
    """One thing that is said of a step or of the plan; `text` is how the file says it."""

    name: str
    kind: Kind
    options: tuple[str, ...] = ()
    span: Span | None = None
    text: str = ""

    def __str__(self) -> str:
        return f"{self.name} {self.text}"


class Expectation(Frozen):
    """What must, may and must not come out, and why.

    `step` selects steps of the feature (of every feature where none is named) out of those that `among`
    leaves: the last of the coated steps, where `among` names the P grades. Without `step` the facts are
    those of the plan as a whole. `source` is empty where the
    worked job's own sources stand behind the expectation too.
    """

    place: str
    feature: str | None = None
    step: Selection | None = None
    among: tuple[Fact, ...] = ()
    must: tuple[Fact, ...] = ()
    may: tuple[Fact, ...] = ()
    never: tuple[Fact, ...] = ()
    why: str
    source: tuple[str, ...] = ()


class Worked(Frozen):
    """A job whose answer is known from somewhere else than this program.

    `key` is the name of its file; `found_at` says where in the source the answer stands, and is None where it
    is trade practice only.
    """

    key: str
    title: str
    source: tuple[str, ...]
    found_at: str | None
    why: str
    job: Job
    expect: tuple[Expectation, ...]
