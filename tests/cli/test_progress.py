"""The bar of what takes a while: drawn over itself on a screen, absent from a log."""

from __future__ import annotations

import io

import pytest

from advisor.cli.progress import Bar


class Screen(io.StringIO):
    """Standard error that says it is a screen."""

    def isatty(self) -> bool:
        return True


def test_on_a_screen_each_state_is_drawn_over_the_last(monkeypatch: pytest.MonkeyPatch) -> None:
    screen = Screen()
    monkeypatch.setattr("sys.stderr", screen)
    bar = Bar()
    for done in (0, 1, 2):
        bar(done, 2)
    bar.end()
    states = screen.getvalue().split("\r")[1:]
    assert [state.split("]")[1].split(",")[0] for state in states] == [" 0 of 2", " 1 of 2", " 2 of 2"]
    assert [state.count("#") for state in states] == [0, 15, 30]
    assert screen.getvalue().endswith("\n")


def test_in_a_log_nothing_is_drawn(monkeypatch: pytest.MonkeyPatch) -> None:
    log = io.StringIO()
    monkeypatch.setattr("sys.stderr", log)
    bar = Bar()
    bar(1, 2)
    bar.end()
    assert log.getvalue() == ""


def test_without_standard_error_it_does_no_harm(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("sys.stderr", None)
    bar = Bar()
    bar(1, 2)
    bar.end()
