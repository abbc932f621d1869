"""The command `advisor`: how a command line is run, and how an error becomes one line and an exit code."""

import contextlib
import os
import sys
import traceback
from pathlib import Path
from typing import Any, TextIO

from advisor.cli.commands import advisor
from advisor.cli.paper import PlainStream
from advisor.errors import AdvisorError

LONGEST_ERROR = 600  # characters


def main(arguments: list[str] | None = None) -> None:
    """Run the command line; every foreseen error is one line on standard error and exit code 2."""
    code = run(arguments)
    for stream in (sys.stdout, sys.stderr):
        if stream is not None:
            _written(stream)
    sys.exit(code)


def _written(stream: TextIO) -> None:
    """Write what a stream still holds; what cannot be is dropped, or Python ends with a code of its own."""
    try:
        stream.flush()
    except (OSError, ValueError):
        with contextlib.suppress(OSError, ValueError):
            os.dup2(os.open(os.devnull, os.O_WRONLY), stream.fileno())


def run(arguments: list[str] | None = None) -> int:
    """The exit code of a command line."""
    if sys.stdout is None:  # closed by whoever started it
        sys.stdout = open(os.devnull, "w", encoding="utf-8")  # noqa: SIM115 - it lives as long as the process
    for stream in (sys.stdout, sys.stderr):
        reconfigure: Any = getattr(stream, "reconfigure", None)
        if reconfigure is not None:
            reconfigure(errors="replace")  # a terminal without ° still gets its verdict
    out: Any = PlainStream(sys.stdout)
    err: Any = sys.stderr and PlainStream(sys.stderr)
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        return _run(arguments)


def _run(arguments: list[str] | None) -> int:
    try:
        result = advisor(arguments, standalone_mode=False)
        sys.stdout.flush()
    except AdvisorError as error:
        return _fail(str(error), error.exit_code)
    except KeyboardInterrupt:
        return _fail("interrupted", 2)
    except (OSError, SystemExit) as error:
        # the output could not be written (a full disk, a pipe whose reader left, of which the command line's library
        # makes an exit with 1, which is a WAIT here); what is left of it `main` drops
        return 2 if isinstance(error, BrokenPipeError | SystemExit) else _fail(f"cannot read or write: {error}", 2)
    except Exception as error:
        shown = getattr(error, "format_message", None)
        if shown is None:
            return unforeseen(error)
        message = shown()
        if message.startswith("Usage:"):  # asked without a command: the help itself
            print(message, file=sys.stderr)
            return 2
        return _fail(f"{message} See advisor --help.", 2)
    return result if isinstance(result, int) else 0


def unforeseen(error: Exception) -> int:
    """A fault of our own: one line too, and never Python's exit code 1, which would be a WAIT for a known reason."""
    last = traceback.extract_tb(error.__traceback__)[-1]
    where = f"{Path(last.filename).name}, line {last.lineno}"
    return _fail(f"a fault of its own, {type(error).__name__}: {error} ({where}); report it", 2)


def _fail(message: str, exit_code: int) -> int:
    one_line = " ".join(message.split())
    if len(one_line) > LONGEST_ERROR:
        one_line = f"{one_line[:LONGEST_ERROR]}…"
    if sys.stderr is not None:
        with contextlib.suppress(OSError, ValueError):  # a full disk there must not change the exit code
            print(f"advisor: {one_line}", file=sys.stderr)
    return exit_code
