"""The sections of a trial file that need nothing but the file: what was measured, how, when and by whom."""

from __future__ import annotations

from datetime import date

from advisor.errors import listing, nearest
from advisor.job.model import Job
from advisor.knowledge.entries import Fields
from advisor.knowledge.strict_yaml import Node
from advisor.trials.model import Measured, RoughnessReading
from advisor.trials.stored import DAY, FIRST_DAY, LONGEST_NOTE, MOMENT, MOST_STEPS


def inner(fields: Fields, node: Node, name: str, keys: tuple[str, ...], what: str) -> Fields | None:
    """The fields of a mapping inside the trial."""
    return Fields.of(node, name, fields.file, fields.problems, keys, what)


def section(fields: Fields, name: str, keys: tuple[str, ...], what: str) -> Fields | None:
    """The fields of an optional section."""
    node = fields.get(name)
    return None if node is None else inner(fields, node, name, keys, what)


def feature(fields: Fields, job: Job | None) -> str | None:
    """The feature as the job spells it; the only one need not be named."""
    names = () if job is None else tuple(item.name for item in job.features)
    if len(names) == 1 and fields.get("feature") is None:
        return names[0]
    if fields.require("feature", "a trial names the feature it was made on", listing(names) or None) is None:
        return None
    text = fields.text("feature")
    if text is None or job is None:
        return None
    for name in names:
        if name.casefold() == text.casefold():
            return name
    what = f"the job {job.name!r} has no such feature"
    fields.fault(fields.get("feature"), "feature", what, text, listing(names), nearest(text, names))
    return None


def step(fields: Fields, extra: bool) -> int | None:
    """The number of the step on the sheet; of an extra step the one that it came after, 0 before the first."""
    what = "an extra step names the step of the sheet that it came after" if extra else (
        "a trial names the step of the sheet that it tried"
    )  # fmt: skip
    first = 0 if extra else 1
    node = fields.require("step", what, f"{first} to {MOST_STEPS}")
    value = None if node is None else fields.number(node, "step", first, MOST_STEPS, whole=True)
    return None if value is None else int(value)


def extra(fields: Fields) -> bool:
    """Whether the step was put in beyond those of the sheet."""
    node = fields.get("extra")
    if node is None:
        return False
    if not isinstance(node.value, bool):
        fields.fault(node, "extra", "neither true nor false", node.raw, "true, false")
    return node.value is True


def measured(fields: Fields) -> Measured:
    """What was measured."""
    inner = section(fields, "measured", ("ra", "removal", "time", "parts_per_media"), "what was measured")
    if inner is None:
        return Measured()
    parts = inner.get("parts_per_media")
    return Measured.model_construct(
        ra_um=inner.quantity("ra", "roughness"),
        removal_um=inner.quantity("removal"),
        time_s=inner.quantity("time", "step_time"),
        parts_per_media=None
        if parts is None
        else inner.number(parts, inner.name("parts_per_media"), 0.01, 1e7),
    )


def roughness(fields: Fields) -> RoughnessReading:
    """How the roughness was measured."""
    inner = section(fields, "roughness", ("cutoff", "direction"), "how the roughness was measured")
    if inner is None:
        return RoughnessReading()
    direction = inner.choice("direction", ("across", "along"))
    return RoughnessReading.model_construct(cutoff_mm=inner.quantity("cutoff"), direction=direction)


def verdict(fields: Fields) -> str | None:
    """Pass or fail."""
    if fields.require("verdict", "a trial ends with a verdict", "pass, fail") is None:
        return None
    return fields.choice("verdict", ("pass", "fail"))


def day(fields: Fields) -> str | None:
    """The day as it is written, checked."""
    text = fields.text("date")
    if text is None:
        return None
    try:
        day = date.fromisoformat(text) if DAY.fullmatch(text) else None
    except ValueError:
        day = None
    if day is None:
        fields.fault(
            fields.get("date"), "date", "not a day; year, month and day are needed", text, "2026-05-04"
        )
    elif day < FIRST_DAY:
        fields.fault(fields.get("date"), "date", "too long ago", text, f"{FIRST_DAY.isoformat()} or later")
    return text


def stored(fields: Fields) -> str | None:
    """The moment that the log wrote down; nobody types it."""
    text = fields.text("stored")
    if text is not None and not MOMENT.fullmatch(text):
        what = "the log writes this itself; leave it out"
        fields.fault(fields.get("stored"), "stored", what, text)
    return text


def note(fields: Fields) -> str | None:
    """Free text; line breaks become spaces."""
    node = fields.get("note")
    if node is None:
        return None
    if isinstance(node.value, str):
        node = Node(node.value, node.line, node.column, " ".join(node.raw.split()))
    return fields.text_of(node, "note", LONGEST_NOTE) if node.raw else None


def texts(fields: Fields, key: str, longest: int) -> tuple[str, ...]:
    """A list of lines of text."""
    texts = [fields.text_of(node, key, longest) for node in fields.entries(key)]
    return tuple(text for text in texts if text is not None)
