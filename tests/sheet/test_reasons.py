"""Reasons are numbered in order of first reference and merged where they are equal."""

from __future__ import annotations

import pytest
from pydantic import ValidationError

from advisor.reasons import Reason, Trail, in_words, join_sources, source_words, split_sources


def _ruled(text: str, **facts: object) -> Reason:
    return Reason.model_validate({"kind": "ruled", "text": text, "rule": "a-rule", "facts": facts})


def test_ids_follow_the_first_reference() -> None:
    trail = Trail()
    late, early = _ruled("Late."), _ruled("Early.")
    assert trail.refer(early) == ("r1",)
    assert trail.refer(late, early) == ("r2", "r1")
    assert [(key, reason.id, reason.text) for key, reason in trail.reasons().items()] == [
        ("r1", "r1", "Early."),
        ("r2", "r2", "Late."),
    ]


def test_one_rule_is_one_reason_with_every_value_it_matched() -> None:
    trail = Trail()
    assert trail.refer(_ruled("Same.", depth_mm=1.0), _ruled("Same.", depth_mm=1.0)) == ("r1",)
    assert trail.reasons()["r1"].facts == {"depth_mm": 1.0}
    assert trail.refer(_ruled("Same.", depth_mm=2.0)) == ("r1",)
    assert trail.reasons()["r1"].facts == {"depth_mm": (1.0, 2.0)}
    assert trail.refer(_ruled("Another value shown.", depth_mm=2.0)) == ("r2",)


@pytest.mark.parametrize(("one", "other"), [(True, 1), (None, False), ("no", False), (1, "1")])
def test_facts_that_python_or_a_reader_could_confuse_stay_apart(one: object, other: object) -> None:
    trail = Trail()
    trail.refer(_ruled("Same.", fact=one), _ruled("Same.", fact=other))
    matched = trail.reasons()["r1"].facts["fact"]
    assert isinstance(matched, tuple)
    assert [(type(value), value) for value in matched] == [(type(one), one), (type(other), other)]


def test_two_trails_do_not_share_anything() -> None:
    first, second = Trail(), Trail()
    first.refer(_ruled("One."))
    assert second.refer(_ruled("Two.")) == ("r1",)
    assert len(second.reasons()) == 1


def test_not_known_and_no_are_different_words() -> None:
    assert len({in_words(None), in_words(False), in_words(()), in_words(True)}) == 4


@pytest.mark.parametrize("kind", ["standard", "handbook", "association", "government", "paper", "magazine"])
def test_a_source_that_was_not_read_says_so(kind: str) -> None:
    assert source_words(kind, "whole") == f"{kind}, read whole"
    for seen in ("memory", "none"):
        assert "check before relying on it" in source_words(kind, seen)


def test_source_keys_survive_joining() -> None:
    keys = ("common-practice", "gent-1958")
    assert split_sources(join_sources(keys)) == keys
    assert split_sources(join_sources(())) == ()


@pytest.mark.parametrize(
    "wrong",
    [
        {"kind": "guessed", "text": "x"},
        {"kind": "ruled", "text": ""},
        {"kind": "ruled", "text": "x", "facts": {"a": float("nan")}},
        {"kind": "ruled", "text": "x", "weight": 0.7},
    ],
)
def test_a_reason_is_refused(wrong: dict[str, object]) -> None:
    with pytest.raises(ValidationError):
        Reason.model_validate(wrong)


def test_a_reason_cannot_be_changed() -> None:
    with pytest.raises(ValidationError):
        _ruled("Fixed.").text = "Changed."
