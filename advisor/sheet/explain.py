"""Turns what the pipeline did into reasons: one readable sentence each, with where it comes from."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping

from advisor.choices.model import ListChoice, RangeChoice
from advisor.inference.tests import Situation, conjunction
from advisor.knowledge.base import Knowledge
from advisor.knowledge.rules import Rule, show_value
from advisor.knowledge.vocabulary import Value
from advisor.reasons import Fact, Input, Reason, join_sources, source_words
from advisor.units import figure

_SHOWN = re.compile(r"\{([^{}]+)\}")
_AIM_WORDS = {
    "low": "the lower end",
    "high": "the upper end",
    "middle": "the middle",
    "third": "the lower third",
    "coarse": "the coarse end",
    "fine": "the fine end",
    "may": "what a rule suggests",
}


class Explainer:
    """Makes reasons out of rules, table rows and formulas of one knowledge base."""

    def __init__(self, knowledge: Knowledge) -> None:
        self.knowledge = knowledge

    def ruled(self, rule: Rule, situation: Situation) -> Reason:
        """A rule that fired: its own sentence with the values it matched."""
        facts: dict[str, Fact] = {item.attribute: situation.get(item.attribute) for item in rule.when}
        text = self.sentence(rule.because, situation)
        if rule.unless and conjunction(rule.unless, situation, self.knowledge.vocabulary) == "unknown":
            unknown = [
                self.knowledge.vocabulary.testable[item.attribute].title
                for item in rule.unless
                if situation.get(item.attribute) is None
            ]
            text += f" There are exceptions, and this is not known: {', '.join(dict.fromkeys(unknown))}."
        if rule.status == "on trial":
            text += " This rule is still on trial."
        sources = [item.source for item in rule.source]
        return Reason(
            kind="ruled",
            text=text,
            rule=rule.id,
            facts=facts,
            source=join_sources(sources),
            source_kind=self.kind_of(sources),
        )

    def sentence(self, text: str, situation: Situation) -> str:
        """A rule's sentence with the matched values in the places of their names."""
        return _SHOWN.sub(lambda found: self._shown(situation.get(found.group(1))), text)

    def _shown(self, value: Value | None) -> str:
        if isinstance(value, str):
            return self.name(value)
        return show_value(value)

    def known(self, text: str, sources: Iterable[str]) -> Reason:
        """Something looked up in a table."""
        keys = list(sources)
        return Reason(kind="known", text=text, source=join_sources(keys), source_kind=self.kind_of(keys))

    def derived(
        self, text: str, formula: str, inputs: Mapping[str, Input], gives: Input | None, sources: Iterable[str]
    ) -> Reason:
        """Something calculated: the formula, all that went into it and what came out (None: only draws)."""
        keys = list(sources)
        return Reason(
            kind="derived",
            text=text,
            formula=formula,
            inputs=dict(inputs),
            gives=gives,
            source=join_sources(keys),
            source_kind=self.kind_of(keys),
        )

    def kind_of(self, keys: Iterable[str]) -> str | None:
        """The kinds of some sources in words, each once."""
        rows = [self.knowledge.sources[key] for key in keys if key in self.knowledge.sources]
        return "; ".join(dict.fromkeys(source_words(row.kind, row.seen) for row in rows)) or None

    def name(self, key: str) -> str:
        """The plain name of a key of any table; the key with spaces where there is none."""
        tables = self.knowledge.tables
        for table in ("media", "grains", "alloys", "defects", "finishes", "symptoms"):
            if key in tables[table]:
                return str(tables[table][key].name)
        return key.replace("-", " ")

    # ------------------------------------------------------------------ choices
    def listed(
        self, choice: ListChoice, option: str, situation: Situation, usual_of: str, sources: Iterable[str]
    ) -> tuple[Reason, ...]:
        """Why an option stands: the rules that speak for it, or that it is the usual one."""
        row = choice.of(option)
        reasons = tuple(self.ruled(rule, situation) for rule in row.speaks_for)
        title = self.knowledge.vocabulary.decisions[choice.decision].title
        if row.contested:
            reasons += (
                Reason(
                    kind="chosen",
                    text=f"Rules speak for and against {self.name(option)} as {title} "
                    f"({', '.join(row.contested)}), so that counts for nothing.",
                ),
            )
        if reasons:
            return reasons
        return (
            self.known(
                f"No rule asks for another {title}; {self.name(option)} is usual for a {usual_of}.", sources
            ),
        )

    def ranged(
        self, choice: RangeChoice, situation: Situation, row_name: str, sources: Iterable[str], unit: str
    ) -> tuple[Reason, ...]:
        """Why a window stands, and where in it the value lies."""
        reasons = tuple(self.ruled(rule, situation) for rule in choice.shaped_by)
        if not reasons:
            text = f"The table gives {figure(choice.low)} to {figure(choice.high)} {unit} for a {row_name}."
            reasons = (self.known(text, sources),)
        return (*reasons, self.aim(choice, unit))

    def aim(self, choice: RangeChoice, unit: str) -> Reason:
        """Where in its window a value lies."""
        title = self.knowledge.vocabulary.decisions[choice.decision].title
        window = f"{figure(choice.low)} to {figure(choice.high)} {unit}".rstrip()
        if choice.low == choice.high:
            return Reason(
                kind="chosen",
                text=f"Only {figure(choice.low)} {unit} is left for the {title}.".replace("  ", " "),
            )
        return Reason(kind="chosen", text=f"Inside {window} the {title} aims at {_AIM_WORDS[choice.aim]}.")
