"""What a check says: a stable code, a place, one sentence, and the page that helps."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from advisor.errors import Problem
from advisor.knowledge.rules import Rule, show_value
from advisor.knowledge.vocabulary import Value

Severity = Literal["error", "warning", "note"]
SEVERITIES: tuple[Severity, ...] = ("error", "warning", "note")
HELP = "docs/reference/check"


@dataclass(frozen=True, slots=True)
class Code:
    """A kind of finding, with the text of its page: what it says, why it matters, how to mend it.

    A code never changes its meaning and is never used again for another. `example` is a rule (or
    several) with the fault, where a rule can show it.
    """

    code: str
    name: str
    severity: Severity
    what: str
    why: str
    mend: str
    example: str | None = None

    @property
    def page(self) -> str:
        """The page in the documents.

        >>> Code("K101", "duplicate-rule", "error", "", "", "").page
        'docs/reference/check/k101-duplicate-rule.md'
        """
        return f"{HELP}/{self.code.lower()}-{self.name}.md"

    def at(
        self, rule: Rule, says: str, *others: Rule, witness: Mapping[str, Value | None] | None = None
    ) -> Finding:
        """A finding at a rule; `others` are the rules that take part in it."""
        return Finding(
            self, rule.place, says, (rule.id, *(other.id for other in others)), dict(witness or {})
        )


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing that is wrong or worth a look. `rules` begins with the rule it stands at.

    `place` is `file`, `file:line` or `file:line:column`; `witness` a situation that shows it; `problem` what
    the loader noted, where it is the loader's.
    """

    code: Code
    place: str
    says: str
    rules: tuple[str, ...] = ()
    witness: Mapping[str, Value | None] = field(default_factory=dict)
    problem: Problem | None = None

    @property
    def spot(self) -> tuple[str, int | None, int | None]:
        """File, line and column of the place.

        >>> code = Code("K101", "duplicate-rule", "error", "", "", "")
        >>> Finding(code, "rules/grain.yaml:12:3", "").spot, Finding(code, "a.yaml", "").spot
        (('rules/grain.yaml', 12, 3), ('a.yaml', None, None))
        """
        file, *rest = self.place.rsplit(":", 2)
        if not all(part.isdigit() for part in rest):
            file, *rest = self.place.rsplit(":", 1)
        if not rest or not all(part.isdigit() for part in rest):
            return self.place, None, None
        numbers = [int(part) for part in rest]
        return file, numbers[0], numbers[1] if len(numbers) > 1 else None


def shown(witness: Mapping[str, Value | None]) -> str:
    """A situation on one line.

    >>> shown({"media": "belt", "cell.wet": True, "depth_mm": None})
    'media belt, cell.wet yes, depth_mm not known'
    """
    return ", ".join(f"{key} {show_value(value)}" for key, value in witness.items())
