"""What an answer wants recorded. Values only: `recording` writes them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime

from bot.facts import Fact, Question


@dataclass(frozen=True, slots=True)
class Opened:
    """A new subject with its first entry: a batch started, a plan of rounds made.

    `code` is the short name people type; `prefix` asks for the next free one, as B1, B2. A
    `lasting` one, as the group's own circle, bears no name, and outlives the undoing of its first
    entry: others write on it too.
    """

    kind: str
    entry: str
    at: datetime
    data: Mapping[str, object] = field(default_factory=dict)
    code: str = ""
    prefix: str = ""
    lasting: bool = False
    aside: bool = False


@dataclass(frozen=True, slots=True)
class Recorded:
    """One more entry on a subject.

    One that stands `aside` only follows from another of the same exchange, as the wait of every
    round from the rain: it is taken back with it, and not told apart.
    """

    subject_id: str
    entry: str
    at: datetime
    data: Mapping[str, object] = field(default_factory=dict)
    aside: bool = False


@dataclass(frozen=True, slots=True)
class Closed:
    """The subject is over: its last entry, and no reminders any more."""

    subject_id: str
    entry: str
    at: datetime
    data: Mapping[str, object] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class MemberSet:
    """A setting of the member.

    One of its columns (language, zone, hour, name, country, group_id) or a free one, kept under
    `settings`; None takes a free one away.
    """

    name: str
    value: object


@dataclass(frozen=True, slots=True)
class GroupSet:
    """A setting of the member's group, kept under its `settings` (or its `name`)."""

    name: str
    value: object


@dataclass(frozen=True, slots=True)
class Noted:
    """An entry on the group's log that belongs to no subject, as a question of sickness."""

    entry: str
    at: datetime
    data: Mapping[str, object] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Undone:
    """Take back what one exchange recorded."""

    exchange_id: int


@dataclass(frozen=True, slots=True)
class Stopped:
    """Nothing more is sent to this member, but the one confirming word."""


@dataclass(frozen=True, slots=True)
class Resumed:
    """The member may be written to again."""


@dataclass(frozen=True, slots=True)
class Forgotten:
    """Everything personal of this member goes: addresses, name, raw messages, outbox text."""


@dataclass(frozen=True, slots=True)
class Told:
    """A word to somebody else: to a member, to every keeper of the group, or to its noticeboard.

    What is for the `board` goes nowhere where there is none. `group_id` is the group meant, where
    it is not the member's own of the moment.
    """

    facts: tuple[Fact, ...]
    member_id: str = ""
    keepers: bool = False
    board: bool = False
    group_id: str = ""


@dataclass(frozen=True, slots=True)
class Founded:
    """A new group of this name, kept by the member, who is in it from now on."""

    name: str


@dataclass(frozen=True, slots=True)
class Joined:
    """The member is in the group in this role, and it is the group of their messages."""

    group_id: str
    role: str = "member"


@dataclass(frozen=True, slots=True)
class Left:
    """Somebody is no longer in the group; their messages go to another group of theirs.

    With `ends_invites` the codes given out so far let nobody in any more. What they brought into
    the group goes with them, unless they are being forgotten (`takes` is False).
    """

    member_id: str
    ends_invites: bool = False
    takes: bool = True


@dataclass(frozen=True, slots=True)
class Became:
    """Somebody in the group has another role from now on."""

    member_id: str
    role: str


@dataclass(frozen=True, slots=True)
class Added:
    """Somebody without a phone of their own is in the group; the writer's phone is theirs too."""

    name: str
    role: str = "helper"
    group_id: str = ""


@dataclass(frozen=True, slots=True)
class Invited:
    """A code with which others join the group, for so many of them."""

    code: str
    expires_at: datetime
    uses: int
    name: str = ""


@dataclass(frozen=True, slots=True)
class InviteUsed:
    """One of the uses of a code is gone."""

    code: str


@dataclass(frozen=True, slots=True)
class Moved:
    """A subject belongs to another group from now on, there under this short name."""

    subject_id: str
    group_id: str
    code: str


@dataclass(frozen=True, slots=True)
class Renamed:
    """A subject has another short name from now on."""

    subject_id: str
    code: str


@dataclass(frozen=True, slots=True)
class Disbanded:
    """The group is no more: everything in it is closed and nobody is in it."""


@dataclass(frozen=True, slots=True)
class Tried:
    """A wrong try at a code, by whom (a hash, so that it says nothing of the person)."""

    what: str
    who: str


Change = (
    Opened
    | Recorded
    | Closed
    | MemberSet
    | GroupSet
    | Noted
    | Undone
    | Stopped
    | Resumed
    | Forgotten
    | Told
    | Founded
    | Joined
    | Left
    | Became
    | Added
    | Invited
    | InviteUsed
    | Moved
    | Renamed
    | Disbanded
    | Tried
)


@dataclass(frozen=True, slots=True)
class Answer:
    """What a request or a reminder comes to: what to say, record and ask.

    `about` names the subjects the words are about, so that a bare answer can find them.
    """

    facts: tuple[Fact, ...] = ()
    changes: tuple[Change, ...] = ()
    question: Question | None = None
    about: tuple[str, ...] = ()
