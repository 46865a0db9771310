"""Raises workers and kills them: `python -m tests.faults.nursery PLAN.json` prints a report.

A process of its own with one thread, so that forking is clean and a kill is a real SIGKILL. What
the workers do is the real engine on a real database; only the network is a file: messages are read
from one, sends are appended to another.
"""

from __future__ import annotations

import json
import os
import random
import signal
import sys
import time
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any, ClassVar

import msgspec
from sqlalchemy import func, select

from bot import courier as courier_room
from bot.assembly import House, rooms
from bot.courier import Courier
from bot.engine import Engine
from bot.exchange import Exchange
from bot.messages import Became, Incoming, Manner, Outcome, Outgoing, Pace
from bot.records.doorway import Doorway
from bot.records.store import Store, is_passing
from bot.records.tables import entry, fired, inbox, outbox, rule, subject
from tests.faults import mutants

BEGIN = datetime(2026, 3, 2, 7, tzinfo=UTC)
LEASE_S = 1.0
AGAIN = "Same message again"


class Plan(msgspec.Struct, frozen=True):
    """What is to happen. `day_s` real seconds after each other the clock jumps to another 07:00."""

    address: str
    folder: str
    kills: int = 10
    workers: int = 1
    members: int = 12
    messages: int = 60
    days: int = 4
    day_s: float = 3.0
    seed: int = 1
    mutant: str = ""
    longest_s: float = 300.0


@dataclass
class Wire:
    """The network: a file that is appended to, and a moment on both sides of it."""

    path: Path
    manner: Manner = field(default_factory=Manner)
    pace: Pace = field(default_factory=Pace)
    name: ClassVar[str] = "test"
    polled: ClassVar[bool] = False

    def send(self, outgoing: Outgoing) -> Outcome:
        time.sleep(0.001)
        line = json.dumps([outgoing.key, outgoing.text])
        number = os.open(self.path, os.O_WRONLY | os.O_APPEND | os.O_CREAT)
        os.write(number, f"{line}\n".encode())
        os.close(number)
        time.sleep(0.001)
        return Outcome(Became.SENT)

    def close(self) -> None:
        return


def clock(plan: Plan, began_s: float) -> Callable[[], datetime]:
    """07:00 of the first day and so on by real seconds; each `day_s` it is the next day's 07:00."""

    def now() -> datetime:
        gone = time.monotonic() - began_s
        day = min(int(gone / plan.day_s), plan.days)
        return BEGIN + timedelta(days=day, seconds=gone - day * plan.day_s)

    return now


def feed(plan: Plan) -> list[Incoming]:
    """Every member starts a barrel, then speaks of it."""
    said = ["stirred", "my barrels", "leaf spray 3 tanks of 16 litres", "used 5 l", "today"]
    chance = random.Random(plan.seed)
    found = []
    for number in range(plan.messages):
        first = number < plan.members
        text = "started 200 l barrel yesterday" if first else chance.choice(said)
        who = number if first else chance.randrange(plan.members)
        found.append(
            Incoming("test", f"m{number}", f"{who}", text, BEGIN + timedelta(milliseconds=number))
        )
    return found


def live(plan: Plan, prepared: Any, began_s: float) -> None:
    """One worker's life, until it is killed."""
    numbers = random.SystemRandom()
    store = Store(plan.address, lambda: f"{numbers.getrandbits(64):016x}")
    now = clock(plan, began_s)
    wire = Wire(Path(plan.folder) / "sent")
    engine = Engine(store, Exchange(store, prepared), {})
    courier_room.LEASE = timedelta(seconds=LEASE_S)
    courier = Courier(store, wire, again=lambda _member: AGAIN, elapsed_s=time.monotonic)
    house = House(store, engine, Doorway(store, now), {}, now)
    mutants.APPLY[plan.mutant]() if plan.mutant else None
    messages = feed(plan)
    # A network hands in again what it does not know to be kept: here, the last twenty too.
    acknowledged = Path(plan.folder) / "acknowledged"
    confirmed = max(0, int(acknowledged.read_text() or 0) - 20) if acknowledged.exists() else 0
    span = plan.day_s * plan.days * 0.8
    while True:
        try:
            # Or a life that is cut short on a slow machine would never come to its sends.
            while numbers.getrandbits(1) and courier.drain(now(), most=8):
                pass
            reached = (time.monotonic() - began_s) / span * len(messages)
            for incoming in messages[confirmed : int(reached) + 1]:
                house.door.accept(incoming)
                confirmed += 1
                acknowledged.write_text(f"{confirmed}")
            engine.take(now, lambda: False)
            while courier.drain(now(), most=8):
                pass
        except Exception as fault:
            if not is_passing(fault):
                raise
        time.sleep(0.005)


