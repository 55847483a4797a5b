"""The files of a knowledge folder, as bytes and in one order."""

from __future__ import annotations

from pathlib import Path

from advisor.errors import KnowledgeError, Problem

FIXED_FILES = ("vocabulary.yaml", "sources.yaml", "words.yaml")
_MOST_BYTES = 20_000_000


def read_files(root: Path) -> dict[str, bytes]:
    """The bytes of every knowledge file by its path inside the folder, in sorted order.

    `FOLDER@REVISION` is the folder as committed in a git revision. Raises KnowledgeError where something
    is missing or cannot be read.
    """
    if not root.is_dir():
        from advisor.knowledge.revision import read_revision, split_revision  # seldom needed

        if (named := split_revision(root)) is not None:
            return read_revision(*named)
        raise KnowledgeError(Problem(str(root), "not a folder with knowledge"))
    wanted = [root / name for name in FIXED_FILES]
    wanted += sorted((root / "reference").glob("*.yaml")) + sorted((root / "rules").rglob("*.yaml"))
    files: dict[str, bytes] = {}
    problems = []
    for path in wanted:
        name = path.relative_to(root).as_posix()
        try:
            content = path.read_bytes()
        except OSError as error:
            problems.append(Problem(str(path), f"cannot be read ({error.strerror or error})"))
            continue
        if len(content) > _MOST_BYTES:
            problems.append(Problem(str(path), f"larger than {_MOST_BYTES // 1_000_000} MB"))
        files[name] = content
    if problems:
        raise KnowledgeError(problems)
    return files
