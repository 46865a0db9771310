"""Every conversation file here, played and compared; `--rewrite` writes what came out."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.conversations.chat_file import played

HERE = Path(__file__).parent


@pytest.mark.parametrize("path", sorted(HERE.rglob("*.chat")), ids=lambda path: path.stem)
def test_the_conversation_goes_as_written(
    path: Path, tmp_path: Path, request: pytest.FixtureRequest
) -> None:
    came_out = played(path, tmp_path)
    if request.config.getoption("--rewrite"):
        path.write_text("\n".join(came_out) + "\n", encoding="utf-8")
    assert came_out == path.read_text(encoding="utf-8").splitlines()
