"""Delivery measured as ratios in one run: `python -m tests.benchmarks.delivery [NAME ...]`.

exchange  one exchange against the same statements and commits in raw sqlite3 and raw psycopg
burst     reminders due in one minute against one APScheduler job a reminder
pending   the idle tick, start-up and memory with many pending rows against few
library   the outbox against a PostgreSQL queue library (needs: pip install -e .[bench])
workers   1, 2 and 4 workers on PostgreSQL

STIRBELL_FULL=1: 10,000 reminders in the burst, a million rows pending.
"""

from __future__ import annotations

import sys

from tests.benchmarks.delivery import burst, exchange, library, pending, workers

ALL = {
    "exchange": exchange.measured,
    "burst": burst.measured,
    "pending": pending.measured,
    "library": library.measured,
    "workers": workers.measured,
}


def main(argv: list[str]) -> int:
    for name in argv[1:] or list(ALL):
        for line in ALL[name]():
            sys.stdout.write(f"{name:<10}{line}\n")
            sys.stdout.flush()
    return 0


raise SystemExit(main(sys.argv))
