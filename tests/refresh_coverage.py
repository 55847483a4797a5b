"""Sweeps anew and writes what the coverage page shows: `python -m tests.refresh_coverage`, some minutes.

The page, its picture, and the record of every combination that `tests/coverage/test_freshness.py` holds them
to. Apart from the other documents because it takes long. Read the difference before keeping it: a
combination that lost its plan is a finding.
"""

from __future__ import annotations

import re
import sys

from advisor.coverage.answers import Coverage, gaps, nearest_obstacle, tally
from advisor.coverage.picture import to_svg
from advisor.coverage.report import percent, to_markdown
from advisor.coverage.sweep import sweep
from advisor.knowledge.base import Knowledge
from advisor.knowledge.load import load_knowledge
from tests.coverage.record import to_record
from tests.documents import MEASURED, ROOT

PAGE = ROOT / "docs" / "reference" / "coverage.md"
PICTURE = PAGE.with_suffix(".svg")
RECORD = PAGE.with_suffix(".txt")
SAMPLE = 400


def _bar(done: int, of: int) -> None:
    print(f"\r{done} of {of}", end="", file=sys.stderr, flush=True)


def _alone(knowledge: Knowledge) -> str:
    """What each cell can do without the others, from a sample."""
    rows = ["| cell | share of sensible combinations with a plan | what most often stands in the way |"]
    rows.append("| --- | --- | --- |")
    for cell in knowledge.tables.cells:
        found = sweep(knowledge, None, (cell,), SAMPLE, progress=_bar)
        rows.append(f"| `{cell}` | {percent(tally(found.answers).share)} | {_most_often(found)} |")
    return "\n".join(rows)


def _most_often(found: Coverage) -> str:
    said = [
        f"{gap.limit} ({gap.count}): {nearest_obstacle(gap.example).text}" for gap in gaps(found.answers)[:2]
    ]
    return " ".join(said) or "nothing"


def written(page: str, whole: Coverage, alone: str) -> str:
    """The page with its generated part written anew."""
    body = f"{to_markdown(whole)}\n### What each cell can do alone\n\nOf {SAMPLE:,} combinations each.\n\n{alone}\n"
    part = re.compile(rf"(?<=<!-- {MEASURED} -->\n).*?(?=<!-- end -->)", re.DOTALL)
    return part.sub(lambda _: body, page)


def main() -> None:
    """Sweep, and write the page and the picture."""
    knowledge = load_knowledge()
    whole = sweep(knowledge, None, progress=_bar)
    if whole.faults:
        sys.exit("\n".join(f"{answer.combination}: {answer.fault}" for answer in whole.faults))
    alone = _alone(knowledge)
    PAGE.write_text(written(PAGE.read_text(encoding="utf-8"), whole, alone), encoding="utf-8")
    PICTURE.write_text(to_svg(whole), encoding="utf-8")
    RECORD.write_text(to_record(whole), encoding="utf-8")


if __name__ == "__main__":
    main()
