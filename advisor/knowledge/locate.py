"""Where the packaged knowledge and the shared jobs lie: inside the wheel, or at the root of a checkout."""

from __future__ import annotations

from pathlib import Path

_PACKAGE = Path(__file__).resolve().parent.parent


def knowledge_folder() -> Path:
    """The knowledge that is used unless another folder is named.

    >>> (knowledge_folder() / "vocabulary.yaml").is_file()
    True
    """
    return _data("knowledge")


def demo_jobs() -> Path:
    """The folder of the demo jobs.

    >>> any(demo_jobs().glob("*.yaml"))
    True
    """
    return _data("shared") / "jobs"


def shared_table(name: str) -> Path:
    """A table that travels with the program.

    >>> shared_table("n_grades.csv").is_file()
    True
    """
    return _data("shared") / "tables" / name


def _data(name: str) -> Path:
    # A wheel carries its data in advisor/data; a checkout and an editable install have it beside the code.
    packed = _PACKAGE / "data" / name
    return packed if packed.is_dir() else _PACKAGE.parent / name
