"""Every conversation file here, played and compared; `--rewrite` writes what came out.

A file of another language is the English one of the same name in that language's words: the same
people do the same things on the same days, so the same facts must stand in the record.
"""

from __future__ import annotations

import json
from functools import lru_cache
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import pytest
from sqlalchemy import create_engine, text

from tests.conversations.chat_file import played

HERE = Path(__file__).parent
FILES = sorted(HERE.rglob("*.chat"))
LANGUAGES = sorted(folder.name for folder in HERE.iterdir() if any(folder.glob("*.chat")))

NOT_THE_MAIN_JOB = ("circle_", "group_", "lineage", "own_recipe", "readiness_", "stop", "supply_")
"""Files that need not stand in every language."""

RECORDED = """
    SELECT entry.kind, entry.at, entry.data, entry.effect, subject.code
    FROM entry LEFT JOIN subject ON subject.id = entry.subject_id ORDER BY entry.id
"""


def _name(path: Path) -> str:
    return f"{path.parent.name}/{path.stem}"


def _recorded(folder: Path) -> list[Any]:
    """What members told, as it stands in the record; free words and the language itself aside."""
    engine = create_engine(f"sqlite:///{folder / 'chat.sqlite'}")
    with engine.connect() as tx:
        rows = tx.execute(text(RECORDED)).all()
    engine.dispose()
    facts = []
    for kind, at, written, effect, code in rows:
        data = json.loads(written)
        if kind == "caution":  # what was said to a member, not what they told
            continue
        data.pop("text", None)
        if data.get("name") in {"language", "name"}:
            data.pop("before"), data.pop("after")
        facts.append((kind, at, data, effect, code))
    return facts


@lru_cache
def _in_english(name: str) -> list[Any]:
    with TemporaryDirectory() as folder:
        played(HERE / "en" / name, Path(folder))
        return _recorded(Path(folder))


@pytest.mark.parametrize("path", FILES, ids=_name)
def test_the_conversation_goes_as_written(
    path: Path, tmp_path: Path, request: pytest.FixtureRequest
) -> None:
    came_out = played(path, tmp_path)
    if request.config.getoption("--rewrite"):
        path.write_text("\n".join(came_out) + "\n", encoding="utf-8")
    assert came_out == path.read_text(encoding="utf-8").splitlines()
    if path.parent.name != "en":
        assert _recorded(tmp_path) == _in_english(path.name)


def test_every_conversation_of_the_main_job_stands_in_every_language() -> None:
    main = {
        path.name
        for path in (HERE / "en").glob("*.chat")
        if not path.name.startswith(NOT_THE_MAIN_JOB)
    }
    assert len(LANGUAGES) == 7
    assert {
        tag: missing
        for tag in LANGUAGES
        if (missing := main - {path.name for path in (HERE / tag).glob("*.chat")})
    } == {}
