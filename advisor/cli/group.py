"""Turns whatever goes wrong into one clear line and an exit code: no traceback ever reaches a user."""

from __future__ import annotations

import os
import sys
from collections.abc import Sequence
from typing import Any

import typer
from typer.core import TyperGroup

from advisor.cli.streams import say
from advisor.errors import AdvisorError, EngineError, InputError, Problem, listing, nearest

WRONG_INPUT = 2
INTERRUPTED = 130

# The class that typer raises for wrong usage, found through a public name so that it is the same one
# whether typer brings its own parser or uses click.
_UsageError: type[Exception] = typer.BadParameter.__mro__[1]


class AdvisorGroup(TyperGroup):
    """The commands, with one place where every exception ends."""

    def main(
        self,
        args: Sequence[str] | None = None,
        prog_name: str | None = None,
        complete_var: str | None = None,
        standalone_mode: bool = True,
        windows_expand_args: bool = True,
        **extra: Any,
    ) -> Any:
        """Run a command; end the process with its exit code, or give the code back."""
        words = list(sys.argv[1:] if args is None else args)
        debug = "--debug" in words or os.environ.get("ADVISOR_DEBUG", "") not in ("", "0")
        try:
            code = super().main(args=words, prog_name="advisor", standalone_mode=False, **extra) or 0
        except Exception as error:
            if debug:
                import traceback

                traceback.print_exc()
            code = _report(
                error, next((f"advisor {word}" for word in words if word in self.commands), "advisor")
            )
        if standalone_mode:
            sys.exit(code)
        return code

    def invoke(self, ctx: Any) -> Any:
        """Run the command that was asked for; an interrupt ends it quietly."""
        try:
            return super().invoke(ctx)
        except KeyboardInterrupt:
            raise typer.Exit(INTERRUPTED) from None

    def resolve_command(self, ctx: Any, args: list[str]) -> Any:
        """The command of a name. Raises InputError with all commands and the nearest."""
        names = self.list_commands(ctx)
        if args and args[0] not in names and not args[0].startswith("-"):
            near = nearest(args[0], names)
            place = str(ctx.command_path)
            raise InputError(Problem(place, "unknown command", args[0], listing(names, 30), near))
        return super().resolve_command(ctx, args)

    def list_commands(self, ctx: Any) -> list[str]:
        """Commands in the order in which they are declared."""
        return list(self.commands)


def _report(error: Exception, command: str) -> int:
    """Say what went wrong, one line a problem, and give the exit code for it."""
    if isinstance(error, AdvisorError) and not isinstance(error, EngineError):
        for problem in error.problems:
            say(str(problem))
    elif isinstance(error, _UsageError):
        say(str(_usage(error, command)))
    elif isinstance(error, typer.Abort):
        return INTERRUPTED
    else:
        said = " ".join(str(error).split())[:200]
        say(
            f"advisor: this is a fault of the program, not of your input ({type(error).__name__}"
            f"{': ' if said else ''}{said}). Please report it with the command, the job file and what the "
            "same command prints with --debug."
        )
    return WRONG_INPUT


def _usage(error: Any, command: str) -> Problem:
    """Wrong usage in the advisor's own form: place, given, allowed, nearest."""
    context = getattr(error, "ctx", None)
    place = command if context is None else str(context.command_path)
    given = getattr(error, "option_name", None)
    options = [] if context is None else _options(context)
    if given is not None and options and given not in options:
        return Problem(place, "unknown option", given, listing(options, 30), nearest(given, options))
    what = " ".join(str(error.format_message()).split()).rstrip(".")
    return Problem(place, f"{what[:1].lower()}{what[1:]}; see '{place} --help'")


def _options(context: Any) -> list[str]:
    return [
        name for param in context.command.get_params(context) for name in param.opts if name.startswith("--")
    ]
