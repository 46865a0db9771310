"""The permissions matrix, cell by cell, written out once more so that a slip in one shows."""

from __future__ import annotations

import pytest

from bot.craft.permits import ROLES, TABLE, permitted

# A all, o own, - no; keeper member helper stranger
EXPECTED = {
    "ask": "AAAA",
    "found": "AAAA",
    "join": "AAAA",
    "leave": "Aoo-",
    "see_members": "AA--",
    "see_numbers": "A---",
    "invite": "A---",
    "disband": "A---",
    "remove": "A---",
    "write_for": "A---",
    "make_keeper": "A---",
    "hand_over": "A---",
    "name": "Ao--",
    "start": "AA--",
    "stir": "AAA-",
    "look": "AAA-",
    "draw": "AA--",
    "keep": "AA--",
    "finish": "Ao--",
    "plot": "Ao--",
    "rounds": "Ao--",
    "sprayed": "Aoo-",
    "see_rounds": "Aoo-",
    "undo": "Aoo-",
    "rota": "Aoo-",
    "calendar": "A---",
    "rain": "AA--",
    "supply": "AA--",
    "choose": "A---",
    "recipe": "A---",
    "caution": "A---",
    "prices": "A---",
    "equipment": "Ao--",
    "group_settings": "A---",
    "record": "Ao--",
    "forget": "oooo",
}
CELLS = [
    (action, role, mark)
    for action, marks in EXPECTED.items()
    for role, mark in zip(ROLES, marks, strict=True)
]


def test_every_action_of_the_table_is_expected_here() -> None:
    assert set(EXPECTED) == set(TABLE)


@pytest.mark.parametrize(("action", "role", "mark"), CELLS)
def test_each_cell(action: str, role: str, mark: str) -> None:
    assert permitted(action, [role], own=True) is (mark in "Ao")
    assert permitted(action, [role], own=False) is (mark == "A")


def test_of_two_roles_the_wider_counts() -> None:
    assert permitted("invite", ["member", "keeper"], own=False)
    assert not permitted("invite", [], own=True)


def test_an_action_that_is_not_in_the_table_is_a_fault() -> None:
    with pytest.raises(KeyError):
        permitted("sing", ["keeper"], own=True)
