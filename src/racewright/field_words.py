"""What a field of a file must be, in the words of somebody who writes one: the converter's messages put into them."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any, get_args

import msgspec

from racewright.errors import InputError

_AT = re.compile(r"^(?P<what>.*?)(?: - at `(?:key in )?\$?\.?(?P<path>[^`]*)`)?$", re.DOTALL)
_UNKNOWN = re.compile(r"Object contains unknown field `(?P<name>[^`]*)`", re.DOTALL)
_MISSING = re.compile(r"Object missing required field `(?P<name>[^`]*)`")
_KINDS = {
    "object": "fields below it, each written as name: value",
    "array": "a list",
    "str": "text",
    "int": "a whole number",
    "float": "a number",
    "bool": "true or false",
    "null": "nothing",
}
_BOUNDS = {"<=": "at most", ">=": "at least", "<": "less than", ">": "more than"}
#: What the patterns of the files take, and that in words.
KEY_PATTERN = r"^[A-Za-z0-9][A-Za-z0-9._-]{0,39}$(?!\n)"
KEY_WORDS = "up to 40 letters, digits and . _ - , beginning with a letter or digit"
ID_PATTERN = r"^[0-9a-f]{32}$(?!\n)"
BY_MARKS_PATTERN = r"^(plan|[0-9a-f]{32})?$(?!\n)"
_PATTERN_WORDS = {
    KEY_PATTERN: f"as a key is: {KEY_WORDS}",
    ID_PATTERN: "as an id is: 32 of the signs 0-9 and a-f",
    BY_MARKS_PATTERN: "'plan', or the id of the entry whose new marks were followed: 32 of the signs 0-9 and a-f",
}

#: Fields whose values have the word in them.
SPELT = ("from", "to", "saddle_method")


def explained(
    text: str, data: object, root: Any, *, see: str, whole: str = "the file", examples: Mapping[str, str] | None = None
) -> InputError:
    """The converter's message `text` about `data`, which should be a `root`, as an error with the field's path, what
    is expected there and an example. `see`: where more is told; `whole`: what to call the data where no field is named.
    """
    match = _AT.match(text)
    what, path = (match["what"], match["path"] or "") if match else (text, "")
    path = path.replace("[...]", "")
    shown = examples or {}
    unknown, missing = _UNKNOWN.search(what), _MISSING.search(what)
    if unknown:
        field = f"{path}.{unknown['name']}".lstrip(".")
        known = _fields_at(root, path, data)
        from difflib import get_close_matches

        near = get_close_matches(unknown["name"], known, 1)
        meant = f"did you mean {near[0]}? " if near else ""
        return InputError(
            f"{field[:200]}: no such field here.",
            hint=f"{meant}the fields here are: {', '.join(known)}" if known else see,
            field=field,
            expected=", ".join(known),
        )
    if missing:
        name = missing["name"]
        field = f"{path}.{name}".lstrip(".")
        example = shown.get(name, "")
        return InputError(
            f"{field}: is missing.",
            hint=f"add it: {name}: {example}" if example else f"add it; {see}",
            field=field,
            expected=name,
            example=example,
        )
    if what[:1].islower():  # a struct's own check: what the converter says begins with a capital
        return InputError(f"{path or whole} {what}.", hint=see, field=path)
    name = re.sub(r"\[\d*\.*\]", "", path).rpartition(".")[2]
    allowed = _choices_at(root, path, data)
    expected = f"one of {', '.join(allowed)}" if allowed else _words(what)
    got = _value_at(data, path)
    title = _title_at(root, path, data)
    is_now = f" is '{(_shown(got) if title else str(got))[:60]}'" if isinstance(got, str | int | float) else ""
    example = shown.get(name, allowed[0] if allowed else "")
    return InputError(
        f"{title or path or whole}{is_now}: expected {expected}.",
        hint=f"write {expected}" if title else f"for example: {name}: {example}" if name and example else see,
        field=path,
        expected=expected,
        example=example,
    )


def _words(what: str) -> str:
    """'Expected `int | null` <= 1' -> 'a whole number, at most 1'; that it may be left out is not said."""
    found = re.match(r"Expected `(?P<kinds>[^`]*)`(?: of length (?P<long>[<>=]+) (?P<many>\d+))?(?P<rest>[^,]*)", what)
    if not found:
        return "another value"
    kinds = [kind.strip() for kind in found["kinds"].split("|")]
    named = [kind for kind in kinds if kind != "null"] or kinds
    named = [kind for kind in named if kind != "int" or "float" not in named]
    out = " or ".join(_KINDS.get(kind, "another value") for kind in named)
    if " matching regex " in what:
        words = (told for pattern, told in _PATTERN_WORDS.items() if repr(pattern) in what)
        return f"{out} {next(words, 'of another form')}"
    listed = "array" in named
    if found["long"]:
        many = f"{found['many']} {'item' if listed else 'letter'}{'' if found['many'] == '1' else 's'}"
        out += f" of {_BOUNDS[found['long']]} {many}"
    if listed:
        out += ", each item with a dash of its own"
    bound = re.match(r"\s*([<>=]+) (\S+)", found["rest"])
    return f"{out}, {_BOUNDS[bound[1]]} {bound[2].removesuffix('.0')}" if bound and bound[1] in _BOUNDS else out


def _struct_of(kind: Any, value: object = None) -> Any:
    """The struct of an annotation; of several, the one whose tag the value has, else the first."""
    structs = [a for a in (kind, *get_args(kind)) if isinstance(a, type) and issubclass(a, msgspec.Struct)]
    tags = {s.__struct_config__.tag: s for s in structs if s.__struct_config__.tag is not None}
    told = value.get(structs[0].__struct_config__.tag_field) if tags and isinstance(value, Mapping) else None
    return tags.get(told) if isinstance(told, str) and told in tags else next(iter(structs), None)


def _type_at(root: Any, path: str, data: object) -> Any:
    """The annotation that `root` has at this path of the data, or None."""
    here: Any = root
    above = ""
    for raw in path.split(".") if path else ():
        name = raw.partition("[")[0]
        struct = _struct_of(here, _value_at(data, above) if above else data)
        field = struct and next((f for f in msgspec.structs.fields(struct) if f.encode_name == name), None)
        if not field:
            return None
        here = get_args(field.type)[0] if hasattr(field.type, "__metadata__") else field.type
        for _ in range(raw.count("[")):
            here = next(iter(get_args(here)), None)
        above = f"{above}.{raw}".lstrip(".")
    return here


def _title_at(root: Any, path: str, data: object) -> str:
    """What the field is called on forms of what a person sets; '' of what no such form has."""
    above, _, name = path.rpartition(".")
    struct = _struct_of(_type_at(root, above, data) if above else root, _value_at(data, above) if above else data)
    if struct is None or struct.__struct_config__.tag_field != "set":
        return ""
    return title_of(struct, name)


def title_of(struct: Any, name: str) -> str:
    """What a field is called on a form; '' where it has no title."""
    kind = next((f.type for f in msgspec.structs.fields(struct) if f.encode_name == name), None)
    told = [meta for part in (kind, *get_args(kind)) for meta in getattr(part, "__metadata__", ())]
    return next((meta.title for meta in reversed(told) if isinstance(meta, msgspec.Meta) and meta.title), "")


def _shown(value: str | float) -> str:
    return f"{value:g}" if isinstance(value, float) else str(value)


def _fields_at(root: Any, path: str, data: object) -> list[str]:
    struct = _struct_of(_type_at(root, path, data), _value_at(data, path) if path else data)
    return [] if struct is None else [f.encode_name for f in msgspec.structs.fields(struct)]


def _choices_at(root: Any, path: str, data: object) -> list[str]:
    """The values that may stand there: of a choice, or the names of the kinds that a tag tells apart."""
    above, _, name = path.rpartition(".")
    structs = [s for s in get_args(_type_at(root, above, data)) if isinstance(s, type)] if above else []
    tags = [c.tag for c in (getattr(s, "__struct_config__", None) for s in structs) if c and c.tag_field == name]
    args = get_args(_type_at(root, path, data)) if path else ()
    flat = [b for a in args for b in (get_args(a) or (a,))]
    return [str(tag) for tag in tags] or [str(a) for a in flat if isinstance(a, str | int) and not isinstance(a, bool)]


def _value_at(data: object, path: str) -> object:
    here = data
    for name, index in re.findall(r"([^.\[\]]+)|\[(\d+)\]", path):
        if name and isinstance(here, dict):
            here = here.get(name)
        elif index and isinstance(here, list | tuple) and int(index) < len(here):
            here = here[int(index)]
        else:
            return None
    return here


def one_word(text: str) -> str:
    """The text with `center` written as the program keeps it."""
    return text.replace("center", "centre")


def one_spelling(data: object, path: str = "", depth: int = 0) -> object:
    """The data with `center` written `centre`: the field, and what a leg is measured to or from, and the method of a
    saddle. Raises InputError where both spellings of one field are given."""
    if depth > 12:  # no survey is deeper: it is refused as it stands
        return data
    if isinstance(data, list | tuple):
        return [one_spelling(item, f"{path}[{i}]", depth + 1) for i, item in enumerate(data)]
    if not isinstance(data, dict):
        return data
    if "center" in data and "centre" in data:
        field = f"{path}.center".lstrip(".")
        raise InputError(f"{field}: is given twice, as center and as centre.", hint="keep one of the two", field=field)
    out: dict[object, object] = {}
    for key, value in data.items():
        name = "centre" if key == "center" else key
        if key in SPELT and isinstance(value, str):
            out[name] = one_word(value)
        else:
            out[name] = one_spelling(value, f"{path}.{key}".lstrip("."), depth + 1)
    return out
