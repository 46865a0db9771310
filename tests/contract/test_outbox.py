"""One suite over SQLite and PostgreSQL: what goes out, who holds it, and how fast it may go."""

from __future__ import annotations

import threading
from datetime import timedelta

from sqlalchemy import select, update

from bot.messages import Pace
from bot.records import addresses, outbox, pacing
from bot.records.store import Store
from bot.records.tables import address as address_rows
from bot.records.tables import outbox as outbox_rows
from tests.contract.rows import LEASE, NOW, claimed, grower, letter, put


def test_a_letter_of_one_key_is_there_once(store: Store) -> None:
    grower(store)
    (first,) = put(store, letter("k"))
    assert first is not None
    assert put(store, letter("k")) == [None]
    assert put(store, letter("k"), letter("n"), letter("n"))[0] is None


def test_answers_go_before_reminders_before_notices(store: Store) -> None:
    grower(store)
    put(
        store,
        letter("notice", priority=outbox.NOTICE),
        letter("reminder", priority=outbox.REMINDER),
        letter("reply"),
    )
    assert claimed(store, "a") == ["reply", "reminder", "notice"]


def test_what_is_claimed_is_claimed_once_until_its_lease_ends(store: Store) -> None:
    grower(store)
    put(store, letter("k"))
    assert claimed(store, "a") == ["k"]
    assert claimed(store, "b") == []
    with store.begin() as tx:
        assert outbox.orphaned(tx, "test", NOW + LEASE - timedelta(seconds=1)) == []
        assert [row.key for row in outbox.orphaned(tx, "test", NOW + LEASE)] == ["k"]


def test_what_waits_for_later_is_not_claimed_before(store: Store) -> None:
    grower(store)
    put(store, letter("k", not_before_at=NOW + timedelta(minutes=1)))
    assert claimed(store, "a") == []
    assert claimed(store, "a", NOW + timedelta(minutes=1)) == ["k"]


def test_a_mark_under_a_lost_token_changes_nothing(store: Store) -> None:
    grower(store)
    put(store, letter("k"))
    claimed(store, "a")
    with store.begin() as tx:
        number = tx.execute(select(outbox_rows.c.id)).scalar_one()
        assert not outbox.mark(tx, number, "b", status="sent")
        assert outbox.mark(tx, number, "a", status="sent")


def test_workers_at_once_claim_each_row_once(store: Store) -> None:
    grower(store)
    put(store, *[letter(f"k{number}") for number in range(60)])
    got: list[str] = []

    def work(name: str) -> None:
        while mine := claimed(store, name, limit=4):
            got.extend(mine)

    threads = [threading.Thread(target=work, args=(name,)) for name in ("a", "b", "c")]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(got) == sorted(f"k{number}" for number in range(60))


def test_a_moved_address_takes_what_waits_with_it(store: Store) -> None:
    grower(store)
    put(store, letter("k"))
    with store.begin() as tx:
        addresses.moved(tx, "test", "7", "-1007")
        assert tx.execute(select(outbox_rows.c.address)).scalar_one() == "-1007"
        assert tx.execute(select(address_rows.c.address)).scalar_one() == "-1007"


def test_an_address_that_moved_to_one_already_heard_is_forgotten(store: Store) -> None:
    grower(store)
    grower(store, "m2", "-1007")
    with store.begin() as tx:
        addresses.moved(tx, "test", "7", "-1007")
        assert list(tx.execute(select(address_rows.c.address)).scalars()) == ["-1007"]


def test_a_channel_carries_no_more_a_second_than_its_pace(store: Store) -> None:
    pace = Pace(per_second=10)
    with store.begin() as tx:
        assert pacing.allowance(tx, "test", pace, NOW, 32).most == 10
        pacing.spend(tx, "test", pace, NOW, 10)
        assert pacing.allowance(tx, "test", pace, NOW, 32).most == 0
        assert pacing.allowance(tx, "test", pace, NOW + timedelta(seconds=0.5), 32).most == 5


def test_one_chat_gets_one_message_a_second_and_others_do_not_wait_for_it(store: Store) -> None:
    grower(store)
    grower(store, "m2", "8")
    put(store, letter("a1"), letter("a2"), letter("a3"), letter("b1", address="8"))
    with store.begin() as tx:
        rows = outbox.claim(tx, "test", "t", NOW, LEASE, 10)
        going = pacing.spread(tx, rows, Pace(per_address_per_s=1), NOW)
        assert [row.key for row in going] == ["a1", "b1"]
        waiting = tx.execute(select(outbox_rows).where(outbox_rows.c.status == "waiting")).all()
    waits = {row.key: row.not_before_at for row in waiting}
    second = timedelta(seconds=1)
    assert waits == {"a2": NOW + second, "a3": NOW + 2 * second}


def test_a_group_chat_has_its_own_pace(store: Store) -> None:
    grower(store)
    with store.begin() as tx:
        tx.execute(update(address_rows).values(noticeboard=True))
    put(store, letter("a1"), letter("a2"))
    with store.begin() as tx:
        rows = outbox.claim(tx, "test", "t", NOW, LEASE, 10)
        pacing.spread(tx, rows, Pace(per_address_per_s=1, per_board_per_minute=20), NOW)
        waits = tx.execute(
            select(outbox_rows.c.not_before_at).where(outbox_rows.c.key == "a2")
        ).scalar_one()
    assert waits == NOW + timedelta(seconds=3)


def test_a_blocked_channel_lets_nothing_through_until_it_is_free(store: Store) -> None:
    with store.begin() as tx:
        pacing.block(tx, "test", pacing.WHOLE, NOW + timedelta(seconds=30))
        assert pacing.allowance(tx, "test", Pace(), NOW, 32).most == 0
        assert pacing.allowance(tx, "test", Pace(), NOW + timedelta(seconds=30), 32).most == 32