def spawn(plan: Plan, prepared: Any, began_s: float) -> int:
    child = os.fork()
    if child:
        return child
    with (Path(plan.folder) / "stderr").open("a") as errors:
        os.dup2(errors.fileno(), 2)
        try:
            live(plan, prepared, began_s)
        except BaseException as fault:  # noqa: BLE001 - a child ends here, whatever happened
            print(f"{type(fault).__name__}: {fault}", file=errors, flush=True)
        os._exit(1)


def is_done(store: Store, plan: Plan, now: datetime) -> bool:
    with store.reading() as tx:
        handled = tx.execute(
            select(func.count()).select_from(inbox).where(inbox.c.status != "waiting")
        ).scalar_one()
        due = tx.execute(select(func.count()).where(rule.c.due_at <= now)).scalar_one()
        open_rows = tx.execute(
            select(func.count())
            .select_from(outbox)
            .where(outbox.c.status.in_(["waiting", "sending"]))
        ).scalar_one()
    return bool(handled >= plan.messages and not due and not open_rows)


def run(plan: Plan) -> dict[str, Any]:
    """Live, kill, live again; then look at what came of it."""
    chance = random.Random(plan.seed)
    wires: dict[str, Any] = {"test": Wire(Path(plan.folder))}
    prepared = rooms(wires, {}, lambda _incoming: {"zone": "UTC", "language": "en"})
    prepared.understand("stirred", _hearing())
    began_s = time.monotonic()
    children = [spawn(plan, prepared, began_s) for _ in range(plan.workers)]
    kills, deaths = 0, 0
    now = clock(plan, began_s)
    try:
        while kills < plan.kills:
            time.sleep(chance.uniform(0.03, 0.5))
            victim = chance.randrange(len(children))
            os.kill(children[victim], signal.SIGKILL)
            _pid, status = os.waitpid(children[victim], 0)
            deaths += not os.WIFSIGNALED(status)
            kills += 1
            children[victim] = spawn(plan, prepared, began_s)
        store = Store(plan.address, lambda: "0" * 16)
        end = time.monotonic() + plan.longest_s
        while time.monotonic() < end:
            finished = now() >= BEGIN + timedelta(days=plan.days)
            if finished and is_done(store, plan, now()):
                break
            time.sleep(0.1)
            for place, child in enumerate(children):
                if os.waitpid(child, os.WNOHANG) != (0, 0):
                    deaths += 1
                    children[place] = spawn(plan, prepared, began_s)
        else:
            deaths += 1
    finally:
        for child in children:
            os.kill(child, signal.SIGKILL)
            os.waitpid(child, 0)
    report = looked_at(store, plan)
    store.close()
    return {"kills": kills, "deaths": deaths, **report}


def looked_at(store: Store, plan: Plan) -> dict[str, Any]:
    """The checker: what is lost, what came twice, and whether each repeat was owned up to."""
    path = Path(plan.folder) / "sent"
    lines = [json.loads(line) for line in path.read_text().splitlines()] if path.exists() else []
    faults: list[str] = []
    with store.reading() as tx:
        letters = tx.execute(select(outbox)).all()
        heard = tx.execute(select(inbox)).all()
        started = tx.execute(select(func.count()).select_from(subject)).scalar_one()
        days = tx.execute(
            select(fired, rule.c.member_id, rule.c.kind).join(rule, rule.c.id == fired.c.rule_id)
        ).all()
        twice = tx.execute(
            select(entry.c.exchange_id, entry.c.kind, func.count())
            .where(entry.c.kind.in_(["start", "draw"]))
            .group_by(entry.c.exchange_id, entry.c.kind)
            .having(func.count() > 1)
        ).all()
    faults += _of_messages(heard, letters, plan)
    if started != plan.members:
        faults.append(f"{started} barrels of {plan.members} were started")
    faults += [f"exchange {row.exchange_id} recorded {row.kind} twice" for row in twice]
    faults += _of_days(days, letters, plan)
    found, repeats = _of_letters(lines, letters)
    faults += found
    return {
        "messages": len(heard),
        "letters": len(letters),
        "arrived": len(lines),
        "repeats": repeats,
        "may_have_gone_twice": sum(row.unknown_at is not None for row in letters),
        "faults": faults,
    }


