"""The page of every finding of `advisor check`: what it says, why it matters, how to mend it."""

from __future__ import annotations

from collections.abc import Iterable

from advisor.check.finding import Code


def check_pages(codes: Iterable[Code]) -> dict[str, str]:
    """A page for each code and an index, by path below `docs/reference`."""
    known = list(codes)
    rows = "\n".join(
        f"| [{code.code}]({code.code.lower()}-{code.name}.md) | {code.severity} | {code.what} |"
        for code in known
    )
    index = (
        "# What `advisor check` finds\n\n"
        "Errors end the command with 1. Warnings and notes are worth a look (`--all` shows them). A rule that must\n"
        "break a check says so itself, under `allows: {CODE: reason}`, and the summary counts it.\n\n"
        f"| code | severity | what it says |\n|---|---|---|\n{rows}\n"
    )
    pages = {f"check/{code.code.lower()}-{code.name}.md": _page(code) for code in known}
    return {"check/index.md": index, **pages}


def _page(code: Code) -> str:
    example = f"\n## Example\n\n```text\n{code.example.strip()}\n```\n" if code.example else ""
    return (
        f"# {code.code}: {code.name.replace('-', ' ')}\n\n"
        f"Severity: {code.severity}. [All findings](index.md).\n\n"
        f"## What it says\n\n{code.what}\n\n## Why it matters\n\n{code.why}\n\n## How to mend it\n\n{code.mend}\n"
        f"{example}"
    )
