"""Who in a group may do what: one table.

A cell says "all" (for anybody's barrel, plot or turn), "own" (only for one's own), or "no".
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

# A helper has no phone or no wish to write: somebody writes for them, and they hold nothing open.
ROLES = ("keeper", "member", "helper", "stranger")

TABLE: Mapping[str, tuple[str, str, str, str]] = {
    # action          keeper  member  helper  stranger
    "ask":           ("all", "all", "all", "all"),
    "found":         ("all", "all", "all", "all"),
    "join":          ("all", "all", "all", "all"),
    "leave":         ("all", "own", "own", "no"),
    "see_members":   ("all", "all", "no", "no"),
    "see_numbers":   ("all", "no", "no", "no"),
    "invite":        ("all", "no", "no", "no"),
    "remove":        ("all", "no", "no", "no"),
    "write_for":     ("all", "no", "no", "no"),
    "make_keeper":   ("all", "no", "no", "no"),
    "hand_over":     ("all", "no", "no", "no"),
    "disband":       ("all", "no", "no", "no"),
    "name":          ("all", "own", "no", "no"),
    "start":         ("all", "all", "no", "no"),
    "stir":          ("all", "all", "all", "no"),
    "look":          ("all", "all", "all", "no"),
    "draw":          ("all", "all", "no", "no"),
    "keep":          ("all", "all", "no", "no"),
    "finish":        ("all", "own", "no", "no"),
    "plot":          ("all", "own", "no", "no"),
    "rounds":        ("all", "own", "no", "no"),
    "sprayed":       ("all", "own", "own", "no"),
    "see_rounds":    ("all", "own", "own", "no"),
    "undo":          ("all", "own", "own", "no"),
    "rota":          ("all", "own", "own", "no"),
    "calendar":      ("all", "no", "no", "no"),
    "rain":          ("all", "all", "no", "no"),
    "supply":        ("all", "all", "no", "no"),
    "choose":        ("all", "no", "no", "no"),
    "recipe":        ("all", "no", "no", "no"),
    "caution":       ("all", "no", "no", "no"),
    "prices":        ("all", "no", "no", "no"),
    "equipment":     ("all", "own", "no", "no"),
    "group_settings": ("all", "no", "no", "no"),
    "record":        ("all", "own", "no", "no"),
    "forget":        ("own", "own", "own", "own"),
}  # fmt: skip


def permitted(action: str, roles: Iterable[str], *, own: bool) -> bool:
    """Whether somebody of these roles may do this; `own` tells that the thing is theirs.

    Raises:
        KeyError: there is no such action in the table.

    >>> permitted("sprayed", ["member"], own=True), permitted("sprayed", ["member"], own=False)
    (True, False)
    """
    row = dict(zip(ROLES, TABLE[action], strict=True))
    cells = {row[role] for role in roles}
    return "all" in cells or (own and "own" in cells)
