"""One rule as a page that reads from top to bottom: when, then, why, where it misleads, who says so."""

from __future__ import annotations

import difflib
from collections.abc import Sequence

from advisor.catalogue.sentences import condition_line, consequence_line, example_line, source_line
from advisor.cli.layout import page, paragraph, section
from advisor.errors import InputError, Problem
from advisor.knowledge.base import Knowledge
from advisor.knowledge.rules import Rule


def find_rule(identity: str, knowledge: Knowledge) -> Rule:
    """The rule of an id. Raises InputError with the nearest ids."""
    wanted = identity.strip().casefold()
    if wanted in knowledge.rule:
        return knowledge.rule[wanted]
    near = difflib.get_close_matches(wanted, knowledge.rule, n=4, cutoff=0.55)
    near += [each for each in knowledge.rule if wanted and wanted in each and each not in near][
        : 5 - len(near)
    ]
    allowed = f"an id of the {len(knowledge.rules):,} rules, as the sheet names it"
    raise InputError(Problem("advisor rule", "no such rule", identity, allowed, ", ".join(near) or None))


def rule_page(rule: Rule, knowledge: Knowledge, record: Sequence[str] = ()) -> str:
    """The rule as plain text; `record` says how its advice went in a trial log."""
    vocabulary = knowledge.vocabulary
    by = [other.id for other in knowledge.rules if rule.id in other.overrides]
    standing = [
        f"Status: {rule.status}",
        f"concern: {rule.concern}",
        f"topic: {rule.topic.replace('-', ' ')}",
    ]
    return page(
        [
            f"{rule.id}\n{paragraph(rule.title)}\n{'; '.join(standing)}",
            section("When", (condition_line(item, vocabulary) for item in rule.when)),
            section("Unless", (condition_line(item, vocabulary) for item in rule.unless)),
            section("Then", (consequence_line(item, vocabulary) for item in rule.then)),
            section("Because", [rule.because]),
            section("Not for", [rule.not_for]),
            section("Overrides", rule.overrides),
            section("Is overridden by", by),
            section("Sources", (source_line(c.source, c.place, knowledge) for c in rule.source)),
            section("Evidence", rule.evidence),
            section("Track record", record),
            section("Examples", (example_line(item) for item in rule.examples)),
            f"Written in rules/{rule.topic}.yaml, line {rule.place.split(':')[-2]}",
        ]
    )
