"""`pull`: tension and sidewall pressure of one pull, told in words, without a file."""

from __future__ import annotations

import argparse

HELP = "how hard one wire pull is, both ways round, and which end to feed from"
#: Where the option is called otherwise than the request's field.
_NAMES = {"sidewall_limit_lb_per_ft": "--sidewall-limit", "feed_tension_lb": "--feed-tension"}


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The command's options, from the request."""
    from racewright.cli.options import add_options
    from racewright.operations.pull import PullRequest

    parser.set_defaults(told=add_options(parser, PullRequest, names=_NAMES, lists={"wires": _by_commas}))
    parser.add_argument("--json", action="store_true", help="print the answer as JSON (N, mm, N/mm)")


def run(args: argparse.Namespace) -> int:
    """Prints the pull, in feet and lb, or in m and N where the path is written so; 1 where a limit is passed."""
    from racewright.cards.text.wires import pull_text
    from racewright.cli.answers import asked, show
    from racewright.cli.options import given
    from racewright.operations.pull import PullRequest

    answer = asked("pull", PullRequest(**given(args, PullRequest)), options=args.told)
    return show(answer, pull_text, as_json=args.json)


def _by_commas(text: str) -> tuple[str, ...]:
    return tuple(part.strip() for part in text.split(",") if part.strip())
