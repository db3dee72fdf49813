"""The door: `main` finds the command, loads only that one, and turns faults into one line.

A command is a file in this folder holding a click command named ``command``; its help line
stands in `COMMANDS`, so that listing the commands loads none of them.
"""

from __future__ import annotations

import contextlib
import errno
import importlib
import os
import sys
from typing import TYPE_CHECKING, Any

import click

from drybox import MODEL_VERSION, __version__
from drybox.errors import DryboxError, ExitStatus, InputError, StoreError, did_you_mean

if TYPE_CHECKING:
    from collections.abc import Sequence

COMMANDS = {
    "init": "Write a commented starter event file with an invented forecast.",
    "check": "Read everything; say what is wrong or assumed.",
    "aim": "Which way the box faces, how far it tilts, when to turn it.",
    "setout": "When to set the box out; first and last useful laying-on.",
    "dry": "When a print is dry, by every way of drying side by side.",
    "day": "The event day in a dozen lines: box, sitters, sun, last dry print.",
    "finish": "From dry to flat: curl, boards, blotters, what may enclose it.",
    "wash": "How many changes of water, how many litres, how long.",
    "baths": "What each tank still takes, what to bring and to take home.",
    "plan": "The event day: a promise for every sitter.",
    "season": "Month by hour: drying minutes and how often the box works.",
    "note": "Write down what was measured.",
    "calibrate": "Fit box and paper to the notes.",
    "weather": "Look into, convert or fetch a weather file.",
    "explain": "The method in plain words, with equations and sources.",
}

LONGEST_LINE = 600
EPILOG = """\b
Example:
  drybox init fair
  drybox check fair/fair.toml
\b
Exit status: 0 done, 1 a fault of ours, 2 bad input, 3 the question has
no answer, 4 a file, the notes or the network failed, 130 interrupted.
"""


class LazyGroup(click.Group):
    """The commands of `COMMANDS`; each is loaded only when it is called."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Return the names of the commands in the order of a working day."""
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """Load one command."""
        if cmd_name not in self.list_commands(ctx):
            return None
        module = importlib.import_module(f"drybox.cli.{cmd_name}")
        command = module.command
        assert isinstance(command, click.Command)
        return command

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """Find the command, or say which name is near."""
        name, names = args[0], self.list_commands(ctx)
        if name not in names and not name.startswith("-") and not ctx.resilient_parsing:
            mend = "see 'drybox --help'"
            if name.endswith(".toml"):
                mend = f"put a command before it, such as: drybox check {name}"
            mend = did_you_mean(name, names, mend)
            raise click.UsageError(f"'{name}' is no command; {mend}")
        return super().resolve_command(ctx, args)

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """List the commands with their help lines, without loading them."""
        with formatter.section("Commands"):
            formatter.write_dl([(name, COMMANDS[name]) for name in self.list_commands(ctx)])

    def shell_complete(self, ctx: click.Context, incomplete: str) -> list[Any]:
        """Complete a command's name without loading any."""
        from click.shell_completion import CompletionItem

        names = [name for name in self.list_commands(ctx) if name.startswith(incomplete)]
        options = click.Command.shell_complete(self, ctx, incomplete)
        return [*(CompletionItem(name, help=COMMANDS[name]) for name in names), *options]


def _say_version(ctx: click.Context, _: click.Parameter, wanted: bool) -> None:
    if wanted and not ctx.resilient_parsing:
        from drybox.details import engine

        click.echo(f"drybox {__version__}, model {MODEL_VERSION}, {engine()} step")
        ctx.exit()


