"""What replies cost by SMS, at their widest, in every language."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from bot.facts import Fact
from bot.messages import Manner
from bot.wording import segments, sources
from bot.wording.catalogue import LOCALES, tags
from bot.wording.say import say
from bot.wording.values import Speaker
from bot.wording.voice import Voice
from bot.wording.widest import widest

SMS = Manner(one_message=160, alphabet="gsm7", pages=1)


@dataclass(frozen=True, slots=True)
class Cost:
    """What one fact costs by SMS at its widest: segments of the first page, and how many pages."""

    tag: str
    words: str
    alphabet: str
    units: int
    segments: int
    pages: int
    text: str


def costs(root: Path = LOCALES, languages: Sequence[str] = ()) -> tuple[Cost, ...]:
    """What every reply costs in every language at its widest values."""
    kinds = sources.facts()
    return tuple(_cost(kind, tag, root) for tag in languages or tags(root) for kind in kinds)


def _cost(kind: type[Fact], tag: str, root: Path) -> Cost:
    voice = Voice(tag)
    worded = say([widest(kind, Speaker(voice, root))], voice, SMS, root=root)
    first = worded.pages[0]
    return Cost(
        tag=tag,
        words=kind.words,
        alphabet="GSM-7" if segments.is_gsm(first) else "UCS-2",
        units=segments.units(first),
        segments=segments.segments(first),
        pages=len(worded.pages),
        text=first,
    )


def segments_table(root: Path = LOCALES) -> str:
    """Segments for every reply in every language, and the share that fits in one."""
    found = costs(root)
    lines = [
        f"{'language':<10}{'reply':<36}{'alphabet':<10}{'units':>6}{'segments':>9}{'pages':>6}"
    ]
    lines += [
        f"{cost.tag:<10}{cost.words:<36}{cost.alphabet:<10}{cost.units:>6}{cost.segments:>9}"
        f"{cost.pages:>6}"
        for cost in found
    ]
    return "\n".join([*lines, "", *(_share(tag, found) for tag in tags(root))])


def _share(tag: str, found: Sequence[Cost]) -> str:
    mine = [cost for cost in found if cost.tag == tag]
    one = sum(cost.segments == 1 and cost.pages == 1 for cost in mine)
    whole = sum(cost.pages == 1 for cost in mine)
    return f"{tag}: {one} of {len(mine)} replies in one segment, {whole} without paging"
