"""What a sheet recommended as the set-up of a trial, so that only what differed has to be written."""

from __future__ import annotations

from typing import Any

from advisor.errors import InputError, Problem, listing, nearest
from advisor.knowledge.node import Node, from_plain
from advisor.sheet.model import Feature, Sheet
from advisor.sheet.step import Step
from advisor.trials.fields import USED_KEYS
from advisor.units import quantity_text


def filled_in(trial: Node, sheet: Sheet, file: str) -> Node:
    """A trial with the job of a sheet, and with the settings of its step wherever the trial is silent.

    What names another media than the sheet gets no setting of the sheet: they belong to that media.
    Raises InputError where the sheet has no such feature or step.
    """
    items: dict[str, Node] = dict(trial.value) if isinstance(trial.value, dict) else {}
    feature = _feature(items, sheet, file, trial)
    extra = items.get("extra")
    if extra is not None and extra.value is True:  # beyond the sheet: it only says where
        return _on_the_sheets_job(trial, items, sheet, feature)
    step = _step(items, feature, file, trial)
    used = items.get("used")
    own = dict(used.value) if used is not None and isinstance(used.value, dict) else {}
    media = own.get("media")
    recommended = used_of(step) if media is None or media.value == step.media else {}
    place = used or trial
    merged = {
        key: own.get(key) or from_plain(recommended[key])
        for key in (*USED_KEYS,)
        if key in recommended or key in own
    }
    merged |= {
        key: value for key, value in own.items() if key not in merged
    }  # the reader names what is unknown
    keys = {**dict.fromkeys(merged, (place.line, place.column)), **((used.keys or {}) if used else {})}
    items["used"] = Node(merged, place.line, place.column, "", keys)
    return _on_the_sheets_job(trial, items, sheet, feature)


def _on_the_sheets_job(trial: Node, items: dict[str, Node], sheet: Sheet, feature: Feature) -> Node:
    items["job"] = from_plain(dict(sheet.job))
    items["feature"] = items.get("feature") or from_plain(feature.name)
    return Node(items, trial.line, trial.column, "", trial.keys)


def used_of(step: Step) -> dict[str, Any]:
    """The settings of a step of a sheet as the `used` of a trial file."""
    wheel = step.wheel
    figures = {
        "force": (step.force_n, "N"),
        "surface_speed": (step.surface_speed_m_s, "m/s"),
        "feed": (step.feed_mm_s, "mm/s"),
        "wheel_diameter": (wheel.diameter_mm if wheel else None, "mm"),
        "wheel_width": (wheel.width_mm if wheel else None, "mm"),
        "wheel_edge": (wheel.edge_radius_mm if wheel else None, "mm"),
    }
    plain = {
        "media": step.media,
        "grain": step.grain,
        "grade": step.grade,
        "build": step.build,
        "coat": step.coat,
        "top_coat": step.top_coat,
        "backing": step.backing,
        "hardness_shore_a": wheel.hardness_shore_a if wheel else None,
        "wheel_cover": wheel.cover if wheel else None,
        "wheel_face": wheel.face if wheel else None,
        "lubricant": step.lubricant,
        "passes": step.passes,
    }
    found = {key: value for key, value in plain.items() if value is not None}
    found |= {key: quantity_text(value, unit) for key, (value, unit) in figures.items() if value is not None}
    return {key: found[key] for key in USED_KEYS if key in found}


def _feature(items: dict[str, Node], sheet: Sheet, file: str, trial: Node) -> Feature:
    names = [feature.name for feature in sheet.features]
    node = items.get("feature")
    if node is None and len(names) == 1:
        return sheet.features[0]
    if node is None:
        raise InputError(
            Problem(trial.place(file), "a trial names the feature it was made on", None, listing(names))
        )
    wanted = node.raw.strip().casefold()
    for feature in sheet.features:
        if feature.name.casefold() == wanted:
            return feature
    near = nearest(node.raw, names)
    raise InputError(Problem(node.place(file), "feature: not on the sheet", node.raw, listing(names), near))


def _step(items: dict[str, Node], feature: Feature, file: str, trial: Node) -> Step:
    node = items.get("step")
    numbers = [str(step.number) for step in feature.steps]
    if node is None or node.value is None:
        what = "a trial names the step of the sheet that it tried"
        raise InputError(
            Problem(trial.place(file), what, None, listing(numbers) or "none: the sheet has no plan")
        )
    for step in feature.steps:
        if step.number == node.value:
            return step
    what = f"step: the sheet has no such step for {feature.name!r}"
    own = f"; a step of your own that came after step {numbers[-1]} is written step: {numbers[-1]}, extra: true"
    allowed = listing(numbers) + own if numbers else "none: the sheet has no plan"
    raise InputError(Problem(node.place(file), what, node.raw, allowed))
