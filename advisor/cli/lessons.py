"""Runs `advisor trial learn`: reads the log, calibrates, and puts the result where it is wanted."""

from __future__ import annotations

from pathlib import Path

from advisor.cli.streams import check_output, emit, say, write_whole
from advisor.cli.trial_log import opened
from advisor.errors import InputError, Problem
from advisor.learning.show import file_text, to_json, to_text
from advisor.learning.store import FILE
from advisor.learning.teach import Lesson, teach
from advisor.pipeline import Desk


def check_places(output: str | None, report: str | None, pictures: str | None) -> None:
    """Refuse early what cannot be written to. Raises InputError."""
    for name, folder in (("--output", output), ("--pictures", pictures)):
        if folder is not None and (
            not folder.strip() or (Path(folder).exists() and not Path(folder).is_dir())
        ):
            raise InputError(Problem(name, "is no folder", given=folder))
    check_output(report)


def show_lesson(
    log: str | None,
    knowledge: str | None,
    form: str,
    output: str | None,
    report: str | None,
    pictures: str | None,
) -> Lesson:
    """Print what the log teaches, and write what else was asked for. Raises InputError."""
    base, read = opened(log, knowledge)
    lesson = teach(read.standing, Desk(base, "plain"))  # both matchers answer alike; this one opens at once
    if output is not None:
        target = made(output) / FILE
        write_whole(str(target), file_text(lesson.learned))
        say(f"Wrote {target}")
    if report is not None:
        from advisor.learning.report import to_html

        write_whole(report, to_html(lesson))
        say(f"Wrote {report}")
    if pictures is not None:
        from advisor.learning.pictures import drawn

        folder = made(pictures)
        for name, svg in drawn(lesson):
            write_whole(str(folder / f"{name}.svg"), svg)
        say(f"Wrote the pictures into {folder}")
    emit(to_json(lesson) if form == "json" else to_text(lesson))
    return lesson


def made(folder: str) -> Path:
    """A folder, made where there is none. Raises InputError where that cannot be."""
    path = Path(folder)
    try:
        path.mkdir(parents=True, exist_ok=True)
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise InputError(Problem(folder, f"the folder cannot be made: {reason}")) from None
    return path
