"""What every test and every doctest shares: which modules can be imported here, and how hypothesis runs."""

from __future__ import annotations

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
