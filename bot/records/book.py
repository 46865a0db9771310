"""What a request or a reminder may look at: one member's side of the record, at one moment."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Any, TypeVar
from zoneinfo import ZoneInfo

from sqlalchemy import Connection

from bot.craft.batches import Batch
from bot.craft.entries import Entry, Head
from bot.craft.outlook import Outlook, expected_days, expected_on, outlook
from bot.craft.recipe import Recipe
from bot.recipes.own import key_of
from bot.records import journal, learnt, people, questions
from bot.records.agenda import agenda
from bot.records.changes import Answer, Change
from bot.records.people import Group, Member

S = TypeVar("S")
Fold = Callable[[Head, Sequence[Entry]], S]


def _no_chance() -> str:
    raise LookupError("this book was opened without chance")


@dataclass(frozen=True, slots=True)
class Book:
    """One member's view of the record inside one transaction. Reads only.

    `now` is the engine's moment, `said_at` when the message was sent: relative words count from
    it, and what the member tells happened then. `pending` are the member's open questions.
    """

    tx: Connection = field(repr=False)
    now: datetime
    said_at: datetime
    member: Member
    group: Group
    recipes: Mapping[str, Recipe]
    pending: tuple[questions.Open, ...] = ()
    place: tuple[float, float] | None = None
    languages: tuple[str, ...] = ()
    roles: tuple[str, ...] = ("keeper",)
    """What the member is in the group; with a keeper writing for them, a keeper's rights too."""
    writer: Member | None = None
    """Who typed it, where that is not the member it is written for."""
    forgeable: bool = False
    """Whether anybody could have sent it under the member's address."""
    sender: str = ""
    """A hash of where it came from, to count wrong tries by."""
    noticeboard: bool = False
    """Whether it came from a group chat, where nobody knows who writes."""
    new_id: Callable[[], str] = field(default=_no_chance, repr=False)

    @property
    def today(self) -> date:
        """The member's calendar day when the message was sent."""
        return self.said_at.astimezone(ZoneInfo(self.member.zone)).date()

    def local(self, moment: datetime) -> datetime:
        """A moment on the member's own clock."""
        return moment.astimezone(ZoneInfo(self.member.zone))

    def open(self, kind: str, fold: Fold[S]) -> tuple[S, ...]:
        """The group's open subjects of a kind, folded, oldest first."""
        return journal.open_subjects(self.tx, self.group.id, kind, fold)

    def all(self, kind: str, fold: Fold[S]) -> tuple[S, ...]:
        """The group's subjects of a kind, the closed ones too, folded, oldest first."""
        return journal.all_subjects(self.tx, self.group.id, kind, fold)

    def some(self, ids: Iterable[str], kind: str, fold: Fold[S]) -> tuple[S, ...]:
        """The subjects of these identities that are of the kind, folded."""
        return journal.by_ids(self.tx, ids, kind, fold)

    def owner_of(self, subject_id: str) -> str:
        """Whose a subject is: the member who opened it."""
        return journal.tender_of(self.tx, subject_id)

    def told(self, subject_id: str) -> tuple[Head, list[Entry]]:
        """A subject as it is stored, to be folded with one more entry."""
        return journal.told(self.tx, subject_id)

    def outlook(self, batch: Batch) -> Outlook | None:
        """When to look at a batch, from its warmth and what this and all groups have reported."""
        recipe = self.recipes.get(batch.recipe)
        if recipe is None:
            return None
        own, everyone = learnt.known(self.tx, self.group.id, recipe)
        return outlook(batch, recipe, self.setting("place", ()), own, everyone)

    def expected_days(self, recipe: Recipe, on: date) -> tuple[int, int]:
        """Days until a kept-back start of a day is ready here: with chance 0.8, and 0.5."""
        own, everyone = learnt.known(self.tx, self.group.id, recipe)
        return expected_days(recipe, self.setting("place", ()), on, own, everyone)

    def expected_on(self, batch: Batch, recipe: Recipe) -> tuple[date, date]:
        """The days by which a running batch is ready with chance 0.8, and 0.5."""
        own, everyone = learnt.known(self.tx, self.group.id, recipe)
        place = self.setting("place", ())
        return expected_on(batch, recipe, place, own, everyone, self.today)

    def recipe(self, named: object, otherwise: str) -> Recipe | None:
        """The recipe that was named, by a word of the trade or by the group's own name for it.

        `otherwise` is the kind where nothing was named; None where the name is not known.
        """
        if named is None:
            return self.recipes.get(otherwise)
        kind = getattr(named, "name", None)
        return self.recipes.get(kind if isinstance(kind, str) else key_of(str(named)))

    def recipe_of(self, kind: str) -> Recipe:
        """The recipe a batch was started by; the usual one where that was taken back since."""
        return self.recipes.get(kind) or self.recipes["mother"]

    def next_code(self, prefix: str, *, bare: bool = False) -> str:
        """The next free short name of a prefix in the group: B1, B2; `bare`: tomato, tomato2."""
        return journal.next_code(self.tx, self.group.id, prefix, bare=bare)

    def log(self, kinds: Sequence[str], since: datetime) -> list[Entry]:
        """The group's standing entries of these kinds after `since`."""
        return journal.log(self.tx, self.group.id, kinds, since)

    def last_exchange(self) -> int | None:
        """The newest exchange in which this member recorded something that still stands."""
        return journal.last_exchange(self.tx, self.member.id)

    def recorded_in(self, exchange_id: int) -> list[tuple[str, str]]:
        """What one exchange of this member recorded: entry kinds with the subject's short name."""
        return journal.recorded_in(self.tx, exchange_id, self.member.id)

    def agenda(self, on: date) -> list[tuple[str, str]]:
        """What is due for this member on a local day: kinds of reminder with short names."""
        return agenda(self.tx, self.member.id, on)

    def members(self, role: str = "") -> tuple[Member, ...]:
        """The people of the group, of one role where given."""
        return people.members_of(self.tx, self.group.id, role=role)

    def open_ids(self) -> tuple[str, ...]:
        """The identities of everything open in the group."""
        return journal.open_ids(self.tx, self.group.id)

    def owns(self, subject_id: str) -> bool:
        """Whether the subject is the member's own: they opened it."""
        return journal.tender_of(self.tx, subject_id) == self.member.id

    def setting(self, name: str, otherwise: Any = None) -> Any:
        """A free setting: the member's own, else the group's, else `otherwise`."""
        if name in self.member.settings:
            return self.member.settings[name]
        return self.group.settings.get(name, otherwise)


__all__ = ["Answer", "Book", "Change"]
