"""Measures durable-rules against the plain matcher, so that the choice between them can be looked at again.

`python -m tests.benchmarks.compare_matchers` prints the tables of docs/explanation/inference.md. The
consultations that are timed are those that the demo jobs really make; larger rule bases are generated.
"""

from __future__ import annotations

import random
import sys
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from time import perf_counter

from advisor.inference.engine import Matcher, MatcherMaker
from advisor.inference.matchers import available, matcher_maker
from advisor.inference.plain_matcher import PlainMatcher
from advisor.inference.properties import Conjunction
from advisor.job import read_job
from advisor.knowledge.base import Knowledge
from advisor.knowledge.load import load_knowledge
from advisor.knowledge.locate import demo_jobs
from advisor.recommend import Desk, recommend

NAMES = ("durable-rules", "plain")
GENERATED = (400, 1000, 4000)


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


def measure(make: MatcherMaker, asked: Sequence[tuple[Sequence[Conjunction], Sequence[int]]]) -> Measured:
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


def recorded(knowledge: Knowledge) -> tuple[Recorder, int]:
    """The rule bases and questions of all demo jobs on one desk; and how often a memory was asked instead."""
    recorder = Recorder()
    calls = 0
    desk = Desk(knowledge)
    engine = desk.decider.engine
    desk.close()
    engine.__init__(knowledge, recorder)  # type: ignore[misc]  # the same desk behind the recorder
    remembered: Callable[..., object] = engine.rules

    def counted(place: str, signature: int) -> object:
        nonlocal calls
        calls += 1
        return remembered(place, signature)

    engine.rules = counted  # type: ignore[method-assign,assignment]
    for path in sorted(demo_jobs().glob("*.yaml")):
        recommend(read_job(path, knowledge), desk)
    return recorder, calls


def generated(size: int, seed: int = 1) -> tuple[tuple[Conjunction, ...], tuple[int, ...]]:
    """A random base of `size` rules of two to five tests, and 200 situations that hold a third of the tests."""
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
    for path in sorted(demo_jobs().glob("*.yaml")):
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
    print(f"{len(knowledge.rules)} rules; {calls:,} times a rule was looked for, {questions:,} consultations\n")
    print("| rule base | matcher | compile, ms | one consultation, ms |")
    print("|---|---|---:|---:|")
    bases = [("this knowledge, demo jobs", asked)]
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
