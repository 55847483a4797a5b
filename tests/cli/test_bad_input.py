"""Whatever is wrong with an input ends with exit 2 and a line that names place, given and allowed."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from tests.cli.conftest import JOB, Outcome, Run

CELL = """\
cell:
  operator: person
  handling: [part-in-hand]
  wet: false
  stations:
    - {name: stand, takes: [fibre-disc], speed: 1400 rpm, wheel_diameter: 200 mm}
"""

# A name for the case, the file's content, and what the one message must say.
CASES: list[tuple[str, str, tuple[str, ...]]] = [
    ("empty file", "", ("job.yaml: is empty", "allowed: name, alloy")),
    ("only a comment", "# nothing\n", ("job.yaml: is empty",)),
    ("not YAML", "name: [a\nalloy: b\n", ("job.yaml:", "not YAML")),
    ("tab for indentation", "part:\n\tmass: 1 kg\n", ("job.yaml:2:1: a tab is used",)),
    ("list instead of mapping", "- name: a\n", ("job.yaml:1:1: a job is a mapping", "given 'a list of 1'")),
    ("text instead of mapping", "rail\n", ("a job is a mapping", "given 'rail'")),
    (
        "unknown key",
        JOB.replace("batch:", "bacth:"),
        ("job.yaml:18:1: bacth: unknown key", "given 'bacth'", "allowed: name", "nearest: batch"),
    ),
    ("repeated key", JOB + "alloy: s30400\n", ("job.yaml:19:1", "'alloy' is repeated", "job.yaml:2:1")),
    (
        "misspelt alloy",
        JOB.replace("s31603", "s31604"),
        ("job.yaml:2:8: alloy: unknown alloy", "given 's31604'", "nearest: s31603"),
    ),
    (
        "bare number for a quantity",
        JOB.replace("18 mm", "18"),
        ("job.yaml:13:13", "radius: a length needs a unit: mm, um, cm", "given '18'"),
    ),
    ("mass for a depth", JOB.replace("0.25 mm", "3 kg"), ("start.depth: 3 kg is a mass", "mm, um, cm")),
    ("negative size", JOB.replace("180 mm", "-180 mm"), ("part.size", "given '-180 mm'", "allowed: 1 to")),
    ("absurd size", JOB.replace("180 mm", "180 m"), ("part.size", "given '180 m'", "to 30000 mm")),
    ("not a number", JOB.replace("0.25 mm", "nan mm"), ("start.depth: a length must be finite",)),
    ("infinite", JOB.replace("0.25 mm", "inf mm"), ("start.depth: a length must be finite",)),
    ("infinite number", JOB.replace("400", ".inf"), ("job.yaml:18:8: a number must be finite", "'.inf'")),
    (
        "band the wrong way round",
        JOB.replace("0.25 mm", "[0.3 mm, 0.1 mm]"),
        ("job.yaml:9:10: start.depth: the wrong way round", "given '[0.3 mm, 0.1 mm]'"),
    ),
    (
        "concave without radius",
        JOB.replace("convex\n    radius: 18 mm", "concave"),
        ("features[outer sweep].radius: a concave face needs its radius",),
    ),
    (
        "no features",
        JOB[: JOB.index("features:")] + "features: []\n" + JOB[JOB.index("finish:") :],
        ("features: a job needs at least one feature",),
    ),
    (
        "two features of one name",
        JOB.replace("finish:", "  - name: Outer sweep\n    shape: flat\nfinish:"),
        ("job.yaml:16:11", "two features of one name", "job.yaml:11:11"),
    ),
    (
        "a cell whose stations can run nothing",
        JOB.replace("cell: robot-floor-stand\n", CELL),
        ("cell.stations: nothing here can be run with part-in-hand",),
    ),
    ("unknown cell", JOB.replace("robot-floor-stand", "robot-stand"), ("cell: unknown cell", "allowed: ")),
    (
        "unknown finish",
        JOB.replace("satin-fine", "satin-fin"),
        ("finish: unknown finish", "nearest: satin-fine"),
    ),
    (
        "alias bomb",
        "a: &a [x, x]\n" + "".join(f"b{n}: &b{n} [{'*a, ' * 9}*a]\n" for n in range(9)) + "c: [*b8, *b8]\n",
        ("too many aliases", "allowed: at most 50"),
    ),
    (
        "tag that would run code",
        "name: !!python/object/apply:os.system ['touch ran']\n",
        ("job.yaml:1:7: tags (!...) are not allowed", "python/object/apply"),
    ),
    ("merge key", "base: &b {name: a}\n<<: *b\n", ("merge keys",)),
    ("several documents", "name: a\n---\nname: b\n", ("several documents",)),
    ("nested too deeply", "a: " + "[" * 200 + "]" * 200, ("nested deeper than 60 levels",)),
    ("nested far too deeply", "a: " + "[" * 5000 + "]" * 5000, ("job.yaml:1:", "nest")),
    (
        "control character in a name",
        JOB.replace("gate-arm", '"gate\\e[31m"'),
        ("name: holds a control character",),
    ),
]


def refused(done: Outcome, *says: str) -> None:
    """The end of every bad input: exit 2, nothing on standard output, one clear line that says it all."""
    assert done.code == 2
    assert done.out == ""
    assert "Traceback" not in done.err
    assert "fault of the program" not in done.err
    lines = done.err.splitlines()
    assert any(all(each in line for each in says) for line in lines), done.err
    assert all(line.isprintable() for line in lines)


@pytest.mark.parametrize(("content", "says"), [case[1:] for case in CASES], ids=[case[0] for case in CASES])
def test_a_bad_job_is_named(content: str, says: tuple[str, ...], run: Run, tmp_path: Path) -> None:
    path = tmp_path / "job.yaml"
    path.write_text(content, encoding="utf-8")
    done = run("recommend", str(path))
    refused(done, *says)
    assert len(done.err.splitlines()) == 1
    assert not Path("ran").exists()


@pytest.mark.parametrize(
    "name", ["empty file", "tag that would run code", "alias bomb", "nested far too deeply"]
)
def test_a_bad_job_is_named_by_the_program_itself(name: str, process: Run, tmp_path: Path) -> None:
    content, says = next(case[1:] for case in CASES if case[0] == name)
    (tmp_path / "job.yaml").write_text(content, encoding="utf-8")
    refused(process("recommend", "job.yaml"), *says)
    assert not (tmp_path / "ran").exists()


def test_everything_wrong_is_said_at_once(run: Run, tmp_path: Path) -> None:
    path = tmp_path / "job.yaml"
    bad = JOB.replace("s31603", "s31604").replace("18 mm", "18").replace("400", "many")
    path.write_text(bad, encoding="utf-8")
    done = run("recommend", str(path))
    refused(done, "alloy")
    assert [line.split(": ")[0].rpartition("job.yaml:")[2] for line in done.err.splitlines()] == [
        "2:8",
        "18:8",
        "13:13",
    ]


def test_a_file_of_50_mb_is_not_read_to_its_end(run: Run, tmp_path: Path) -> None:
    path = tmp_path / "big.yaml"
    path.write_bytes(b"# so much text that no job can need it\n" * 1_290_000)
    assert path.stat().st_size > 50_000_000
    refused(run("recommend", str(path)), "big.yaml: the file is too large", "allowed: at most 5 MB")


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR", "binary"),
        (b"name: \xff\xfe\n", "job.yaml:1:7: the text is not UTF-8"),
        ("name: a\n".encode("utf-16"), "the text is UTF-16; save it as UTF-8"),
    ],
)
def test_what_is_not_text_is_said_to_be_none(content: bytes, says: str, run: Run, tmp_path: Path) -> None:
    path = tmp_path / "job.yaml"
    path.write_bytes(content)
    refused(run("recommend", str(path)), says)


def test_a_folder_and_a_missing_file_are_told_apart(run: Run, tmp_path: Path) -> None:
    refused(run("recommend", str(tmp_path)), "is a folder, not a file")
    refused(run("recommend", str(tmp_path / "none.yaml")), "none.yaml: no such file")


def test_bad_standard_input_is_named_so(run: Run) -> None:
    refused(run("recommend", "-", typed="- a\n"), "standard input:1:1", "a job is a mapping")
    refused(run("recommend", "-", typed=""), "standard input: is empty")
    refused(run("recommend", "-", typed=b"a: \0"), "standard input", "binary")
    refused(run("recommend", "-", typed=b" " * 5_000_001), "standard input", "too large", "at most 5 MB")


def test_an_output_that_cannot_be_is_refused_before_the_work(run: Run, job: Path, tmp_path: Path) -> None:
    refused(run("recommend", str(job), "--output", str(tmp_path)), "is a folder; a file name is needed")
    refused(run("recommend", str(job), "--output", str(tmp_path / "no" / "x.md")), "there is no folder")
    refused(run("recommend", str(job), "--output", ""), "--output", "a file name is needed")
    refused(run("recommend", str(job), "--output", str(job)), "is the file that was read")
    assert job.read_text(encoding="utf-8") == JOB


@pytest.mark.skipif(
    not Path("/dev/full").exists(), reason="only some systems have a device that is always full"
)
def test_a_full_disk_is_said_to_be_full(run: Run, job: Path) -> None:
    refused(
        run("recommend", str(job), "--output", "/dev/full"), "/dev/full: cannot be written", "No space left"
    )


@pytest.mark.skipif(os.name != "posix" or os.geteuid() == 0, reason="nothing is unwritable for this user")
def test_an_unwritable_folder_is_said_to_be_so(run: Run, job: Path, tmp_path: Path) -> None:
    shut = tmp_path / "shut"
    shut.mkdir(mode=0o500)
    refused(
        run("recommend", str(job), "--output", str(shut / "x.md")), "cannot be written", "ermission denied"
    )


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (
            ["recomend", "x"],
            ("unknown command", "'recomend'", "allowed: demo, recommend", "nearest: recommend"),
        ),
        (["wherefore", "x"], ("unknown command", "'wherefore'", "allowed: demo")),
        (["recommend"], ("advisor recommend: missing argument 'JOB'", "--help")),
        (["recommend", "x", "y"], ("advisor recommend", "unexpected extra argument", "y")),
        (["recommend", "x", "--format"], ("advisor recommend", "--format", "requires an argument")),
        (["recommend", "x", "--fromat", "json"], ("unknown option", "'--fromat'", "nearest: --format")),
        (["recommend", "x", "--format", "pdf"], ("--format", "'pdf'", "allowed: markdown, html, json, csv")),
        (["recommend", "x", "--format", "csv"], ("--format", "only a program is CSV", "--view program")),
        (["demo", "--view", "program", "--format", "html"], ("--format", "'html'", "allowed: csv, json")),
        (["demo", "gutter-corner", "--view", "program"], ("--view", "a person works in this cell", "quote")),
        (["recommend", "x", "--format", "jsn"], ("--format", "'jsn'", "nearest: json")),
        (["recommend", "x", "--view", "quite"], ("--view", "'quite'", "allowed: sheet, trial-card", "nearest: quote")),
        (["recommend", "x", "--units", "imperial"], ("--units", "'imperial'", "allowed: si, us")),
        (["check", "--format", "html"], ("--format", "'html'", "allowed: text, json, sarif")),
        (["check", "none"], ("none: no such folder", "allowed: a folder that holds vocabulary.yaml")),
        (["demo", "vent-levr"], ("no such demo job", "'vent-levr'", "nearest: vent-lever")),
        (["rule", "belt"], ("no such rule", "'belt'", "nearest: ")),
        (["words", "satine"], ("no such word", "'satine'", "nearest: satin")),
        (["words", ""], ("no such word",)),
        (["words", "J", "--knowledge", "none"], ("none: not a folder with knowledge",)),
        (["--knowledge", "none", "words", "J"], ("none: not a folder with knowledge",)),
        (["--version", "--knowledge", "none"], ("none: not a folder with knowledge",)),
        (["ask", "--save", "-"], ("--save", "a file name is needed")),
        (["--nonsense"], ("unknown option", "'--nonsense'", "allowed: --version")),
    ],
    ids=" ".join,
)
def test_wrong_usage_names_what_is_allowed(words: list[str], says: tuple[str, ...], run: Run) -> None:
    done = run(*words)
    refused(done, *says)
    assert len(done.err.splitlines()) == 1


def test_all_wrong_choices_are_said_at_once(run: Run) -> None:
    done = run("recommend", "x", "--format", "htm", "--units", "uk", "--output", "no/such/folder")
    refused(done, "--format")
    assert [line.split(":")[0] for line in done.err.splitlines()] == ["--format", "--units", "no/such/folder"]
