"""50,000 spoilt texts through the readers of what a person writes: each is read or refused, never a trace.

`python evidence/evidence_readers.py [--count N] [--seed N] [--only READER]`. Exit code 1 on a trace, on a fault that an
operation owns to, on an exit code above 4, on a control character in what a command prints, on a refused file that is
not named, or on a text that takes longer than the times stated. A plan that searches long is another matter: where a
command or an operation plans, a long search is cut off after that time and counted apart.
"""

from __future__ import annotations

import argparse
import random
import signal
import sys
import time
import traceback
from collections import Counter
from dataclasses import dataclass, field

from racewright.errors import RacewrightError
from readers import NOT_RUN, Reader, all_readers, own_home
from spoilt_texts import spoilt

#: No text of a person takes longer to read (seconds of CPU on the slowest machine that it was tried on).
MOST_SECONDS = 4.0
#: Nor longer by the clock, however busy the machine: nothing waits.
MOST_SECONDS_BY_THE_CLOCK = 60.0
#: These plan as well as read: the search for the order of bends has its own limits.
PLANS = ("operation", "command line", "survey in a job")


class TooLong(BaseException):
    """The alarm: not an Exception, so that nothing on the way catches it."""


@dataclass
class Tally:
    """What one reader made of its texts."""

    words: Counter[str] = field(default_factory=Counter)
    slowest: tuple[float, str] = (0.0, "")
    searches: int = 0
    texts: int = 0
    missed: list[tuple[str, str]] = field(default_factory=list)


def feed(reader: Reader, count: int, seed: int) -> Tally:
    """Spoil the reader's samples `count` times, and read each."""
    tally = Tally()
    for number in range(count):
        dice = random.Random(f"{reader.name} {seed} {number}")
        text = spoilt(dice.choice(reader.samples), reader.samples, dice)
        tally.texts += 1
        began = time.process_time()
        signal.setitimer(signal.ITIMER_VIRTUAL, MOST_SECONDS)
        signal.setitimer(signal.ITIMER_REAL, MOST_SECONDS_BY_THE_CLOCK)
        try:
            tally.words[reader.read(text)] += 1
        except RacewrightError as err:
            tally.words["refused"] += 1
            if reader.file not in str(err):
                tally.missed.append((f"does not name {reader.file}: {err}"[:300], text))
        except TooLong:
            where = traceback.extract_tb(sys.exc_info()[2])
            if reader.name in PLANS and any("/plan/" in frame.filename for frame in where):
                tally.searches += 1
            else:
                tally.missed.append((f"longer than {MOST_SECONDS:g} s", text))
        except Exception as err:  # whatever it is: this is what is looked for
            last = traceback.extract_tb(err.__traceback__)[-1]
            tally.missed.append((f"{type(err).__name__}: {err} ({last.filename}:{last.lineno})"[:300], text))
        finally:
            signal.setitimer(signal.ITIMER_VIRTUAL, 0.0)
            signal.setitimer(signal.ITIMER_REAL, 0.0)
        tally.slowest = max(tally.slowest, (time.process_time() - began, text[:60]))
    return tally


def feed_all(count: int, seed: int, only: str = "") -> dict[str, Tally]:
    """Every reader with its share of the texts."""

    def ring(number: int, frame: object) -> None:
        raise TooLong

    before = {alarm: signal.signal(alarm, ring) for alarm in (signal.SIGVTALRM, signal.SIGALRM)}
    try:
        with own_home() as folder:
            readers = [r for r in all_readers(folder) if only in ("", r.name)]
            whole = sum(reader.share for reader in readers)
            return {r.name: feed(r, max(1, count * r.share // whole), seed) for r in readers}
    finally:
        for alarm, handler in before.items():
            signal.signal(alarm, handler)


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--count", type=int, default=50_000, help="texts in all")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--only", default="", help="one reader alone, by its name")
    asked = parser.parse_args()
    tallies = feed_all(asked.count, asked.seed, asked.only)
    print(f"{'reader':24}{'texts':>8}{'read':>8}{'refused':>9}{'missed':>8}{'slowest, s':>12}")
    for name, tally in tallies.items():
        read = sum(tally.words.values()) - tally.words["refused"]
        texts = tally.texts
        print(f"{name:24}{texts:8}{read:8}{tally.words['refused']:9}{len(tally.missed):8}{tally.slowest[0]:12.2f}")
    missed = [(name, *miss) for name, tally in tallies.items() for miss in tally.missed]
    print(f"not run: {', '.join(NOT_RUN)}; searches cut off after {MOST_SECONDS:g} s: "
          f"{sum(tally.searches for tally in tallies.values())}")  # fmt: skip
    print(f"traces and texts that took too long: {len(missed)}")
    for name, why, text in missed[:30]:
        print(f"  {name}: {why}\n    {text[:400]!r}")
    return 1 if missed else 0


if __name__ == "__main__":
    sys.exit(main())
