"""All JSON Schemas of the knowledge base, and which file is held against which."""

from __future__ import annotations

import json
from pathlib import PurePosixPath

from advisor.catalogue.job_schema import job_schema
from advisor.catalogue.rule_schema import rules_schema
from advisor.catalogue.schema_parts import Schema
from advisor.catalogue.table_schemas import sources_schema, table_schemas, vocabulary_schema, words_schema
from advisor.catalogue.worked_schema import worked_job_schema
from advisor.knowledge.base import Knowledge

#: Where the schemas lie, from the root of the project.
FOLDER = "docs/schema"
_MARK = "# yaml-language-server: $schema="


def schemas(knowledge: Knowledge) -> dict[str, Schema]:
    """Every schema by its name."""
    return {
        "rules": rules_schema(knowledge),
        "vocabulary": vocabulary_schema(knowledge),
        "sources": sources_schema(),
        "words": words_schema(knowledge),
        "job": job_schema(knowledge),
        "worked-job": worked_job_schema(knowledge),
        **{name.replace("_", "-"): schema for name, schema in table_schemas(knowledge).items()},
    }


def schema_files(knowledge: Knowledge) -> dict[str, str]:
    """The text of every schema file by its name; the same knowledge gives the same bytes."""
    return {
        f"{name}.schema.json": json.dumps(schema, ensure_ascii=False, indent=1) + "\n"
        for name, schema in schemas(knowledge).items()
    }


def schema_of(file: str) -> str | None:
    """The name of the schema that holds for a file, by its path from the root of the project.

    >>> schema_of("knowledge/rules/backing.yaml"), schema_of("knowledge/reference/top_coats.yaml")
    ('rules', 'top-coats')
    >>> schema_of("shared/jobs/vent-lever.yaml"), schema_of("knowledge/jobs/flush-bead.yaml")
    ('job', 'worked-job')
    >>> schema_of("README.md") is None
    True
    """
    path = PurePosixPath(file)
    if path.suffix != ".yaml":
        return None
    inside = path.parts[1:]
    if path.parts[:2] == ("shared", "jobs"):
        return "job"
    folder = inside[0] if len(inside) > 1 else ""
    if folder == "rules":
        return "rules"
    if folder == "jobs":
        return "worked-job"
    if folder == "reference":
        return path.stem.replace("_", "-")
    return path.stem if path.stem in ("vocabulary", "sources", "words") else None


def first_line(file: str) -> str | None:
    """The line by which an editor finds the schema of a file; None where there is none.

    >>> first_line("knowledge/rules/backing.yaml")
    '# yaml-language-server: $schema=../../docs/schema/rules.schema.json'
    """
    name = schema_of(file)
    if name is None:
        return None
    up = "../" * (len(PurePosixPath(file).parts) - 1)
    return f"{_MARK}{up}{FOLDER}/{name}.schema.json"


def with_first_line(text: str, file: str) -> str:
    """The text of a file with the line that points to its schema, in place of an older such line."""
    wanted = first_line(file)
    if text.startswith(_MARK):
        text = text.partition("\n")[2]
    return text if wanted is None else f"{wanted}\n{text}"
