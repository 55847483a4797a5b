"""Times are taken on demand only, with `--benchmark-enable`; ratios between them are printed at the end."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

HERE = Path(__file__).parent
RATIOS: pytest.StashKey[dict[str, float]] = pytest.StashKey()

#: Ratios to print: what is compared with what, by the names that the tests note their medians under.
COMPARED = (
    ("three faces, unseen : seen", "three faces, unseen", "three faces, seen"),
    ("local defect, unseen : seen", "local defect, unseen", "local defect, seen"),
    ("durable-rules : plain, 320 rules", "durable-rules, 320 rules", "plain, 320 rules"),
    ("durable-rules : plain, 640 rules", "durable-rules, 640 rules", "plain, 640 rules"),
    ("durable-rules : plain, 4000 rules", "durable-rules, 4000 rules", "plain, 4000 rules"),
    ("durable-rules, 4000 : 320 rules", "durable-rules, 4000 rules", "durable-rules, 320 rules"),
    ("plain, 4000 : 320 rules", "plain, 4000 rules", "plain, 320 rules"),
    ("why : recommendation", "why, three faces", "recommendation, three faces"),
    ("why overview : recommendation", "why overview, three faces", "recommendation, three faces"),
    ("why not : recommendation", "why not, three faces", "recommendation, three faces"),
    ("smallest changes, P180 : recommendation", "smallest changes, P180", "recommendation, three faces"),
    ("smallest changes, belt : recommendation", "smallest changes, belt", "recommendation, three faces"),
    ("smallest changes, wax : recommendation", "smallest changes, wax", "recommendation, three faces"),
    ("replay : recommendation", "replay", "recommendation"),
    ("sweep of 396 combinations : one job", "sweep, one family and shape", "three faces, unseen"),
    ("loading 400 rules, cold : cached", "loading 400 rules, cold", "loading 400 rules, cached"),
    ("loading all : 400 rules, cold", "loading all rules, cold", "loading 400 rules, cold"),
    ("advisor demo : bare imports", "advisor demo", "bare imports"),
    ("  sheet to be made", "advisor demo, knowledge known", "bare imports"),
    ("  knowledge to be read as well", "advisor demo, nothing known", "bare imports"),
    ("reading, 20,000 : 2,000 trials", "20,000 trials, stored", "2,000 trials, stored"),
    ("learning, 5000 : 500 trials", "learning, 5000 trials", "learning, 500 trials"),
)

Note = Callable[[str, object], None]


def pytest_configure(config: pytest.Config) -> None:
    """Make room for the medians."""
    config.stash[RATIOS] = {}


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Skip what takes times unless times are wanted: nothing in an ordinary run depends on a clock."""
    if config.getoption("--benchmark-enable", default=False):
        return
    wanted = pytest.mark.skip(reason="times are taken with --benchmark-enable")
    for item in items:
        if HERE in item.path.parents and "benchmark" in getattr(item, "fixturenames", ()):
            item.add_marker(wanted)


@pytest.fixture(scope="session")
def medians(request: pytest.FixtureRequest) -> dict[str, float]:
    """Where the medians are gathered, in seconds."""
    return request.config.stash[RATIOS]


@pytest.fixture
def note(medians: dict[str, float]) -> Note:
    """Keep the median of a benchmark under a name."""

    def keep(name: str, benchmark: object) -> None:
        stats = getattr(benchmark, "stats", None)
        if stats is not None:
            medians[name] = float(stats.stats.median)

    return keep


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter, config: pytest.Config) -> None:
    """Print the medians and the ratios."""
    found = config.stash.get(RATIOS, {})
    if not found:
        return
    terminalreporter.section("medians")
    for name, seconds in found.items():
        terminalreporter.write_line(f"{name:<36} {1e3 * seconds:10.3f} ms")
    terminalreporter.section("ratios")
    for title, over, under in COMPARED:
        if over in found and under in found:
            terminalreporter.write_line(f"{title:<36} {found[over] / found[under]:10.1f}")
