"""What every test shares: no example is failed for being slow on a busy machine."""

from __future__ import annotations

import pytest
from hypothesis import settings

settings.register_profile("stirbell", deadline=None)
settings.load_profile("stirbell")


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption(
        "--rewrite", action="store_true", help="write conversation files as they come out"
    )