@click.group(
    name="drybox",
    cls=LazyGroup,
    epilog=EPILOG,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 88},
)
@click.option(
    "--version",
    is_flag=True,
    expose_value=False,
    is_eager=True,
    callback=_say_version,
    help="Show the version and exit.",
)
@click.option("--debug", is_flag=True, expose_value=False, help="Show where a fault arose.")
def group() -> None:
    """When to set out a solar drying box, how to aim it, and when each print is dry."""


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command and return its exit status.

    The status is 0 done, 1 a fault of ours, 2 bad input, 3 no answer, 4 a file failed, 130
    interrupted.
    """
    args = list(sys.argv[1:] if argv is None else argv)
    debug = "--debug" in args
    stdout = sys.stdout
    _never_fail_on_a_sign()
    try:
        status = _run(args)
        if sys.stdout is not None:
            sys.stdout.flush()
    except click.UsageError as error:
        return _say(_usage_line(error), ExitStatus.BAD_INPUT, debug)
    except DryboxError as error:
        return _say(str(error).removesuffix(" (argument)"), error.exit_status, debug)
    except (KeyboardInterrupt, click.Abort):
        return _say("interrupted", ExitStatus.INTERRUPTED, debug)
    except BrokenPipeError as error:  # the reader has gone
        _forget_stdout(error)
        return int(ExitStatus.DONE)
    except OSError as error:
        _forget_stdout(error)
        what = f"{error.filename}: " if error.filename else ""
        return _say(f"{what}{error.strerror or error}", ExitStatus.STORE_FAILED, debug)
    except Exception as error:
        text = f"this is a fault of ours: {type(error).__name__}: {error}"
        return _say(text + ("" if debug else "; add --debug to see where"), ExitStatus.FAULT, debug)
    finally:
        if sys.stdout is not stdout:
            sys.stdout = stdout
    return status


def _run(args: list[str]) -> int:
    _refuse_empty(args)
    stdout = sys.stdout
    try:
        status = group.main(args, prog_name="drybox", standalone_mode=False, color=_color())
    except SystemExit as stop:
        if sys.stdout is not stdout:  # click found the reader of a pipe gone
            raise BrokenPipeError(errno.EPIPE, "closed pipe") from None
        status = stop.code
    return status if isinstance(status, int) else int(ExitStatus.DONE)


def _refuse_empty(args: Sequence[str]) -> None:
    """Refuse an empty argument: a shell variable that is not set leaves one behind."""
    for number, arg in enumerate(args):
        if not arg.strip():
            after = f" after '{args[number - 1]}'" if number else ""
            mend = "is a variable of the shell not set? Fill it in or leave it out"
            raise InputError(f"the argument{after} is empty", "", mend)


def _color() -> bool:
    """Tell whether standard output takes colour."""
    wanted = not os.environ.get("NO_COLOR") and os.environ.get("TERM") != "dumb"
    return wanted and sys.stdout is not None and sys.stdout.isatty()


def _never_fail_on_a_sign() -> None:
    for stream in (sys.stdout, sys.stderr):
        reconfigure = getattr(stream, "reconfigure", None)
        if reconfigure is not None:
            reconfigure(errors="replace" if stream is sys.stdout else "backslashreplace")


def _usage_line(error: click.UsageError) -> str:
    if isinstance(error, click.exceptions.NoArgsIsHelpError):
        return error.format_message()
    text = error.format_message().rstrip(".")
    if error.ctx is not None and "see '" not in text and "did you mean" not in text.lower():
        text += f"; see '{error.ctx.command_path} --help'"
    return text[:1].lower() + text[1:]


def _say(text: str, status: int, debug: bool) -> int:
    """Write one line to standard error, with the traceback where it was asked for."""
    from drybox.reports.text.phrases import printable

    with contextlib.suppress(OSError, ValueError):
        if debug and sys.stderr is not None:
            import traceback

            traceback.print_exc()
        lines = text.splitlines()
        if not text.startswith("Usage:"):
            lines = [f"drybox: {printable(_shortened(text))}"]
        for line in lines:
            click.echo(line, err=True)
    return int(status)


def _shortened(text: str) -> str:
    """Leave out the middle of what nobody would read; the place named at the end stays."""
    if len(text) <= LONGEST_LINE:
        return text
    return f"{text[: LONGEST_LINE // 2]} ... {text[-LONGEST_LINE // 3 :]}"


def _forget_stdout(error: OSError) -> None:
    """Keep the interpreter from failing again on what standard output could not take."""
    if isinstance(error, BrokenPipeError) or error.errno == errno.ENOSPC:
        with contextlib.suppress(OSError, ValueError, AttributeError):
            os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def write_stdout(text: str) -> None:
    """Write results to standard output, all of them or fail."""
    if sys.stdout is None:
        raise StoreError("cannot write the answer: standard output is closed")
    try:
        sys.stdout.write(text)
        sys.stdout.flush()
    except BrokenPipeError:
        raise
    except OSError as error:
        _forget_stdout(error)
        raise StoreError(f"cannot write the answer: {error.strerror}") from error
