"""The Python interface: small, lazy, documented, and its documented examples run."""

from __future__ import annotations

import doctest
import subprocess
import sys
from pathlib import Path

import pytest

import advisor
from advisor.errors import InputError
from advisor.pipeline import Desk
from tests import invented

ROOT = Path(__file__).parents[1]
PAGE = ROOT / "docs" / "reference" / "python.md"


def test_the_examples_of_the_page_run() -> None:
    test = doctest.DocTestParser().get_doctest(
        PAGE.read_text(encoding="utf-8").replace("```", "\n"), {}, "python.md", str(PAGE), 0
    )
    assert len(test.examples) > 20
    found = doctest.DocTestRunner().run(test)
    assert found.failed == 0


def test_every_public_name_is_documented_and_importable() -> None:
    page = PAGE.read_text(encoding="utf-8")
    for name in advisor.__all__:
        assert getattr(advisor, name) is not None
        assert name in dir(advisor)
        if name not in ("VERSION", "Desk", "InputError", "KnowledgeError", "from_json", "load_knowledge"):
            assert f"{name}(" in page, name
    with pytest.raises(AttributeError, match="no attribute 'reccomend'"):
        _ = advisor.reccomend  # type: ignore[attr-defined]


def test_importing_it_imports_nothing_that_is_slow() -> None:
    script = "import advisor, sys; print([name for name in sys.modules if name.startswith('advisor.')])"
    done = subprocess.run([sys.executable, "-c", script], cwd=ROOT, capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "['advisor.version']"


def test_why_and_why_not_answer(monkeypatch: pytest.MonkeyPatch) -> None:
    desk, job = invented.desk(), invented.job("tap-lever")
    (link,) = advisor.why(job, desk, step=1, decision="media")
    assert link is not None
    with pytest.raises(InputError, match="feature"):
        advisor.why(job, desk, feature="nowhere")


def test_a_replay_without_a_desk_finds_the_packaged_knowledge(tmp_path: Path) -> None:
    path = tmp_path / "sheet.json"
    path.write_text(advisor.to_json(invented.sheet("tap-lever")), encoding="utf-8")
    assert advisor.replay(path).follows
    assert advisor.read_sheet(path).job["name"] == "tap-lever"
    desk = Desk(invented.knowledge(), "plain")
    assert advisor.replay(path, desk).follows
