"""Passes and feed as terms: how often a spot is gone over, and how fast, so that the stock comes off exactly."""

from __future__ import annotations

import math

from advisor.explain.results import Results
from advisor.explain.terms import SOURCES, Term, Terms
from advisor.process import timing


def passes(results: Results) -> Term | None:
    """The whole passes; None for a strip and for a blend, whose passes are counted out one by one."""
    step = results.step
    if step.kind == "blend" or step.local:
        return None
    window, setup, cutting = step.received["passes"], step.candidate.setup, results.cutting
    least = max(1, math.ceil(window.low - 1e-9))
    fixed = step.candidate.effect.fixed_depth is not None
    planned = Terms.given("planned feed", "f0", "mm/s", setup.feed * 1e3)
    stock = _stock(results)
    found = Terms.formula(
        "whole_passes", "passes", "N", "1", "max(N0, ceil(G / (z * x) - 1e-9))",
        lambda n, g, z, x: max(n, timing.whole_passes(g, z * x)),
        (
            Terms.given("fewest passes", "N0", "1", least, "What the rules and the table of media ask at least."),
            stock, cutting.depth(cutting.feed() if fixed else planned), cutting.lap(),
        ),
        "Whole passes that take the stock; each spot is gone over so often.", SOURCES["stock_to_erase"],
    )  # fmt: skip
    if round(found.value) == step.passes:
        return found
    text = (
        f"At the planned feed {round(found.value)} passes would be needed, more than the {int(window.high)} allowed: "
        "all of them are taken and the feed is slowed."
    )
    return Terms.given("passes", "N", "1", step.passes, text)


def feed(results: Results) -> Term | None:
    """The trimmed feed; None where the depth of a pass does not go with it, and on a strip."""
    step, cutting = results.step, results.cutting
    if step.kind == "blend" or step.local or step.candidate.effect.fixed_depth is not None:
        return None
    setup = step.candidate.setup
    planned = Terms.given("planned feed", "f0", "mm/s", setup.feed * 1e3)
    slow, fast = (
        Terms.given(f"{word} feed of the window", symbol, "mm/s", end * 1e3)
        for word, symbol, end in (
            ("slowest", "f1", setup.slowest_feed),
            ("fastest", "f2", setup.fastest_feed),
        )
    )
    return Terms.formula(
        "trimmed_feed", "feed", "f", "mm/s", "max(f1, min(f2, f0 * N * z * x / G))",
        lambda low, high, f, n, z, x, g: max(low, min(high, f * n * z * x / g)),
        (slow, fast, planned, results.passes(), cutting.depth(planned), cutting.lap(), _stock(results)),
        "The depth of a pass goes with one over the feed: at this feed the whole passes take exactly the stock.",
        SOURCES["stock_to_erase"],
    )  # fmt: skip


def _stock(results: Results) -> Term:
    text = "What has to come off, with every coefficient as expected."
    return Terms.given("stock that has to come off", "G", "um", results.step.need * 1e6, text)
