"""The findings that stop a folder from being used at all: faults of files and of cases."""

from __future__ import annotations

from advisor.check.finding import Code

UNREADABLE = Code(
    "K001", "not-as-declared", "error",
    "A file cannot be read, a name does not exist, a value is not allowed, or rules wait for each other in a circle.",
    "The whole folder is refused: half a knowledge base gives confident wrong answers.",
    "Mend what the message names; it says what was given, what is allowed and the nearest spelling.",
)  # fmt: skip
CASES = Code(
    "K002", "case-missing-or-wrong", "error",
    "An example of a rule does not hold, or a case is missing: one that fires, one that is silent, one on each limit "
    "and one past it, one that each `unless` silences.",
    "A rule without its cases cannot be changed safely.",
    "Write the case, or correct the rule.",
)  # fmt: skip
