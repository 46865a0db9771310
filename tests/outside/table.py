"""The table of outside checks by topic and mark, as Markdown: `python -m tests.outside.table`."""

from __future__ import annotations

import sys
from collections import Counter
from importlib import import_module
from pathlib import Path

from tests.outside.check import Check, Mark

MARKS: tuple[Mark, ...] = (
    "seen",
    "quoted",
    "computed",
    "from memory",
    "common practice, no source",
)


def collected() -> tuple[Check, ...]:
    """Every check that a test module of this folder lists."""
    found: list[Check] = []
    for path in sorted(Path(__file__).parent.glob("test_*.py")):
        module = import_module(f"tests.outside.{path.stem}")
        found.extend(getattr(module, "CHECKS", ()))
    return tuple(found)


def table(checks: tuple[Check, ...]) -> str:
    """One row a topic, one column a mark, and how many sources each topic names."""
    counts: Counter[tuple[str, Mark]] = Counter((check.topic, check.mark) for check in checks)
    topics = sorted({check.topic for check in checks})
    lines = [
        f"| topic | {' | '.join(MARKS)} | checks | sources |",
        f"|{'---|' * (len(MARKS) + 3)}",
    ]
    for topic in topics:
        row = [counts[topic, mark] for mark in MARKS]
        sources = {check.source for check in checks if check.topic == topic}
        cells = " | ".join(str(n or "") for n in row)
        lines.append(f"| {topic} | {cells} | {sum(row)} | {len(sources)} |")
    totals = [sum(counts[topic, mark] for topic in topics) for mark in MARKS]
    cells = " | ".join(str(n) for n in totals)
    lines.append(f"| all | {cells} | {len(checks)} | {len({c.source for c in checks})} |")
    return "\n".join(lines)


if __name__ == "__main__":
    sys.stdout.write(table(collected()) + "\n")
