"""`racewright wires`: fill, ampacity, voltage drop, grounding conductor, box fill and pull boxes without a file."""

from __future__ import annotations

import argparse

from racewright.cli.options import Fields, edition_option, given, whole

HELP = "size a raceway, a wire or a box: fill, ampacity, drop, ground, box, pullbox"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Arguments of `racewright wires`: one sub-command a question."""
    parts = parser.add_subparsers(dest="question", required=True, metavar="QUESTION")
    for question, (about, add) in _QUESTIONS.items():
        part = parts.add_parser(question, help=about)
        fields = Fields(part)
        add(fields)
        edition_option(fields)
        part.add_argument("--json", action="store_true", help="print the answer as JSON")


def run(args: argparse.Namespace) -> int:
    """Answers one question; 1 where a finding is a problem, else 0."""
    from racewright.cards.text.wires import wires_text
    from racewright.cli.answers import asked, show
    from racewright.operations.operations import OPERATIONS

    operation = f"wires_{args.question}"
    kind = OPERATIONS[operation].request
    answer = asked(operation, kind(**given(args, kind)), options=args.told, examples=_EXAMPLES)
    return show(answer, wires_text, as_json=args.json)


_EXAMPLES = {"--circuit": "--carrying 9, or --circuit '2 x 2-wire'"}
_WIRES = "'3 x 8 THHN', '1 x 10 bare', 'cable 0.46 in'"
_RACEWAY = "EMT, IMC, RMC, PVC-40 or PVC-80"
_NIPPLE = "a nipple between boxes of this length, at most 24 in"
_METAL = "copper (taken where nothing is said) or aluminum"


def _size(add: Fields) -> None:
    add("wires", _WIRES, nargs="+", metavar="WIRES")
    add("--raceway", _RACEWAY, required=True)
    add("--nipple", _NIPPLE, metavar="LENGTH")


def _fit(add: Fields) -> None:
    add("wires", _WIRES, nargs="*", metavar="WIRES")
    add("--raceway", _RACEWAY, required=True)
    add("--trade-size", "trade size, such as 3/4", required=True)
    add("--more", "also say how many further wires of this kind go in: '12 THHN'", metavar="WIRE")
    add("--nipple", _NIPPLE, metavar="LENGTH")


def _ampacity(add: Fields) -> None:
    add("wire", "size and insulation, '12 THHN'")
    add("--metal", _METAL)
    add("--ambient-c", "degrees C around it (30 where nothing is said)", type=float)
    add("--ambient-f", "degrees F around it, instead of C", type=float)
    add("--carrying", "current-carrying conductors in it (3 where nothing is said)", type=whole("--carrying", 1, 10000))
    add("--circuit", "circuits in the raceway, '2 x 2-wire'; may be repeated", action="append", dest="circuits")
    add("--terminals", "marked temperature of the terminals: 60 or 75", type=int, dest="terminals_c")
    add("--wet", "wet place", action="store_true")
    add("--nipple", _NIPPLE, metavar="LENGTH")
    add("--load", "current to check against, in A", type=float, dest="load_a")
    device = "rating of the circuit's overcurrent device in A: checked; over 100 A: 75 C column"
    add("--device", device, type=float, dest="device_a")


def _drop(add: Fields) -> None:
    add("--wire-size", "conductor size; without it the thinnest that keeps the limit is found")
    add("--current", "current in A", type=float, required=True, dest="current_a")
    add("--length", "one way with its unit: '150 ft' or '45 m'", required=True)
    add("--volts", "voltage at the source", type=float, required=True)
    add("--system", "single (also dc; taken where nothing is said) or three")
    add("--metal", _METAL)
    add("--sets", "parallel sets, where there are several", type=int)
    limit = "percent, to find a size for (3 where nothing is said, with --whole 5)"
    add("--limit", limit, type=float, dest="limit_percent")
    add("--whole", "feeder and branch together: compare with 5 percent", action="store_true")
    own = "ohm per 1000 ft of your own, instead of the table's"
    add("--resistance", own, type=float, dest="resistance_ohm_per_kft")
    add("--reactance", own, type=float, dest="reactance_ohm_per_kft")
    add("--power-factor", "power factor of the load; without it the dc table is used", type=float)
    add("--raceway", "EMT, PVC-40 ..., or steel, aluminum, PVC (steel where nothing is said)")


def _ground(add: Fields) -> None:
    add("--device", "rating of the overcurrent device in A", type=float, required=True, dest="device_a")
    add("--metal", _METAL)
    add("--needed-size", "circuit conductor that the ampacity alone needs")
    add("--used-size", "circuit conductor that is pulled, when thicker")


def _box(add: Fields) -> None:
    for option, what, field in (
        ("--wire", "conductors in, '4 x 12'; may be repeated", "wires"),
        ("--loop", "long unbroken loops, '2 x 12'", "loops"),
        ("--ground", "grounding conductors, '3 x 12'", "grounds"),
        ("--device", "device gangs and the wire on them, '1 x 12'", "devices"),
        ("--terminal-block", "terminal blocks, '1 x 12'", "terminal_blocks"),
    ):
        add(option, what, action="append", dest=field)
    add("--clamps", "there are clamps inside the box", action="store_true")
    add("--supports", "types of luminaire stud or hickey, where there are any", type=int)
    add("--box", "a box of the table, '4 x 1 1/2 square'")
    add("--volume", "marked volume of the box in cubic inches", type=float, dest="volume_in3")
    add("--shape", "only boxes of this shape: square, octagonal, device, masonry, cast")


def _pullbox(add: Fields) -> None:
    kinds = "'straight left 2 -> right 2', 'angle left 3 -> bottom 3', 'u top 2 -> top 2'; may be repeated"
    add("--pull", kinds, action="append", required=True, dest="pulls")
    add("--conductor", "thickest conductor in it (4 where nothing is said)")
    add("--bare", "that conductor is bare", action="store_true")
    add("--width", "inside width of a box to check, left to right")
    add("--height", "inside height of a box to check, top to bottom")


_QUESTIONS = {
    "size": ("smallest trade size for a set of wires", _size),
    "fit": ("does a set of wires fit a raceway, and how many more", _fit),
    "ampacity": ("how much current a wire may carry in a raceway", _ampacity),
    "drop": ("voltage lost along a circuit, or the size that keeps a limit", _drop),
    "ground": ("equipment grounding conductor for an overcurrent device", _ground),
    "box": ("room that wires and devices need in a box", _box),
    "pullbox": ("least size of a pull box", _pullbox),
}
