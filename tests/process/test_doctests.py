"""Every worked example in a docstring of the process formulas is run."""

from __future__ import annotations

import doctest
import importlib
import pkgutil

import pytest

import advisor.process

MODULES = sorted(found.name for found in pkgutil.iter_modules(advisor.process.__path__, "advisor.process."))


def test_the_modules_are_found() -> None:
    assert {"advisor.process.contact", "advisor.process.speed"} <= set(MODULES)


@pytest.mark.parametrize("name", MODULES)
def test_examples(name: str) -> None:
    outcome = doctest.testmod(importlib.import_module(name))
    assert outcome.attempted > 0
    assert outcome.failed == 0


@pytest.mark.parametrize("name", MODULES)
def test_every_public_formula_has_an_example(name: str) -> None:
    module = importlib.import_module(name)
    for title, thing in vars(module).items():
        if callable(thing) and getattr(thing, "__module__", "") == name and not isinstance(thing, type):
            assert title.startswith("_") or ">>>" in (thing.__doc__ or ""), title
