"""Every file that is written from the knowledge base, so that one command writes and one test compares."""

from __future__ import annotations

from pathlib import Path

from advisor.catalogue.check_page import check_pages
from advisor.catalogue.pages import pages
from advisor.catalogue.schemas import FOLDER, schema_files
from advisor.check.run import codes
from advisor.knowledge.base import Knowledge

_PAGES = "docs/reference"
#: Folders in which every file is generated; what is no longer wanted there is taken away.
OWNED = (f"{_PAGES}/rules", f"{_PAGES}/check", FOLDER)


def generated_files(knowledge: Knowledge) -> dict[str, str]:
    """The text of each generated file by its path from the root of the project."""
    written = {f"{_PAGES}/{name}": text for name, text in pages(knowledge).items()}
    written |= {f"{_PAGES}/{name}": text for name, text in check_pages(codes().values()).items()}
    return written | {f"{FOLDER}/{name}": text for name, text in schema_files(knowledge).items()}


def write_files(root: Path, knowledge: Knowledge) -> tuple[str, ...]:
    """Write what is not as it should be, take away what is not wanted; the paths that changed."""
    wanted = generated_files(knowledge)
    changed = []
    for name, text in wanted.items():
        path = root / name
        if not path.is_file() or path.read_bytes() != text.encode():
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(text.encode())
            changed.append(name)
    for name in unwanted(root, wanted):
        (root / name).unlink()
        changed.append(name)
    return tuple(changed)


def unwanted(root: Path, wanted: dict[str, str]) -> tuple[str, ...]:
    """Files in the generated folders that nothing writes any more."""
    found = (path for folder in OWNED for path in sorted((root / folder).glob("*")))
    names = (path.relative_to(root).as_posix() for path in found)
    return tuple(name for name in names if name not in wanted)
