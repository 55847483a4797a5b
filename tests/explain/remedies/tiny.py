"""A shop with three media and a dozen rules, small enough for every pair of changes to be tried one by one."""

from __future__ import annotations

from functools import cache
from typing import Any

from advisor.job import Job, parse_job
from advisor.knowledge.base import Knowledge
from advisor.knowledge.rules import Rule
from tests import invented
from tests.small import rule_text, rules_of

CLEARING = "{stage: clear, defect: casting-skin}"


def _rule(name: str, when: str, then: str, concern: str = "form") -> str:
    return rule_text(
        rule=name, when=when, then=f"[{then}]" if then.startswith("{") else f"[{{{then}}}]", concern=concern,
        examples="[{given: {stage: prepare}, expect: silent}]",
    )  # fmt: skip


RULES = (
    _rule("skin-to-be-cleared", CLEARING, "{should: {media: slack-belt}}, {may: {media: belt}}"),
    _rule("even-belt-on-skin", CLEARING, "should: {media: belt}", "economy"),
    _rule(
        "slack-near-the-sea",
        "{stage: clear, environment: coastal}",
        "never: {media: slack-belt}",
        "corrosion",
    ),
    _rule("slack-on-a-strong-curve", "{stage: clear, part.contour: high}", "never: {media: slack-belt}"),
    _rule("belt-refines", "{stage: refine}", "should: {media: belt}"),
    _rule("web-lays-the-satin", "{stage: finish, finish.texture: satin}", "should: {media: nonwoven-belt}"),
    _rule("corundum-cuts", "{media: [belt, slack-belt, nonwoven-belt]}", "should: {grain: aluminium-oxide}"),
    _rule("skin-is-cut-so-coarse", "{stage: clear}", "should: {grade: {at least: P80, at most: P120}}"),
    _rule("refined-so-fine", "{stage: refine}", "should: {grade: {at least: P180, at most: P240}}"),
)


@cache
def rules() -> tuple[Rule, ...]:
    """The rules, read by the real reader."""
    return rules_of("".join(RULES), invented.knowledge().vocabulary)


@cache
def knowledge() -> Knowledge:
    """The packaged tables cut down to what this shop knows, with the rules of its own."""
    base = invented.knowledge()
    kept = {
        "alloys": ("s31603", "s30400"),
        "defects": ("casting-skin", "machining-marks"),
        "finishes": ("satin-fine", "satin-medium"),
        "media": ("belt", "slack-belt", "nonwoven-belt"),
        "cells": (),
    }
    tables = base.tables.model_copy(
        update={name: {key: getattr(base.tables, name)[key] for key in keys} for name, keys in kept.items()}
    )
    return Knowledge.model_construct(
        vocabulary=base.vocabulary, sources=base.sources, tables=tables, rules=rules(), words=(), fingerprint="",
        layout=(),
    )  # fmt: skip


def job(**fields: Any) -> Job:
    """A strongly curved casting near the sea, worked at two belt grinders."""
    given: dict[str, Any] = {
        "name": "mooring-cleat", "alloy": "s31603", "part": {"contour": "high"}, "environment": "coastal",
        "start": {"defect": "casting-skin", "depth": "0.05 mm"}, "finish": "satin-medium",
        "features": [{"name": "face", "shape": "flat", "width": "60 mm", "area": "90 cm2", "visible": "A"}],
        "cell": {
            "operator": "person", "handling": ["part-in-hand"],
            "stations": [
                {
                    "name": "grinder", "takes": ["belt", "slack-belt", "nonwoven-belt"], "power": "4 kW",
                    "speed": ["600 rpm", "3000 rpm"], "wheel_diameter": "200 mm",
                },
            ],
        },
        "batch": 50,
    }  # fmt: skip
    return parse_job({**given, **fields}, knowledge(), "cleat.yaml")
