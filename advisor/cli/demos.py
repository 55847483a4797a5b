"""The packaged demo jobs, by name."""

from __future__ import annotations

from pathlib import Path

from advisor.errors import InputError, Problem, listing, nearest
from advisor.knowledge.locate import demo_jobs

USUAL = "vent-lever"


def demo_file(name: str | None) -> Path:
    """The file of a demo job. Raises InputError with all names and the nearest.

    >>> demo_file(None).name
    'vent-lever.yaml'
    """
    files = _files()
    wanted = USUAL if name is None else name.removesuffix(".yaml")
    if wanted not in files:
        raise InputError(
            Problem("advisor demo", "no such demo job", wanted, listing(list(files)), nearest(wanted, files))
        )
    return files[wanted]


def demo_list() -> str:
    """One line a demo job: its name and how its file begins."""
    files = _files()
    width = max(map(len, files), default=0)
    return "".join(f"{name:<{width}}  {_about(path)}\n" for name, path in files.items())


def _files() -> dict[str, Path]:
    found = {path.stem: path for path in sorted(demo_jobs().glob("*.yaml"))}
    if not found:
        raise InputError(Problem(str(demo_jobs()), "holds no demo jobs"))
    return {key: found[key] for key in sorted(found, key=lambda key: (key != USUAL, key))}


def _about(path: Path) -> str:
    """The first sentence of the comment at the head of a file."""
    said = []
    for line in path.read_text(encoding="utf-8").splitlines():
        if not line.startswith("#"):
            break
        said.append(line.lstrip("# "))
    return " ".join(said).split(". ")[0].rstrip(".")
