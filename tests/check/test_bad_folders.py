"""Folders that are empty, damaged or too large: a clear finding or a clean load, never a traceback."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from advisor.cli.checking import check_folder, findings_json, findings_sarif, findings_text
from advisor.errors import KnowledgeError
from advisor.knowledge.load import load_knowledge
from advisor.knowledge.locate import knowledge_folder
from tests.small import rule_text

ROOT = Path(__file__).parents[2]
RULE = rule_text(
    rule="a-made-up-case", when="{stage: clear, media: belt}", then="[{check: Look along the face.}]",
    because="A line shows from the side.",
    examples="[{given: {stage: clear, media: belt}, expect: fires}, {given: {stage: clear}, expect: silent}]",
)  # fmt: skip


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A copy of the packaged knowledge to spoil."""
    return Path(shutil.copytree(knowledge_folder(), tmp_path / "knowledge"))


def check(folder: Path) -> subprocess.CompletedProcess[str]:
    """`advisor check FOLDER` as a process of its own: neither a traceback nor blame for the program."""
    done = subprocess.run(
        [sys.executable, "-m", "advisor", "check", str(folder)],
        capture_output=True, text=True, encoding="utf-8", cwd=ROOT, timeout=300, check=False,
    )  # fmt: skip
    assert "Traceback" not in done.stdout + done.stderr
    assert "fault of the program" not in done.stderr
    return done


def found(folder: Path, *said: str) -> None:
    """The folder fails with every one of some words, and the three forms tell of the same findings."""
    report = check_folder(folder)
    assert report.failed
    text = findings_text(report, everything=True)
    for each in said:
        assert each in text
    rows = json.loads(findings_json(report))
    assert any(row["severity"] == "error" for row in rows)
    assert len(json.loads(findings_sarif(report))["runs"][0]["results"]) == len(rows)


def clean(folder: Path) -> None:
    """The folder has no error."""
    report = check_folder(folder)
    assert not report.failed, findings_text(report)


def write(folder: Path, text: str, name: str = "made-up.yaml") -> Path:
    path = folder / "rules" / name
    path.write_bytes(text.encode())
    return path


def test_a_made_up_rule_is_sound_so_that_only_its_spoiling_is_found(folder: Path) -> None:
    write(folder, RULE)
    clean(folder)


def test_an_empty_folder(tmp_path: Path) -> None:
    found(tmp_path, "vocabulary.yaml: K001 error: cannot be read", "sources.yaml: K001 error: cannot be read")
    assert check(tmp_path).returncode == 1


def test_a_folder_without_rules_loads(folder: Path) -> None:
    shutil.rmtree(folder / "rules")
    assert load_knowledge(folder, use_cache=False).rules == ()
    assert "0 rules, 0 examples" in findings_text(check_folder(folder))


def test_empty_rule_files(folder: Path) -> None:
    write(folder, "")
    found(folder, "made-up.yaml", "not a list")


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() == 0, reason="root reads everything")
def test_a_file_that_may_not_be_read(folder: Path) -> None:
    write(folder, RULE).chmod(0)
    found(folder, "made-up.yaml: K001 error: cannot be read (Permission denied)")


