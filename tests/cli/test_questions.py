"""Questions about what does not exist: one clear message each, what is allowed named, exit 2."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.conftest import Run

WRONG = {
    ("why", "--feature", "outer swep"): ("no such feature", "nearest: outer sweep"),
    ("why", "--step", "44"): ("no such step", "allowed: 1, 2"),
    ("why", "--decision", "backng"): ("no such decision", "nearest: backing"),
    ("why", "--not", "velt"): ("given 'velt'", "such as belt, J, P120"),
    ("what-if", "--change", "start.dept=0.3 mm"): ("unknown key, given 'dept'", "nearest: depth"),
    ("what-if", "--change", "features[outer swep].radius=9 mm"): ("no features of this name", "nearest: outer sweep"),
    ("what-if", "--change", "feature.radius=5 kg"): ("is a mass; a length is needed", "mm"),
    ("what-if", "--change", "feature.radius=5 mm..60 kg"): ("different kinds", "5 mm..60 kg"),
    ("what-if", "--change", "feature.radius=5"): ("a length needs a unit", "mm"),
    ("what-if", "--change", "finish=satin-fin"): ("given 'satin-fin'", "nearest: satin-fine"),
}


@pytest.mark.parametrize("words", WRONG, ids=" ".join)
def test_what_does_not_exist_is_named_with_what_does(run: Run, job: Path, words: tuple[str, ...]) -> None:
    command, *rest = words
    outcome = run(command, str(job), *rest)
    assert (outcome.code, outcome.out, outcome.err.count("\n")) == (2, "", 1), outcome.err
    assert all(part in outcome.err for part in WRONG[words]), outcome.err
