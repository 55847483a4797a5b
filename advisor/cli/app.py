"""The commands of `advisor`. Everything slow is imported inside the command that needs it."""

from __future__ import annotations

import gc
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from advisor.cli.batching import batch
from advisor.cli.choices import FINDING_FORMATS, REPORT_FORMATS, Wanted, one_of, wanted
from advisor.cli.comparing import compare
from advisor.cli.coverage import coverage
from advisor.cli.group import AdvisorGroup
from advisor.cli.learning import trial
from advisor.cli.options import (
    Debug,
    KnowledgeArgument,
    KnowledgeFolder,
    OldKnowledge,
    Output,
    Record,
    Robustness,
    SheetFormat,
    Units,
    View,
)
from advisor.cli.replaying import replay
from advisor.cli.rpm import QuantityCommand, rpm
from advisor.cli.streams import emit, say
from advisor.cli.what_if import what_if
from advisor.cli.why import why

if TYPE_CHECKING:
    from advisor.knowledge.base import Knowledge
    from advisor.sheet.model import Sheet

NO = 1  # the answer is "no": a refused job, findings in a check

app = typer.Typer(
    name="advisor",
    cls=AdvisorGroup,
    help="Recommends how to take a metal part from its starting defect to its finish, and says why.",
    epilog="Exit codes: 0 done; 1 the answer is no (no process fits, findings in a check); 2 wrong input.",
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    context_settings={"help_option_names": ["--help", "-h"], "max_content_width": 100},
)


@app.callback(invoke_without_command=True)
def advisor(
    ctx: typer.Context,
    version: Annotated[
        bool, typer.Option("--version", help="Name the program, the knowledge and the matcher, and stop.")
    ] = False,
    knowledge: KnowledgeFolder = None,
    debug: Debug = False,
) -> None:
    """Say what runs here, or how to go on, where no command is given."""
    if version:
        from advisor.inference.matchers import available
        from advisor.version import VERSION

        base = _knowledge(knowledge)
        rules = f"{len(base.rules)} rules"
        emit(f"advisor {VERSION}\nknowledge {base.fingerprint} ({rules})\nmatcher {available()}\n")
        raise typer.Exit
    if ctx.invoked_subcommand is None:
        emit(ctx.get_help() + "\n")


@app.command()
def demo(
    name: Annotated[
        str | None, typer.Argument(metavar="[NAME]", help="Which demo job; the first one without.")
    ] = None,
    list_: Annotated[bool, typer.Option("--list", help="List the demo jobs and stop.")] = False,
    format_: SheetFormat = None,
    units: Units = "si",
    view: View = "sheet",
    output: Output = None,
    robustness: Robustness = False,
    knowledge: KnowledgeFolder = None,
    debug: Debug = False,
) -> None:
    """Recommend for a packaged demo job and print the sheet."""
    from advisor.cli.demos import demo_file, demo_list

    if list_:
        emit(demo_list())
        return
    how = wanted(format_, units, view, output)
    _recommend(str(demo_file(name)), knowledge, how, robustness)


@app.command()
def recommend(
    job: Annotated[
        str, typer.Argument(metavar="JOB", help="The job file (YAML or JSON); - is standard input.")
    ],
    format_: SheetFormat = None,
    units: Units = "si",
    view: View = "sheet",
    output: Output = None,
    record: Record = None,
    learned: Annotated[
        str | None,
        typer.Option(
            "--learned", metavar="FOLDER", help="Use what trials taught (made by advisor trial learn --output)."
        ),
    ] = None,
    log: Annotated[
        str | None,
        typer.Option(
            "--log", metavar="FOLDER", help="Add what was tried on jobs like it, and the track record of rules."
        ),
    ] = None,
    robustness: Robustness = True,
    knowledge: KnowledgeFolder = None,
    debug: Debug = False,
) -> None:
    """Recommend a process for a job.

    The sheet has steps, numbers, limits, checks, and the reason for each; with --log also what was tried
    on jobs like this one.
    """
    how = wanted(format_, units, view, output, (job,))
    if learned is not None or log is not None:
        from advisor.cli.taught import sheet_with_trials

        _deliver(sheet_with_trials(job, knowledge, learned, log, record, robustness=robustness), how)
        return
    if record is None:
        _recommend(job, knowledge, how, robustness)
        return
    from advisor.cli.recording import sheet_on_record

    _deliver(sheet_on_record(job, knowledge, record, robustness=robustness), how)


@app.command()
def ask(
    save: Annotated[
        str | None,
        typer.Option("--save", metavar="JOB", help="Also write the answers as a job file; it must be new."),
    ] = None,
    format_: SheetFormat = None,
    units: Units = "si",
    view: View = "sheet",
    output: Output = None,
    knowledge: KnowledgeFolder = None,
    debug: Debug = False,
) -> None:
    """Ask for the job in plain questions, then recommend.

    "Don't know" is always an answer; the questions go to standard error, the sheet to standard output.
    """
    from advisor.cli.asking import ask_for_job, check_save
    from advisor.cli.sheets import sheet_for

    how = wanted(format_, units, view, output, () if save is None else (save,))
    check_save(save)
    base = _knowledge(knowledge)
    _deliver(sheet_for(ask_for_job(base, save), base, robustness=True), how)


