"""Every command does its work, writes where it should, and ends with the right code."""

from __future__ import annotations

import json
import os
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

import pytest
import typer

from advisor.cli import app as commands
from advisor.cli.app import app
from advisor.errors import EngineError, Problem
from advisor.knowledge.load import load_knowledge
from advisor.knowledge.locate import knowledge_folder
from advisor.render.json import from_json
from tests.cli.conftest import JOB, Run, environment

# What nothing in the cell can do: a scaled casting and only a buff at hand.
ONLY_A_BUFF = JOB.replace("parting-line\n  depth: 0.25 mm", "casting-skin\n  depth: 0.8 mm").replace(
    "cell: robot-floor-stand\n",
    """\
cell:
  operator: person
  handling: [part-in-hand]
  wet: false
  stations:
    - {name: lathe, takes: [buff], power: 1 kW, speed: 1400 rpm, wheel_diameter: 250 mm}
""",
)
COMMANDS = ("demo", "recommend", "ask", "words", "check", "rule")


# ---------------------------------------------------------------------------------- help and version


def _options(name: str) -> list[str]:
    command: Any = typer.main.get_command(app)
    if name:
        command = command.commands[name]
    return [option for param in command.params for option in param.opts if option.startswith("-")]


@pytest.mark.parametrize("name", ["", *COMMANDS])
def test_help_mentions_every_option_on_standard_output(name: str, run: Run) -> None:
    done = run(*filter(None, [name]), "--help")
    assert done.code == 0
    assert done.err == ""
    for option in _options(name):
        assert option in done.out
    assert "--knowledge" in done.out
    assert "--debug" in done.out


def test_help_names_every_command_and_the_exit_codes(run: Run) -> None:
    done = run("--help")
    for name in COMMANDS:
        assert f"  {name} " in done.out
    assert "0 done; 1 the answer is no" in done.out.replace("\n  ", " ")
    assert "..." not in done.out.partition("Commands:")[2]  # no line of the overview is cut off


def test_no_command_shows_the_help(run: Run) -> None:
    assert run().out == run("--help").out
    assert run().code == 0


def test_the_short_option_for_help_works(run: Run) -> None:
    assert run("words", "-h").out == run("words", "--help").out


def test_version_names_program_knowledge_and_matcher(run: Run) -> None:
    from advisor.inference.matchers import available
    from advisor.version import VERSION

    done = run("--version")
    knowledge = load_knowledge()
    assert done.code == 0
    assert done.out.splitlines() == [
        f"advisor {VERSION}",
        f"knowledge {knowledge.fingerprint} ({len(knowledge.rules)} rules)",
        f"matcher {available()}",
    ]


# -------------------------------------------------------------------------------------- the sheet


def test_recommend_prints_the_sheet(run: Run, job: Path) -> None:
    done = run("recommend", str(job))
    assert done.code == 0
    assert done.err == ""
    assert done.out.startswith("# ")
    assert "gate-arm" in done.out
    assert "outer sweep" in done.out


def test_json_is_a_sheet_with_one_line_feed_at_its_end(run: Run, job: Path) -> None:
    done = run("recommend", str(job), "--format", "json")
    sheet = from_json(done.out)
    assert done.code == 0
    assert sheet.job["name"] == "gate-arm"
    assert sheet.features[0].steps
    assert done.out.endswith("}\n")
    assert "\r" not in done.out


def test_a_job_may_come_from_standard_input(run: Run, job: Path) -> None:
    assert (
        run("recommend", "-", "--format", "json", typed=JOB).out
        == run("recommend", str(job), "--format", "json").out
    )


def test_json_jobs_are_read_too(run: Run, tmp_path: Path) -> None:
    path = tmp_path / "job.json"
    mapping = {
        "name": "gate-arm",
        "alloy": "316L",
        "start": {"defect": "parting-line"},
        "features": [{"name": "a", "shape": "flat"}],
        "finish": "satin-fine",
        "cell": "robot-floor-stand",
    }
    path.write_text(json.dumps(mapping), encoding="utf-8")
    assert run("recommend", str(path)).code == 0


