"""Delivery measured as ratios in one run: `python -m tests.benchmarks.delivery [NAME ...]`.

exchange  one exchange against the same statements and commits in raw sqlite3
burst     reminders due in one minute against one APScheduler job a reminder
pending   the idle tick, start-up and memory with many pending rows against few
workers   1, 2 and 4 workers on PostgreSQL
"""

from __future__ import annotations

import sys

from tests.benchmarks.delivery import burst, exchange, pending, workers

ALL = {
    "exchange": exchange.measured,
    "burst": burst.measured,
    "pending": pending.measured,
    "workers": workers.measured,
}


def main(argv: list[str]) -> int:
    for name in argv[1:] or list(ALL):
        for line in ALL[name]():
            sys.stdout.write(f"{name:<10}{line}\n")
            sys.stdout.flush()
    return 0


raise SystemExit(main(sys.argv))
