"""Where the templates lie and where their compiled form is kept: compiling takes longer than rendering."""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING

from advisor.store import cache_folder
from advisor.version import VERSION

if TYPE_CHECKING:
    from jinja2 import BytecodeCache

TEMPLATES = Path(__file__).parent / "templates"


def compiled() -> BytecodeCache | None:
    """Templates compiled by an earlier run; None where nothing can be kept."""
    from jinja2 import FileSystemBytecodeCache

    folder = cache_folder() / f"templates-{VERSION}"
    try:
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    except OSError:
        return None
    return FileSystemBytecodeCache(str(folder)) if os.access(folder, os.W_OK) else None
