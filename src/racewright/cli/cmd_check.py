"""`racewright check FILE`: a surveyed run against the code's articles; findings, no approval."""

from __future__ import annotations

import argparse

HELP = "Check a surveyed run: degrees, radius, straps, couplings, fill, the wire pull, clearances, fit. No approval."


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Arguments of `racewright check`."""
    parser.add_argument("file", metavar="FILE", help="a survey file (YAML); wires are checked where it names them")
    parser.add_argument("--json", action="store_true", help="print the findings as JSON")
    parser.add_argument("--bender", metavar="NAME", help="use this bender instead of the survey's")
    parser.add_argument("--worst", action="store_true", help="leave out the reminders: problems and cautions only")


def run(args: argparse.Namespace) -> int:
    """Check and print. Returns 1 where a finding is a problem."""
    from racewright.cards.text.bend_card import check_text
    from racewright.cli.answers import asked, show
    from racewright.operations.planned import CheckRequest
    from racewright.store.survey_file import read_survey_file

    file = read_survey_file(args.file)
    request = CheckRequest(survey=file.written, bender_name=args.bender or "", worst=args.worst)
    with file.told_by_line():
        answer = asked("check", request, options={"bender_name": "--bender"})
    return show(answer, check_text, as_json=args.json)
