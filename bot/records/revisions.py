"""Alembic, run from inside: no ini file, the store's own connection."""

from __future__ import annotations

from typing import TYPE_CHECKING

from alembic import command
from alembic.config import Config

if TYPE_CHECKING:
    from bot.records.store import Store


def upgrade(store: Store, revision: str) -> None:
    """Bring the tables up to a revision ("head": the newest)."""
    with store.begin() as tx:
        command.upgrade(_config(tx), revision)


def downgrade(store: Store, revision: str) -> None:
    """Take the tables down to a revision ("-1": one step)."""
    with store.begin() as tx:
        command.downgrade(_config(tx), revision)


def _config(connection: object) -> Config:
    from bot.records.store import MIGRATIONS  # noqa: PLC0415 - store opens us lazily

    config = Config()
    config.set_main_option("script_location", str(MIGRATIONS))
    config.attributes["connection"] = connection
    return config
