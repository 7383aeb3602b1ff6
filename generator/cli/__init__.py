"""The `rungbook` command. It parses words, prints, and exits; the work is done below.

Exit codes: 0 clean, 1 problems were found, 2 the command was used wrongly, 3 it could not run.
"""

from __future__ import annotations

import argparse
import gc
import os
import sys
from collections.abc import Sequence

from generator import __version__
from generator.cli import authoring, building, checking, cut, ladders, ready, rotate, scans, scenarios, sheets
from generator.cli.shared import CANNOT, CannotRunError, Command, Commands
from generator.cli.trouble import said, speak_anywhere

ORDER = (building, checking, sheets, ladders, scenarios, rotate, ready, scans, cut, authoring)
"""Modules of commands, in the order of the help."""


def run() -> None:
    """Entry point of the installed command."""
    speak_anywhere()
    # Records live until the command ends. Walking all of them at every few hundred new ones took a fifth of a check.
    gc.set_threshold(100_000, 50, 100)
    code = main()
    sys.stderr.flush()
    os._exit(code)  # nothing is open any more, and to take a thousand skills apart record by record takes half a second


def main(words: Sequence[str] | None = None) -> int:
    """Run one command and return its exit code."""
    options = _parser().parse_args(words)
    try:
        command: Command = options.command
        code = command(options)
        sys.stdout.flush()
    except CannotRunError as problem:
        print(f"rungbook: {problem}", file=sys.stderr)
        return CANNOT
    except BrokenPipeError:
        # Whoever read the output has seen enough; Python would complain once more when it closes standard output.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return CANNOT
    except OSError as problem:
        print(f"rungbook: {said(problem)}", file=sys.stderr)
        return CANNOT
    except KeyboardInterrupt:
        print("rungbook: stopped; nothing was changed", file=sys.stderr)
        return CANNOT
    return code


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="rungbook",
        description="Build a hands-on skills handbook, its sheets and its honest trainer ladders from YAML.",
        epilog="Exit codes: 0 clean, 1 problems were found, 2 used wrongly, 3 could not run.",
    )
    parser.add_argument("--version", action="version", version=f"rungbook {__version__}")
    commands = Commands(parser.add_subparsers(title="commands", metavar="COMMAND", required=True))
    for module in ORDER:
        module.add(commands)
    return parser
