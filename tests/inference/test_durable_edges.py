"""Each sharp edge of durable-rules 2.0.28 that was seen, and that the one adapter is safe against it.

For every row of the table in the design: what the raw engine does, shown in a process of its own, and
below it what our adapter does in the same place. The first kind only documents; were the engine ever
repaired, it is the note that would be out of date, not the advisor.
"""

from __future__ import annotations

import builtins
import json
import subprocess
import sys
import threading
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from random import Random
from textwrap import dedent
from typing import Any

import pytest

from advisor.errors import EngineError
from advisor.inference import matchers
from advisor.inference.engine import Engine
from advisor.inference.matchers import available, matcher_maker
from advisor.inference.plain_matcher import PlainMatcher
from advisor.inference.properties import Conjunction
from advisor.knowledge.load import load_knowledge

if available() != "durable-rules":
    pytest.skip("durable-rules does not import here (Python 3.13 and later)", allow_module_level=True)

from advisor.inference import durable_matcher
from advisor.inference.durable_matcher import MOST_PROPERTIES, MOST_RULES, DurableMatcher

ROOT = Path(__file__).resolve().parents[2]
CRASHES = pytest.mark.skipif(sys.platform == "win32", reason="a crash is told by a signal")

_RAW = """
import json, sys
from durable import engine
seen = []
class Host(engine.Host):
    def _run(self):
        pass
def rule(expression, name=None, run=None):
    return {"all": expression, "run": run or (lambda context: seen.append(name))}
def host(**rules):
    made = Host()
    made.set_rulesets({"raw": rules})
    return made
def always():
    return rule([{"m": {"p": 1}}], "always")
def error(call):
    try:
        call()
    except Exception as problem:
        return str(problem)
    return "none"
"""


def raw(code: str, seconds: float = 20) -> tuple[int | None, Any]:
    """Exit code and what was printed as JSON by some code on the raw engine; None where it never ended."""
    script = dedent(_RAW) + dedent(code)
    try:
        done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, timeout=seconds)
    except subprocess.TimeoutExpired:
        return None, None
    lines = done.stdout.splitlines()
    return done.returncode, json.loads(lines[-1]) if lines else None


def separate(code: str) -> subprocess.CompletedProcess[str]:
    """Some code on our adapter, in a process of its own, so that a crash would not end the tests."""
    script = (
        "from advisor.errors import EngineError\n"
        "from advisor.inference import durable_matcher\n"
        "from advisor.inference.durable_matcher import DurableMatcher\n"
        "from advisor.inference.properties import Conjunction\n" + dedent(code)
    )
    return subprocess.run(
        [sys.executable, "-c", script], capture_output=True, text=True, timeout=60, cwd=ROOT, check=False
    )


@pytest.fixture
def made() -> Iterator[Any]:
    """Makes matchers and closes them afterwards."""
    open_ones: list[DurableMatcher] = []

    def make(rules: list[Conjunction]) -> DurableMatcher:
        open_ones.append(DurableMatcher(rules))
        return open_ones[-1]

    yield make
    for matcher in open_ones:
        matcher.close()


def drawn(count: int, properties: int, seed: int) -> list[Conjunction]:
    """Random conjunctions of up to five properties."""
    random = Random(seed)
    rules = []
    for number in range(count):
        mask = 0
        for _ in range(random.randint(1, 5)):
            mask |= 1 << random.randrange(properties)
        rules.append(Conjunction(number, mask))
    return rules


# ------------------------------------------------------------------ no negation in the engine


def test_seen_not_depends_on_the_order_of_the_facts() -> None:
    answers = []
    for order in (["a", "b"], ["b", "a"]):
        _, said = raw(f"""
            made = host(r=rule([{{"m": {{"a": 1}}}}, {{"n$not": {{"b": 1}}}}], "fired"), always=always())
            for key in {order}:
                error(lambda: made.assert_fact("raw", {{"sid": "0", key: 1}}))
            print(json.dumps(seen))
        """)
        answers.append(said)
    assert answers == [["fired"], []]  # the same two facts, two answers


def test_seen_neq_misses_a_missing_property() -> None:
    code, said = raw("""
        made = host(r=rule([{"m": {"$neq": {"t": 1}}}], "fired"), always=always())
        made.assert_fact("raw", {"sid": "0", "p": 1})
        print(json.dumps(seen))
    """)
    assert (code, said) == (0, ["always"])


