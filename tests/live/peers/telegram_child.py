"""A process that only listens to Telegram and keeps what it hears, to be killed at any moment.

Arguments: the API's address, the file of its inbox.
"""

from __future__ import annotations

import sys
import threading
import time
from pathlib import Path

from bot.channels import telegram
from bot.clock import system_now
from tests.live.peers.sqlite_door import SqliteDoor
from tests.live.peers.telegram_double import TOKEN

if __name__ == "__main__":
    api, inbox = sys.argv[1:]
    door = SqliteDoor(Path(inbox))
    # So that a kill finds it between two commits of one batch.
    door.before = lambda: time.sleep(0.004)
    telegram.open_channel(telegram.SETTINGS(TOKEN, api=api), door, system_now)
    threading.Event().wait()