def test_us_units_stand_first_where_asked_for(run: Run, job: Path) -> None:
    si, us = run("recommend", str(job)), run("recommend", str(job), "--units", "US")
    assert us.code == 0
    assert us.out != si.out
    assert "ft/min (" in us.out
    assert "ft/min (" not in si.out


def test_output_goes_whole_to_the_file(run: Run, job: Path, tmp_path: Path) -> None:
    target = tmp_path / "sheet.md"
    target.write_text("old", encoding="utf-8")
    os.chmod(target, 0o640)
    done = run("recommend", str(job), "--output", str(target))
    assert (done.code, done.out, done.err) == (0, "", "")
    assert target.read_text(encoding="utf-8") == run("recommend", str(job), "--output", "-").out
    assert sorted(path.name for path in tmp_path.iterdir()) == ["job.yaml", "sheet.md"]
    if os.name == "posix":
        assert target.stat().st_mode & 0o777 == 0o640


def test_a_link_is_followed_and_stays_a_link(run: Run, job: Path, tmp_path: Path) -> None:
    target, link = tmp_path / "sheet.md", tmp_path / "latest.md"
    target.write_text("old", encoding="utf-8")
    try:
        link.symlink_to(target)
    except OSError:
        pytest.skip("links cannot be made here")
    run("recommend", str(job), "--output", str(link))
    assert link.is_symlink()
    assert target.read_text(encoding="utf-8").startswith("# ")


@pytest.mark.skipif(os.name != "posix", reason="there is no such device")
def test_a_device_is_written_to_and_not_replaced(run: Run, job: Path) -> None:
    assert run("recommend", str(job), "--output", "/dev/null").code == 0
    assert Path("/dev/null").is_char_device()


def test_a_failed_write_leaves_the_old_file(
    run: Run, job: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    target = tmp_path / "sheet.md"
    target.write_text("old", encoding="utf-8")

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "replace", full)
    done = run("recommend", str(job), "--output", str(target))
    assert done.code == 2
    assert "sheet.md: cannot be written: No space left on device" in done.err
    assert target.read_text(encoding="utf-8") == "old"
    assert sorted(path.name for path in tmp_path.iterdir()) == ["job.yaml", "sheet.md"]


def test_a_refused_job_prints_its_sheet_and_ends_with_1(run: Run, tmp_path: Path) -> None:
    path = tmp_path / "job.yaml"
    path.write_text(ONLY_A_BUFF, encoding="utf-8")
    done = run("recommend", str(path), "--format", "json")
    sheet = from_json(done.out)
    assert done.code == 1
    assert sheet.refused
    assert sheet.features[0].steps == ()
    assert "No process fits outer sweep" in done.err


# --------------------------------------------------------------------------------------- the demo


def test_demo_prints_the_sheet_of_the_usual_job(run: Run) -> None:
    done = run("demo")
    assert done.code == 0
    assert "vent-lever" in done.out
    assert done.out == run("demo", "vent-lever.yaml").out


def test_demo_lists_its_jobs_and_recommends_for_each(run: Run) -> None:
    listed = run("demo", "--list")
    names = [line.split()[0] for line in listed.out.splitlines()]
    assert names[0] == "vent-lever"
    assert len(names) >= 3
    for name in names[1:]:
        done = run("demo", name, "--format", "json")
        assert done.code == 0
        assert from_json(done.out).job["name"] == name


# ---------------------------------------------------------------------------------- words and rule


def test_words_lists_every_shop_word_by_its_initial(run: Run) -> None:
    done = run("words")
    assert done.code == 0
    flat = " ".join(done.out.split())
    for word in load_knowledge().words:
        assert word.term in flat
    assert done.out.startswith("A abrasive")


