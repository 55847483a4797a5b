"""Runs every deep check over a knowledge base and gathers all findings before anybody stops."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass

from advisor.check import (
    allowances,
    conditions,
    contradictions,
    folder,
    repeats,
    sentences,
    silence,
    sources,
    usage,
)
from advisor.check.finding import SEVERITIES, Code, Finding
from advisor.check.meaning import Meaning
from advisor.check.where import Where
from advisor.knowledge.base import Knowledge

#: Checks that look at rules only, and checks that also point into the files.
OF_RULES: tuple[Callable[[Meaning], Iterator[Finding]], ...] = (
    repeats.duplicates,
    repeats.one_condition_apart,
    repeats.swallowed,
    repeats.same_sentences,
    conditions.never_firing,
    conditions.dead_values,
    conditions.idle_unless,
    contradictions.nothing_left,
    contradictions.windows_apart,
    contradictions.two_conclusions,
    sources.from_memory,
    sentences.soft_words,
    sentences.uncarried_numbers,
)
#: Those of them that can find an error, and not only what is doubtful.
WITH_ERRORS: tuple[Callable[[Meaning], Iterator[Finding]], ...] = (
    repeats.duplicates,
    conditions.never_firing,
    conditions.idle_unless,
    contradictions.nothing_left,
    contradictions.two_conclusions,
    sources.from_memory,
)
OF_FILES: tuple[Callable[[Meaning, Where], Iterator[Finding]], ...] = (
    usage.unused_conclusions,
    usage.unused_attributes,
    usage.unadvised_options,
    silence.silent_combinations,
    sources.uncited,
    sentences.uncarried_in_rows,
)


@dataclass(frozen=True, slots=True)
class Outcome:
    """What was found, and what rules break on purpose, each with the reason that they give."""

    findings: tuple[Finding, ...]
    allowed: tuple[tuple[Finding, str], ...]

    def count(self, severity: str) -> int:
        """How many findings there are of a severity."""
        return sum(finding.code.severity == severity for finding in self.findings)


def examine(knowledge: Knowledge, where: Where | None = None) -> Outcome:
    """Every finding, errors first; a rule that breaks a check on purpose says so itself in `allows`."""
    base, places = Meaning(knowledge), where or Where()
    found = [finding for look in OF_RULES for finding in look(base)]
    found += [finding for look in OF_FILES for finding in look(base, places)]
    told = [(finding, allowances.reason_for(finding, knowledge)) for finding in found]
    kept = [finding for finding, reason in told if reason is None]
    kept += allowances.unneeded(base.rules, found, codes())
    return Outcome(
        tuple(in_order(kept)), tuple((finding, reason) for finding, reason in told if reason is not None)
    )


def errors(knowledge: Knowledge) -> tuple[Finding, ...]:
    """The errors alone that `examine` finds, at a tenth of its cost: checks that know none are not run."""
    base = Meaning(knowledge)
    found = [finding for look in WITH_ERRORS for finding in look(base)]
    kept = [finding for finding in found if allowances.reason_for(finding, knowledge) is None]
    kept += allowances.unneeded(base.rules, found, codes())
    return tuple(in_order(finding for finding in kept if finding.code.severity == "error"))


def in_order(findings: Iterable[Finding]) -> list[Finding]:
    """Findings with errors first, then by code and place."""
    return sorted(findings, key=lambda item: (SEVERITIES.index(item.code.severity), item.code.code, item.place))


def codes() -> Mapping[str, Code]:
    """Every kind of finding by its code, in order."""
    modules = (folder, repeats, conditions, contradictions, usage, silence, sources, sentences, allowances)
    kinds = [value for module in modules for value in vars(module).values() if isinstance(value, Code)]
    return {kind.code: kind for kind in sorted(kinds, key=lambda kind: kind.code)}
