"""The track record of every rule: how often its advice was followed or not, and how that ended."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from advisor.learning.chance import wilson
from advisor.learning.followed import Heard
from advisor.reasons import Reason
from advisor.sheet.model import Sheet


@dataclass(frozen=True, slots=True)
class TrackRecord:
    """The trials on which one rule spoke, by whether it was followed and how they ended (ids)."""

    rule: str
    passed: tuple[str, ...] = ()
    failed: tuple[str, ...] = ()
    passed_against: tuple[str, ...] = ()
    failed_against: tuple[str, ...] = ()

    def lines(self) -> tuple[str, ...]:
        """The record in plain words, with the 95 % interval of the share that passes.

        >>> TrackRecord("a-rule", ("t1", "t2", "t3"), ("t4",)).lines()
        ('Followed in 4 trials: 3 passed (30 to 95 %), 1 failed.',)
        """
        said = []
        for words, good, bad in (
            ("Followed", self.passed, self.failed),
            ("Not followed", self.passed_against, self.failed_against),
        ):
            count = len(good) + len(bad)
            if count:
                low, high = wilson(len(good), count)
                trials = f"{count:,} trial{'s' if count > 1 else ''}"
                share = f"{100 * low:.0f} to {100 * high:.0f} %"
                said.append(f"{words} in {trials}: {len(good):,} passed ({share}), {len(bad):,} failed.")
        return tuple(said)


def track_records(spoke: Iterable[Heard]) -> Mapping[str, TrackRecord]:
    """The record of every rule that spoke, by its id."""
    found: dict[str, tuple[list[str], list[str], list[str], list[str]]] = {}
    for item in spoke:
        lists = found.setdefault(item.rule.id, ([], [], [], []))
        lists[2 * (not item.followed) + item.failed].append(item.trial)
    return {rule: TrackRecord(rule, *(tuple(ids) for ids in lists)) for rule, lists in sorted(found.items())}


def with_track_records(sheet: Sheet, records: Mapping[str, TrackRecord]) -> Sheet:
    """The same sheet, where every reason that is a rule also says how its advice went in this shop."""
    return sheet.model_copy(
        update={"reasons": {key: _told(reason, records) for key, reason in sheet.reasons.items()}}
    )


def _told(reason: Reason, records: Mapping[str, TrackRecord]) -> Reason:
    record = records.get(reason.rule) if reason.rule else None
    if record is None:
        return reason
    return reason.model_copy(update={"text": f"{reason.text} In this shop: {' '.join(record.lines())}"})
