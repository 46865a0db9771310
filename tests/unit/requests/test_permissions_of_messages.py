"""Every cell of the permissions, asked by message through the whole exchange."""

from __future__ import annotations

import random
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path

import pytest
from sqlalchemy import func, select

from bot.assembly import House, assemble
from bot.channels.terminal import Terminal
from bot.craft.permits import ROLES, TABLE
from bot.messages import Incoming, Outgoing
from bot.records.tables import entry

MORNING = datetime(2026, 3, 2, 9, tzinfo=UTC)
REFUSALS = (
    "Only a keeper",
    "Only a member",
    "That belongs to",
    "Here I cannot see",
    "I know no",
    "a keeper can",
)
SHARED: dict[str, str] = {
    # one message a row, whatever it is about
    "ask": "leaf spray 3 tanks of 16 litres",
    "see_members": "who is in the group",
    "see_numbers": "numbers of the members",
    "invite": "invite",
    "write_for": "for Newcomer: stirred",
    "make_keeper": "make Founder keeper",
    "start": "started 20 l barrel",
    "stir": "stirred b1",
    "look": "b1 not yet",
    "draw": "used 1 l from b1",
    "keep": "kept 2 l from b1",
    "calendar": "market day every friday",
    "supply": "is there enough",
    "prices": "sugar is 60 a kg",
    "group_settings": "name the group Valley",
    "join": "join K7QM3W",
    "found": "found a group called Dale",
    "forget": "delete me",
    "hand_over": "hand over to Founder",
    "remove": "remove Founder",
    "disband": "delete the group",
}
OWN: dict[str, dict[str, str]] = {
    # a message about one's own thing, by role
    "name": {"keeper": "name b1 tall", "member": "name b2 low"},
    "finish": {"keeper": "finish b1", "member": "finish b2"},
    "plot": {"keeper": "plot high 10 plants", "member": "plot low 10 plants"},
    "rounds": {"keeper": "harvest tomato 20 may", "member": "harvest kale 20 may"},
    "sprayed": {"keeper": "sprayed tomato", "member": "sprayed kale", "helper": "sprayed onion"},
    "see_rounds": {"keeper": "my rounds", "member": "my rounds", "helper": "my rounds"},
    "undo": {"keeper": "undo", "member": "undo", "helper": "undo"},
    "leave": {"keeper": "leave group", "member": "leave group", "helper": "leave group"},
}
OTHERS = {
    "name": "name b1 tall",
    "finish": "finish b1",
    "plot": "plot high 20 plants",
    "rounds": "harvest tomato 21 may",
    "sprayed": "sprayed tomato",
}
JUDGED_IN_THEIR_ROOMS = {"rota", "rain"}
WITHOUT_A_MESSAGE = {"choose", "recipe", "caution", "equipment", "record"}


class Farm:
    """A group of a keeper, a member, somebody without a phone, and a chat that is its board."""

    def __init__(self, house: House, *, board: bool) -> None:
        self.house = house
        self.n = 0
        self.said: list[Outgoing] = []
        terminal = house.channels["terminal"]
        assert isinstance(terminal, Terminal)
        terminal.printed = self.said.append
        for who, text in (
            ("founder", "found a group called Hill"),
            ("founder", "my name is Founder"),
            ("founder", "invite"),
        ):
            self.says(who, text)
        code = self.said[-1].text.rsplit(" ", 1)[1]
        for who, name in (("keeper", "Keeper"), ("member", "Mia")):
            self.says(who, f"join {code}")
            self.says(who, name)
        if board:
            self.says("stranger", f"join {code}")
        self.says("founder", "for Hal: spraying onion from 9 march every 10 days 3 times 10 l")
        self.says("founder", "yes")
        self.says("founder", "hand over to Keeper")
        self.says("founder", "yes")
        for who, text in (
            ("keeper", "started 100 l barrel"),
            ("member", "started 50 l barrel"),
            ("keeper", "plot high tomato"),
            ("member", "plot low kale"),
            ("keeper", "spraying tomato from 9 march every 10 days 3 times 10 l"),
            ("member", "spraying kale from 9 march every 10 days 3 times 10 l"),
        ):
            self.says(who, text)

    def says(self, who: str, text: str) -> str:
        """What is answered; the helper's words come from the founder's phone."""
        if who == "helper":
            who, text = "founder", f"Hal: {text}"
        self.n += 1
        self.said.clear()
        self.house.door.accept(
            Incoming("terminal", f"m{self.n}", who, text, MORNING, noticeboard=who == "stranger")
        )
        self.house.engine.step(MORNING)
        return "\n".join(each.text for each in self.said if each.address == who)

    def entries(self) -> int:
        """How much is on record."""
        with self.house.store.begin() as tx:
            return int(tx.execute(select(func.count()).select_from(entry)).scalar_one())


