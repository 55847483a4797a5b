"""The Markdown sheet on paper: what goes to the machine is at most two pages, and no table is cut off.

Runs where a chromium is at hand (see DEVELOPERS.md), else skips. The pages are printed with a plain
style, `print.css`, in the way of any Markdown printer.
"""

from __future__ import annotations

import re
import subprocess
from functools import cache
from pathlib import Path

import pytest
from markdown_it import MarkdownIt

from advisor.units import System
from tests.browser.test_in_a_browser import chromium
from tests.render.test_two_pages import DEMOS, demo, front_of

STYLE = (Path(__file__).parent / "print.css").read_text(encoding="utf-8")
SCRIPT = "<script>document.title = 'wide ' + document.documentElement.scrollWidth</script>"
PAPER_PX = {"A4": 725, "Letter": 747}  # between the margins of the style, at 96 px an inch
PAPERS: tuple[tuple[str, System], ...] = (("A4", "si"), ("Letter", "us"))

pytestmark = pytest.mark.skipif(chromium() is None, reason="needs a chromium")


def browse(*words: str) -> str:
    """What the browser prints when started with these words."""
    program = chromium()
    assert program is not None
    quiet = ("--headless", "--disable-gpu", "--no-sandbox", "--no-first-run", "--disable-background-networking")
    done = subprocess.run([program, *quiet, *words], capture_output=True, timeout=120, check=True)
    return done.stdout.decode()


def page_of(markdown: str, paper: str, folder: Path) -> Path:
    """The Markdown as a page to print, in a file."""
    body = MarkdownIt("commonmark").enable("table").render(markdown)
    page = folder / f"{paper}.html"
    head = f"<!doctype html><meta charset=utf-8><style>{STYLE}@page {{ size: {paper} }}</style>"
    page.write_text(f"{head}{body}{SCRIPT}", encoding="utf-8")
    return page


def pages(page: Path) -> int:
    """How many pages a file prints on."""
    out = page.with_suffix(".pdf")
    browse("--no-pdf-header-footer", f"--print-to-pdf={out}", str(page))
    return len(re.findall(rb"/Type\s*/Page\b(?!s)", out.read_bytes()))


@cache
def _front(name: str, units: System) -> str:
    return front_of(demo(name), units)


@pytest.mark.parametrize(("paper", "units"), PAPERS)
@pytest.mark.parametrize("name", DEMOS)
def test_the_part_for_the_machine_prints_on_two_pages(name: str, paper: str, units: System, tmp_path: Path) -> None:
    assert pages(page_of(_front(name, units), paper, tmp_path)) <= 2


@pytest.mark.parametrize(("paper", "units"), PAPERS)
def test_no_table_is_wider_than_the_paper(paper: str, units: System, tmp_path: Path) -> None:
    page = page_of(_front("vent-lever", units), paper, tmp_path)
    seen = browse(f"--window-size={PAPER_PX[paper]},1000", "--dump-dom", str(page))
    wide = re.search(r"<title>wide (\d+)</title>", seen)
    assert wide and int(wide[1]) <= PAPER_PX[paper]
