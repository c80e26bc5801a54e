"""How a command asks and how it prints: one function each, so that no command can drop a finding or a caution."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from racewright.operations.common import Answer, Request


def asked(operation: str, request: Request, *, options: Mapping[str, str] | None = None) -> Answer:
    """The answer, with the user's own benders known. Raises RacewrightError.

    `options`: the request's fields by the option that gave them ('measured[0].off' -> '--end-up'): what is refused is
    told by the option that a person typed.
    """
    from racewright.errors import RacewrightError
    from racewright.operations.answer import ask
    from racewright.operations.known import Known
    from racewright.store.bender_file import OwnBenders

    try:
        return ask(operation, request, Known(benders=OwnBenders()))
    except RacewrightError as err:
        for field, option in (options or {}).items():
            if err.field == field or err.field.startswith((f"{field}.", f"{field}[")):
                if err.message.startswith(err.field):
                    err.message = option + err.message.removeprefix(err.field)
                err.field = option
                break
        raise


def show(answer: Answer, text: Callable[[Any], str], *, as_json: bool) -> int:
    """Print an answer as text or JSON; returns the exit code: 1 where a finding is a problem.

    Below the text stand the findings, what is not included and the cautions; JSON has them as fields.
    """
    if as_json:
        from racewright.plan.as_json import plain_json

        print(plain_json(answer))
    else:
        from racewright.cards.text.tail import tail

        print("\n".join([text(answer), *tail(answer.findings, answer.not_included, answer.cautions)]))
    return 1 if any(finding.severity == "problem" for finding in answer.findings) else 0
