"""The pages in a real browser: nothing fetched, nothing said, nothing pushed aside, and readable for all.

Runs where a chromium, node, playwright-core and axe-core are at hand (see DEVELOPERS.md), else skips.
"""

from __future__ import annotations

import json
import os
import shutil
import subprocess
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from advisor.job import read_job
from advisor.knowledge.locate import demo_jobs
from advisor.pipeline import recommend
from advisor.render.cards.show import CARDS, card_html
from advisor.render.cards.trial import trial_card
from advisor.render.html import to_html
from advisor.render.speech import Speech
from advisor.sheet.model import Sheet
from tests import invented
from tests.render.test_cards import priced_sheet

HERE = Path(__file__).parent
CHROMIUMS = ("chromium", "chromium-browser", "google-chrome", "chrome")


def chromium() -> str | None:
    """The browser at hand, None where there is none."""
    named = os.environ.get("ADVISOR_CHROMIUM")
    return named or next((found for name in CHROMIUMS if (found := shutil.which(name))), None)


def _modules() -> str:
    return os.pathsep.join(filter(None, [str(HERE / "node_modules"), os.environ.get("NODE_PATH", "")]))


def _missing() -> str | None:
    """What is not at hand, None where everything is."""
    node = shutil.which("node")
    if node is None or chromium() is None:
        return "needs node and a chromium"
    code = "require.resolve('playwright-core'); require.resolve('axe-core')"
    done = subprocess.run(
        [node, "-e", code], env=os.environ | {"NODE_PATH": _modules()}, capture_output=True, check=False
    )
    return None if done.returncode == 0 else "needs axe-core and playwright-core: npm install --prefix tests/browser"


MISSING = _missing()
pytestmark = pytest.mark.skipif(MISSING is not None, reason=MISSING or "")


@cache
def _sheets() -> Mapping[str, Sheet]:
    demos = sorted(demo_jobs().glob("*.yaml"))
    found = {path.stem: recommend(read_job(path, invented.knowledge()), invented.desk()) for path in demos}
    return {**found, "cover-strip": invented.sheet("cover-strip"), "sample": priced_sheet()}


@pytest.fixture(scope="module")
def seen(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    """What the browser says of each page, by the name of the page."""
    folder = tmp_path_factory.mktemp("pages")
    pages = {"sheet": to_html(_sheets()["vent-lever"]), "sheet-sample": to_html(priced_sheet(), "us")}
    pages |= {f"{view}-sample": card_html(priced_sheet(), view, "us") for view in CARDS}
    pages |= {f"{view}-{name}": card_html(sheet, view) for name, sheet in _sheets().items() for view in CARDS}
    for name, text in pages.items():
        (folder / f"{name}.html").write_text(text, encoding="utf-8")
    files = [str(folder / f"{name}.html") for name in pages]
    node, program = shutil.which("node"), chromium()
    assert node and program
    done = subprocess.run(
        [node, str(HERE / "look.cjs"), program, *files],
        env=os.environ | {"NODE_PATH": _modules()}, capture_output=True, timeout=300, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr.decode()
    return {Path(file).stem: found for file, found in json.loads(done.stdout).items()}


def test_nothing_is_fetched_and_nothing_complains(seen: dict[str, Any]) -> None:
    for name, page in seen.items():
        assert len(page["looks"]) == 2
        for look in page["looks"]:
            assert look["console"] == [] and look["requests"] == [], (name, look)


def test_nothing_is_wider_than_a_phone_or_a_desk(seen: dict[str, Any]) -> None:
    for name, page in seen.items():
        for look in page["looks"]:
            assert look["overflow"] == {"390": [0, 0], "1280": [0, 0]}, (name, look)


def test_every_page_passes_the_accessibility_check_in_light_and_dark(seen: dict[str, Any]) -> None:
    for name, page in seen.items():
        for look in page["looks"]:
            assert look["violations"] == [], (name, look)
            assert look["passes"] > 10


def test_other_cards_are_a_sheet_of_paper_with_two_sides(seen: dict[str, Any]) -> None:
    for name in _sheets():
        for view in set(CARDS) - {"trial-card"}:
            assert seen[f"{view}-{name}"]["pages"] <= 2, (view, name)


def test_the_reasons_of_a_printed_sheet_take_no_more_paper_than_the_rest(seen: dict[str, Any]) -> None:
    """Nine steps over three faces with their pictures: two pages a face and some for the whole, as much for why."""
    assert seen["sheet"]["pages"] <= 16


def test_a_page_of_a_trial_card_is_one_page_of_paper(seen: dict[str, Any]) -> None:
    for name, sheet in _sheets().items():
        wanted = len(trial_card(Speech(sheet, "si")).pages)
        assert seen[f"trial-card-{name}"]["pages"] == wanted, name