def test_a_folder_that_is_partly_unreadable(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Also where the tests run as root, whom no permission stops: the system refuses, and every file is named."""
    refused = {write(folder, RULE), folder / "words.yaml", folder / "reference" / "media.yaml"}
    reading = Path.read_bytes

    def read(path: Path) -> bytes:
        if path in refused:
            raise PermissionError(13, "Permission denied")
        return reading(path)

    monkeypatch.setattr(Path, "read_bytes", read)
    found(folder, *(f"{path}: K001 error: cannot be read (Permission denied)" for path in sorted(refused)))
    with pytest.raises(KnowledgeError) as caught:
        load_knowledge(folder, use_cache=False)
    assert {problem.place for problem in caught.value.problems} == {str(path) for path in refused}


def test_a_folder_where_a_file_should_be(folder: Path) -> None:
    (folder / "rules" / "grain.yaml").unlink()
    (folder / "rules" / "grain.yaml").mkdir()
    found(folder, "grain.yaml: K001 error: cannot be read (Is a directory)")


def test_bytes_that_are_not_text(folder: Path) -> None:
    (folder / "rules" / "made-up.yaml").write_bytes(b"- rule: \xff\xfe\n")
    found(folder, "made-up.yaml: K001 error: not UTF-8")


def test_a_tab(folder: Path) -> None:
    write(folder, RULE.replace("  title:", "\ttitle:", 1))
    found(folder, "made-up.yaml:2:1: K001 error: a tab is used for indentation; use spaces")
    assert check(folder).returncode == 1


def test_a_key_that_stands_twice(folder: Path) -> None:
    write(folder, RULE + "  concern: look\n")
    found(folder, "the key 'concern' is repeated; it already stands at")


def test_a_rule_id_that_stands_twice(folder: Path) -> None:
    write(folder, RULE + RULE)
    found(folder, "K105 error: the rule id stands already at", "'a-made-up-case'")


def test_a_rule_id_that_stands_in_two_files(folder: Path) -> None:
    write(folder, RULE)
    write(folder, RULE, "also-made-up.yaml")
    found(folder, "the rule id stands already at")


def test_a_rule_that_overrides_itself(folder: Path) -> None:
    write(folder, RULE + "  overrides: [a-made-up-case]\n")
    found(folder, "K305 error: a-made-up-case and a-made-up-case override each other in a circle")


def test_a_rule_that_overrides_nobody(folder: Path) -> None:
    write(folder, RULE + "  overrides: [a-made-up-kase]\n")
    found(folder, "overrides an unknown rule, given 'a-made-up-kase'", "nearest: a-made-up-case")


def test_a_source_that_is_missing(folder: Path) -> None:
    write(folder, RULE.replace("common-practice", "common-practise"))
    found(folder, "unknown source, given 'common-practise'", "nearest: common-practice")


def test_a_demand_for_the_look(folder: Path) -> None:
    text = RULE.replace("{check: Look along the face.}", "{must: {backing: J}}").replace("form", "look")
    write(folder, text)
    found(folder, "'must' and 'never' are not for look")


def test_a_limit_without_its_case(folder: Path) -> None:
    write(folder, RULE.replace("media: belt}", "media: belt, part.wall_mm: {below: 2}}", 1))
    found(folder, "K004 error: a-made-up-case has no example exactly on the limit in its 'when': part.wall_mm below 2")


@pytest.mark.parametrize("spoil", [lambda text: text.replace("\n", "\r\n"), lambda text: "\ufeff" + text])
def test_line_endings_and_a_byte_order_mark_do_no_harm(folder: Path, spoil: object) -> None:
    assert callable(spoil)
    for path in folder.rglob("*.yaml"):
        path.write_bytes(str(spoil(path.read_text(encoding="utf-8"))).encode())
    clean(folder)
    assert len(load_knowledge(folder, use_cache=False).rules) == len(load_knowledge().rules)


def test_links_that_lead_to_themselves(folder: Path) -> None:
    (folder / "rules" / "loop.yaml").symlink_to("loop.yaml")
    found(folder, "loop.yaml: K001 error: cannot be read")
    (folder / "rules" / "loop.yaml").unlink()
    (folder / "rules" / "round").symlink_to(folder / "rules", target_is_directory=True)
    clean(folder)
    whole = folder.parent / "whole"
    whole.symlink_to("whole")
    done = check(whole)
    assert done.returncode == 2
    assert "no such folder" in done.stderr


@pytest.mark.slow
def test_ten_thousand_rules(folder: Path) -> None:
    made = "".join(RULE.replace("a-made-up-case", f"case-{number}") for number in range(10_000))
    write(folder, made)
    report = check_folder(folder)
    assert report.rules > 10_000
    assert sum(finding.code.code == "K101" for finding in report.findings) == 9_999
    assert {finding.code.code for finding in report.findings if finding.code.severity == "error"} == {"K101"}
