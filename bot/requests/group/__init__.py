"""The group by message: found, join, invite, who is in, keepers, leave, remove, delete."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from bot.facts import Request, Term
from bot.records.book import Answer, Book
from bot.requests.group import founding, inviting, joining, keeping, leaving, seeing

KIND = "group"

_ACTIONS: Mapping[str, Callable[[Request, Book], Answer]] = {
    "found": founding.found,
    "name": founding.name,
    "invite": inviting.invite,
    "join": joining.join,
    "add": joining.add,
    "who": seeing.who,
    "numbers": seeing.numbers,
    "mine": seeing.mine,
    "switch": seeing.switch,
    "keeper": keeping.make_keeper,
    "handover": keeping.hand_over,
    "remove": leaving.remove,
    "leave": leaving.leave,
    "delete": leaving.delete,
}


def answer(request: Request, book: Book) -> Answer:
    """Do what was asked; a bare code joins, and the bare word says which group this is."""
    action = request.slots.get("action")
    otherwise = "join" if "code" in request.slots else "mine"
    name = action.name if isinstance(action, Term) else str(action or otherwise)
    return _ACTIONS.get(name, seeing.mine)(request, book)
