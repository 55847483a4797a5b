"""The knowledge as one immutable object, and its fingerprint."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Mapping, Sequence
from functools import cached_property
from typing import Any, Literal

from pydantic import Field

from advisor.knowledge.cell import Cell
from advisor.knowledge.places import Place, place_rules
from advisor.knowledge.reference import (
    Alloy,
    Coefficient,
    Defect,
    Designation,
    Finish,
    Frozen,
    Grade,
    Grain,
    Media,
    Option,
    Row,
    Symptom,
    WheelFace,
)
from advisor.knowledge.rules import Rule
from advisor.knowledge.vocabulary import Vocabulary

#: The names of each place and the rows of the rules that are heard there.
Layout = tuple[tuple[tuple[str, ...], tuple[int, ...]], ...]


class Source(Frozen):
    """Where a rule or number comes from, of what kind it is, and how much of it was seen."""

    key: str
    title: str
    kind: Literal[
        "standard",
        "handbook",
        "association",
        "government",
        "paper",
        "magazine",
        "common-practice",
        "from-memory",
    ]
    seen: Literal["whole", "excerpt", "memory", "none"]
    place: str = ""
    note: str | None = None


class Word(Frozen):
    """A shop word and what it means here."""

    term: str
    means: str
    also: tuple[str, ...] = ()
    see: tuple[str, ...] = ()


class Tables(Frozen):
    """The reference tables, each a mapping from key to row, in the order of its file."""

    alloys: dict[str, Alloy]
    defects: dict[str, Defect]
    finishes: dict[str, Finish]
    designations: dict[str, Designation]
    grains: dict[str, Grain]
    grades: dict[str, Grade]
    media: dict[str, Media]
    backings: dict[str, Option]
    covers: dict[str, Option]
    faces: dict[str, WheelFace]
    builds: dict[str, Option]
    coats: dict[str, Option]
    top_coats: dict[str, Option]
    lubricants: dict[str, Option]
    symptoms: dict[str, Symptom]
    cells: dict[str, Cell]
    coefficients: dict[str, Coefficient]

    def __getitem__(self, table: str) -> Mapping[str, Any]:
        rows: Mapping[str, Any] = getattr(self, table)
        return rows


#: Each table and the model of its rows.
ROW_MODELS: Mapping[str, type[Row]] = {
    "alloys": Alloy,
    "defects": Defect,
    "finishes": Finish,
    "designations": Designation,
    "grains": Grain,
    "grades": Grade,
    "media": Media,
    "backings": Option,
    "covers": Option,
    "faces": WheelFace,
    "builds": Option,
    "coats": Option,
    "top_coats": Option,
    "lubricants": Option,
    "symptoms": Symptom,
    "coefficients": Coefficient,
}


class Knowledge(Frozen):
    """Vocabulary, sources, tables, rules and words, with every name resolved."""

    vocabulary: Vocabulary
    sources: dict[str, Source]
    tables: Tables
    rules: tuple[Rule, ...]
    words: tuple[Word, ...] = Field(default=())
    fingerprint: str = ""
    layout: Layout = ()

    @cached_property
    def rule(self) -> Mapping[str, Rule]:
        """Rules by id."""
        return {rule.id: rule for rule in self.rules}

    @cached_property
    def depth_limits(self) -> tuple[float, ...]:
        """Every depth (mm) at which some rule changes its mind about what is left of a defect."""
        limits = {
            float(condition.operand[0])
            for rule in self.rules
            if rule.status != "retired"
            for condition in (*rule.when, *rule.unless)
            if condition.attribute == "remaining_mm" and condition.operator not in ("known", "in", "not in")
        }
        return tuple(sorted(limits))

    @cached_property
    def places(self) -> tuple[Place, ...]:
        """The stops of the inference, in order; worked out anew only where the loader did not."""
        if not self.layout:
            return place_rules(self.rules, self.vocabulary)[0]
        return tuple(Place(names, tuple(self.rules[row] for row in rows)) for names, rows in self.layout)


    def with_rules(self, rules: Sequence[Rule]) -> Knowledge:
        """The same knowledge with other rules; their order of speaking is worked out anew."""
        return Knowledge(
            vocabulary=self.vocabulary,
            sources=self.sources,
            tables=self.tables,
            rules=tuple(rules),
            words=self.words,
            fingerprint=fingerprint(self.vocabulary, self.sources, self.tables, tuple(rules)),
        )


def layout_of(places: Iterable[Place], rules: Sequence[Rule]) -> Layout:
    """Places as names and rows of the list of rules, so that they can be stored."""
    rows = {rule.id: row for row, rule in enumerate(rules)}
    return tuple((place.names, tuple(rows[rule.id] for rule in place.rules)) for place in places)


def fingerprint(
    vocabulary: Vocabulary, sources: Mapping[str, Source], tables: Tables, rules: tuple[Rule, ...]
) -> str:
    """SHA-256 of the canonical JSON of everything that decides; where a rule stands in its file does not."""
    unplaced: Any = {"place": True, "topic": True, "examples": {"__all__": {"line"}}}
    content = {
        "vocabulary": vocabulary.model_dump(mode="json"),
        "sources": {key: source.model_dump(mode="json") for key, source in sources.items()},
        "tables": tables.model_dump(mode="json"),
        "rules": {rule.id: rule.model_dump(mode="json", exclude=unplaced) for rule in rules},
    }
    text = json.dumps(content, sort_keys=True, ensure_ascii=False, separators=(",", ":"))
    return "sha256:" + hashlib.sha256(text.encode()).hexdigest()
