"""The packaged knowledge, loaded once for these tests."""

from __future__ import annotations

import pytest

from advisor.knowledge.base import Knowledge
from advisor.knowledge.load import load_knowledge


@pytest.fixture(scope="session")
def knowledge() -> Knowledge:
    return load_knowledge()
