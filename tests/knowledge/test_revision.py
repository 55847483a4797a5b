"""A knowledge folder as it was in a git revision, read without touching the repository."""

from __future__ import annotations

import os
import shutil
import subprocess
from pathlib import Path

import pytest

from advisor.errors import KnowledgeError
from advisor.knowledge.files import read_files
from advisor.knowledge.load import load_knowledge
from advisor.knowledge.locate import knowledge_folder
from advisor.knowledge.revision import read_revision

pytestmark = pytest.mark.skipif(shutil.which("git") is None, reason="there is no git here")


def git(folder: Path, *words: str) -> None:
    who = {"GIT_AUTHOR_NAME": "A", "GIT_AUTHOR_EMAIL": "a@example.org", "GIT_COMMITTER_NAME": "A",
           "GIT_COMMITTER_EMAIL": "a@example.org", "GIT_CONFIG_GLOBAL": os.devnull}  # fmt: skip
    subprocess.run(["git", "-C", str(folder), *words], check=True, capture_output=True, env={**os.environ, **who})


@pytest.fixture(scope="module")
def repository(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Two commits: the packaged knowledge, then one source fewer in a comment and a changed word."""
    top = tmp_path_factory.mktemp("repository")
    shutil.copytree(knowledge_folder(), top / "shop" / "knowledge")
    git(top, "init", "-q")
    git(top, "add", "-A")
    git(top, "commit", "-q", "-m", "first")
    git(top, "tag", "first")
    words = top / "shop" / "knowledge" / "rules" / "safety.yaml"
    words.write_text(words.read_text(encoding="utf-8").replace("title: ", "title: Now ", 1), encoding="utf-8")
    git(top, "commit", "-q", "-a", "-m", "second")
    return top / "shop" / "knowledge"


def test_a_revision_is_read_as_it_was_committed(repository: Path) -> None:
    assert read_revision(repository, "first") == read_files(knowledge_folder())
    assert read_revision(repository, "HEAD") == read_files(repository)
    assert load_knowledge(Path(f"{repository}@first")).fingerprint == load_knowledge().fingerprint
    assert load_knowledge(Path(f"{repository}@HEAD")).fingerprint != load_knowledge().fingerprint


def test_a_folder_that_is_gone_can_still_be_read(repository: Path, tmp_path: Path) -> None:
    copied = tmp_path / "copy"
    shutil.copytree(repository.parents[1], copied)
    shutil.rmtree(copied / "shop")
    assert read_revision(copied / "shop" / "knowledge", "first") == read_files(knowledge_folder())


def test_a_folder_with_the_sign_in_its_name_wins(tmp_path: Path) -> None:
    odd = tmp_path / "shop@first"
    shutil.copytree(knowledge_folder(), odd)
    assert read_files(odd) == read_files(knowledge_folder())


@pytest.mark.parametrize(
    ("revision", "said"),
    [
        ("nowhere", "no such revision"),
        ("--output=x", "not a revision"),
        ("", "not a revision"),
        ("HEAD:shop", "no such revision"),
        ("a\nb", "not a revision"),
    ],
)
def test_what_is_no_revision_is_refused(repository: Path, revision: str, said: str) -> None:
    with pytest.raises(KnowledgeError, match=said):
        read_revision(repository, revision)


def test_a_folder_outside_any_repository_is_named(tmp_path: Path) -> None:
    with pytest.raises(KnowledgeError, match="not in a git repository"):
        read_revision(tmp_path, "HEAD")


def test_a_revision_without_knowledge_is_named(repository: Path) -> None:
    with pytest.raises(KnowledgeError, match=r"no knowledge folder in this revision.*vocabulary\.yaml"):
        read_revision(repository.parent, "HEAD")


def test_what_the_repository_configures_is_not_run(repository: Path, tmp_path: Path) -> None:
    """A repository is data: a hook or a monitor that it names stays still."""
    mark = tmp_path / "ran"
    script = tmp_path / "monitor"
    script.write_text(f"#!/bin/sh\ntouch {mark}\n", encoding="utf-8")
    script.chmod(0o755)
    git(repository, "config", "core.fsmonitor", str(script))
    read_revision(repository, "HEAD")
    assert not mark.exists()


def test_without_git_it_says_so(repository: Path, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("PATH", str(tmp_path))
    with pytest.raises(KnowledgeError, match="needs git"):
        read_revision(repository, "HEAD")
