"""`racewright job` undo, redo: what takes back a change of a job, a run's newest, or what is named of its record."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterator

from racewright.cards.entry_words import said_line, said_together
from racewright.cli.job.common import job_key, open_shop, who
from racewright.cli.job.edit import LEANS, WAYS, past_words, steps_said, way_said
from racewright.cli.job.look import pieces_known
from racewright.cli.options import mark_number
from racewright.errors import InputError
from racewright.records.entry import status_words
from racewright.records.parts_said import Part, PartKind, along, step_part
from racewright.store.job_back import WentBack, asked_of_marks, go_back
from racewright.store.job_changes import turn_last
from racewright.store.job_take_back import Meant, OffThere, take_back

#: The options that name a part of a run's record by its mark.
_BY_MARK: tuple[PartKind, ...] = ("made", "angle", "rise", "corrected")


def undo_job(args: argparse.Namespace) -> int:
    """Undo the last change of the job, go back with one run, or take back what is named of its record."""
    if args.to is not None and not args.run_key:
        raise InputError("--to goes with a run.", hint="`racewright job undo RUN --to N`")
    meant = _meant(args)
    if meant != Meant() and not args.run_key:
        raise InputError(
            "what is taken back of a run's record goes with a run.",
            hint="for example `racewright job undo RUN --made 2`",
        )
    if meant != Meant() and args.to is not None:
        raise InputError("--to takes a run back to a revision, and no part of its record.", hint="keep one of the two")
    with open_shop(args) as store:
        job = job_key(args, store)
        before = store.load(job)
        if meant != Meant():
            went = take_back(store, job, args.run_key, meant, by=who(args), anyone=args.anyone)
            _tell_back(went, pieces_known(store, job, went.run))
        elif args.run_key:
            went = go_back(store, job, args.run_key, args.to, by=who(args), anyone=args.anyone)
            _tell_back(went, pieces_known(store, job, went.run))
        elif change := turn_last(store, job, "undo", by=who(args), anyone=args.anyone):
            print(f"undone: {change.what} ({change.at})")
            if store.is_empty(change.number):
                print(
                    "nothing is another by it: the prices, people or tools that this change may have set are records"
                    " of the shop now, and stay as they are; `racewright job prices`, `job people` and `job tool`"
                    " change them"
                )
        for words in asked_of_marks(before, store.load(job)):
            print(f"caution: {words}", file=sys.stderr)
    return 0


def _meant(args: argparse.Namespace) -> Meant:
    """What is named of a run's record, by the words with which it was recorded."""
    copies = tuple(dict.fromkeys(args.copy or ()))
    return Meant(parts=tuple(_parts(args)), entry=args.entry.strip(), piece=args.piece, copies=copies)


def _parts(args: argparse.Namespace) -> Iterator[Part | OffThere]:
    for kind in _BY_MARK:
        for text in getattr(args, kind):
            if "=" in text:
                raise InputError(
                    f"--{kind} {text} says more than what is taken back.",
                    hint=f"name the mark alone: --{kind} {text.partition('=')[0].strip()}",
                    field=f"--{kind}",
                )
            yield Part(kind, mark_number(text, f"--{kind}"))
    for step in steps_said(args):
        yield step_part(step.kind, step.number)
    for text in args.off:
        way, at, place = text.partition("@")
        which = way_said(way.strip(), WAYS, "--off")
        yield OffThere(which, place) if at else Part("off", way=along(which))
    for way in args.lean:
        yield Part("lean", way=along(way_said(way, LEANS, "--lean")))
    if args.new_marks:
        yield Part("new marks")
    if args.note:
        yield Part("note")


def _tell_back(went: WentBack, pieces: int) -> None:
    """What was taken back of a run of so many pieces, and where it is now."""
    key, status = went.run.key, status_words(went.statuses)
    told = [f"back to revision {went.revision}"] if went.revision is not None else []
    for entry, copies in said_together(went.entries):
        told += [words for words in (f"taken back: {said_line(went.run, entry, copies, pieces)}",) if words not in told]
    print(f"{key}: {'; '.join(told)}; status {status}")
    if went.stands:
        print(f"{key}: {went.stands}")
    if went.past:
        print(past_words(key, went.statuses, went.past), file=sys.stderr)


def redo_job(args: argparse.Namespace) -> int:
    """Take back the last undo."""
    with open_shop(args) as store:
        if change := turn_last(store, job_key(args, store), "redo", by=who(args), anyone=args.anyone):
            print(f"redone: {change.what.removeprefix('undo: ')} ({change.at})")
    return 0
