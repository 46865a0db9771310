"""The command line of Stirbell; each subcommand is one function here."""

from __future__ import annotations

import argparse
import sys
import tempfile
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path

from bot import chat, operating
from bot.assembly import House, assemble
from bot.channels.terminal import Terminal
from bot.clock import instant, system_now
from bot.demo import season
from bot.messages import Incoming
from bot.records.store import StoreError
from bot.settings import SettingsError, environment
from bot.wording import commands as commands_of_words

DATABASE = operating.DATABASE


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command; 0 when it went well, 1 with one line on standard error when not."""
    parser = _parser()
    args = parser.parse_args(argv)
    try:
        return int(args.run(args))
    except (StoreError, SettingsError, chat.ChatError) as fault:
        print(f"stirbell: {fault}", file=sys.stderr)
        return 1
    except (BrokenPipeError, KeyboardInterrupt):
        return 130


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(prog="stirbell", description=__doc__)
    commands = parser.add_subparsers(required=True, metavar="COMMAND")
    talk = commands.add_parser("chat", help="talk to the bot on this terminal")
    talk.add_argument("--database", default="", help="an SQLAlchemy address")
    talk.add_argument("--at", default="", help="start this chat's clock at 2026-03-02 07:00")
    talk.add_argument("--zone", default="UTC", help="the zone you live in, as Africa/Nairobi")
    talk.add_argument("--language", default="", help="the language you write, as en")
    talk.add_argument("--demo", action="store_true", help="explore an invented group's season")
    talk.add_argument("--json", action="store_true", help="one JSON object a message")
    talk.set_defaults(run=_chat)
    operating.register(commands)
    commands_of_words.register(commands)
    return parser


def _chat(args: argparse.Namespace) -> int:
    typed = sys.stdin.isatty()
    with (
        _database(args.database, fresh=args.demo or not typed) as address,
        _house(args, address) as (
            house,
            clock,
        ),
    ):
        terminal = house.channels["terminal"]
        assert isinstance(terminal, Terminal)  # noqa: S101 - narrows the type
        talk = chat.Chat(
            house.engine,
            terminal,
            clock,
            show=lambda text: print(text, flush=True),
            as_json=args.json,
            run=f"{house.store.new_id()}-",
        )
        if args.demo:
            _demo(talk, keep_moved=bool(args.at))
        if typed:
            return _typed(talk)
        for line in chat.piped_lines(sys.stdin):
            talk.line(line)
    return 0


def _demo(talk: chat.Chat, *, keep_moved: bool) -> None:
    """Play the invented season up to this chat's moment, then tell what there is to explore."""
    until = talk.clock.now()
    show, said = talk.show, list[str]()
    talk.show = said.append
    talk.clock.moved = season.begins_at(until, talk.clock.zone)
    season.play(talk, lambda: said)
    talk.move(max(until, talk.clock.now()))
    talk.show = show
    if not keep_moved:
        talk.clock.moved = None
    talk.show(season.introduction())


def _typed(talk: chat.Chat) -> int:
    print("Write to the bot as you would in a text message. Try: help   (Ctrl-D ends)")

    def idle() -> float | None:
        now = talk.clock.now()
        following = talk.engine.step(now)
        return None if talk.clock.moved else chat.seconds_until(following, now)

    for line in chat.typed_lines(sys.stdin, lambda: print("> ", end="", flush=True), idle):
        try:
            talk.line(line)
        except chat.ChatError as fault:
            print(fault)
    print()
    return 0


@contextmanager
def _database(given: str, *, fresh: bool) -> Iterator[str]:
    if given:
        yield given
    elif fresh:
        with tempfile.TemporaryDirectory() as folder:
            yield f"sqlite:///{Path(folder) / 'chat.sqlite'}"
    else:
        yield DATABASE


@contextmanager
def _house(args: argparse.Namespace, address: str) -> Iterator[tuple[House, chat.ChatClock]]:
    clock = chat.ChatClock(system_now, args.zone)
    if args.at:
        at = datetime.fromisoformat(args.at)
        clock.moved = instant(at.date(), at.time(), args.zone)

    def newcomer(_incoming: Incoming) -> Mapping[str, str]:
        return {"zone": args.zone, "language": args.language}

    house = assemble(
        address, now=clock.now, environ=environment(), names=("terminal",), newcomer=newcomer
    )
    try:
        yield house, clock
    finally:
        house.close()
