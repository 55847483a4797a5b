"""Wherever a command takes a knowledge folder, it takes a git revision of it, or its help does not say so."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
import typer

from advisor.cli.app import app
from advisor.knowledge.locate import knowledge_folder
from tests.cli.conftest import Run
from tests.knowledge.test_revision import git

pytestmark = pytest.mark.skipif(shutil.which("git") is None, reason="there is no git here")

@pytest.fixture(scope="module")
def knowledge(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A repository whose first revision is sound; in the second a rule is broken, and it lies so on the disk."""
    top = tmp_path_factory.mktemp("shop")
    shutil.copytree(knowledge_folder(), top / "knowledge")
    git(top, "init", "-q")
    git(top, "add", "-A")
    git(top, "commit", "-q", "-m", "sound")
    git(top, "tag", "sound")
    rules = top / "knowledge" / "rules" / "safety.yaml"
    broken = rules.read_text(encoding="utf-8").replace("concern: safety", "concern: fashion", 1)
    rules.write_text(broken, encoding="utf-8")
    git(top, "commit", "-q", "-a", "-m", "broken")
    return top / "knowledge"


def test_check_looks_at_the_revision_that_is_named(run: Run, knowledge: Path) -> None:
    sound = run("check", "--knowledge", f"{knowledge}@sound")
    assert (sound.code, sound.err) == (0, "") and sound.out.endswith("no finding\n")
    for broken in (f"{knowledge}@HEAD", str(knowledge)):
        outcome = run("check", broken)
        assert outcome.code == 1 and f"{broken}/rules/safety.yaml:" in outcome.out and "fashion" in outcome.out


@pytest.mark.parametrize("form", ["json", "sarif"])
def test_the_findings_of_a_revision_come_in_every_form(run: Run, knowledge: Path, form: str) -> None:
    outcome = run("check", f"{knowledge}@HEAD", "--format", form)
    assert outcome.code == 1 and "fashion" in outcome.out


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("{0}@nowhere", "no such revision"),
        ("{0}@", "not a revision"),
        ("{0}/rules@sound", "no knowledge folder in this revision"),
        ("/@sound", "not in a git repository"),
        ("{0}-gone", "no such folder"),
    ],
)
def test_a_revision_that_is_not_there_ends_with_2_and_one_line(
    run: Run, knowledge: Path, name: str, said: str
) -> None:
    outcome = run("check", name.format(knowledge))
    assert (outcome.code, outcome.out, outcome.err.count("\n")) == (2, "", 1)
    assert said in outcome.err


def commands() -> Iterator[tuple[str, ...]]:
    """Every command that takes a knowledge folder, and the option's help."""
    group = typer.main.get_command(app)
    for name, command in group.commands.items():  # type: ignore[attr-defined]
        for words, each in [((name,), command), *(((name, k), c) for k, c in getattr(command, "commands", {}).items())]:
            for option in each.params:
                if option.name == "knowledge":
                    yield (*words, option.help)


#: How each command is asked; its place on the disk is put in where a brace stands.
ASKED = {
    ("demo",): (),
    ("recommend",): ("{job}", "--no-robustness"),
    ("ask",): None,  # asks; it loads knowledge in the same way as `words`
    ("words",): ("grade",),
    ("check",): None,  # above
    ("impact",): ("--old", "{knowledge}@sound"),
    ("coverage",): ("--sample", "2", "--cell", "hand-tools"),
    ("rule",): ("{rule}",),
    ("what-if",): ("{job}", "--change", "batch=20"),
    ("batch",): ("{job}",),
    ("compare",): ("{sheet}", "{sheet}"),
    ("replay",): ("{sheet}",),
    ("rpm",): ("--diameter", "200 mm", "--speed", "20 m/s"),
    ("why",): ("{job}",),
    ("trial", "new"): None,  # below
    ("trial", "list"): (),
    ("trial", "show"): None,  # these read the log as `trial list` does
    ("trial", "like"): ("{job}",),
    ("trial", "next"): None,
    ("trial", "learn"): (),
}


def test_every_command_that_promises_a_revision_is_tried_below() -> None:
    promised = {words[:-1] for words in commands() if "REVISION" in words[-1]}
    assert promised == set(ASKED)
    (other,) = [words[:-1] for words in commands() if "REVISION" not in words[-1]]
    assert other == ("trial", "propose")


@pytest.mark.parametrize("words", [words for words, asked in ASKED.items() if asked is not None], ids=" ".join)
def test_every_command_takes_a_revision(
    run: Run, knowledge: Path, job: Path, tmp_path: Path, words: tuple[str, ...]
) -> None:
    """The folder on the disk is broken, so what works reads the revision."""
    named = ("--knowledge", f"{knowledge}@sound")
    sheet = tmp_path / "sheet.json"
    if "{sheet}" in (ASKED[words] or ()):
        run("recommend", str(job), "--no-robustness", "--format", "json", "--output", str(sheet), *named)
    (rule, *_) = [
        line.split(": ", 1)[1].strip()
        for line in (knowledge / "rules" / "safety.yaml").read_text(encoding="utf-8").splitlines()
        if line.startswith("- rule: ")
    ]
    places = {"job": job, "sheet": sheet, "knowledge": knowledge, "rule": rule}
    outcome = run(*words, *(word.format(**places) for word in ASKED[words] or ()), *named)
    assert outcome.code == 0, outcome.err
    assert "Traceback" not in outcome.err
    assert not knowledge.with_name("knowledge@sound").exists()


def test_a_trial_told_under_a_revision_goes_to_the_log_of_the_folder(
    run: Run, knowledge: Path, job: Path, tmp_path: Path
) -> None:
    trial = tmp_path / "trial.yaml"
    trial.write_text(
        "job: job.yaml\nfeature: outer sweep\nstep: 1\n"
        "used: {media: belt, grain: ceramic-alumina, grade: P80, backing: J, hardness_shore_a: 40, force: 45 N,\n"
        "       surface_speed: 22 m/s, feed: 40 mm/s, passes: 6}\n"
        "measured: {ra: 1.2 um}\nroughness: {cutoff: 0.8 mm, direction: across}\nverdict: pass\ndate: 2026-05-04\n",
        encoding="utf-8",
    )
    outcome = run("trial", "new", str(trial), "--knowledge", f"{knowledge}@sound")
    assert outcome.code == 0, outcome.err
    assert not knowledge.with_name("knowledge@sound").exists()
    assert list((knowledge / "trials").iterdir())


def test_a_proposal_needs_files_and_says_so(run: Run, knowledge: Path) -> None:
    outcome = run("trial", "propose", "--knowledge", f"{knowledge}@sound")
    assert outcome.code == 2 and outcome.err.count("\n") == 1 and "a folder of files" in outcome.err
