"""`racewright wires`: fill, ampacity, voltage drop, grounding conductor, box fill and pull boxes without a file."""

from __future__ import annotations

import argparse

HELP = "size a raceway, a wire or a box: fill, ampacity, drop, ground, box, pullbox"
#: What a request's fields are called here, where it is not their own name; without dashes: an argument.
_NAMES = {
    "size": {"wires": "WIRES"},
    "fit": {"wires": "WIRES"},
    "ampacity": {
        "wire": "wire",
        "circuits": "--circuit",
        "terminals_c": "--terminals",
        "load_a": "--load",
        "device_a": "--device",
    },
    "drop": {
        "current_a": "--current",
        "limit_percent": "--limit",
        "resistance_ohm_per_kft": "--resistance",
        "reactance_ohm_per_kft": "--reactance",
    },
    "ground": {"device_a": "--device"},
    "box": {
        "wires": "--wire",
        "loops": "--loop",
        "grounds": "--ground",
        "devices": "--device",
        "terminal_blocks": "--terminal-block",
        "volume_in3": "--volume",
    },
    "pullbox": {"pulls": "--pull"},
}
_EXAMPLES = {"--circuit": "--carrying 9, or --circuit '2 x 2-wire'"}


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Arguments of `racewright wires`: one sub-command a question, from its request."""
    from racewright.cli.options import action, add_options
    from racewright.operations.operations import OPERATIONS

    parts = parser.add_subparsers(dest="question", required=True, metavar="QUESTION")
    for question, names in _NAMES.items():
        operation = OPERATIONS[f"wires_{question}"]
        part = action(parts, question, help=operation.about)
        part.set_defaults(told=add_options(part, operation.request, names=names))
        part.add_argument("--json", action="store_true", help="print the answer as JSON")


def run(args: argparse.Namespace) -> int:
    """Answers one question; 1 where a finding is a problem, else 0."""
    from racewright.cards.text.wires import wires_text
    from racewright.cli.answers import asked, show
    from racewright.cli.options import given
    from racewright.operations.operations import OPERATIONS

    operation = f"wires_{args.question}"
    kind = OPERATIONS[operation].request
    answer = asked(operation, kind(**given(args, kind)), options=args.told, examples=_EXAMPLES)
    return show(answer, wires_text, as_json=args.json)
