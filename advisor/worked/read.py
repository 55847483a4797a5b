"""A folder of worked jobs becomes frozen models, or a list of everything that is wrong with its files."""

from __future__ import annotations

from pathlib import Path
from typing import cast, get_args

from advisor.errors import InputError, KnowledgeError, Problem
from advisor.job.model import Job
from advisor.job.read import parse_job
from advisor.knowledge.base import Knowledge
from advisor.knowledge.fields import Faults
from advisor.knowledge.strict_yaml import Node, read_file
from advisor.worked.facts import PLAN_FACTS, STEP_FACTS, FactReader
from advisor.worked.model import Expectation, Fact, Selection, Worked

WORKED_KEYS = ("title", "source", "place", "why", "job", "expect")
EXPECTATION_KEYS = ("feature", "step", "among", "must", "may", "never", "why", "source")
_UNPUBLISHED = ("common-practice", "from-memory")


def load_worked(folder: Path, knowledge: Knowledge) -> tuple[Worked, ...]:
    """The worked jobs of a folder, in the order of their file names.

    Raises KnowledgeError with every fault of every file, each as `file:line:column: what`. A folder
    without worked jobs gives none.
    """
    if not folder.is_dir():
        raise KnowledgeError(Problem(str(folder), "not a folder with worked jobs"))
    found: list[Worked] = []
    problems: list[Problem] = []
    titles: dict[str, str] = {}
    for path in sorted(folder.glob("*.yaml")):
        faults = Faults(str(path))
        try:
            worked = read_worked(read_file(path), path.stem, knowledge, faults)
        except InputError as error:
            problems += error.problems
            continue
        problems += faults.found
        if worked is None:
            continue
        if worked.title in titles:
            what = f"two worked jobs of one title; the first is {titles[worked.title]}"
            problems.append(Problem(str(path), what, worked.title))
        titles.setdefault(worked.title, path.name)
        found.append(worked)
    if problems:
        raise KnowledgeError(problems)
    return tuple(found)


def read_worked(node: Node, key: str, knowledge: Knowledge, faults: Faults) -> Worked | None:
    """One worked job; None where a fault was found, which is then in `faults`."""
    entries = faults.mapping(node, "a worked job", WORKED_KEYS)
    if len(entries) < len(WORKED_KEYS):
        return None
    source = _sources(entries["source"], knowledge, faults)
    found_at = _place(entries["place"], source, knowledge, faults)
    title, why = faults.text(entries["title"], "title"), faults.text(entries["why"], "why")
    job: Job | None = None
    try:
        job = parse_job(entries["job"], knowledge, faults.file)
    except InputError as error:
        faults.found += error.problems
    reader = _Expectations(knowledge, faults, job)
    items = faults.items(entries["expect"], "expect")
    if not items and isinstance(entries["expect"].value, list):
        faults.add(entries["expect"], "nothing is expected of the job")
    expect = [reader.expectation(item) for item in items]
    if faults.found or job is None:
        return None
    return Worked(
        key=key,
        title=title,
        source=source,
        found_at=found_at,
        why=why,
        job=job,
        expect=tuple(item for item in expect if item is not None),
    )


def is_published(source: tuple[str, ...], knowledge: Knowledge) -> bool:
    """Whether at least one of the sources is a document, not practice or memory."""
    return any(knowledge.sources[key].kind not in _UNPUBLISHED for key in source if key in knowledge.sources)


def _sources(node: Node, knowledge: Knowledge, faults: Faults) -> tuple[str, ...]:
    items = node.value if isinstance(node.value, list) else [node]
    if not items:
        faults.add(node, "no source is named", tuple(knowledge.sources))
    return tuple(key for item in items if (key := faults.choice(item, "source", knowledge.sources)))


def _place(node: Node, source: tuple[str, ...], knowledge: Knowledge, faults: Faults) -> str | None:
    published = is_published(source, knowledge)
    if node.value is None:
        if published:
            faults.add(node, "place is empty; say where in the source the answer stands")
        return None
    text = faults.text(node, "place")
    if text and source and not published:
        faults.add(node, "practice and memory have no place; leave it null")
    return text or None


class _Expectations:
    """Reads the expectations of one file against the job they speak of."""

    def __init__(self, knowledge: Knowledge, faults: Faults, job: Job | None) -> None:
        self.knowledge = knowledge
        self.faults = faults
        self.facts = FactReader(knowledge, faults)
        self.features = None if job is None else tuple(feature.name for feature in job.features)

    def expectation(self, node: Node) -> Expectation | None:
        faults, before = self.faults, len(self.faults.found)
        optional = [key for key in EXPECTATION_KEYS if key != "why"]
        entries = faults.mapping(node, "an expectation", ("why",), optional)
        step: str | None = None
        if "step" in entries:
            step = faults.choice(entries["step"], "step", get_args(Selection))
        allowed = STEP_FACTS if "step" in entries else PLAN_FACTS
        among = self.facts.facts(entries.get("among"), "among", STEP_FACTS)
        if "among" in entries and "step" not in entries:
            faults.add(entries["among"], "among narrows the steps that `step` selects, and there is no step")
        words = {word: self.facts.facts(entries.get(word), word, allowed) for word in ("must", "may", "never")}
        if entries and not any(word in entries for word in words):
            faults.add(node, "an expectation says what must, may or never comes out", ("must", "may", "never"))
        self.check_may(entries.get("may"), words["may"])
        source = _sources(entries["source"], self.knowledge, faults) if "source" in entries else ()
        values = {
            "place": node.place(faults.file),
            "feature": self.feature(entries.get("feature")),
            "step": cast("Selection | None", step),
            "among": among,
            "why": faults.text(entries.get("why"), "why"),
            "source": source,
            **words,
        }
        return None if len(faults.found) > before else Expectation.model_validate(values)

    def check_may(self, node: Node | None, may: tuple[Fact, ...]) -> None:
        for fact in may:
            if node is not None and fact.kind in ("notes", "flag"):
                self.faults.add(node, f"{fact.name} under may asks nothing", ("must", "never"), fact.text)

    def feature(self, node: Node | None) -> str | None:
        if node is None:
            return None
        if self.features is None:
            return self.faults.text(node, "feature") or None
        return self.faults.choice(node, "feature", self.features) or None
