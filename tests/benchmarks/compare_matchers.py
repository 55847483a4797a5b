"""Measures durable-rules against the plain matcher, so that the choice between them can be looked at again.

`python -m tests.benchmarks.compare_matchers` prints the tables of docs/explanation/inference.md. The
consultations that are timed are those that the demo jobs really make; larger rule bases are generated.
"""

from __future__ import annotations

import random
import sys
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path
from time import perf_counter

from advisor.choices.decide import Decider
from advisor.inference.engine import Engine, Matcher, MatcherMaker
from advisor.inference.matchers import available, matcher_maker
from advisor.inference.plain_matcher import PlainMatcher
from advisor.inference.properties import Conjunction
from advisor.job import read_job
from advisor.knowledge.base import Knowledge
from advisor.knowledge.load import load_knowledge
from advisor.knowledge.locate import demo_jobs
from advisor.knowledge.rules import Rule
from advisor.pipeline import Desk, recommend

NAMES = ("durable-rules", "plain")
GENERATED = (400, 1000, 4000)

Asked = Sequence[tuple[Sequence[Conjunction], Sequence[int]]]


@dataclass
class Recorder:
    """Makes plain matchers that remember what they were asked."""

    made: list[tuple[tuple[Conjunction, ...], list[int]]] = field(default_factory=list)

    def __call__(self, rules: Sequence[Conjunction]) -> Matcher:
        asked: list[int] = []
        self.made.append((tuple(rules), asked))
        inner = PlainMatcher(rules)

        class Recording(PlainMatcher):
            def fire(self, held: int) -> frozenset[int]:
                asked.append(held)
                return inner.fire(held)

        return Recording(rules)


@dataclass(frozen=True)
class Measured:
    """Seconds to compile some rule bases and to answer some consultations, and what was answered."""

    compile_s: float
    consult_s: float
    answers: tuple[frozenset[int], ...]


def measure(make: MatcherMaker, asked: Asked) -> Measured:
    """Compile every rule base, put every question to it, give its memory back."""
    compiling = consulting = 0.0
    answers: list[frozenset[int]] = []
    for rules, masks in asked:
        start = perf_counter()
        matcher = make(rules)
        compiled = perf_counter()
        answers += [matcher.fire(mask) for mask in masks]
        consulting += perf_counter() - compiled
        compiling += compiled - start
        matcher.close()
    return Measured(compiling, consulting, tuple(answers))


class CountingEngine(Engine):
    """An engine that counts how often it is asked, whether it remembers the answer or not."""

    asked = 0

    def rules(self, place: str, signature: int) -> tuple[Rule, ...]:
        """Count, then answer."""
        self.asked += 1
        return super().rules(place, signature)


def recorded(knowledge: Knowledge) -> tuple[Recorder, int]:
    """The rule bases and questions of all demo jobs on one desk, and how often the engine was asked."""
    recorder = Recorder()
    engine = CountingEngine(knowledge, recorder)
    desk = Desk(knowledge, "plain")
    desk.decider = Decider(engine)
    for path in _jobs():
        recommend(read_job(path, knowledge), desk)
    return recorder, engine.asked


def _jobs() -> list[Path]:
    return sorted(demo_jobs().glob("*.yaml"))


def generated(size: int, seed: int = 1) -> tuple[tuple[Conjunction, ...], tuple[int, ...]]:
    """A random base of rules of two to five tests, and 200 situations that hold a third of the tests."""
    chance = random.Random(seed)
    tests = size // 2
    rules = tuple(
        Conjunction(number, sum(1 << bit for bit in chance.sample(range(tests), chance.randint(2, 5))))
        for number in range(size)
    )
    masks = tuple(sum(1 << bit for bit in range(tests) if chance.random() < 0.33) for _ in range(200))
    return rules, masks


def whole_run(knowledge: Knowledge, name: str) -> float:
    """Seconds to recommend for all demo jobs on a fresh desk."""
    desk = Desk(knowledge, name)
    start = perf_counter()
    for path in _jobs():
        recommend(read_job(path, knowledge), desk)
    taken = perf_counter() - start
    desk.close()
    return taken


def main() -> None:
    """Print the tables; ends with 1 where the matchers differ or durable-rules is missing."""
    if available() != "durable-rules":
        sys.exit("durable-rules is not installed here; there is nothing to compare")
    knowledge = load_knowledge()
    recorder, calls = recorded(knowledge)
    asked = [(rules, masks) for rules, masks in recorder.made if masks]
    questions = sum(len(masks) for _, masks in asked)
    print(f"{len(knowledge.rules)} rules in {len(asked)} places. The engine was asked {calls:,} times and")
    print(f"remembered the answer in all but {questions:,} cases, which are the consultations timed here.\n")
    print("| rule base | matcher | compile, ms | one consultation, ms |")
    print("|---|---|---:|---:|")
    bases: list[tuple[str, Asked]] = [("this knowledge, demo jobs", asked)]
    bases += [(f"generated, {size:,} rules", [generated(size)]) for size in GENERATED]
    same = True
    for title, base in bases:
        number = sum(len(masks) for _, masks in base)
        results = {name: measure(matcher_maker(name), base) for name in NAMES}
        same &= results["plain"].answers == results["durable-rules"].answers
        for name, result in results.items():
            each = 1e3 * result.consult_s / number
            print(f"| {title} | {name} | {1e3 * result.compile_s:.1f} | {each:.3f} |")
    print("\n| whole run of the demo jobs | s |\n|---|---:|")
    for name in NAMES:
        print(f"| {name} | {whole_run(knowledge, name):.1f} |")
    print(f"\nanswers: {'all equal' if same else 'DIFFERENT'}")
    sys.exit(0 if same else 1)


if __name__ == "__main__":
    main()
