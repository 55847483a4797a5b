"""Loads a knowledge folder: all of it or none, and all of its faults at once."""

from __future__ import annotations

from pathlib import Path

from advisor.errors import KnowledgeError, Problem
from advisor.knowledge import cache
from advisor.knowledge.base import Knowledge
from advisor.knowledge.locate import knowledge_folder

_FIXED = ("vocabulary.yaml", "sources.yaml", "words.yaml")
_MOST_BYTES = 20_000_000


def load_knowledge(folder: Path | None = None, *, use_cache: bool = True) -> Knowledge:
    """The knowledge of a folder (the packaged one where none is named).

    Raises KnowledgeError with every fault found, each as `file:line:column: what`.

    >>> len(load_knowledge().rules) >= 240
    True
    """
    root = folder or knowledge_folder()
    files = read_files(root)
    if use_cache and (stored := cache.fetch(files, root)) is not None:
        return stored
    from advisor.knowledge.parse import parse_knowledge  # not needed where the cache knows the files

    knowledge, problems = parse_knowledge(files, root)
    if knowledge is None or problems:
        raise KnowledgeError(problems)
    if use_cache:
        cache.store(files, root, knowledge)
    return knowledge


def read_files(root: Path) -> dict[str, bytes]:
    """The bytes of every knowledge file by its path inside the folder, in sorted order."""
    if not root.is_dir():
        raise KnowledgeError(Problem(str(root), "not a folder with knowledge"))
    wanted = [root / name for name in _FIXED]
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
