"""Coverage-guided fuzzing of the reader with atheris: a job of ten minutes, not a test.

Run: python tests/benchmarks/language/fuzz.py -max_total_time=600
Needs atheris (`uv pip install atheris`), which is no dependency of ours. Any exception, or a
message that takes longer than a second, ends the run with the message that did it.
"""

from __future__ import annotations

import importlib
import importlib.util
import sys
from datetime import datetime

from bot.language.lexicon import load, tags
from bot.language.read import read

REF = datetime(2026, 3, 4, 10)  # noqa: DTZ001 - wall time


def one(data: bytes) -> None:
    """Read one message that atheris made; its first byte chooses the language."""
    if not data:
        return
    languages = tags()
    lexicon = load(languages[data[0] % len(languages)])
    reading = read(data[1:].decode("utf-8", "replace"), lexicon, REF)
    for mention in reading.mentions:
        if not 0 <= mention.start < mention.end <= len(reading.tokens):
            raise AssertionError(f"{mention} lies outside its message")


def main() -> int:
    """0 when the time is over and nothing broke; 1 with one line when atheris is missing."""
    if importlib.util.find_spec("atheris") is None:
        sys.stderr.write("atheris is not installed; install it with: uv pip install atheris\n")
        return 1
    atheris = importlib.import_module("atheris")
    atheris.instrument_all()
    atheris.Setup([*sys.argv, "-timeout=1"], one)
    atheris.Fuzz()
    return 0


if __name__ == "__main__":
    sys.exit(main())
