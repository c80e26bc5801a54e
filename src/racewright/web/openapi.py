"""The OpenAPI description, made from the same types that the operations take and give."""

from __future__ import annotations

from typing import Any

import msgspec

from racewright import __version__
from racewright.cautions import DECIDES
from racewright.operations.common import Refused
from racewright.operations.operations import OPERATIONS
from racewright.store.job_log import JobLog
from racewright.store.job_protocol import Changes
from racewright.web import record_routes as records
from racewright.web.offers import Offer

_REFUSALS = {
    "400": "the body is not JSON",
    "401": "the pairing code is wanted",
    "403": "asked by a page from elsewhere",
    "408": "the body did not arrive in time",
    "413": "the body is too large",
    "415": "the body is not application/json",
    "421": "the Host header names another server",
    "422": "the request cannot be read or made; says what would work",
    "429": "too many requests",
    "500": "a fault of the program",
    "503": "the server is busy, or the question took too long",
}


def openapi() -> dict[str, Any]:
    """OpenAPI 3.1 of everything below ask/, and of the records."""
    types: list[Any] = [t for op in OPERATIONS.values() for t in (op.request, op.answer)]
    types += [Refused, Changes, Offer, records.Answers, JobLog]
    schemas, parts = msgspec.json.schema_components(types, ref_template="#/components/schemas/{name}")
    ref = dict(zip(types, schemas, strict=True))
    paths: dict[str, Any] = {}
    for op in OPERATIONS.values():
        paths[f"/ask/{op.name}"] = {
            "post": {
                "operationId": op.name,
                "summary": op.about,
                "requestBody": {"required": True, "content": {"application/json": {"schema": ref[op.request]}}},
                "responses": _responses(ref[Refused], {"200": ("the answer", ref[op.answer])}),
            }
        }
    paths["/records"] = _records(ref)
    paths["/records/log"] = _log(ref)
    return {
        "openapi": "3.1.0",
        "info": {"title": "Racewright", "version": __version__, "description": f"Bend marks. {DECIDES}"},
        "paths": paths,
        "components": {"schemas": dict(sorted(parts.items()))},
    }


def _records(ref: dict[Any, Any]) -> dict[str, Any]:
    """GET and POST of the shop file's records."""
    troubles = {
        "404": ("there is no shop file yet", ref[Refused]),
        "507": ("the shop's disk is full", ref[Refused]),
    }
    return {
        "get": {
            "operationId": "get_records",
            "summary": "records changed after change number `after`; `mark` as told with that number",
            "parameters": _parameters(records.Asked),
            "responses": _responses(ref[Refused], {"200": ("what changed", ref[Changes]), **troubles}),
        },
        "post": {
            "operationId": "post_records",
            "summary": "offer records of one job, each with the revision that it was made from",
            "requestBody": {"required": True, "content": {"application/json": {"schema": ref[Offer]}}},
            "responses": _responses(ref[Refused], {"200": ("an answer for each", ref[records.Answers]), **troubles}),
        },
    }


def _log(ref: dict[Any, Any]) -> dict[str, Any]:
    """GET of what was changed of a job."""
    return {
        "get": {
            "operationId": "get_log",
            "summary": "the last changes of the job of this id, newest first, with what stood before",
            "parameters": _parameters(records.AskedLog),
            "responses": _responses(ref[Refused], {"200": ("what was changed", ref[JobLog])}),
        }
    }


def _parameters(asked: type[msgspec.Struct]) -> list[dict[str, Any]]:
    (schema,) = msgspec.json.schema_components([asked])[1].values()
    return [
        {"name": name, "in": "query", "required": name in schema.get("required", ()), "schema": one}
        for name, one in schema["properties"].items()
    ]


def _responses(refused: dict[str, Any], own: dict[str, tuple[str, dict[str, Any]]]) -> dict[str, Any]:
    out = {
        status: {"description": words, "content": {"application/json": {"schema": refused}}}
        for status, words in _REFUSALS.items()
    }
    for status, (words, schema) in own.items():
        out[status] = {"description": words, "content": {"application/json": {"schema": schema}}}
    return dict(sorted(out.items()))
