"""Takes in a new trial: from a file or by asking, filled in from its sheet, checked and stored."""

from __future__ import annotations

import os
from datetime import datetime
from pathlib import Path

from advisor.cli.streams import DASH, read_document, say
from advisor.errors import InputError, Problem, nearest
from advisor.knowledge.base import Knowledge
from advisor.knowledge.text_file import read_text
from advisor.sheet.model import Sheet
from advisor.trials.bench import open_bench
from advisor.trials.from_sheet import filled_in
from advisor.trials.log import read_log
from advisor.trials.model import Trial
from advisor.trials.read import parse_trial
from advisor.trials.store import believed, store
from advisor.units import show


def take_trial(
    file: str | None, sheet: str | None, folder: Path, knowledge: Knowledge, now: datetime
) -> Trial:
    """Read or ask, check against the job and the log, and store.

    Raises InputError with everything that is wrong; then nothing was stored.
    """
    made_from = None if sheet is None else _sheet(sheet)
    if file is None:
        return _by_asking(made_from, folder, knowledge, now)
    node, name = read_document(file)
    beside = Path() if file == DASH else Path(file).parent
    if made_from is not None:
        node = filled_in(node, made_from, name)
    return _kept(parse_trial(node, knowledge, name, beside), beside, folder, knowledge, now, made_from)


def _by_asking(sheet: Sheet | None, folder: Path, knowledge: Knowledge, now: datetime) -> Trial:
    from advisor.cli.trial_asking import ask_for_trial, kept_text

    draft = ask_for_trial(knowledge, sheet, now)
    try:
        return _kept(parse_trial(draft, knowledge, "the answers"), Path(), folder, knowledge, now, sheet)
    except InputError:
        say("What was answered, as a trial file to hand in once this is mended:\n" + kept_text(draft))
        raise


def _sheet(path: str) -> Sheet:
    from advisor.render.json import from_json

    return from_json(read_text(path), path)


def _kept(
    trial: Trial, beside: Path, folder: Path, knowledge: Knowledge, now: datetime, sheet: Sheet | None
) -> Trial:
    """Check a trial against its job and the log, and store it."""
    problems = [*_stock(trial), *_photos(trial, beside), *_followed(trial, knowledge)]
    problems += _corrects(trial, folder, knowledge)
    if sheet is None or trial.extra:
        problems += _step(trial, knowledge)
    if problems:
        raise InputError(problems)
    kept = store(_photos_from(trial, beside, folder), folder, now)
    for remark in remarks(kept, now):
        say(remark)
    return kept


def remarks(trial: Trial, now: datetime) -> list[str]:
    """What would have made the trial worth more, and what was odd about it."""
    said = []
    if trial.measured.ra_um is not None:
        missing = [
            text
            for text, value in (
                ("the cut-off (roughness.cutoff, such as 0.8 mm)", trial.roughness.cutoff_mm),
                ("the direction (roughness.direction: across or along the lay)", trial.roughness.direction),
            )
            if value is None
        ]
        if missing:
            said.append(
                f"Ra was measured, but not said: {' and '.join(missing)}. Readings compare only alike."
            )
    if not trial.measured.anything and not trial.symptoms:
        said.append("Nothing was measured and no symptom named: the log learns little from this trial.")
    if believed(now) is None:
        said.append(
            f"This machine's clock says {now.date().isoformat()}, which cannot be: the trial is stored without the "
            "moment of storing. Set the clock."
        )
    return said


def _step(trial: Trial, knowledge: Knowledge) -> list[Problem]:
    """A trial of a step that the sheet of its job does not have."""
    from advisor.pipeline import Desk

    try:
        open_bench(trial, Desk(knowledge, "plain"))  # both matchers answer alike; this one opens at once
    except InputError as error:
        return list(error.problems)
    return []


def _stock(trial: Trial) -> list[Problem]:
    """More than the part is thick cannot have come off."""
    wall, removal = trial.job.part.wall_mm, trial.measured.removal_um
    if wall is None or removal is None or removal < wall * 1e3:
        return []
    what = "measured.removal: as much as the thinnest wall of the part, or more"
    return [Problem(trial.file, what, show(removal, "um"), f"less than {show(wall, 'mm')}")]


def _photos(trial: Trial, beside: Path) -> list[Problem]:
    return [
        Problem(trial.file, "photos: no such file", photo)
        for photo in trial.photos
        if not (beside / photo).is_file()
    ]


def _photos_from(trial: Trial, beside: Path, folder: Path) -> Trial:
    """The trial with its photos named from the log, so that log and photos can move together."""
    paths = tuple(Path(os.path.relpath(beside / photo, folder)).as_posix() for photo in trial.photos)
    return trial.model_copy(update={"photos": paths})


def _followed(trial: Trial, knowledge: Knowledge) -> list[Problem]:
    """Rules whose remedy was followed must be rules."""
    return [
        Problem(trial.file, "followed: no such rule", each, nearest=nearest(each, knowledge.rule))
        for each in trial.followed
        if each not in knowledge.rule
    ]


def _corrects(trial: Trial, folder: Path, knowledge: Knowledge) -> list[Problem]:
    """A correction names a trial of this log that nobody has corrected yet."""
    if trial.corrects is None:
        return []
    log = read_log(folder, knowledge, must_exist=False)
    if trial.corrects not in log.by_id:
        near = nearest(trial.corrects, log.by_id)
        return [Problem(trial.file, "corrects: no such trial in this log", trial.corrects, nearest=near)]
    newer = log.corrected.get(trial.corrects)
    if newer:
        return [Problem(trial.file, f"corrects: already corrected by {newer}; name that one", trial.corrects)]
    return []
