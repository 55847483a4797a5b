"""What every test and every doctest shares: modules that can be imported here, the cache, hypothesis."""

from __future__ import annotations

import os
import tempfile

import pytest
from hypothesis import HealthCheck, settings

from advisor.inference.matchers import available

# durable-rules does not import on Python 3.13 and later; the module that needs it is then left out.
collect_ignore = [] if available() == "durable-rules" else ["advisor/inference/durable_matcher.py"]

# The same examples in every run, so that a red run can be repeated; no deadline, so that a slow machine
# does not make a test fail.
settings.register_profile(
    "repeatable", derandomize=True, deadline=None, suppress_health_check=[HealthCheck.too_slow], database=None
)
settings.load_profile("repeatable")


def pytest_configure(config: pytest.Config) -> None:
    """Give the run a cache of its own: the user's is neither read nor filled."""
    folder = tempfile.TemporaryDirectory(prefix="advisor-cache-")
    config.add_cleanup(folder.cleanup)
    os.environ["XDG_CACHE_HOME"] = folder.name
