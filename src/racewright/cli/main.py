"""The `racewright` command: picks one command module, loads only that, and turns errors into words and exit codes.

Exit codes: 0 fine; 1 a check found a problem (the result is printed all the same); 2 the input or the command line
cannot be used; 3 what was asked cannot be made; 4 an optional library is missing; 130 stopped by the user.
"""

from __future__ import annotations

import argparse
import gc
import os
import sys
from contextlib import suppress
from importlib import import_module
from typing import Any, NoReturn, cast

from racewright import __version__
from racewright.cli.out_files import check_outputs
from racewright.cli.terminal import clean_streams
from racewright.errors import InputError, LimitError, MissingExtra, RacewrightError

#: command -> what it does; the module is racewright.cli.cmd_<command>
COMMANDS = {
    "plan": "a surveyed run becomes a bend card",
    "shape": "one bend shape, without a file",
    "bender": "your benders: list, add, calibrate",
    "tweak": "the bent piece is off: what to correct",
    "remark": "a half-bent piece is off: new marks for the rest",
    "diagnose": "what is off with a shoe, from finished pieces",
    "check": "a surveyed run against the code's articles: findings, no approval",
    "wires": "one question on wires, fill and boxes, without a file",
    "pull": "the wire pull: tension and which end to pull from",
    "job": "many runs: status, plans, bill, cut list, hand-over pack",
    "export": "a surveyed run as DXF, glTF or IFC",
    "serve": "the page, from this machine",
    "devices": "phones and desks paired with the server: list, revoke",
    "site": "the page as files for any web host",
    "schema": "the JSON Schema of a survey file",
}

NEWCOMER = """\
Racewright: bend marks worked out from your own bender's figures, with the rule of thumb beside them.

Three things to try:
  racewright plan examples/pump-house-saddle.yaml     a surveyed run -> the bend card
  racewright shape offset --rise 6 --angle 30         one offset, its marks, and the trade's marks beside them
  racewright bender                                   the benders it knows; add or calibrate your own

`racewright COMMAND --help` says more. Commands:
"""


def _listing() -> str:
    return NEWCOMER + "".join(f"  {name:8} {text}\n" for name, text in COMMANDS.items())


class Parser(argparse.ArgumentParser):
    """A command line that is refused says where help is, on a line of its own."""

    def _get_formatter(self) -> argparse.HelpFormatter:
        """One that is told the width: argparse alone loads shutil, bz2 and lzma for it at every start."""
        return cast("type[argparse.HelpFormatter]", self.formatter_class)(self.prog, width=_columns() - 2)

    def parse_known_args(self, args: Any = None, namespace: Any = None) -> Any:
        """An option that an action does not know is refused by the action, whose help names those that it has."""
        known, unknown = super().parse_known_args(args, namespace)
        if unknown:
            self.error(f"unrecognized arguments: {' '.join(unknown)}")
        return known, unknown

    def error(self, message: str) -> NoReturn:
        """Usage, what is wrong, and a hint; exit code 2."""
        self.print_usage(sys.stderr)
        self.exit(2, f"{self.prog}: {message}\nhint: `{self.prog} --help` says what it takes\n")


def _columns() -> int:
    """How wide the terminal is: what COLUMNS says, else the terminal, else 80."""
    said = os.environ.get("COLUMNS", "")
    if said.isdecimal() and int(said) > 0:
        return int(said)
    with suppress(OSError):
        return os.get_terminal_size().columns or 80
    return 80


def command() -> NoReturn:
    """`main` as a program of its own, which ends. What it made is not searched for circles once more on the way out:
    the system takes it back whole, and for a card the search takes a tenth of the command's time."""
    try:
        sys.exit(main())
    finally:
        gc.freeze()


def main(argv: list[str] | None = None) -> int:
    """Run one command; returns the exit code. What it prints is cleaned on the way out."""
    with clean_streams():
        return _main(sys.argv[1:] if argv is None else argv)


def _main(args: list[str]) -> int:
    if not args or args[0] in ("-h", "--help", "help"):
        print(_listing(), end="")
        return 0
    if args[0] in ("-V", "--version"):
        print(f"racewright {__version__}")
        return 0
    name = args[0]
    if name not in COMMANDS:
        near = _nearest(name)
        print(f"racewright: there is no command '{name}'.", file=sys.stderr)
        print(f"hint: {f'did you mean {near}? ' if near else ''}`racewright` alone lists them", file=sys.stderr)
        return 2
    module = import_module(f"racewright.cli.cmd_{name}")
    parser = Parser(prog=f"racewright {name}", description=module.HELP)
    module.add_arguments(parser)
    try:
        _check_words(args)
        asked = parser.parse_args(args[1:])
        check_outputs(asked)
        code = int(module.run(asked))
        sys.stdout.flush()
        return code
    except RacewrightError as err:
        print(f"racewright {name}: {err}", file=sys.stderr)
        return 3 if isinstance(err, LimitError) else 4 if isinstance(err, MissingExtra) else 2
    except BrokenPipeError:
        _print_no_more()
        return 0
    except OSError as err:  # files name themselves; this is what is printed, into a full disk
        print(f"racewright {name}: cannot be written: {err.strerror or err}.", file=sys.stderr)
        print("hint: look at the room on the disk that the output goes to", file=sys.stderr)
        _print_no_more()
        return 2
    except KeyboardInterrupt:
        print("stopped", file=sys.stderr)
        return 130


def _check_words(args: list[str]) -> None:
    """Raises InputError for what no command can take: bytes that are no letters, and '--' as an option's value (the
    option parser would hand over an empty list)."""
    options = args[: args.index("--")] if "--" in args else args
    for word in args:
        if any("\ud800" <= c <= "\udfff" or c == "\0" for c in word):
            shown = word[:60].encode("utf-8", "replace").decode()
            raise InputError(
                f"'{shown}' holds bytes that are no letters in UTF-8.",
                hint="type it in a terminal set to UTF-8, or give the file a name in plain letters",
            )
    for word in options:
        if word.startswith("--") and word.partition("=")[2] == "--":
            option = word.partition("=")[0]
            raise InputError(f"{option}: '--' is no value.", hint=f"write the value behind {option}=", field=option)


def _print_no_more() -> None:
    with suppress(OSError, ValueError):  # a stream without a file below it has nothing to turn away
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def _nearest(name: str) -> str:
    from difflib import get_close_matches

    return next(iter(get_close_matches(name, COMMANDS, 1)), "")


if __name__ == "__main__":
    command()
