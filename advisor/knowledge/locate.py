"""Where the packaged knowledge and the shared jobs lie: inside the wheel, or at the root of a checkout."""

from __future__ import annotations

from pathlib import Path

_PACKAGE = Path(__file__).resolve().parent.parent


def knowledge_folder() -> Path:
    """The knowledge that is used unless another folder is named.

    >>> (knowledge_folder() / "vocabulary.yaml").is_file()
    True
    """
    inside = _PACKAGE / "knowledge"
    return inside if (inside / "vocabulary.yaml").is_file() else _PACKAGE.parent / "knowledge"


def demo_jobs() -> Path:
    """The folder of the demo jobs.

    >>> any(demo_jobs().glob("*.yaml"))
    True
    """
    inside = _PACKAGE / "shared" / "jobs"
    return inside if inside.is_dir() else _PACKAGE.parent / "shared" / "jobs"
