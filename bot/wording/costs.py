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

GSM = "GSM-7"
SMS = Manner(one_message=160, alphabet="gsm7", pages=1)


@dataclass(frozen=True, slots=True)
class Cost:
    """What one fact costs by SMS at its widest: segments of the first page, and how many pages.

    `plain` is the language in plain letters, as a member may choose.
    """

    tag: str
    plain: bool
    words: str
    alphabet: str
    units: int
    segments: int
    pages: int
    text: str


def costs(root: Path = LOCALES, languages: Sequence[str] = ()) -> tuple[Cost, ...]:
    """What every reply costs in every language at its widest values.

    A language that plain letters make shorter comes a second time in these.
    """
    kinds = sources.facts()
    found: list[Cost] = []
    for tag in languages or tags(root):
        full = [_cost(kind, tag, root, plain=False) for kind in kinds]
        plain = [_cost(kind, tag, root, plain=True) for kind in kinds]
        found += full
        if sum(one.alphabet == GSM for one in plain) > sum(one.alphabet == GSM for one in full):
            found += plain
    return tuple(found)


def _cost(kind: type[Fact], tag: str, root: Path, *, plain: bool) -> Cost:
    voice = Voice(tag, plain_letters=plain)
    worded = say([widest(kind, Speaker(voice, root))], voice, SMS, root=root)
    first = worded.pages[0]
    return Cost(
        tag=tag,
        plain=plain,
        words=kind.words,
        alphabet=GSM if segments.is_gsm(first) else "UCS-2",
        units=segments.units(first),
        segments=segments.segments(first),
        pages=len(worded.pages),
        text=first,
    )


def segments_table(root: Path = LOCALES) -> str:
    """Segments for every reply in every language, and the share that fits in one."""
    found = costs(root)
    lines = [
        f"{'language':<14}{'reply':<36}{'alphabet':<10}{'units':>6}{'segments':>9}{'pages':>6}"
    ]
    lines += [
        f"{_named(cost):<14}{cost.words:<36}{cost.alphabet:<10}{cost.units:>6}{cost.segments:>9}"
        f"{cost.pages:>6}"
        for cost in found
    ]
    return "\n".join([*lines, "", *(str(share) for share in shares(found))])


@dataclass(frozen=True, slots=True)
class Share:
    """Of how many replies of a language how many go in one SMS, and how many without paging.

    Without paging is one segment in GSM-7, two in UCS-2.
    """

    name: str
    replies: int
    one: int
    whole: int
    gsm: int

    def __str__(self) -> str:
        """One line of the table."""
        return (
            f"{self.name}: {self.one} of {self.replies} replies in one segment, "
            f"{self.whole} without paging, {self.gsm} in GSM-7"
        )


def shares(found: Sequence[Cost]) -> tuple[Share, ...]:
    """The sums of what was counted, for each language and its plain letters."""
    names = dict.fromkeys(_named(cost) for cost in found)
    return tuple(_share(name, [cost for cost in found if _named(cost) == name]) for name in names)


def _share(name: str, mine: Sequence[Cost]) -> Share:
    return Share(
        name=name,
        replies=len(mine),
        one=sum(cost.segments == 1 and cost.pages == 1 for cost in mine),
        whole=sum(cost.pages == 1 for cost in mine),
        gsm=sum(cost.alphabet == GSM for cost in mine),
    )


def _named(cost: Cost) -> str:
    return f"{cost.tag} plain" if cost.plain else cost.tag
