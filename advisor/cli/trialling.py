"""The commands of the trial log: `advisor trial new`, `list`, `show`, `like` and `next`."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import Annotated

import typer

from advisor.cli.choices import REPORT_FORMATS, UNITS, one_of
from advisor.cli.group import AdvisorGroup
from advisor.cli.options import Debug, KnowledgeFolder, Units
from advisor.cli.streams import emit, say

trial = typer.Typer(
    name="trial",
    cls=AdvisorGroup,
    help="Keep what was tried, look it up, and say what to change next.",
    rich_markup_mode=None,
)
NO = 1  # the answer is "no": nothing is left to change
LogFolder = Annotated[
    str | None,
    typer.Option(
        "--log", metavar="FOLDER", help="The trial log; without it, trials/ of the knowledge folder."
    ),
]
ReportFormat = Annotated[
    str, typer.Option("--format", metavar="|".join(REPORT_FORMATS), help="The form of the answer.")
]
TrialId = Annotated[
    str,
    typer.Argument(metavar="ID", help="The id of a trial, its first letters, or last.", show_default=False),
]


@trial.callback(invoke_without_command=True)
def trials(ctx: typer.Context) -> None:
    """Say how to go on, where no command is given."""
    if ctx.invoked_subcommand is None:
        emit(ctx.get_help() + "\n")


@trial.command()
def new(
    file: Annotated[
        str | None,
        typer.Argument(
            metavar="[FILE]", help="The trial file (YAML or JSON), - is standard input; asks without."
        ),
    ] = None,
    log: LogFolder = None,
    sheet: Annotated[
        str | None,
        typer.Option(
            "--sheet",
            metavar="SHEET",
            help="The JSON sheet that was worked from: what the trial does not say was as it recommends.",
        ),
    ] = None,
    knowledge: KnowledgeFolder = None,
    debug: Debug = False,
) -> None:
    """Check a trial and store it in the log.

    Prints the id it got. Without FILE it asks, in the order of the trial card.
    """
    from advisor.cli.trial_new import take_trial
    from advisor.knowledge.load import load_knowledge

    base = load_knowledge(None if knowledge is None else Path(knowledge))
    kept = take_trial(file, sheet, log_folder(log, knowledge), base, datetime.now().astimezone())
    emit(f"{kept.id}\n")
    say(f"Stored in {kept.file}")


@trial.command(name="list")
def list_(
    log: LogFolder = None,
    job: Annotated[
        str | None, typer.Option("--job", metavar="NAME", help="Only trials of the job of this name.")
    ] = None,
    format_: ReportFormat = "text",
    units: Units = "si",
    knowledge: KnowledgeFolder = None,
    debug: Debug = False,
) -> None:
    """List the trials of the log, oldest first.

    Files that are damaged or foreign are named on standard error and left out.
    """
    from advisor.cli.trial_log import opened
    from advisor.trials.show import list_json, list_text

    form, system = one_of("--format", format_, REPORT_FORMATS), one_of("--units", units, UNITS)
    _, read = opened(log, knowledge)
    found = [each for each in read.trials if job is None or each.job.name == job]
    emit(
        list_json(found, read) if form == "json" else list_text(found, read, "us" if system == "us" else "si")
    )


@trial.command()
def show(
    identity: TrialId,
    log: LogFolder = None,
    format_: ReportFormat = "text",
    units: Units = "si",
    knowledge: KnowledgeFolder = None,
    debug: Debug = False,
) -> None:
    """Show one trial in full."""
    from advisor.cli.trial_log import opened
    from advisor.trials.show import as_json, dumped, trial_text

    form, system = one_of("--format", format_, REPORT_FORMATS), one_of("--units", units, UNITS)
    base, read = opened(log, knowledge)
    one = read.find(identity)
    text = dumped(as_json(one, read)) if form == "json" else ""
    emit(text or trial_text(one, read, base, "us" if system == "us" else "si"))


@trial.command()
def like(
    job: Annotated[str, typer.Argument(metavar="JOB", help="The job file (YAML or JSON).")],
    log: LogFolder = None,
    format_: ReportFormat = "text",
    knowledge: KnowledgeFolder = None,
    debug: Debug = False,
) -> None:
    """Show what was tried on jobs like this one.

    The nearest past trials of each face by alloy, defect, shape, finish and media, failures first.
    """
    from advisor.cli.trial_like import sheet_with_past
    from advisor.trials.show_like import past_json, past_text

    form = one_of("--format", format_, REPORT_FORMATS)
    sheet = sheet_with_past(job, log, knowledge)
    emit(past_json(sheet.past) if form == "json" else past_text(sheet.past, str(sheet.job.get("name"))))


@trial.command(name="next")
def next_(
    identity: TrialId,
    log: LogFolder = None,
    learned: Annotated[
        str | None,
        typer.Option(
            "--learned", metavar="FOLDER", help="Begin from what trials taught (trial learn --output)."
        ),
    ] = None,
    format_: ReportFormat = "text",
    units: Units = "si",
    knowledge: KnowledgeFolder = None,
    debug: Debug = False,
) -> None:
    """Say what to change for the next try.

    One thing at a time, by how much, why and what to watch, in order of promise; nothing that is forbidden
    here or was tried already. Ends with 1 where a miss is left and no change.
    """
    from advisor.cli.trial_log import opened_for
    from advisor.learning.store import read_learned
    from advisor.pipeline import Desk
    from advisor.trials.next_try import next_try
    from advisor.trials.show_next import advice_json, advice_text

    form, system = one_of("--format", format_, REPORT_FORMATS), one_of("--units", units, UNITS)
    base, one, read = opened_for(identity, log, knowledge)
    taught = None if learned is None else read_learned(Path(learned), base)
    advice = next_try(one, read, Desk(base, "plain", taught))  # both matchers answer alike; this one opens at once
    emit(advice_json(advice) if form == "json" else advice_text(advice, "us" if system == "us" else "si"))
    if advice.stuck:
        raise typer.Exit(NO)


def log_folder(log: str | None, knowledge: str | None) -> Path:
    """The folder of the log: the one named, or that of the knowledge in use."""
    from advisor.knowledge.locate import knowledge_folder
    from advisor.knowledge.revision import folder_of

    if log is not None:
        return Path(log)
    return (knowledge_folder() if knowledge is None else folder_of(Path(knowledge))) / "trials"
