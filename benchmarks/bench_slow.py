"""The surveys that make most work, each beside the full plan of a three-bend run. In CPU time.

Aim: no survey that the format admits takes more than 2 s. `python benchmarks/bench_slow.py [--random N]`
"""

from __future__ import annotations

import argparse
import statistics
import sys
from pathlib import Path
from time import process_time

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT / "evidence"))

from hard_surveys import NAMED, random_survey  # noqa: E402
from racewright.operations.answer import answer  # noqa: E402
from racewright.operations.common import Refused  # noqa: E402
from racewright.operations.operations import prepare  # noqa: E402
from racewright.store.survey_file import read_survey_file  # noqa: E402

AIM_S = 2.0


def spent(data: object) -> tuple[float, str]:
    """Seconds of CPU for the whole answer of `plan`, and what became of it."""
    begin = process_time()
    got = answer("plan", {"survey": data, "pictures": []})
    seconds = process_time() - begin
    if isinstance(got, Refused):
        return seconds, f"refused: {got.error.message}"
    pieces = got.plan.pieces  # type: ignore[attr-defined]
    proved = sum(piece.order_proved for piece in pieces)
    return seconds, f"{len(pieces)} pieces, {sum(len(p.bends) for p in pieces)} bends, order proved of {proved}"


def main() -> int:
    """Prints a table; exit code 1 where one takes longer than the aim."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--random", type=int, default=60)
    args = parser.parse_args()
    prepare()
    plain = read_survey_file(ROOT / "examples" / "pump-house-saddle.yaml").written
    one = statistics.median(spent(plain)[0] for _ in range(20))
    print(f"{'a three-bend run':28} {one * 1e3:8.1f} ms")
    slowest = 0.0
    for name, data in NAMED.items():
        seconds, words = spent(data)
        slowest = max(slowest, seconds)
        print(f"{name:28} {seconds * 1e3:8.1f} ms {seconds / one:7.0f} x   {words[:90]}", flush=True)
    found = [spent(random_survey(seed))[0] for seed in range(args.random)]
    if found:
        worst = max(range(len(found)), key=lambda seed: found[seed])
        slowest = max(slowest, found[worst])
        print(f"{len(found)} random ones: median {statistics.median(found) * 1e3:.1f} ms, the longest (seed {worst})")
        print(f"{'':28} {found[worst] * 1e3:8.1f} ms {found[worst] / one:7.0f} x")
    print(f"the slowest takes {slowest:.2f} s (at most {AIM_S:g})")
    return 0 if slowest <= AIM_S else 1


if __name__ == "__main__":
    sys.exit(main())
