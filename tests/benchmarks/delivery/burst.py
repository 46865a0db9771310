"""Reminders due in one minute, each marked durably after its own send, against one scheduler job a
reminder in a file of the same kind, by its default (a job a second late is dropped) and without it.
A send appends a line to a file, on all sides."""

from __future__ import annotations

import json
import subprocess
import sys
import tempfile
from collections.abc import Iterator

from tests.contract.stores import is_full

COUNT = 10_000 if is_full() else 2_000


def measured(count: int = COUNT) -> Iterator[str]:
    found = {}
    for name in ("ours", "jobs", "patient"):
        side = found[name] = _side(name, count)
        yield (
            f"{name}: {side['sent']} of {count} sent, first after {side['first_s']:.3f} s, all "
            f"after {side['all_s']:.1f} s, {side['sent'] / max(side['all_s'], 1e-9):.0f} a second, "
            f"memory grew {side['grew_mib']:.1f} MiB"
        )
    ours = found["ours"]
    for name in ("jobs", "patient"):
        theirs = found[name]
        rate = theirs["sent"] / max(theirs["all_s"], 1e-9)
        yield (
            f"against {name}: first send {theirs['first_s'] / ours['first_s']:.1f} x sooner, "
            f"{ours['sent'] / ours['all_s'] / rate:.2f} x as many a second, memory growth "
            f"{ours['grew_mib'] / max(theirs['grew_mib'], 1e-9):.2f} of theirs, dropped "
            f"{count - ours['sent']} (they {count - theirs['sent']})"
        )


def _side(name: str, count: int) -> dict[str, float]:
    with tempfile.TemporaryDirectory() as folder:
        told = subprocess.run(
            [sys.executable, "-m", "tests.benchmarks.delivery.sides", name, folder, str(count)],
            capture_output=True,
            text=True,
            check=True,
        )
    found: dict[str, float] = json.loads(told.stdout)
    return found