@pytest.mark.slow
def test_seen_nex_alone_loops_for_ever() -> None:
    code, _ = raw(
        """
        made = host(r=rule([{"m": {"$nex": {"t": 1}}}], "fired"))
        made.assert_fact("raw", {"sid": "0", "p": 1})
    """,
        seconds=3,
    )
    assert code is None


def words_in(definition: Any) -> Iterator[tuple[str, Any]]:
    """Every key of a definition with what stands under it, at any depth."""
    if isinstance(definition, dict):
        for key, value in definition.items():
            yield key, value
            yield from words_in(value)
    if isinstance(definition, list):
        for item in definition:
            yield from words_in(item)


def test_so_the_definitions_hold_positive_conjunctions_of_ones_and_nothing_else(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    texts: list[str] = []
    original = durable_matcher.engine.durable_rules_engine.create_ruleset

    def listening(name: str, text: str) -> Any:
        texts.append(text)
        return original(name, text)

    monkeypatch.setattr(durable_matcher.engine.durable_rules_engine, "create_ruleset", listening)
    knowledge = load_knowledge()
    engine = Engine(knowledge, matcher_maker("durable-rules"))
    try:
        for place in knowledge.places:
            engine.consult(place.name, {})
    finally:
        engine.close()
    assert len(texts) > len(knowledge.places) / 2
    for text in texts:
        for name, rule in json.loads(text).items():
            assert name == "always" or name.removeprefix("r").isdigit()
            assert list(rule) == ["all"]
            (pattern,) = rule["all"]  # one pattern a rule: nothing is joined
            (expression,) = pattern.values()
            for key, value in words_in(expression):
                assert (key == "$and" and isinstance(value, list)) or (
                    (key == "p" or key.removeprefix("t").isdigit()) and value == 1
                )


# ------------------------------------------------------------------ only the value 1 goes in


@pytest.mark.parametrize(("value", "operand"), [("''", "1"), ("'58'", "58")])
def test_seen_text_satisfies_a_number(value: str, operand: str) -> None:
    code, said = raw(f"""
        for name in range(20):  # it depends on what the memory held before
            made = Host()
            rules = {{"r": rule([{{"m": {{"t": {operand}}}}}], "fired"), "always": always()}}
            made.set_rulesets({{f"raw{{name}}": rules}})
            made.assert_fact(f"raw{{name}}", {{"sid": "0", "t": {operand}, "p": 1}})
            made.delete_state(f"raw{{name}}", "0")
            seen.clear()
            made.assert_fact(f"raw{{name}}", {{"sid": "0", "t": {value}, "p": 1}})
            if "fired" in seen:
                break
        print(json.dumps(seen))
    """)
    assert code == 0
    if said == ["always"]:
        pytest.skip("the engine got it right this time")
    assert sorted(said) == ["always", "fired"]


@pytest.mark.parametrize(("value", "problem"), [("1e-7", "204"), ("float('inf')", "202")])
def test_seen_some_floats_cannot_be_told(value: str, problem: str) -> None:
    code, said = raw(f"""
        made = host(r=rule([{{"m": {{"$gte": {{"t": 0.5}}}}}}], "fired"), always=always())
        print(json.dumps(error(lambda: made.assert_fact("raw", {{"sid": "0", "t": {value}, "p": 1}}))))
    """)
    assert code != 0 or problem in said


def test_so_only_the_value_one_goes_in(monkeypatch: pytest.MonkeyPatch, made: Any) -> None:
    told: list[dict[str, Any]] = []
    original = durable_matcher._QuietHost.assert_fact

    def listening(self: Any, name: str, fact: dict[str, Any]) -> Any:
        told.append(fact)
        return original(self, name, fact)

    monkeypatch.setattr(durable_matcher._QuietHost, "assert_fact", listening)
    rules = drawn(80, 150, seed=3)
    matcher = made(rules)
    for held in (0, (1 << 150) - 1, 0b1011):
        matcher.fire(held)
    assert told
    for fact in told:
        assert fact.pop("sid") == "0"
        assert all(type(value) is int and value == 1 for value in fact.values())
        assert len(fact) <= MOST_PROPERTIES + 1  # and the one that is always there


# ------------------------------------------------------------------ at most sixty properties, no $or


def test_seen_more_than_64_satisfied_branches_fail_and_the_session_cannot_be_deleted() -> None:
    setting = """
        rules = {f"r{i}": rule([{"m": {f"t{i}": 1}}], i) for i in range(70)}
        made = host(always=always(), **rules)
        fact = {"sid": "0", "p": 1, **{f"t{i}": 1 for i in range(70)}}
        said = error(lambda: made.assert_fact("raw", fact))
        print(json.dumps(said), flush=True)
    """
    code, said = raw(setting)
    assert code == 0
    assert "303" in said
    code, said = raw(
        setting
        + """
        made.delete_state("raw", "0")
    """
    )
    assert "303" in said
    assert code != 0


def test_seen_overlapping_or_fires_twice() -> None:
    code, said = raw("""
        made = host(r=rule([{"m": {"$or": [{"t": 1}, {"u": 1}]}}], "fired"))
        made.assert_fact("raw", {"sid": "0", "t": 1, "u": 1})
        print(json.dumps(seen))
    """)
    assert (code, said) == (0, ["fired", "fired"])


@pytest.mark.parametrize("properties", [MOST_PROPERTIES, MOST_PROPERTIES + 1, 70, 64 * 3, 400])
def test_so_any_number_of_properties_may_hold_at_once(made: Any, properties: int) -> None:
    rules = [Conjunction(number, 1 << number) for number in range(properties)]
    matcher = made(rules)
    assert matcher.fire((1 << properties) - 1) == frozenset(range(properties))
    assert matcher.fire(0) == frozenset()
    assert matcher.fire(1 << (properties - 1)) == {properties - 1}


def test_so_rules_that_overlap_fire_once_and_exactly(made: Any) -> None:
    rules = drawn(300, 200, seed=11)
    matcher, plain = made(rules), PlainMatcher(rules)
    random = Random(12)
    for _ in range(60):
        held = random.getrandbits(200) | random.getrandbits(200)
        assert matcher.fire(held) == plain.fire(held)


def test_so_one_rule_with_more_conditions_than_the_engine_bears_is_refused() -> None:
    with pytest.raises(EngineError, match=f"more than {MOST_PROPERTIES} conditions"):
        DurableMatcher([Conjunction(0, (1 << (MOST_PROPERTIES + 1)) - 1)])


def test_so_error_303_is_an_internal_error_and_the_process_lives() -> None:
    done = separate("""
        durable_matcher.MOST_PROPERTIES = 80  # as if the limit were forgotten
        matcher = DurableMatcher([Conjunction(i, 1 << i) for i in range(70)])
        for held in ((1 << 70) - 1, 1):  # and what failed once is never asked again
            try:
                print(sorted(matcher.fire(held)))
            except EngineError as error:
                print(error)
        matcher.close()
        print("alive")
    """)
    assert done.returncode == 0, done.stderr
    first, second, last = done.stdout.splitlines()
    assert "303" in first
    assert "failed here before" in second
    assert last == "alive"


# ------------------------------------------------------------------ one fact, no joins, one live session


def test_seen_257_rules_with_a_joined_pattern_are_refused() -> None:
    code, said = raw("""
        rules = {f"r{i}": rule([{"a": {"t": 1}}, {"b": {f"u{i}": 1}}], i) for i in range(257)}
        print(json.dumps(error(lambda: host(**rules))))
    """)
    assert code != 0 or "108" in said


def test_seen_257_rules_with_one_property_are_refused() -> None:
    code, said = raw("""
        print(json.dumps(error(lambda: host(**{f"r{i}": rule([{"m": {"t": 1}}], i) for i in range(257)}))))
    """)
    assert code != 0 or "108" in said


def test_seen_a_fact_of_252_properties_is_refused() -> None:
    code, said = raw("""
        made = host(r=rule([{"m": {"t0": 1}}], "fired"))
        fact = {"sid": "0", **{f"t{i}": 1 for i in range(260)}}
        print(json.dumps(error(lambda: made.assert_fact("raw", fact))))
    """)
    assert code != 0 or "302" in said


@CRASHES
def test_seen_1100_live_sessions_end_the_process() -> None:
    code, _ = raw("""
        made = host(always=always())
        for i in range(1100):
            made.assert_fact("raw", {"sid": str(i), "p": 1})
    """)
    assert code != 0


@pytest.mark.parametrize("count", [MOST_RULES, MOST_RULES + 1, 257, 300, 1000])
def test_so_any_number_of_rules_may_share_a_property(made: Any, count: int) -> None:
    alike = made([Conjunction(number, 1) for number in range(count)])
    assert alike.fire(1) == frozenset(range(count))
    assert alike.fire(2) == frozenset()
    sharing = [Conjunction(number, 1 | 2 << number % 50) for number in range(count)]
    matcher, plain = made(sharing), PlainMatcher(sharing)
    for held in (1, 3, 0b1011, (1 << 51) - 1, (1 << 51) - 2):
        assert matcher.fire(held) == plain.fire(held)


def test_so_a_thousand_and_more_consultations_follow_one_another(made: Any) -> None:
    rules = drawn(40, 50, seed=5)
    matcher, plain = made(rules), PlainMatcher(rules)
    random = Random(6)
    for _ in range(1100):
        held = random.getrandbits(50) | random.getrandbits(50)
        assert matcher.fire(held) == plain.fire(held)


def test_so_what_cannot_be_compiled_is_an_internal_error(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(durable_matcher, "MOST_RULES", 400)
    with pytest.raises(EngineError, match="cannot take these rules"):
        DurableMatcher([Conjunction(number, 1) for number in range(300)])


# ------------------------------------------------------------------ a rule that always fires


@CRASHES
def test_seen_deleting_a_session_in_which_nothing_matched_ends_the_process() -> None:
    code, said = raw("""
        made = host(r=rule([{"m": {"t": 1}}], "fired"))
        print(json.dumps(error(lambda: made.assert_fact("raw", {"sid": "0", "q": 1}))), flush=True)
        made.delete_state("raw", "0")
        print(json.dumps("alive"))
    """)
    assert code != 0
    assert said != "alive"


def test_so_a_consultation_in_which_no_rule_fires_is_an_ordinary_one() -> None:
    done = separate("""
        matcher = DurableMatcher([Conjunction(0, 0b11), Conjunction(1, 0b100)])
        print([sorted(matcher.fire(held)) for held in (0, 0b1000, 0b01, 0b11, 0, 0b100)])
    """)
    assert (done.returncode, done.stdout.strip()) == (0, "[[], [], [], [0], [], [1]]"), done.stderr


# ------------------------------------------------------------------ actions take one argument and append


def test_seen_an_action_with_two_parameters_stops_everything() -> None:
    code, said = raw("""
        made = host(r=rule([{"m": {"p": 1}}], run=lambda context, complete: seen.append("first")),
                    always=always())
        made.assert_fact("raw", {"sid": "0", "p": 1})
        print(json.dumps(seen))
    """)
    assert (code, said) == (0, ["first"])


def test_seen_an_exception_in_an_action_is_swallowed_into_the_state() -> None:
    code, said = raw("""
        def bad(context):
            raise ValueError("bad")
        made = host(r=rule([{"m": {"p": 1}}], run=bad))
        made.assert_fact("raw", {"sid": "0", "p": 1})
        print(json.dumps(made.get_state("raw", "0")["exception"]))
    """)
    assert code == 0
    assert "bad" in said


def test_so_an_exception_in_an_action_is_an_internal_error(
    monkeypatch: pytest.MonkeyPatch, made: Any
) -> None:
    def failing(self: Any, number: int) -> Any:
        def record(context: Any) -> None:
            if number == 1:
                raise ValueError("the action failed")
            self._fired.add(number)

        return record

    monkeypatch.setattr(durable_matcher._Ruleset, "_recorder", failing)
    matcher = made([Conjunction(0, 0b1), Conjunction(1, 0b10)])
    assert matcher.fire(0b1) == {0}
    with pytest.raises(EngineError, match=r"failed in an action.*the action failed"):
        matcher.fire(0b11)
    assert matcher.fire(0b1) == {0}  # the session was deleted, so the next one is clean


def test_so_every_action_takes_exactly_one_argument(made: Any) -> None:
    (ruleset,) = made([Conjunction(0, 0b1)])._rulesets
    actions = ruleset._host.get_ruleset(ruleset._name)._actions
    assert {promise._func.__code__.co_argcount for promise in actions.values()} == {1}


# ------------------------------------------------------------------ no polling threads, one lock


def test_seen_a_host_starts_polling_threads() -> None:
    code, said = raw("""
        import threading
        before = threading.active_count()
        engine.Host()
        print(json.dumps(threading.active_count() - before))
    """)
    assert (code, said) == (0, 2)


def test_so_a_matcher_starts_no_thread(made: Any) -> None:
    before = threading.active_count()
    made(drawn(30, 100, seed=1)).fire(1)
    assert threading.active_count() == before


def test_so_eight_threads_get_right_answers_from_one_matcher(made: Any) -> None:
    rules = drawn(120, 150, seed=21)
    matcher, plain = made(rules), PlainMatcher(rules)

    def work(seed: int) -> int:
        random = Random(seed)
        wrong = 0
        for _ in range(60):
            held = random.getrandbits(150) | random.getrandbits(150)
            wrong += matcher.fire(held) != plain.fire(held)
        return wrong

    with ThreadPoolExecutor(8) as pool:
        assert sum(pool.map(work, range(8))) == 0


# ------------------------------------------------------------------ rulesets are given back


@pytest.mark.skipif(not Path("/proc/self/statm").exists(), reason="the memory of a process is not told here")
def test_so_closing_gives_the_memory_back() -> None:
    done = separate("""
        def pages():
            return int(open("/proc/self/statm").read().split()[0])
        def use(count):
            before = pages()
            for _ in range(count):
                matcher = DurableMatcher([Conjunction(i, 1 << i) for i in range(20)])
                matcher.fire(7)
                if closing:
                    matcher.close()
            return pages() - before
        closing = True
        use(10)  # what the first ones take for good
        kept = use(60)
        closing = False
        print(kept, use(60))
    """)
    kept, leaked = map(int, done.stdout.split())
    assert leaked > 0
    assert kept < leaked / 4


def test_so_a_closed_matcher_never_answers_and_may_be_closed_twice() -> None:
    matcher = DurableMatcher([Conjunction(0, 1), Conjunction(1, 0)])
    assert matcher.fire(1) == {0, 1}
    matcher.close()
    matcher.close()
    with pytest.raises(EngineError, match="closed"):
        matcher.fire(1)


def test_so_no_two_rulesets_of_a_process_share_a_name(made: Any) -> None:
    rules = drawn(60, 150, seed=2)
    names = [ruleset._name for _ in range(2) for ruleset in made(rules)._rulesets]
    assert len(names) >= 4
    assert len(set(names)) == len(names)


def test_so_an_engine_that_was_closed_compiles_anew() -> None:
    knowledge = load_knowledge()
    engine = Engine(knowledge, matcher_maker("durable-rules"))
    place = knowledge.places[0].name
    first = engine.rules(place, 0b1)
    engine.close()
    assert engine.rules(place, 0b1) == first
    assert PlainMatcher(engine._stops[place].table.conjunctions).fire(0b111) == {
        knowledge.places[0].rules.index(rule) for rule in engine.rules(place, 0b111)
    }
    engine.close()


# ------------------------------------------------------------------ builtins, and where it cannot be had


def test_seen_the_language_module_replaces_all_and_any() -> None:
    code, said = raw("""
        import builtins
        from durable.lang import *
        print(json.dumps([all is builtins.all, any is builtins.any]))
    """)
    assert (code, said) == (0, [False, False])


def test_so_all_and_any_are_what_they_were() -> None:
    assert builtins.all([True, 1]) is True
    assert builtins.any([0, False]) is False
    done = separate("""
        import builtins, sys
        print(all is builtins.all and any is builtins.any, "durable.lang" in sys.modules)
        print(all([1, 1]), any([0, 0]))
    """)
    assert done.stdout.split() == ["True", "False", "True", "False"]


def test_so_where_the_package_does_not_import_the_plain_matcher_serves(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    original = builtins.__import__

    def refusing(name: str, *rest: Any) -> Any:
        if name.startswith("durable"):
            raise ImportError("no module for this Python")
        return original(name, *rest)

    monkeypatch.setattr(builtins, "__import__", refusing)
    assert matchers.available() == "plain"
    assert isinstance(matcher_maker()([Conjunction(0, 1)]), PlainMatcher)


def test_so_where_the_package_is_not_installed_the_plain_matcher_serves(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(matchers, "find_spec", lambda name: None)
    assert matchers.available() == "plain"


@pytest.mark.parametrize("name", ["plain", "durable-rules"])
def test_a_matcher_can_be_asked_for_by_name(name: str) -> None:
    matcher = matcher_maker(name)([Conjunction(0, 1)])
    assert matcher.name == name
    matcher.close()
