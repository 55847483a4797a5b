"""Reads the documents as programs: runs their commands and writes what they show from what is really so."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path

from tests import generated_parts

ROOT = Path(__file__).parents[1]
PAGES = (
    ROOT / "README.md", ROOT / "DEVELOPERS.md", ROOT / "shared" / "README.md",
    *sorted(ROOT.glob("docs/**/*.md")),
)  # fmt: skip

_FENCE = re.compile(r"^```(?P<info>[^\n]*)\n(?P<body>.*?)^```$", re.MULTILINE | re.DOTALL)
_PART = re.compile(
    r"^<!-- (?P<kind>\w+)(?:: (?P<wanted>[^\n]*?))? -->\n(?P<body>.*?)^<!-- end -->$",
    re.MULTILINE | re.DOTALL,
)
_FILE = re.compile(r"^# (?P<path>[\w./-]+\.(?:yaml|json))$")
_LINK = re.compile(r"\]\((?P<target>[^)\s]+)\)")
#: Times differ from run to run, so this part is written on demand only.
MEASURED = "measured"


class DocumentError(AssertionError):
    """An example in a document does not do what the document says."""


@dataclass(frozen=True)
class Block:
    """A fenced block: its language, the words behind it, and its text."""

    language: str
    words: tuple[str, ...]
    body: str

    @property
    def file(self) -> str | None:
        """The file that the first line of the block names, if it names one."""
        found = _FILE.match(self.body.split("\n", 1)[0])
        return found["path"] if found else None


@dataclass
class Desk:
    """A folder in which the commands of one page run one after the other, with the program on the path."""

    folder: Path
    remembered: dict[str, tuple[str, int]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        programs = self.folder / ".programs"
        programs.mkdir()
        script = programs / "advisor"
        script.write_text(f'#!/bin/sh\nexec "{sys.executable}" -m advisor "$@"\n', encoding="utf-8")
        script.chmod(0o755)
        for name in ("shared", "knowledge"):
            shutil.copytree(ROOT / name, self.folder / name)
        self.environment = os.environ | {
            "PATH": f"{programs}{os.pathsep}{os.environ['PATH']}",
            "PYTHONPATH": str(ROOT),
            "COLUMNS": "90",
            "NO_COLOR": "1",
            "LC_ALL": "C.UTF-8",
        }

    def write(self, name: str, text: str) -> None:
        """Put a file of the page into the folder."""
        path = self.folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")

    def run(self, command: str) -> tuple[str, int]:
        """What a command line prints (result and talk together), and its exit code."""
        done = subprocess.run(
            ["bash", "-c", f"set -o pipefail; {command}"],
            cwd=self.folder, env=self.environment, stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE, stderr=subprocess.STDOUT, timeout=180, check=False,
        )  # fmt: skip
        return done.stdout.decode("utf-8"), done.returncode


def blocks(text: str, language: str | None = None) -> Iterator[Block]:
    """The fenced blocks of a page, of one language or all."""
    for found in _FENCE.finditer(text):
        words = found["info"].split()
        block = Block(words[0] if words else "", tuple(words[1:]), found["body"])
        if language is None or block.language == language:
            yield block


def links(text: str) -> Iterator[str]:
    """The targets of the links of a page that lead to other pages of this project."""
    for found in _LINK.finditer(_FENCE.sub("", text)):
        if not found["target"].startswith(("http:", "https:", "mailto:")):
            yield found["target"]


def anchors(text: str) -> frozenset[str]:
    """The anchors that the headings of a page have."""
    headings = re.findall(r"^#+ (.*)$", _FENCE.sub("", text), re.MULTILINE)
    return frozenset(re.sub(r"[^\w\- ]", "", heading.lower()).replace(" ", "-") for heading in headings)


def refreshed(text: str, desk: Desk) -> str:
    """The page with every output and every generated part written anew.

    Raises DocumentError where a command ends with another exit code than the page says (0 where it
    says nothing).
    """

    def fence(found: re.Match[str]) -> str:
        words = found["info"].split()
        block = Block(words[0] if words else "", tuple(words[1:]), found["body"])
        if block.language == "yaml" and block.file:
            desk.write(block.file, block.body)
        if block.language != "console":
            return found[0]
        return f"```{found['info']}\n{_session(block, desk)}```"

    return _FENCE.sub(fence, _PART.sub(lambda found: _part(found, desk), text))


def _session(block: Block, desk: Desk) -> str:
    wanted = next((word.removeprefix("exit=") for word in block.words if word.startswith("exit=")), "0")
    lines = []
    for line in block.body.splitlines():
        if not line.startswith("$ "):
            continue
        printed, code = desk.run(line.removeprefix("$ "))
        if wanted != str(code):
            raise DocumentError(f"{line!r} ended with {code}, the page says {wanted}:\n{printed}")
        lines += [line, *printed.rstrip("\n").splitlines()]
    return "".join(f"{line}\n" for line in lines)


def _part(found: re.Match[str], desk: Desk) -> str:
    kind, wanted = found["kind"], found["wanted"] or ""
    if kind == MEASURED:
        return found[0]
    head = found[0].split("\n", 1)[0]
    makers: dict[str, Callable[[], str]] = {
        "output": lambda: _output(wanted, desk),
        "commands": generated_parts.command_table,
        "help": generated_parts.help_pages,
        "table": lambda: generated_parts.table(wanted),
        "models": generated_parts.sheet_models,
    }
    if kind not in makers:
        raise DocumentError(f"nobody knows how to write the part {head}")
    return f"{head}\n{makers[kind]().strip()}\n<!-- end -->"


def _output(command: str, desk: Desk) -> str:
    printed, code = desk.run(command)
    if code != 0:
        raise DocumentError(f"{command!r} ended with {code}:\n{printed}")
    return f"```markdown\n{printed.strip()}\n```"
