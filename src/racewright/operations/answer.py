"""One question answered: plain data in, plain data out. Whatever goes wrong comes back as data, never as a trace."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

import msgspec

from racewright.errors import InputError, LimitError, MarksLost, MissingExtra, RacewrightError, UnknownName, below
from racewright.field_words import explained, one_spelling
from racewright.operations.common import NOTHING_KNOWN, Answer, Kind, Known, Refused, Request, Trouble
from racewright.operations.operations import OPERATIONS, Operation
from racewright.survey.from_data import survey_from_data
from racewright.units.said import said_in
from racewright.units.tape import TapeStyle, style_of

#: One of the two that a letter beyond the first 65,536 is written as, without the other: as an escape, or as bytes.
_HIGH, _LOW = rb"\\u[dD][89abAB][0-9a-fA-F]{2}", rb"\\u[dD][c-fC-F][0-9a-fA-F]{2}"
_HALF = re.compile(_HIGH + rb"(?!" + _LOW + rb")|(?<!" + _HIGH + rb")" + _LOW + rb"|\xed[\xa0-\xbf][\x80-\xbf]")


def ask(operation: str, request: Request, known: Known = NOTHING_KNOWN) -> Answer:
    """The answer to a request that is typed already. Raises RacewrightError, its field a path in the request."""
    with said_in(_tape(request)):
        return OPERATIONS[operation].work_out(request, known)


def answer(operation: str, data: object, known: Known = NOTHING_KNOWN) -> Answer | Refused:
    """The answer to a request as decoded JSON, or `Refused`."""
    try:
        asked = OPERATIONS.get(operation)
        if asked is None:
            raise UnknownName(
                f"there is no operation '{operation[:60]}'.",
                hint=f"operations are: {', '.join(OPERATIONS)}",
                field="operation",
            )
        return ask(operation, _request(asked, data, known.most_runs), known)
    except RacewrightError as err:
        return Refused(error=trouble_of(err))
    except RecursionError:
        return Refused(error=Trouble(kind="input", message="the request is nested too deep.", hint="send a survey"))
    except ModuleNotFoundError as err:
        if not (err.name or "").startswith("racewright.exports"):
            return Refused(error=fault(err))
        words = "files of this kind are not written here: this door has no part for it."  # the browser's engine
        return Refused(error=Trouble(kind="missing", message=words, hint="ask the command or the server for it"))
    except Exception as err:  # the last line: a fault of the program is said as one, and its trace stays here
        return Refused(error=fault(err))


def _tape(request: Any) -> TapeStyle | None:
    """The tape that the asker measures with; None where the request says nothing of it."""
    survey = getattr(request, "survey", None)
    measured = survey or getattr(getattr(request, "job", None), "head", None)
    unit = measured.units if measured is not None else getattr(request, "unit", getattr(request, "units", None))
    fraction = getattr(request, "fraction", None) or (None if survey is None else survey.fraction)
    return None if unit is None else style_of("mm" if unit == "mm" else "in", fraction)


def fault(err: BaseException) -> Trouble:
    """A fault of the program as data: only the kind of the error is told, and which part of the program was missing."""
    lacking = f", no {err.name}" if isinstance(err, ModuleNotFoundError) and err.name else ""
    return Trouble(
        kind="engine",
        message=f"the program failed on this ({type(err).__name__}{lacking}); the fault is ours, not yours.",
        hint="change the last thing entered; please report the run that does this",
    )


def not_read(request: str | bytes, err: Exception) -> Trouble:
    """Why a request is no JSON, or no text that can be kept."""
    text = request.encode(errors="surrogatepass") if isinstance(request, str) else request
    if _HALF.search(text):
        return Trouble(kind="input", message="half a character stands in it.", hint="write the letter itself")
    return Trouble(kind="input", message=f"this is not JSON: {err}.", hint="send a JSON object")


def ask_json(operation: str, request_json: str | bytes, known: Known = NOTHING_KNOWN) -> str:
    """The same, JSON text in and out."""
    try:
        data = msgspec.json.decode(request_json or b"{}")
    except (msgspec.DecodeError, UnicodeError, RecursionError) as err:
        return msgspec.json.encode(Refused(error=not_read(request_json, err))).decode()
    return msgspec.json.encode(answer(operation, data, known)).decode()


def _request(operation: Operation, data: object, most_runs: int) -> Any:
    if not isinstance(data, Mapping):
        raise InputError("the request is not a JSON object.", hint='send {} or {"survey": ...}')
    parts = one_spelling(dict(data))
    assert isinstance(parts, dict)
    _read_surveys(parts, "")
    for field, value in parts.items():
        for index, item in enumerate(value if isinstance(value, list) else ()):
            _read_surveys(item, f"{field}[{index}].")
    if "job" in parts or "jobs" in parts:
        from racewright.operations.jobs import with_jobs

        parts = with_jobs(operation.request, parts, most_runs)
    try:
        return msgspec.convert(parts, operation.request)
    except msgspec.ValidationError as err:
        see = f"change what stands there; a program finds the fields of '{operation.name}' in /openapi.json"
        raise explained(str(err), parts, operation.request, see=see, whole="the request") from None


def _read_surveys(parts: object, at: str) -> None:
    """The survey of a request, or of one of its pieces, read as a survey file is. `at`: where it stands."""
    if isinstance(parts, dict) and parts.get("survey") is not None:
        with below(f"{at}survey"):
            parts["survey"] = survey_from_data(parts["survey"])


#: What an error is, by its class; the first that fits, else 'input'.
_KINDS: tuple[tuple[type[RacewrightError], Kind], ...] = (
    (MissingExtra, "missing"),
    (MarksLost, "marks"),
    (LimitError, "limit"),
    (UnknownName, "unknown name"),
)


def trouble_of(err: RacewrightError) -> Trouble:
    """An error of ours as data, with everything that it knows."""
    told = {name: getattr(err, name) for name in Trouble.__struct_fields__ if hasattr(err, name)}
    return Trouble(kind=next((kind for of, kind in _KINDS if isinstance(err, of)), "input"), **told)
