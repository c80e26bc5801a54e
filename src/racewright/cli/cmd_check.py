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
    from racewright.store.bender_file import find_bender
    from racewright.store.survey_file import plan_file

    plan = plan_file(args.file, bender_name=args.bender or "", find=find_bender)
    findings = [f for f in plan.findings if not (args.worst and f.severity == "info")]
    if args.json:
        from racewright.cautions import cautions_for
        from racewright.json_text import plain_json

        answer = {"name": plan.name, "findings": findings, "checks": plan.checks, "cautions": cautions_for()}
        print(plain_json(answer))
    else:
        from racewright.cards.text.bend_card import findings_text

        print(findings_text(plan, findings))
    return 1 if any(f.severity == "problem" for f in plan.findings) else 0
