"""`pull`: tension and sidewall pressure of one pull, told in words, without a file."""

from __future__ import annotations

import argparse

from racewright.cli.options import Fields, edition_option, given

HELP = "how hard one wire pull is, both ways round, and which end to feed from"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The command's options."""
    add = Fields(parser)
    add("--raceway", "raceway type: EMT, IMC, RMC, PVC-40, PVC-80", required=True)
    add("--size", "trade size: 1/2, 3/4, 1, 1-1/4 ...", required=True)
    add("--wires", "what is pulled: '3 x 4/0 XHHW, 1 x 4 THHN'", required=True, type=_by_commas)
    path = "the run from end A: 'straight 200, bend 90 r 24, straight 30 up' (feet; radii in inches)"
    add("--path", path, required=True)
    add("--friction", "coefficient of friction (0.5, dry, where nothing is said)", type=float)
    add("--metal", "copper (taken where nothing is said) or aluminum")
    limit = "the wire maker's limit in lb/ft (300 where nothing is said)"
    add("--sidewall-limit", limit, type=float, dest="sidewall_limit_lb_per_ft")
    add("--feed-tension", "drag of the reel in lb", type=float, dest="feed_tension_lb")
    add("--grip", "one basket grip instead of a pulling eye", action="store_true")
    add("--capstan", "leave the weight out of the bends (plain capstan rule)", action="store_true")
    edition_option(add)
    parser.add_argument("--json", action="store_true", help="print the answer as JSON (N, mm, N/mm)")


def run(args: argparse.Namespace) -> int:
    """Prints the pull, in feet and lb, or in m and N where the path is written so; 1 where a limit is passed."""
    from racewright.cards.text.wires import pull_text
    from racewright.cli.answers import asked, show
    from racewright.operations.pull import PullRequest

    answer = asked("pull", PullRequest(**given(args, PullRequest)), options=args.told)
    return show(answer, pull_text, as_json=args.json)


def _by_commas(text: str) -> tuple[str, ...]:
    return tuple(part.strip() for part in text.split(",") if part.strip())
