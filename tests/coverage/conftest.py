"""A sample of the sweep that several tests look at, swept once."""

from __future__ import annotations

import pytest

from advisor.coverage.answers import Coverage
from advisor.coverage.sweep import sweep
from advisor.knowledge.load import load_knowledge

SAMPLE = 200


@pytest.fixture(scope="session")
def swept() -> Coverage:
    """The answers to a sample of the combinations in all packaged cells, the same sample in every run."""
    return sweep(load_knowledge(), None, sample=SAMPLE, workers=1)
