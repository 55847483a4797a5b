"""The findings that the loader makes: what stops a folder from being used at all, and faults of cases."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from advisor.check.finding import Code, Finding
from advisor.errors import Problem

UNREADABLE = Code(
    "K001", "not-as-declared", "error",
    "A file cannot be read or is not as its schema says: a key, a name or a kind of value that does not exist.",
    "The whole folder is refused: half a knowledge base gives confident wrong answers.",
    "Mend what the message names; it says what was given, what is allowed and the nearest spelling.",
)  # fmt: skip
NO_CASE = Code(
    "K002", "case-missing", "error",
    "A rule lacks an example: one in which it fires, one in which it is silent, or one that its `unless` silences.",
    "A rule without its cases cannot be changed safely.",
    "Write the case that the message names.",
)  # fmt: skip
FAILING_EXAMPLE = Code(
    "K003", "example-does-not-hold", "error",
    "An example expects the rule to fire and it is silent, or the other way about.",
    "Rule and example contradict each other, and nobody can tell which is meant.",
    "Correct the example or the conditions, whichever is wrong.",
)  # fmt: skip
BARE_LIMIT = Code(
    "K004", "limit-without-case", "error",
    "A limit in `when` or `unless` has no example exactly on it, or none just past it.",
    "Whether the limit itself still counts is what goes wrong first when a rule is edited.",
    "Write an example with the very number of the limit and one just past it; all other conditions must hold in "
    "both.",
)  # fmt: skip
TWICE = Code(
    "K105", "id-stands-twice", "error",
    "Two rules have one id, or two rows of a table or of the sources one key.",
    "Whatever names the id could mean either, and one of the two would silently win.",
    "Give the second an id of its own. An id once used is never used again for another rule.",
)  # fmt: skip
OUTSIDE = Code(
    "K206", "value-outside-the-vocabulary", "error",
    "A rule names a value, an option or a number that the vocabulary does not let be.",
    "The condition could never hold, or the advice could never be followed.",
    "Use an allowed value (the message lists them and the nearest spelling), or declare the new one in the "
    "vocabulary or its table.",
)  # fmt: skip
CIRCLE = Code(
    "K305", "overrides-in-a-circle", "error",
    "Rules override each other in a circle, or a rule overrides itself.",
    "Each would strike the other out, so neither would be heard and nobody could say which knows better.",
    "Let the rule that knows better override the other, and take the way back out.",
)  # fmt: skip
WAITING = Code(
    "K306", "rules-wait-in-a-circle", "error",
    "A rule tests something that is decided only after what the rule itself decides.",
    "There is no order in which such rules could speak.",
    "Test what is known before: the message shows the circle, and `order` in the vocabulary the order of decisions.",
)  # fmt: skip
TOO_LATE = Code(
    "K307", "override-too-late", "error",
    "A rule overrides advice that is placed before what the rule tests is known.",
    "The advice has been followed by then and cannot be struck out any more.",
    "Test what is known earlier, or override a rule that speaks later.",
)  # fmt: skip
NOBODY = Code(
    "K308", "overrides-nobody", "error",
    "A rule overrides an id that no rule has.",
    "What was meant to be struck out still speaks.",
    "Correct the id; the message names the nearest one.",
)  # fmt: skip
WEAK = Code(
    "K309", "demand-of-a-weak-concern", "error",
    "A `must` or `never` stands under a concern that may not carry it.",
    "Look and economy may be outweighed; only safety, specification, corrosion and form may forbid or force.",
    "Say it as `should` or `avoid`, or name the concern that really demands it.",
)  # fmt: skip
NO_SOURCE = Code(
    "K603", "source-missing", "error",
    "A rule or a row cites a source that `sources.yaml` does not list.",
    "Nobody can look up what the knowledge rests on.",
    "Correct the key (the message names the nearest one), or add the source with its kind and what of it was seen.",
)  # fmt: skip
CODES = (
    UNREADABLE, NO_CASE, FAILING_EXAMPLE, BARE_LIMIT, TWICE, OUTSIDE, CIRCLE, WAITING, TOO_LATE, NOBODY, WEAK,
    NO_SOURCE,
)  # fmt: skip


def findings_of(problems: Iterable[Problem], by_name: dict[str, Code]) -> Iterator[Finding]:
    """What the loader noted as findings: by the kind it noted, else as not being as declared.

    >>> from advisor.errors import Problem
    >>> (found,) = findings_of([Problem("a.yaml:3", "unknown source", "x", kind="source-missing")],
    ...                        {code.name: code for code in CODES})
    >>> found.code.code, found.place, found.says
    ('K603', 'a.yaml:3', "unknown source, given 'x'")
    """
    for problem in problems:
        yield Finding(by_name.get(problem.kind or "", UNREADABLE), problem.place, problem.sentence, problem=problem)
