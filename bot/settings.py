"""The one reader of the environment."""

from __future__ import annotations

import os
from collections.abc import Mapping
from typing import Annotated, TypeVar

import msgspec

S = TypeVar("S", bound=msgspec.Struct)


class SettingsError(Exception):
    """A setting is missing or wrong; the message says which and how to mend it."""


class Settings(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """What the program itself needs; each channel declares its own.

    `database` is an SQLAlchemy address; empty means the file `stirbell.sqlite` here.
    `metrics_port` 0 keeps the counters' endpoint closed, which listens on this machine only.
    `keep_days` is how long raw messages are kept. `workers` handle messages side by side, on
    PostgreSQL. `recipes` is a folder of an operator's own recipes, one TOML file each.
    """

    database: str = ""
    metrics_port: int = 0
    keep_days: Annotated[int, msgspec.Meta(ge=1)] = 90
    workers: Annotated[int, msgspec.Meta(ge=1, le=16)] = 2
    secret: str = ""
    recipes: str = ""
    log: str = "info"


def environment() -> Mapping[str, str]:
    """The process's environment. The only place that asks."""
    return os.environ  # noqa: TID251 - the one reader of the environment


def read(kind: type[S], prefix: str, environ: Mapping[str, str]) -> S:
    """The settings of one kind from variables that begin with `prefix`, as `STIRBELL_`.

    Raises:
        SettingsError: one line that names the variable and what it should be.

    >>> read(Settings, "STIRBELL_", {"STIRBELL_METRICS_PORT": "9100"}).metrics_port
    9100
    """
    wanted = {field.encode_name for field in msgspec.structs.fields(kind)}
    given = {
        name.removeprefix(prefix).lower(): value
        for name, value in environ.items()
        if name.startswith(prefix) and name.removeprefix(prefix).lower() in wanted
    }
    try:
        return msgspec.convert(given, kind, strict=False)
    except msgspec.ValidationError as fault:
        raise SettingsError(_mend(str(fault), prefix)) from fault


def _mend(fault: str, prefix: str) -> str:
    what, _, where = fault.partition(" - at `$.")
    if where:
        return f"{prefix}{where.rstrip('`').upper()}: {what[0].lower()}{what[1:]}"
    missing = fault.partition("`")[2].partition("`")[0]
    return f"{prefix}{missing.upper()} is not set: set it in the environment"
