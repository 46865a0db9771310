"""How long reading takes, as ratios to cutting the same messages with a plain expression.

Run: python tests/benchmarks/language/reading.py [--rounds 20]
Prints median and p99 over messages, each at its best round, so that what else the machine does
stays out; the worst hostile message; and loading all lexicons in a fresh interpreter (processor
time), against Babel reading as many of its own locales.
"""

from __future__ import annotations

import argparse
import re
import statistics
import subprocess
import sys
import time
import tomllib
from datetime import datetime
from pathlib import Path

from bot.language.lexicon import LOCALES, load, tags
from bot.language.read import read

REF = datetime(2026, 3, 4, 10)  # noqa: DTZ001 - wall time
HERE = Path(__file__).resolve()
FLOOR = re.compile(r"\d+(?:[.,]\d+)*|[^\W\d_]+|\S")
HOSTILE = [
    "1/2 " * 120,
    "monday " * 70,
    "10:30 " * 80,
    "1" * 480,
    "1-" * 240,
    "every " * 80,
    "million " * 60,
    "mon 1 " * 80,
    "1 jan 1 " * 60,
    "half " * 100,
    "1 and " * 80,
    "zzxqv qwrtp " * 40,
    "1 part " * 70,
    "2024-" * 90,
    "saa " * 120,
    "x" * 10_000,
    "3 tanks of 16 l " * 700,
]

RESIDENT = """
import re, time
from pathlib import Path
def resident():
    return int(re.search(r"VmRSS:\\s+(\\d+)", Path("/proc/self/status").read_text())[1]) / 1024
"""
LOADING = (
    RESIDENT
    + """
from bot.language import tongues
before, begin = resident(), time.process_time()
tongues()
print(time.process_time() - begin, resident() - before)
"""
)
BABEL = (
    RESIDENT
    + """
from babel import Locale
before, begin = resident(), time.process_time()
for tag in ("en", "es", "fr", "hi", "hi_Latn", "pt", "sw"):
    Locale.parse(tag).months
print(time.process_time() - begin, resident() - before)
"""
)


def messages() -> list[tuple[str, str]]:
    """Every message of the tests, with its language."""
    found = []
    for tag in tags():
        listed = tomllib.loads((LOCALES / tag / "words.toml").read_text("utf-8"))
        more = HERE.parents[2] / "unit" / "language" / "heard" / f"{tag}.toml"
        texts = [*listed.get("reading", {}), *tomllib.loads(more.read_text("utf-8"))]
        found += [(tag, text) for text in texts]
    return found


def spent(rounds: int) -> tuple[list[float], list[float]]:
    """Seconds a message at its best round: read, and cut by the floor."""
    reading, floor = [], []
    for tag, text in messages():
        lexicon = load(tag)
        read_best = cut_best = 1.0
        for _ in range(rounds):
            begin = time.perf_counter()
            read(text, lexicon, REF)
            middle = time.perf_counter()
            FLOOR.findall(text)
            cut_best = min(cut_best, time.perf_counter() - middle)
            read_best = min(read_best, middle - begin)
        reading.append(read_best)
        floor.append(cut_best)
    return sorted(reading), floor


def worst_hostile() -> tuple[float, str]:
    """The slowest hostile message, each at its best of five, in seconds."""
    worst = (0.0, "")
    for tag in tags():
        lexicon = load(tag)
        for text in HOSTILE:
            tries = []
            for _ in range(5):
                begin = time.perf_counter()
                read(text, lexicon, REF)
                tries.append(time.perf_counter() - begin)
            worst = max(worst, (min(tries), f"{tag} {text[:20]!r}"))
    return worst


def fresh(program: str) -> tuple[float, float]:
    """Seconds and MiB that a program prints, at its best of three fresh interpreters."""
    runs = []
    for _ in range(3):
        done = subprocess.run(
            [sys.executable, "-c", program], capture_output=True, text=True, check=True
        )
        seconds, mebibytes = done.stdout.split()
        runs.append((float(seconds), float(mebibytes)))
    return min(runs)


def main() -> None:
    """Print the figures, one a line."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("--rounds", type=int, default=10)
    rounds: int = parser.parse_args().rounds
    reading, floor = spent(rounds)
    middle, p99 = statistics.median(reading), reading[int(len(reading) * 0.99)]
    base = statistics.median(floor)
    hostile, which = worst_hostile()
    loading, mebibytes = fresh(LOADING)
    babel, _ = fresh(BABEL)
    sys.stdout.write(
        f"messages       {len(reading)}\n"
        f"median         {middle * 1e6:8.1f} us   {middle / base:6.1f} x plain cutting\n"
        f"p99            {p99 * 1e6:8.1f} us   {p99 / base:6.1f} x plain cutting\n"
        f"worst hostile  {hostile * 1e3:8.2f} ms   {which}\n"
        f"loading all    {loading * 1e3:8.1f} ms   {loading / babel:6.1f} x Babel alone\n"
        f"memory of all  {mebibytes:8.1f} MiB\n"
    )


if __name__ == "__main__":
    main()