@contextmanager
def farm(folder: Path, *, board: bool = True) -> Iterator[Farm]:
    chance = random.Random(11)
    house = assemble(
        f"sqlite:///{folder / 'farm.sqlite'}",
        now=lambda: MORNING,
        environ={},
        names=("terminal",),
        new_id=lambda: f"{chance.getrandbits(64):016x}",
        newcomer=lambda _incoming: {"zone": "UTC", "language": "en"},
    )
    try:
        yield Farm(house, board=board)
    finally:
        house.close()


def cells(role: str) -> list[tuple[str, str, bool]]:
    """Row, message, and whether it is allowed, for one role; what changes most comes last."""
    found = []
    for row, message in SHARED.items():
        if (row, role) == ("write_for", "helper"):
            continue  # whoever is written for has no message of their own to begin with
        found.append((row, message, dict(zip(ROLES, TABLE[row], strict=True))[role] != "no"))
    for row, messages in OWN.items():
        cell = dict(zip(ROLES, TABLE[row], strict=True))[role]
        if role in messages:
            found.append((row, messages[role], cell != "no"))
        if role != "keeper" and row in OTHERS:
            found.append((row, OTHERS[row], cell == "all"))
    return found


def is_refused(answer: str) -> bool:
    return any(words in answer for words in REFUSALS)


@pytest.mark.parametrize("role", ROLES)
def test_what_a_role_may_not_do_is_refused_and_records_nothing(role: str, tmp_path: Path) -> None:
    with farm(tmp_path) as here:
        before = here.entries()
        for row, message, allowed in cells(role):
            if not allowed:
                answer = here.says(role, message)
                assert is_refused(answer), (row, message, answer)
                assert here.entries() == before, (row, message)


GOING = ("undo", "join", "found", "forget", "remove", "hand_over", "leave", "disband")


@pytest.mark.parametrize("role", ROLES)
def test_what_a_role_may_do_is_answered(role: str, tmp_path: Path) -> None:
    with farm(tmp_path) as here:
        for row, message, allowed in cells(role):
            if allowed and row not in GOING:
                answer = here.says(role, message)
                assert answer, (row, message)
                assert not is_refused(answer), (row, message, answer)


@pytest.mark.parametrize("role", ROLES)
@pytest.mark.parametrize("row", GOING)
def test_what_ends_something_is_answered_where_it_is_allowed(
    role: str, row: str, tmp_path: Path
) -> None:
    allowed = [each for each in cells(role) if each[0] == row and each[2]]
    if not allowed:
        return
    with farm(tmp_path) as here:
        for _row, message, _allowed in allowed:
            answer = here.says(role, message)
            assert answer, message
            assert not is_refused(answer), (message, answer)


def test_every_row_of_the_table_is_asked_here_or_has_no_message_yet() -> None:
    asked = {*SHARED, *OWN, *JUDGED_IN_THEIR_ROOMS}
    assert asked | WITHOUT_A_MESSAGE == set(TABLE)
    assert not asked & WITHOUT_A_MESSAGE


def test_the_last_keeper_who_is_forgotten_leaves_the_group_to_another(tmp_path: Path) -> None:
    with farm(tmp_path) as here:
        here.says("keeper", "delete me")
        assert "deleted" in here.says("keeper", "yes")
        assert here.says("founder", "who is in the group").count("(keeper)") == 1


def test_a_keeper_may_undo_what_was_written_for_somebody(tmp_path: Path) -> None:
    with farm(tmp_path) as here:
        here.says("founder", "Hal: stirred b1")
        assert "stirred B1" in here.says("founder", "undo")
