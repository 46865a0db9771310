"""The lock names every extra that something in it asks for.

pip weighs `name[extra]` apart from a pinned `name`: left out, its newest release is taken, has no
hash, and a fresh machine cannot be set up any more.
"""

from __future__ import annotations

from importlib.metadata import distributions
from pathlib import Path

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

DEPLOY = Path(__file__).parent.parent.parent / "deploy"


@pytest.mark.parametrize("lock", ["lock.txt", "lock-dev.txt"])
def test_each_extra_that_is_asked_for_is_pinned(lock: str) -> None:
    pinned = _pinned(DEPLOY / lock)
    assert pinned
    open_ends = [
        f"{dist.name} asks for {wanted}"
        for dist in distributions()
        if canonicalize_name(dist.name) in pinned
        for wanted in map(Requirement, dist.requires or ())
        if (wanted.marker is None or wanted.marker.evaluate({"extra": ""}))
        and not wanted.extras <= pinned.get(canonicalize_name(wanted.name), set())
    ]
    assert open_ends == []


def _pinned(lock: Path) -> dict[str, set[str]]:
    found: dict[str, set[str]] = {}
    for line in lock.read_text(encoding="utf-8").splitlines():
        if line[:1].isalnum():
            one = Requirement(line.rstrip(" \\"))
            found.setdefault(canonicalize_name(one.name), set()).update(one.extras)
    return found
