"""The command `batch`: many jobs with a bar, a table of them all, and a sheet each."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, cast

import typer

from advisor.cli.choices import UNITS, one_of
from advisor.cli.options import Debug, KnowledgeFolder, Units
from advisor.cli.progress import Bar
from advisor.cli.streams import emit, say, write_whole
from advisor.errors import AdvisorError, InputError, Problem

if TYPE_CHECKING:
    from advisor.batch.task import Line

NO, WRONG = 1, 2
SHEETS = ("markdown", "html", "json")
BACKENDS = ("processes", "dask", "ray")


def batch(
    jobs: Annotated[
        list[str], typer.Argument(metavar="JOBS...", help="Job files, folders of them, or CSV tables with a job a row.")
    ],
    output: Annotated[
        str | None,
        typer.Option("--output", metavar="FOLDER", help="Write summary.csv, summary.md and a sheet each in here."),
    ] = None,
    format_: Annotated[
        str, typer.Option("--format", metavar="|".join(SHEETS), help="The form of the sheets.")
    ] = "markdown",
    units: Units = "si",
    workers: Annotated[
        int | None, typer.Option("--workers", metavar="N", help="How many processes; as many as processors without.")
    ] = None,
    backend: Annotated[
        str, typer.Option("--backend", metavar="|".join(BACKENDS), help="What spreads the work.", show_default=True)
    ] = "processes",
    scheduler: Annotated[
        str | None,
        typer.Option("--scheduler", metavar="ADDRESS", help="With --backend dask: its scheduler, tcp://HOST:8786."),
    ] = None,
    knowledge: KnowledgeFolder = None,
    debug: Debug = False,
) -> None:
    """Recommend for many jobs: a summary and a sheet each.

    A job that fails is reported with its reason and does not stop the rest. With --output the run can be
    broken off and started again: what is finished is not done again, unless job, knowledge or program have
    changed. Ends with 2 where a job cannot be read or fails, else with 1 where one has no process.
    """
    from advisor.batch.inputs import gather
    from advisor.batch.journal import Journal
    from advisor.batch.run import run
    from advisor.batch.table import to_csv, to_markdown
    from advisor.batch.task import Way
    from advisor.knowledge.load import load_knowledge

    form = _checked(format_, units, workers, backend, scheduler, output)
    folder = None if output is None else Path(output)
    tasks, unread = gather(jobs, folder)
    base = load_knowledge(None if knowledge is None else Path(knowledge))
    place = None if knowledge is None else str(Path(knowledge).resolve()) if Path(knowledge).exists() else knowledge
    way = Way(place, base.fingerprint, cast(Any, form), cast(Any, units.lower()), output is not None)
    journal = None
    if folder is not None:
        _make(folder)
        journal = Journal(folder)

    def keep(name: str, text: str) -> None:
        assert folder is not None
        write_whole(str(folder / name), text)

    bar = Bar()
    with _spread(backend, scheduler):
        ran = run(tasks, way, keep, journal, workers, _spaced(bar))
    bar.end()
    lines = (*ran.lines, *unread)
    if folder is not None:
        write_whole(str(folder / "summary.csv"), to_csv(lines))
        write_whole(str(folder / "summary.md"), to_markdown(lines))
    emit(to_markdown(lines))
    told = f", {ran.before} of them finished before" if ran.before else ""
    say(f"{len(lines)} jobs{told}, {bar.seconds:.0f} s")
    code = exit_code(lines)
    if code:
        raise typer.Exit(code)


def exit_code(lines: tuple[Line, ...]) -> int:
    """2 where a job is wrong or failed, else 1 where one has no process, else 0."""
    found = {line.status for line in lines}
    return WRONG if found & {"wrong", "failed"} else NO if "no process" in found else 0


def _checked(
    format_: str, units: str, workers: int | None, backend: str, scheduler: str | None, output: str | None
) -> str:
    problems: list[Problem] = []
    choices = (("--format", format_, SHEETS), ("--units", units, UNITS), ("--backend", backend, BACKENDS))
    for option, given, allowed in choices:
        try:
            one_of(option, given, allowed)
        except AdvisorError as error:
            problems += error.problems
    if workers is not None and not 1 <= workers <= 1024:
        problems.append(Problem("--workers", "not a number of processes", str(workers), "1 to 1024"))
    if scheduler is not None and backend.lower() != "dask":
        problems.append(Problem("--scheduler", "a scheduler belongs to dask", scheduler, "--backend dask"))
    if output is not None and (not output.strip() or (Path(output).exists() and not Path(output).is_dir())):
        problems.append(Problem("--output", "not a folder", output))
    if problems:
        raise InputError(problems)
    return format_.lower()


def _make(folder: Path) -> None:
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise InputError(Problem(str(folder), f"cannot be made: {error.strerror}")) from None


@contextmanager
def _spread(backend: str, scheduler: str | None) -> Iterator[None]:
    """The back end of joblib that was asked for. Raises InputError where it is not installed or not there."""
    if backend.lower() == "processes":
        yield
        return
    from joblib import parallel_config

    name = backend.lower()
    try:
        if name == "dask":
            from distributed import Client

            made = Client(scheduler) if scheduler else Client(processes=True, dashboard_address=None)
        else:
            from ray.util.joblib import register_ray

            register_ray()
            made = None
    except ImportError:
        wanted = "pip install 'dask[distributed]'" if name == "dask" else "pip install ray"
        raise InputError(Problem("--backend", f"{name} is not installed here", allowed=wanted)) from None
    except (OSError, ValueError) as error:
        raise InputError(Problem("--scheduler", f"cannot be reached: {error}", scheduler)) from None
    try:
        with parallel_config(backend=name):
            yield
    finally:
        if made is not None:
            made.close()


def _spaced(bar: Bar) -> Callable[[int, int], None]:
    """The bar, drawn ten times a second at most."""
    drawn = 0.0

    def draw(done: int, of: int) -> None:
        nonlocal drawn
        if done == of or bar.seconds - drawn > 0.1:
            drawn = bar.seconds
            bar(done, of)

    return draw