@app.command()
def words(
    term: Annotated[
        str | None, typer.Argument(metavar="[TERM]", help="A shop word, option, alloy, finish ...")
    ] = None,
    knowledge: KnowledgeFolder = None,
    debug: Debug = False,
) -> None:
    """Say what a shop word means here, or list them all."""
    from advisor.cli.glossary import all_terms, look_up

    base = _knowledge(knowledge)
    emit(all_terms(base) if term is None else look_up(term, base))


@app.command()
def check(
    folder: KnowledgeArgument = None,
    format_: Annotated[
        str, typer.Option("--format", metavar="|".join(FINDING_FORMATS), help="The form of the findings.")
    ] = "text",
    everything: Annotated[bool, typer.Option("--all", help="Show warnings and notes as well.")] = False,
    knowledge: KnowledgeFolder = None,
    debug: Debug = False,
) -> None:
    """Check a knowledge folder.

    Looks at syntax, names, sources, the order of the rules, runs every example, and looks for rules that
    repeat, contradict or never speak. Only errors end it with 1.
    """
    from advisor.cli.checking import check_folder, findings_json, findings_sarif, findings_text, summary
    from advisor.knowledge.locate import knowledge_folder

    form = one_of("--format", format_, FINDING_FORMATS)
    named = folder if folder is not None else knowledge
    report = check_folder(knowledge_folder() if named is None else Path(named))
    if form == "json":
        emit(findings_json(report))
        say(summary(report))
    elif form == "sarif":
        emit(findings_sarif(report))
        say(summary(report))
    else:
        emit(findings_text(report, everything))
    if report.failed:
        raise typer.Exit(NO)


@app.command()
def impact(
    old: OldKnowledge,
    new: Annotated[
        str | None,
        typer.Option("--new", metavar="FOLDER", help="The folder as it is now; that of --knowledge without."),
    ] = None,
    log: Annotated[
        str | None, typer.Option("--log", metavar="FOLDER", help="A trial log whose jobs are looked at too.")
    ] = None,
    format_: Annotated[
        str, typer.Option("--format", metavar="|".join(REPORT_FORMATS), help="The form of the report.")
    ] = "text",
    knowledge: KnowledgeFolder = None,
    debug: Debug = False,
) -> None:
    """Show the jobs that a change of knowledge moves.

    Worked jobs, and with --log those of trials.

    Holds the knowledge as it is now (the packaged one unless a folder is named) against the folder named
    by --old, and says what changes and through which rules. Ends with 1 where something changes.
    """
    from advisor.cli.impacting import show_impact

    form = one_of("--format", format_, REPORT_FORMATS)
    if show_impact(old, new if new is not None else knowledge, log, form):
        raise typer.Exit(NO)


app.command()(coverage)


@app.command()
def rule(
    identity: Annotated[str, typer.Argument(metavar="ID", help="The id of the rule, as a sheet names it.")],
    log: Annotated[
        str | None,
        typer.Option("--log", metavar="FOLDER", help="Also say how its advice went in this trial log."),
    ] = None,
    knowledge: KnowledgeFolder = None,
    debug: Debug = False,
) -> None:
    """Show one rule with its reason.

    What it says, why, where it misleads, who says so, its examples, and its track record in a log.
    """
    from advisor.cli.rule_page import find_rule, rule_page

    base = _knowledge(knowledge)
    found = find_rule(identity, base)
    if log is None:
        emit(rule_page(found, base))
        return
    from advisor.cli.taught import record_of

    lines = record_of(found.id, base, log, knowledge).lines()
    emit(rule_page(found, base, lines or ("No trial of this log shows whether it was followed.",)))


app.command("what-if")(what_if)
app.command()(batch)
app.command()(compare)
app.command()(replay)
app.add_typer(trial)
app.command(cls=QuantityCommand)(rpm)
app.command()(why)


def _knowledge(folder: str | None) -> Knowledge:
    from advisor.knowledge.load import load_knowledge

    return load_knowledge(None if folder is None else Path(folder))


def _recommend(path: str, folder: str | None, how: Wanted, robustness: bool) -> None:
    from advisor.cli.sheets import sheet_of

    _deliver(sheet_of(path, folder, robustness=robustness), how)


def _deliver(sheet: Sheet, how: Wanted) -> None:
    """Write the sheet, and end with 1 where some feature has no process."""
    from advisor.cli.delivery import deliver

    if not deliver(sheet, how):
        raise typer.Exit(NO)


def main() -> None:
    """Run the command line and end the process."""
    gc.set_threshold(200_000)  # one short run leaves little garbage; looking for it is a tenth of the time
    app()
