"""How often a message is understood as what it asks: `python tests/benchmarks/asking/measure.py`.

Three tables. *fresh*: messages of fresh*.txt, each set written before the word lists were widened
with it in view (tag, kind, text).
*examples with a slip*: every example of every word list with one typing slip (seeded), counted
right only if kinds and slots are as without it. *confusion*: the fresh messages that went to
another kind. Then the time of understanding as a multiple of reading alone, in the same run.
"""

from __future__ import annotations

import runpy
import statistics
import sys
import time
from collections import Counter
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from random import Random

HERE = Path(__file__).resolve().parent
sys.path.insert(0, str(HERE.parents[2]))

from bot.language.examples import examples, hearing, right, written  # noqa: E402
from bot.language.read import read  # noqa: E402
from bot.language.understand import Tongue, compile_all, tongues, understand  # noqa: E402

KEYS = {key: line for line in ("qwertyuiop", "asdfghjkl", "zxcvbnm") for key in line}


WRITTEN = next((one for one in sys.argv[1:] if one.endswith(".txt")), "fresh*.txt")


def slipped(text: str, chance: Random) -> str:
    """The text with one slip in a word of four letters or more; as it is where there is none."""
    places = [
        place
        for place in range(1, len(text) - 1)
        if all(text[place + by].isalpha() for by in (-1, 0, 1))
    ]
    if not places:
        return text
    place = chance.choice(places)
    match chance.randrange(4):
        case 0:
            return text[:place] + text[place + 1 :]
        case 1:
            return text[:place] + text[place] + text[place:]
        case 2:
            return text[:place] + text[place + 1] + text[place] + text[place + 2 :]
        case _:
            line = KEYS.get(text[place], text[place])
            beside = line[(line.index(text[place]) + 1) % len(line)]
            return text[:place] + beside + text[place + 1 :]


def fresh(heard: dict[str, Tongue]) -> None:
    """Print how many fresh messages went to their kind, and where the others went."""
    by_tag: Counter[str] = Counter()
    hit: Counter[str] = Counter()
    confused: Counter[tuple[str, str]] = Counter()
    missed = []
    lines = [
        line
        for path in sorted(HERE.glob(WRITTEN))
        for line in path.read_text(encoding="utf-8").splitlines()
    ]
    for line in lines:
        if not line.strip() or line.startswith("#"):
            continue
        tag, kinds, text = line.split("\t")
        understood = understand(text, heard, hearing(tag))
        got = "+".join(request.kind for request in understood.requests)
        if understood.question is not None:
            got = "+".join([*got.split("+"), understood.question.request.kind]).strip("+")
        by_tag[tag] += 1
        if got in kinds.split("|"):
            hit[tag] += 1
        else:
            confused[kinds, got or "nothing"] += 1
            missed.append(f"  {tag}  {text}: {kinds}, got {written(understood)}")
    print("fresh messages, kind right")
    for tag, count in by_tag.items():
        print(f"  {tag:8} {hit[tag]:4} of {count:4}  {hit[tag] / count:.3f}")
    print(f"  {'all':8} {hit.total():4} of {by_tag.total():4}  {hit.total() / by_tag.total():.3f}")
    print("confusion (meant, got, how often)")
    for (meant, got), count in confused.most_common():
        print(f"  {meant:14} {got:24} {count}")
    if "--missed" in sys.argv:
        print("\n".join(missed))


def with_a_slip(heard: dict[str, Tongue]) -> None:
    """Print how many examples are still understood alike with one slip."""
    chance = Random(8)
    print("examples with one slip: kind right, kind and slots right")
    for tag, tongue in heard.items():
        kind = same = count = 0
        for example in examples(tag, tongue.lexicon.table):
            if example.wanted.startswith(("!", "?")):
                continue
            got = written(understand(slipped(example.said, chance), heard, hearing(tag)))
            count += 1
            wanted = [part.split()[0] for part in example.wanted.split(" & ")]
            kind += [part.split()[0] for part in got.split(" & ")] == wanted
            same += right(example.wanted, got)
        print(f"  {tag:8} {kind / count:.3f} {same / count:.3f} of {count}")


def pace(heard: dict[str, Tongue]) -> None:
    """Print what understanding costs beside reading alone."""
    both: list[float] = []
    alone: list[float] = []
    for tag, tongue in heard.items():
        told = replace(hearing(tag))
        for example in examples(tag, tongue.lexicon.table):
            begun = time.thread_time()
            understand(example.said, heard, told)
            both.append(time.thread_time() - begun)
            begun = time.thread_time()
            read(example.said, tongue.lexicon, datetime(2026, 3, 4, 9))  # noqa: DTZ001 - wall time
            alone.append(time.thread_time() - begun)
    median = statistics.median(both)
    print(
        f"understanding {median * 1e6:.0f} us a message (median), "
        f"{median / statistics.median(alone):.1f} times reading alone, "
        f"99th hundredth {sorted(both)[len(both) * 99 // 100] * 1e6:.0f} us"
    )


def worst(heard: dict[str, Tongue]) -> None:
    """Print the slowest hostile message, each at its best of three."""
    hostile = runpy.run_path(str(HERE.parent / "language" / "reading.py"))["HOSTILE"]
    found = (0.0, "", "")
    for text in (*hostile, "spray tomato and " * 30, "b1 b2 b3 and " * 30, "how much " * 60):
        for tag in heard:
            tries = []
            for _ in range(3):
                begun = time.thread_time()
                understand(text, heard, hearing(tag))
                tries.append(time.thread_time() - begun)
            found = max(found, (min(tries), tag, text[:20]))
    print(f"worst hostile {found[0] * 1e3:.1f} ms ({found[1]}, {found[2]!r})")


if __name__ == "__main__":
    begun = time.thread_time()
    tongues_heard = dict(tongues())
    loaded = time.thread_time()
    compile_all(tongues_heard)
    asking = (time.thread_time() - loaded) * 1e3
    print(
        f"loading {len(tongues_heard)} languages {(loaded - begun) * 1e3:.0f} ms, "
        f"their ways to ask, when each is first heard, {asking:.0f} ms together"
    )
    fresh(tongues_heard)
    with_a_slip(tongues_heard)
    pace(tongues_heard)
    worst(tongues_heard)
