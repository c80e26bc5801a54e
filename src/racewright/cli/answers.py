"""How a command asks and how it prints: one function each, so that no command can drop a finding or a caution."""

from __future__ import annotations

import re
import sys
from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from racewright.operations.common import Answer, Plans, Request, Workers
    from racewright.tools.benders import BenderProfile


def asked(
    operation: str,
    request: Request,
    *,
    options: Mapping[str, str] | None = None,
    examples: Mapping[str, str] | None = None,
    plans: Plans | None = None,
    workers: Workers | None = None,
    tools: Mapping[str, BenderProfile] | None = None,
) -> Answer:
    """The answer, with the user's tools known (`tools`; else those of the shop file at hand, then one's own), and how
    runs were planned before. Raises RacewrightError.

    `options`: the request's fields by the option that gave them ('measured[0].off' -> '--end-up'): what is refused is
    told by the option that a person typed, and so is a field that a hint writes (`bend_radius: 6 in`). `examples`: what
    to type, by the option: put behind a hint that names none.
    """
    from racewright.errors import RacewrightError
    from racewright.operations.answer import ask
    from racewright.operations.common import Known
    from racewright.store.places import own_shop, tools_file
    from racewright.store.shop_tools import ToolShelf

    known = tools if tools is not None else ToolShelf(tools_file(None), own_shop())
    try:
        return ask(operation, request, Known(benders=known, plans=plans or {}, workers=workers))
    except RacewrightError as err:
        for field, option in (options or {}).items():
            err.hint = re.sub(rf"`{re.escape(field)}: ([^`]*)`", rf"`{option} '\1'`", err.hint)
        for field, option in (options or {}).items():
            if err.field == field or err.field.startswith((f"{field}.", f"{field}[")):
                if err.message.startswith(err.field):
                    err.message = option + err.message.removeprefix(err.field)
                if err.hint.startswith("add it "):
                    err.hint = err.hint.replace("add it", f"add {option}", 1)
                if option in (examples or {}) and "--" not in err.hint:
                    err.hint = f"{err.hint}; for example {(examples or {})[option]}"
                err.field = option
                break
        raise


def show(
    answer: Answer,
    text: Callable[[Any], str],
    *,
    as_json: bool,
    aside: bool = False,
    within: str = "",
    brief: bool = False,
    part: Any = None,
) -> int:
    """Print an answer as text or JSON; returns the exit code: 1 where a finding is a problem.

    Below the text stand the findings, what is not included and the cautions; JSON has them as fields. `aside`: to
    stderr, where files are the answer (one of them may be written to stdout). What the text says itself, as a bend
    card does, is not said again. `within`: the file that says all of it; then the problems, who decides and a count
    of the rest will do. `brief`: without the notes among the findings. `part`: what of the answer is JSON here,
    where that has a form of its own with the same three fields.
    """
    if as_json:
        import msgspec

        from racewright.printable import plain_json

        said = {name: getattr(answer, name) for name in ("findings", "not_included", "cautions")}
        print(plain_json(answer if part is None else msgspec.structs.replace(part, **said)))
    else:
        from racewright.cards.text.tail import tail, tail_below
        from racewright.cautions import DECIDES

        words = text(answer)
        below = tail_below(words, answer, notes=not brief)
        if within:
            loud = [finding for finding in answer.findings if finding.severity == "problem"]
            rest = len(answer.findings) - len(loud)
            below = [
                f"{len(loud)} problems; {rest} cautions and notes more stand in {within}",
                *tail(loud, (), (DECIDES,)),
            ]
        print("\n".join([words, *below]), file=sys.stderr if aside else sys.stdout)
    return 1 if any(finding.severity == "problem" for finding in answer.findings) else 0