@pytest.mark.parametrize(
    ("term", "says"),
    [
        ("Backing", ("backing (shop word)", "See: cloth weight.")),
        ("alumina", ("aluminium oxide (shop word)", "See: grain.")),
        ("what must go", ("what must go (property of a job)", "In rules: defect.")),
        ("coastal", ("where the part will live (environment)", "One of indoor, outdoor, coastal")),
        ("fullest", ()),
        ("s31603", ("austenitic stainless 316L (alloy)", "EN 1.4404", "From: ")),
        ("AISI 316L", ("s31603",)),
        ("unidentified copper alloy", ("Not known whether it holds lead, beryllium",)),
        ("weld bead", ("weld-bead: weld bead (defect)", "To find out: Set a weld gauge")),
        ("satin-fine", ("fine satin (finish)", "lay linear")),
        ("BHMA 630", ("designation of a finish",)),
        ("P120", ("On the FEPA P scale", "ANSI coated scale")),
        ("very fine", ("only used for ordering",)),
        ("ceramic alumina", ("ceramic-alumina: ceramic alumina (grain)", "Tough: it needs load")),
        ("slack-belt", ("(form of media)", "Surface speed")),
        ("robot-floor-stand", ("(cell)", "Run by a robot")),
        ("YY", ("very heavy polyester (backing)",)),
        ("chatter", ("chatter", "(symptom)", "Seen on the part.")),
    ],
)
def test_words_explains_a_term_of_any_kind(term: str, says: tuple[str, ...], run: Run) -> None:
    done = run("words", term)
    if not says:
        assert done.code == 2
        return
    assert done.code == 0
    flat = " ".join(done.out.split())
    for each in says:
        assert each in flat


