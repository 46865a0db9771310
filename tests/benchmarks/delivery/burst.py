"""Reminders due in one minute, each marked durably after its own send; the peer is one scheduler
job a reminder in a database. A send appends a line to a file, on both sides."""

from __future__ import annotations

import json
import subprocess
import sys
import tempfile
from collections.abc import Iterator

COUNT = 2000


def measured(count: int = COUNT) -> Iterator[str]:
    ours, theirs = _side("ours", count), _side("jobs", count)
    for name, side in (("ours", ours), ("jobs", theirs)):
        yield (
            f"{name}: {side['sent']} of {count} sent, first after {side['first_s']:.3f} s, all "
            f"after {side['all_s']:.2f} s, memory grew {side['grew_mib']:.1f} MiB"
        )
    yield (
        f"first send {theirs['first_s'] / ours['first_s']:.1f} x sooner, burst "
        f"{theirs['all_s'] / ours['all_s']:.1f} x as fast, dropped by jobs "
        f"{count - theirs['sent']}, by ours {count - ours['sent']}"
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
