"""Coverage-guided fuzzing of reading and understanding with atheris: a job of ten minutes, no test.

Run: nice -n 15 python tests/benchmarks/language/fuzz.py -max_total_time=600
Needs atheris (`uv pip install -e .[bench]`). It begins from every example of the word lists. Any
exception, or a message that takes longer than ten seconds (the job gives way to all others, and
instrumented code is about ten times slower), ends the run with the message that did it.
"""

from __future__ import annotations

import importlib
import importlib.util
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parents[3]))


def target() -> tuple[Callable[[bytes], None], list[bytes]]:
    """What takes one message that atheris made, and the messages it begins from.

    The first byte chooses the language.
    """
    language: Any = importlib.import_module("bot.language")
    read: Any = importlib.import_module("bot.language.read").read
    made: Any = importlib.import_module("bot.language.examples")
    heard = language.tongues()
    tags = tuple(heard)

    def one(data: bytes) -> None:
        if not data:
            return
        tag = tags[data[0] % len(tags)]
        text = data[1:].decode("utf-8", "replace")
        told = made.hearing(tag)
        reading = read(text, heard[tag].lexicon, told.said_at.replace(tzinfo=None))
        for mention in reading.mentions:
            if not 0 <= mention.start < mention.end <= len(reading.tokens):
                raise AssertionError(f"{mention} lies outside its message")
        understood = language.understand(text, heard, told)
        if not (understood.requests or understood.question or understood.doubt):
            raise AssertionError("a message without anything to say back")

    seeds = [
        bytes([place]) + example.said.encode()
        for place, tag in enumerate(tags)
        for example in made.examples(tag, heard[tag].lexicon.table)
    ]
    return one, seeds


def main() -> int:
    """0 when the time is over and nothing broke; 1 with one line when atheris is missing."""
    if importlib.util.find_spec("atheris") is None:
        sys.stderr.write("atheris is not installed; install it with: uv pip install -e .[bench]\n")
        return 1
    atheris: Any = importlib.import_module("atheris")
    with atheris.instrument_imports(include=["bot.language"]):
        one, seeds = target()
    with tempfile.TemporaryDirectory(prefix="stirbell-fuzz-") as folder:
        for number, seed in enumerate(seeds):
            (Path(folder) / f"{number}").write_bytes(seed)
        atheris.Setup([*sys.argv, "-timeout=10", "-max_len=481", folder], one)
        atheris.Fuzz()
    return 0


if __name__ == "__main__":
    sys.exit(main())
