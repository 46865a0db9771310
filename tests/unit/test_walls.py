"""Each wall is broken once on purpose, in a copy, and must say so."""

from __future__ import annotations

import shutil
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent.parent

BREACHES = (
    ("bot/craft/mixing.py", "import bot.facts", "The rooms lie in layers"),
    ("bot/requests/mix.py", "import sqlalchemy", "SQLAlchemy is known to the records only"),
    ("bot/craft/mixing.py", "import pint", "pint is known to craft.units only"),
    ("bot/requests/mix.py", "import telegram", "Telegram's library is known to its channel only"),
    ("bot/requests/mix.py", "import bot.requests.start", "Requests do not lean on each other"),
    ("bot/reminders/look.py", "import bot.reminders.stir", "Reminders do not lean on each other"),
    ("bot/channels/terminal.py", "import bot.channels.telegram", "Channels do not lean"),
    ("bot/requests/mix.py", "import babel", "Babel is known to language and wording only"),
)


@pytest.mark.slow
@pytest.mark.parametrize(("room", "line", "wall"), BREACHES, ids=[b[1] for b in BREACHES])
def test_a_breach_is_caught(room: str, line: str, wall: str, tmp_path: Path) -> None:
    shutil.copytree(ROOT / "bot", tmp_path / "bot", symlinks=True)
    shutil.copy(ROOT / "pyproject.toml", tmp_path)
    path = tmp_path / room
    path.write_text(path.read_text(encoding="utf-8") + f"\n{line}\n", encoding="utf-8")
    linter = Path(sys.executable).parent / "lint-imports"
    done = subprocess.run(
        [linter, "--no-cache"], cwd=tmp_path, capture_output=True, text=True, check=False
    )
    assert done.returncode != 0
    broken = [said for said in done.stdout.splitlines() if "BROKEN" in said]
    assert any(said.startswith(wall) for said in broken), done.stdout
