"""Every error the advisor raises, on one page: a problem has a place, what was given and what is allowed."""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing that is wrong with an input, in words for the person who wrote it.

    `place` is `file:line:column` or a field; `what` the fault as one clause; `given` the value
    found; `allowed` what would be accepted; `nearest` the closest allowed spelling. `kind` is the name of
    the check finding that the fault is, where it has one of its own.

    >>> str(Problem("job.yaml:3:8", "unknown alloy", given="s3160", nearest="s31603"))
    "job.yaml:3:8: unknown alloy, given 's3160'; nearest: s31603"
    """

    place: str
    what: str
    given: str | None = None
    allowed: str | None = None
    nearest: str | None = None
    kind: str | None = None

    def __str__(self) -> str:
        return f"{self.place}: {self.sentence}" if self.place else self.sentence

    @property
    def sentence(self) -> str:
        """The fault without its place."""
        text = self.what
        if self.given is not None:
            text += f", given {shorten(self.given)!r}"
        if self.allowed:
            text += f"; allowed: {self.allowed}"
        if self.nearest:
            text += f"; nearest: {self.nearest}"
        return text


class AdvisorError(Exception):
    """The root: an ordered set of problems, reported together. The command line turns it into exit 2."""

    def __init__(self, problems: Problem | Iterable[Problem]) -> None:
        self.problems: tuple[Problem, ...] = (problems,) if isinstance(problems, Problem) else tuple(problems)
        super().__init__("\n".join(str(problem) for problem in self.problems))


class InputError(AdvisorError):
    """The user's job, sheet, option or path is wrong."""


class KnowledgeError(AdvisorError):
    """The knowledge folder is wrong."""


class EngineError(AdvisorError):
    """The rule engine misbehaved; never the user's fault."""


def nearest(word: str, allowed: Iterable[str], cutoff: float = 0.6) -> str | None:
    """The allowed spelling closest to a word, or None where nothing is close.

    >>> nearest("aluminum-oxide", ["aluminium-oxide", "silicon-carbide"])
    'aluminium-oxide'
    >>> nearest("zzz", ["belt"]) is None
    True
    """
    names = {name.lower(): name for name in allowed}
    found = difflib.get_close_matches(word.lower(), names, n=1, cutoff=cutoff)
    return names[found[0]] if found else None


def listing(options: Sequence[str], limit: int = 12) -> str:
    """Options as one readable line, cut where it would grow too long.

    >>> listing(["a", "b", "c"], limit=2)
    'a, b, ... (3 in all)'
    """
    shown = ", ".join(options[:limit])
    return shown if len(options) <= limit else f"{shown}, ... ({len(options)} in all)"


def shorten(text: str, limit: int = 60) -> str:
    """A value cut to one short line, so that a message never floods the screen.

    >>> shorten("a" * 70, limit=10)
    'aaaaaaa...'
    """
    line = " ".join(text.split())
    return line if len(line) <= limit else line[: limit - 3] + "..."