def test_every_name_in_the_tables_can_be_looked_up(run: Run) -> None:
    from advisor.cli.glossary import entries, look_up

    knowledge = load_knowledge()
    known = list(entries(knowledge))
    assert len(known) > 500
    for entry in known[:: max(1, len(known) // 60)]:
        for name in entry.names:
            assert entry.title in look_up(name, knowledge)


def test_every_rule_has_a_page_that_tells_all_of_it() -> None:
    from advisor.cli.rule_page import rule_page

    knowledge = load_knowledge()
    for rule in knowledge.rules:
        flat = " ".join(rule_page(rule, knowledge).split())
        assert rule.id in flat
        assert " ".join(rule.because.split()) in flat
        assert " ".join(rule.not_for.split()) in flat
        for condition in (*rule.when, *rule.unless):
            assert knowledge.vocabulary.testable[condition.attribute].title in flat
        for citation in rule.source:
            assert " ".join(knowledge.sources[citation.source].title.split()) in flat
        assert flat.count("fires: ") + flat.count("silent: ") >= len(rule.examples)


def test_rule_shows_one_rule(run: Run) -> None:
    knowledge = load_knowledge()
    rule = next(rule for rule in knowledge.rules if rule.unless and rule.advice())
    done = run("rule", rule.id.upper())
    assert done.code == 0
    assert [line for line in done.out.splitlines() if line in ("When", "Unless", "Then", "Because")] == [
        "When",
        "Unless",
        "Then",
        "Because",
    ]


# ------------------------------------------------------------------------------------------- check


@pytest.fixture
def broken(tmp_path: Path) -> Path:
    """A copy of the packaged knowledge to spoil."""
    folder = tmp_path / "knowledge"
    shutil.copytree(knowledge_folder(), folder)
    return folder


def test_the_packaged_knowledge_has_no_finding(run: Run) -> None:
    done = run("check")
    assert done.out.endswith("no finding\n"), done.out
    assert done.code == 0
    assert "rules, " in done.out
    found = json.loads(run("check", "--format", "json").out)
    assert not [finding for finding in found if finding["severity"] == "error"]


def test_a_wrong_rule_is_found_at_its_line(run: Run, broken: Path) -> None:
    path = next(
        path for path in sorted((broken / "rules").glob("*.yaml")) if "stage: clear" in path.read_text()
    )
    text = path.read_text(encoding="utf-8")
    line = text[: text.index("stage: clear")].count("\n") + 1
    path.write_text(text.replace("stage: clear", "stage: cleer", 1), encoding="utf-8")
    done = run("check", str(broken))
    assert done.code == 1
    assert f"{path.name}:{line}:" in done.out
    assert "'cleer'" in done.out
    assert "nearest: clear" in done.out
    findings = json.loads(run("check", str(broken), "--format", "json").out)
    assert {"place", "what", "given", "allowed", "nearest"} <= {*findings[0]}
    assert findings[0]["given"] == "cleer"


def test_a_wrong_example_is_found(run: Run, broken: Path) -> None:
    path = sorted((broken / "rules").glob("*.yaml"))[0]
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace("expect: fires", "expect: silent", 1), encoding="utf-8")
    done = run("check", "--knowledge", str(broken))
    assert done.code == 1
    assert "expects 'silent' and the rule is 'fires'" in done.out
    assert path.name in done.out


def test_missing_and_broken_files_are_findings(run: Run, broken: Path) -> None:
    (broken / "reference" / "alloys.yaml").unlink()
    done = run("check", str(broken))
    assert done.code == 1
    assert "alloys.yaml: K001 error: missing table" in done.out
    (broken / "sources.yaml").unlink()
    done = run("check", str(broken))
    assert done.code == 1
    assert "sources.yaml: K001 error: cannot be read" in done.out


def test_other_commands_refuse_broken_knowledge(run: Run, broken: Path, job: Path) -> None:
    (broken / "rules" / "speed.yaml").write_text("- rule: [", encoding="utf-8")
    for words in (["recommend", str(job)], ["words", "J"], ["rule", "x"], ["demo"], ["ask"], ["--version"]):
        done = run(*words, "--knowledge", str(broken))
        assert done.code == 2
        assert "speed.yaml:2:1: not YAML" in done.err


def test_knowledge_of_another_folder_is_used(run: Run, broken: Path) -> None:
    path = broken / "words.yaml"
    text = path.read_text(encoding="utf-8")
    path.write_text(text + "  - term: quillstock\n    means: An invented word.\n", encoding="utf-8")
    assert run("words", "quillstock").code == 2
    assert "An invented word." in run("words", "quillstock", "--knowledge", str(broken)).out
    assert "An invented word." in run("--knowledge", str(broken), "words", "quillstock").out


# --------------------------------------------------------------------------------- faults and signals


def test_a_fault_of_the_program_is_one_line_that_says_so(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    def fail(*_: object) -> None:
        raise ZeroDivisionError("by nothing\nat all")

    monkeypatch.setattr(commands, "_knowledge", fail)
    done = run("words")
    assert done.code == 2
    assert len(done.err.splitlines()) == 1
    for each in (
        "a fault of the program, not of your input",
        "ZeroDivisionError: by nothing at all",
        "--debug",
    ):
        assert each in done.err
    assert "Traceback" not in done.err
    assert "Traceback" in run("words", "--debug").err
    monkeypatch.setenv("ADVISOR_DEBUG", "1")
    assert "Traceback" in run("words").err


def test_a_fault_of_the_matcher_is_not_blamed_on_the_user(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    def fail(*_: object) -> None:
        raise EngineError(Problem("matcher", "error 303"))

    monkeypatch.setattr(commands, "_knowledge", fail)
    done = run("words")
    assert done.code == 2
    assert "a fault of the program" in done.err
    assert "error 303" in done.err


def test_an_interrupt_ends_quietly(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    def stop(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(commands, "_knowledge", stop)
    done = run("words")
    assert (done.code, done.out, done.err) == (130, "", "")


@pytest.mark.skipif(os.name != "posix", reason="signals work differently there")
def test_an_interrupted_process_ends_quietly(tmp_path: Path) -> None:
    with subprocess.Popen(
        [sys.executable, "-m", "advisor", "ask"],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        env=environment(),
        cwd=tmp_path,
    ) as process:
        assert process.stderr is not None
        seen = b""
        while b"\n> " not in seen:
            seen += process.stderr.read(1)
        time.sleep(0.1)
        process.send_signal(signal.SIGINT)
        out, err = process.communicate(timeout=60)
        assert process.returncode == 130
        assert out == b""
        assert b"Traceback" not in err


@pytest.mark.skipif(os.name != "posix", reason="pipes work differently there")
def test_a_reader_that_stops_early_is_no_fault(tmp_path: Path) -> None:
    with subprocess.Popen(
        [sys.executable, "-m", "advisor", "words"],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        env=environment(),
        cwd=tmp_path,
    ) as process:
        assert process.stdout is not None
        process.stdout.close()
        assert process.stderr is not None
        assert process.stderr.read() == b""
        assert process.wait(timeout=60) == 0


@pytest.mark.skipif(
    not Path("/dev/full").exists(), reason="only some systems have a device that is always full"
)
def test_a_full_standard_output_is_said_to_be_full(tmp_path: Path) -> None:
    with Path("/dev/full").open("wb") as full:
        done = subprocess.run(
            [sys.executable, "-m", "advisor", "words"],
            stdout=full,
            stderr=subprocess.PIPE,
            env=environment(),
            cwd=tmp_path,
            check=False,
        )
    assert done.returncode == 2
    assert done.stderr.decode().splitlines() == [
        "standard output: cannot be written: No space left on device"
    ]


def test_the_program_runs_as_a_process_and_writes_utf_8(process: Run, tmp_path: Path) -> None:
    (tmp_path / "job.yaml").write_text(JOB.replace("gate-arm", "Türgriff"), encoding="utf-8")
    done = process("recommend", "job.yaml", "--format", "json", LC_ALL="C", PYTHONIOENCODING="ascii")
    assert done.code == 0
    assert json.loads(done.out)["job"]["name"] == "Türgriff"


def test_rich_and_other_slow_modules_stay_out(tmp_path: Path) -> None:
    probe = (
        "import sys; from advisor.cli.app import app\n"
        "try: app(args=['demo', '--output', 'sheet.md'])\n"
        "except SystemExit as end: assert not end.code\n"
        "print([name for name in ('rich', 'scipy', 'matplotlib', 'hypothesis') if name in sys.modules])"
    )
    done = subprocess.run(
        [sys.executable, "-c", probe],
        capture_output=True,
        env=environment(),
        cwd=tmp_path,
        check=False,
        text=True,
    )
    assert done.stdout.strip() == "[]", done.stderr


# ---------------------------------------------------------------------------------------------- views


@pytest.mark.parametrize(
    ("arguments", "begins"),
    [
        (("--view", "trial-card"), "# Trial card: vent-lever"),
        (("--view", "operator-card"), "# Operator card: vent-lever"),
        (("--view", "quote", "--units", "us"), "# Quote: vent-lever"),
        (("--view", "quote", "--format", "html"), "<!doctype html>"),
        (("--format", "html"), "<!doctype html>"),
        (("--view", "program"), "record,order,feature,"),
        (("--view", "program", "--format", "csv", "--units", "us"), "record,order,feature,"),
    ],
)
def test_each_view_is_printed_with_every_caution(arguments: tuple[str, ...], begins: str, run: Run) -> None:
    done = run("demo", *arguments)
    assert (done.code, done.err) == (0, "")
    assert done.out.startswith(begins)
    sheet = from_json(run("demo", "--format", "json").out)
    for caution in sheet.cautions:
        assert caution.text.split("(")[0][:40] in done.out


@pytest.mark.parametrize("view", ["trial-card", "operator-card", "quote", "program"])
def test_json_is_the_whole_sheet_whatever_the_view(view: str, run: Run) -> None:
    assert run("demo", "--view", view, "--format", "json").out == run("demo", "--format", "json").out
