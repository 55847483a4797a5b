"""How the time of `advisor check` grows with the rules; run with `--benchmark-enable`."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from pytest_benchmark.fixture import BenchmarkFixture

from advisor.check.run import examine
from tests.benchmarks.generated_rules import base_of

Note = Callable[[str, BenchmarkFixture], None]


@pytest.mark.parametrize("size", [400, 1000, 3000])
def test_check_of_generated_rules(size: int, benchmark: BenchmarkFixture, note: Note) -> None:
    base = base_of(size)
    outcome = benchmark.pedantic(examine, args=(base,), rounds=2)
    assert outcome.findings
    note(f"check, {size} rules", benchmark)


def test_a_generated_base_is_the_same_every_time_and_as_large_as_asked() -> None:
    assert len(base_of(60).rules) == 60
    assert base_of(60).rules == base_of(60).rules
    assert base_of(60, seed=8).rules != base_of(60).rules
