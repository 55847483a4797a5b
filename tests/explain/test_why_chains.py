"""Why: every chain of a sheet ends at what was asked or at a source, as a tree and as sentences, as deep as asked."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from advisor.explain.answer import explain
from advisor.explain.link import Link
from advisor.explain.point import Question
from advisor.explain.show import sentences, to_text
from advisor.pipeline import sheet_of, work_out
from tests import invented

NAMES = ("tap-lever", "kettle-seam", "counter-top")
#: What a chain may end in without a source of its own: it is the job's, or the plan's own arithmetic.
_OWN = {"asked", "assumed", "planned", "chosen", "limited", "decided", "exception", "value"}


def chains(name: str, *decisions: str) -> list[Link]:
    found = work_out(invented.job(name), invented.desk())
    sheet = sheet_of(found, invented.knowledge())
    face = found.job.features[0].name
    return [
        link
        for decision in decisions
        for link in explain(Question(face, 1, decision), found, sheet, invented.knowledge())[0]
    ]


def leaves(link: Link) -> Iterator[Link]:
    if not link.because:
        yield link
    for inner in link.because:
        yield from leaves(inner)


@pytest.mark.parametrize("name", NAMES)
def test_every_chain_ends_at_what_was_asked_or_at_a_source(name: str) -> None:
    found = chains(name, "media", "grade", "force", "ra", "removal", "time", "passes")
    ends = [leaf for link in found for leaf in leaves(link)]
    assert len(ends) > 40
    lost = [leaf.what for leaf in ends if leaf.source is None and leaf.kind not in _OWN]
    assert not lost
    assert any(leaf.kind == "asked" for leaf in ends) and any(leaf.source for leaf in ends)


@pytest.mark.parametrize("name", NAMES)
def test_a_number_has_its_formula_inputs_with_units_bands_of_coefficients_and_sources(name: str) -> None:
    (ra,) = chains(name, "ra")
    every = [ra, *_below(ra)]
    assert any(link.equation for link in every)
    coefficients = [link for link in every if link.kind == "coefficient"]
    assert coefficients and all(link.band and link.source for link in coefficients)
    for link in (link for link in every if link.equation):
        for part in link.because:
            assert part.kind == "spread" or part.value is not None
    assert any(link.unit for link in every if isinstance(link.value, float))


def _below(link: Link) -> Iterator[Link]:
    for inner in link.because:
        yield inner
        yield from _below(inner)


def test_it_is_told_as_deep_as_asked_indented_and_in_sentences() -> None:
    (ra,) = chains("tap-lever", "ra")
    texts = [to_text([ra], depth) for depth in range(5)]
    lengths = [len(text) for text in texts]
    assert lengths == sorted(lengths) and len(set(lengths)) >= 3
    for depth, text in enumerate(texts):
        steps = [len(line) - len(line.lstrip()) for line in text.splitlines() if line.lstrip().startswith("- ")]
        assert max(steps, default=-2) <= 2 * (depth - 1)
        assert " ".join(next(iter(sentences(ra))).split()) in " ".join(text.split())
    assert all(each.endswith((".", "!", "?")) for each in sentences(ra))
