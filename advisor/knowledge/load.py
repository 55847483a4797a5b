"""Loads a knowledge folder: all of it or none, and all of its faults at once."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from advisor.errors import KnowledgeError
from advisor.knowledge import cache
from advisor.knowledge.base import Knowledge
from advisor.knowledge.files import read_files
from advisor.knowledge.locate import knowledge_folder


def load_knowledge(folder: Path | None = None, *, use_cache: bool = True) -> Knowledge:
    """The knowledge of a folder (the packaged one where none is named).

    `FOLDER@REVISION` is the folder as committed in a git revision, where no folder is really called so.
    Raises KnowledgeError with every fault found, each as `file:line:column: what`.

    >>> len(load_knowledge().rules) >= 240
    True
    """
    root = folder or knowledge_folder()
    return load_files(read_files(root), root, use_cache=use_cache)


def load_files(files: Mapping[str, bytes], root: Path, *, use_cache: bool = True) -> Knowledge:
    """The knowledge in the files of a folder, or of a revision of it; `root` names it in messages.

    Raises KnowledgeError with every fault found.
    """
    if use_cache and (stored := cache.fetch(files, root)) is not None:
        return stored
    from advisor.knowledge.parse import parse_knowledge  # not needed where the cache knows the files

    knowledge, problems = parse_knowledge(files, root)
    if knowledge is None or problems:
        raise KnowledgeError(problems)
    if use_cache:
        cache.store(files, root, knowledge)
    return knowledge
