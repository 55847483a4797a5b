"""An impact report as text for a reader and as JSON for a program."""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence

from advisor.impact.model import Change, Difference, Edits, Report

_MANY = 6


def to_json(report: Report) -> str:
    """The whole report; the same report gives the same bytes."""
    return json.dumps(report.model_dump(mode="json"), ensure_ascii=False, indent=1) + "\n"


def to_text(report: Report) -> str:
    """What differs, then each job that changes with what changes and through which rules."""
    lines = [*_edits(report.edits), ""]
    for job in report.changed:
        lines.append(f"{job.key}: {job.title}" if job.title else job.key)
        for change, through in _grouped(job.changes):
            lines += [f"  {each}" for each in change]
            lines.append(f"    through {through}")
        lines.append("")
    return "\n".join([*lines, summary(report)]) + "\n"


def summary(report: Report) -> str:
    """How many jobs change, on one line.

    >>> summary(Report(old="a", new="a", edits=Edits(), jobs=42, changed=()))
    'No recommendation changes: 42 jobs looked at.'
    """
    count = len(report.changed)
    if not count:
        return f"No recommendation changes: {report.jobs} jobs looked at."
    return f"{count} of {report.jobs} recommendations change{'s' if count == 1 else ''}."


def _edits(edits: Edits) -> Iterator[str]:
    if edits.none:
        yield "The two knowledge bases say the same."
    named = {
        "new rules": edits.added,
        "rules gone": edits.removed,
        "rules edited": edits.edited,
        "rows that differ": edits.rows,
        "vocabulary that differs": edits.vocabulary,
    }
    for title, keys in named.items():
        if keys:
            yield f"{title[0].upper()}{title[1:]}: {_listed(keys)}"


def _listed(keys: Sequence[str]) -> str:
    shown = ", ".join(keys[:_MANY])
    return shown if len(keys) <= _MANY else f"{shown} and {len(keys) - _MANY} more"


def _grouped(changes: Sequence[Change]) -> Iterator[tuple[list[str], str]]:
    """Changes that come from the same rules together, in the order of the first of each group."""
    groups: dict[str, list[str]] = {}
    for change in changes:
        groups.setdefault(_through(change), []).append(line(change.difference))
    for through, lines in groups.items():
        yield lines, through


def _through(change: Change) -> str:
    if change.shown:
        return f"{'the rule' if len(change.rules) == 1 else 'the rules'} {_listed(change.rules)}"
    said = []
    if change.rows:
        said.append(f"what differs in {_listed(change.rows)}")
    if change.rules:
        together = "rules that differ and spoke here" if len(change.rules) > 1 else "a rule that differs"
        said.append(f"{together}: {_listed(change.rules)}")
    return "; or ".join(said) or "rules that no longer speak, or speak for another step"


def line(item: Difference) -> str:
    """One difference on one line.

    >>> line(Difference(kind="setting", field="backing", feature="rim", step=2, old="X", new="J"))
    'rim, step 2: backing X -> J'
    >>> line(Difference(kind="caution", field="cautions", new="Wear gloves."))
    'caution added: Wear gloves.'
    """
    step = f"step {item.step}" if item.step else None
    place = ", ".join(filter(None, (item.feature, step)))
    name = item.field.replace("_", " ")
    if item.kind in ("caution", "check", "remedy", "outside", "afterwards", "conflict"):
        name = item.kind
    if item.field == "blocked":
        name = "obstacle"
    return f"{place}: {_moved(name, item)}" if place else _moved(name, item)


def _moved(name: str, item: Difference) -> str:
    if item.old is None:
        return f"{name} added: {item.new}"
    if item.new is None:
        return f"{name} gone: {item.old}"
    return f"{name} {item.old} -> {item.new}"
