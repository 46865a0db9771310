"""The stores, for this folder."""

from __future__ import annotations

from tests.contract.stores import address, migrated_file, postgres_server, store

__all__ = ["address", "migrated_file", "postgres_server", "store"]
