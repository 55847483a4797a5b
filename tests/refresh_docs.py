"""Writes the outputs and generated parts of the documents anew: `python -m tests.refresh_docs [--measure]`.

Read the difference before keeping it: a document that changed by surprise is a finding. With
`--measure` the comparison of the matchers is measured again, which takes a minute.
"""

from __future__ import annotations

import re
import subprocess
import sys
import tempfile
from pathlib import Path

from advisor.catalogue.files import write_files
from advisor.knowledge.load import load_knowledge
from tests.documents import MEASURED, PAGES, ROOT, Desk, DocumentError, refreshed


def refresh(page: Path) -> bool:
    """Write one page anew; whether it changed."""
    with tempfile.TemporaryDirectory() as folder:
        before = page.read_text(encoding="utf-8")
        after = refreshed(before, Desk(Path(folder)))
    page.write_text(after, encoding="utf-8")
    return before != after


def measure() -> None:
    """Measure the matchers again and write the result into the page that shows it."""
    page = ROOT / "docs" / "explanation" / "inference.md"
    command = [sys.executable, "-m", "tests.benchmarks.compare_matchers"]
    printed = subprocess.run(command, cwd=ROOT, check=True, capture_output=True, text=True).stdout.strip()
    part = re.compile(rf"(?<=<!-- {MEASURED} -->\n).*?(?=<!-- end -->)", re.DOTALL)
    page.write_text(part.sub(f"{printed}\n", page.read_text(encoding="utf-8")), encoding="utf-8")


def main() -> None:
    """Refresh every page, name those that changed; ends with 1 where an example does not run."""
    if "--measure" in sys.argv[1:]:
        measure()
    for name in write_files(ROOT, load_knowledge()):
        print(f"changed: {name}")
    failed = False
    for page in PAGES:
        try:
            if refresh(page):
                print(f"changed: {page.relative_to(ROOT)}")
        except DocumentError as error:
            failed = True
            print(f"{page.relative_to(ROOT)}: {error}", file=sys.stderr)
    sys.exit(1 if failed else 0)


if __name__ == "__main__":
    main()
