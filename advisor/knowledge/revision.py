"""A knowledge folder as it was in a revision of the git repository it lies in, read without checking it out."""

from __future__ import annotations

import os
import re
import subprocess
from collections.abc import Sequence
from pathlib import Path

from advisor.errors import KnowledgeError, Problem, shorten
from advisor.knowledge.files import FIXED_FILES
from advisor.knowledge.locate import knowledge_folder

AT = "@"
_WANTED = re.compile(r"reference/[^/]+\.yaml|rules/.+\.yaml")
_SECONDS = 60
#: A repository is data here: nothing that it configures may run, nothing is fetched, nobody is asked.
_QUIET = ("-c", "core.fsmonitor=false", "-c", "core.hooksPath=/dev/null", "-c", "protocol.allow=never")
_ENVIRONMENT = {
    "GIT_TERMINAL_PROMPT": "0", "GIT_OPTIONAL_LOCKS": "0", "GIT_NO_REPLACE_OBJECTS": "1",
    "GIT_NO_LAZY_FETCH": "1", "GIT_LITERAL_PATHSPECS": "1", "LC_ALL": "C",
}  # fmt: skip


def split_revision(name: Path) -> tuple[Path, str] | None:
    """The folder and the revision in `FOLDER@REVISION`; None where no revision is named.

    An empty folder stands for the packaged knowledge.

    >>> folder, revision = split_revision(Path("shop/knowledge@v1.2"))
    >>> folder.as_posix(), revision
    ('shop/knowledge', 'v1.2')
    >>> split_revision(Path("shop/knowledge")) is None
    True
    """
    folder, at, revision = str(name).rpartition(AT)
    if not at:
        return None
    return Path(folder) if folder else knowledge_folder(), revision


def folder_of(name: Path) -> Path:
    """The folder on the disk that a name means, whichever revision of it is named: what else lies in it, is there.

    >>> folder_of(Path("shop/knowledge@v1.2")).as_posix(), folder_of(Path("shop/knowledge")).as_posix()
    ('shop/knowledge', 'shop/knowledge')
    """
    named = None if name.is_dir() else split_revision(name)
    return name if named is None else named[0]


def read_revision(folder: Path, revision: str) -> dict[str, bytes]:
    """The bytes of every knowledge file of a folder as committed in a revision.

    Raises KnowledgeError where there is no git, no repository, no such revision, or no knowledge in it.
    """
    place = f"{folder}{AT}{revision}"
    if not revision or revision.startswith("-") or not revision.isprintable():
        raise KnowledgeError(Problem(place, "not a revision", revision, "a commit, a tag or a branch"))
    start = next((each for each in (folder, *folder.parents) if each.is_dir()), Path())
    git = _Git(start, place)
    top = git.text("rev-parse", "--show-toplevel", fault="not in a git repository")
    commit = git.text(
        "rev-parse", "--verify", "--quiet", "--end-of-options", f"{revision}^{{commit}}",
        fault="the repository has no such revision",
    )  # fmt: skip
    inside = Path(os.path.realpath(folder)).relative_to(os.path.realpath(top)).as_posix()
    prefix = "" if inside == "." else f"{inside}/"
    listed = git.run("ls-tree", "-r", "-z", "--full-tree", commit, *([prefix] if prefix else ()))
    found: dict[str, str] = {}
    for line in filter(None, listed.decode("utf-8", "surrogateescape").split("\0")):
        about, _, path = line.partition("\t")
        mode, kind, identity = about.split()
        name = path.removeprefix(prefix)
        if kind == "blob" and mode != "120000" and (name in FIXED_FILES or _WANTED.fullmatch(name)):
            found[name] = identity
    lacking = [name for name in FIXED_FILES if name not in found]
    if lacking:
        what = f"no knowledge folder in this revision: {', '.join(lacking)} missing"
        raise KnowledgeError(Problem(place, what))
    names = [*FIXED_FILES, *sorted(name for name in found if name not in FIXED_FILES)]
    return dict(zip(names, git.blobs([found[name] for name in names]), strict=True))


class _Git:
    """Reads from one repository and changes nothing in it."""

    def __init__(self, start: Path, place: str) -> None:
        self.start, self.place = start, place

    def run(self, *words: str, given: bytes = b"", fault: str = "git cannot read it") -> bytes:
        """What a git command prints. Raises KnowledgeError with `fault` where it fails."""
        command = ["git", *_QUIET, "-C", str(self.start), *words]
        try:
            done = subprocess.run(
                command, input=given, capture_output=True, timeout=_SECONDS, check=False,
                env={**os.environ, **_ENVIRONMENT},
            )  # fmt: skip
        except FileNotFoundError:
            raise KnowledgeError(Problem(self.place, "a revision needs git, which is not installed")) from None
        except (OSError, subprocess.TimeoutExpired) as error:
            raise KnowledgeError(Problem(self.place, f"git cannot be run: {shorten(str(error))}")) from None
        if done.returncode:
            said = shorten(done.stderr.decode("utf-8", "replace").strip(), 120)
            raise KnowledgeError(Problem(self.place, f"{fault}{f' ({said})' if said else ''}"))
        return done.stdout

    def text(self, *words: str, fault: str) -> str:
        """The one line that a git command prints."""
        return self.run(*words, fault=fault).decode("utf-8", "surrogateescape").rstrip("\n")

    def blobs(self, identities: Sequence[str]) -> list[bytes]:
        """The contents of objects, all read by one process."""
        printed = self.run("cat-file", "--batch", given="".join(f"{each}\n" for each in identities).encode())
        contents, at = [], 0
        for _ in identities:
            end = printed.index(b"\n", at)
            size = int(printed[at:end].split()[2])
            contents.append(printed[end + 1 : end + 1 + size])
            at = end + 2 + size
        return contents
