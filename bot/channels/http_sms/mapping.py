"""Between our values and a service's own names: templates, forms, JSON by dotted paths. Pure."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from itertools import pairwise
from typing import Any
from urllib.parse import urlencode

_PLACE = re.compile(r"\{([a-z_]+)\}")

FORMS = ("form", "json", "query")

NAMES = frozenset({"to", "to_bare", "text", "key", "token", "sender", "valid_minutes", "alphabet"})
"""What a template of a send may hold; `to_bare` is the number without its plus."""


def fields(written: str) -> tuple[tuple[str, str], ...]:
    """The `name=template` pairs of a setting, parted by `&`.

    >>> fields("to={to}&message.text={text}")
    (('to', '{to}'), ('message.text', '{text}'))

    Raises:
        ValueError: a pair lacks its name or its sign.
    """
    found = []
    for pair in written.split("&") if written else ():
        name, sign, template = pair.partition("=")
        if not name.strip() or not sign:
            raise ValueError(f"{pair!r} is not name=value")
        found.append((name.strip(), template.strip()))
    return tuple(found)


def unknown(template: str) -> str:
    """The first place in a template that no value of ours fills, or "".

    >>> unknown("{to} {number}"), unknown("{text}")
    ('number', '')
    """
    return next((name for name in _PLACE.findall(template) if name not in NAMES), "")


def filled(template: str, values: Mapping[str, str]) -> str | None:
    """The template with its places filled; None where one of them has no value.

    What is filled in is not read again, so a text with braces stays as it is.

    >>> filled("{to_bare}", {"to_bare": "254"}), filled("{valid_minutes}", {"valid_minutes": ""})
    ('254', None)
    """
    if any(not values[name] for name in _PLACE.findall(template)):
        return None
    return _PLACE.sub(lambda place: values[place[1]], template)


def filled_all(
    pairs: tuple[tuple[str, str], ...], values: Mapping[str, str]
) -> tuple[tuple[str, str], ...]:
    """The fields that have a value."""
    done = ((name, filled(template, values)) for name, template in pairs)
    return tuple((name, value) for name, value in done if value is not None)


def form_body(pairs: tuple[tuple[str, str], ...]) -> bytes:
    """The fields as a form."""
    return urlencode(pairs).encode()


def json_body(pairs: tuple[tuple[str, str], ...]) -> bytes:
    """The fields as JSON; a dot goes one deeper, a number is a place in a list.

    >>> json_body((("messages.0.to", "254"), ("messages.0.text", "stir"), ("from", "STIR")))
    b'{"messages": [{"to": "254", "text": "stir"}], "from": "STIR"}'

    Raises:
        ValueError: a path goes through a value, or leaves a place in a list empty.
    """
    root: dict[str, Any] = {}
    for path, value in pairs:
        steps = path.split(".")
        here: Any = root
        for step, following in pairwise(steps):
            here = _entered(here, step, [] if following.isdecimal() else {})
        _entered(here, steps[-1], value)
    return json.dumps(root, ensure_ascii=False).encode()


def _entered(here: Any, step: str, empty: Any) -> Any:
    """What stands at one step, put there if nothing does."""
    if isinstance(here, dict):
        return here.setdefault(step, empty)
    if isinstance(here, list) and step.isdecimal() and int(step) <= len(here):
        if int(step) == len(here):
            here.append(empty)
        return here[int(step)]
    raise ValueError(f"there is no place for {step!r}")


def found(tree: Any, path: str) -> str:
    """The value at a dotted path as text, or "" where there is none.

    >>> found({"results": [{"id": 7}]}, "results.0.id"), found({}, "id")
    ('7', '')
    """
    here = tree
    for step in path.split("."):
        if isinstance(here, Mapping):
            here = here.get(step)
        elif isinstance(here, list) and step.isdecimal() and int(step) < len(here):
            here = here[int(step)]
        else:
            return ""
    if isinstance(here, bool):
        return "true" if here else "false"
    return str(here) if isinstance(here, str | int | float) else ""


def words(written: str) -> frozenset[str]:
    """The words of a list parted by commas, in small letters.

    >>> sorted(words("Delivered, DELIVRD"))
    ['delivered', 'delivrd']
    """
    return frozenset(word.strip().lower() for word in written.split(",") if word.strip())