def _of_days(days: Any, letters: Any, plan: Plan) -> list[str]:
    """Each day of each rule came to something; each member was reminded once each day."""
    faults = []
    known = {row.id for row in letters}
    for row in days:
        if row.became == "said" and row.outbox_id not in known:
            faults.append(f"day {row.due_on} of rule {row.rule_id} was said in no letter")
        if row.became == "said" and row.at.date() < row.due_on:
            faults.append(f"day {row.due_on} of rule {row.rule_id} was said on {row.at.date()}")
        if row.became in {"taken", "failed"}:
            faults.append(f"day {row.due_on} of rule {row.rule_id} is {row.became}")
    reminders = Counter(
        (row.member_id, row.created_at.date())
        for row in letters
        if row.kind == "reminder" and row.cause != "overtaken"
    )
    faults += [f"member {key[0]} was reminded {n} times" for key, n in reminders.items() if n > 1]
    joined: dict[str, date] = {}
    for row in letters:
        day = row.created_at.date()
        joined[row.member_id] = min(day, joined.get(row.member_id, day))
    ran = [(BEGIN + timedelta(days=number)).date() for number in range(plan.days)]
    wanted = {(who, day) for who, since in joined.items() for day in ran if day > since}
    # Nothing that is said here makes a day moot: every barrel is stirred on the first day at most.
    answered = {(row.member_id, row.due_on) for row in days if row.became == "folded"}
    faults += [
        f"member {each[0]} was never reminded on {each[1]}"
        for each in sorted(wanted - set(reminders) - answered)
    ]
    return faults


def _of_letters(lines: Any, letters: Any) -> tuple[list[str], int]:
    """What is marked sent arrived; what arrived twice is owned up to."""
    faults, repeats = [], 0
    arrived: Counter[str] = Counter(key for key, _text in lines)
    texts: dict[str, list[str]] = {}
    for key, text in lines:
        texts.setdefault(key, []).append(text)
    for row in letters:
        count = arrived.pop(row.key, 0)
        if row.status == "sent" and not count:
            faults.append(f"{row.key} is marked sent and never arrived")
        if row.status in {"waiting", "sending"}:
            faults.append(f"{row.key} is {row.status} for ever")
        if row.status == "dropped" and row.cause not in {"too late", "overtaken"}:
            faults.append(f"{row.key} was dropped: {row.cause}")
        if count > 1:
            repeats += count - 1
            if row.unknown_at is None or count > 2:
                faults.append(f"{row.key} arrived {count} times and nobody owns up to it")
            if row.repeat == "said" and AGAIN not in texts[row.key][-1]:
                faults.append(f"{row.key} was repeated without saying so")
    faults += [f"{key} arrived and is not in the outbox" for key in arrived]
    return faults, repeats


def _of_messages(heard: Any, letters: Any, plan: Plan) -> list[str]:
    faults = []
    outside = Counter(row.outside_id for row in heard)
    faults += [f"message {key} is kept {n} times" for key, n in outside.items() if n > 1]
    faults += [f"message m{n} was lost" for n in range(plan.messages) if f"m{n}" not in outside]
    faults += [f"message {row.outside_id} is {row.status}" for row in heard if row.status != "done"]
    answers = Counter(row.exchange_id for row in letters if row.exchange_id is not None)
    faults += [
        f"message {row.outside_id} has {answers[row.id]} answers"
        for row in heard
        if answers[row.id] != 1
    ]
    return faults


def _hearing() -> Any:
    from bot.language.hearing import Hearing  # noqa: PLC0415 - only to load the words once

    return Hearing(said_at=BEGIN, zone="UTC", language="en")


def main(argv: list[str]) -> int:
    plan = msgspec.json.decode(Path(argv[1]).read_bytes(), type=Plan)
    sys.stdout.write(json.dumps(run(plan)) + "\n")
    return 0


if __name__ == "__main__":
    raise SystemExit(main(sys.argv))
