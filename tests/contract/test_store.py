"""One suite over SQLite and PostgreSQL: inbox, rules, outbox, leases, the clock."""

from __future__ import annotations

import threading
from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta

import pytest
from sqlalchemy import Connection, func, insert, select, update
from sqlalchemy.exc import OperationalError

from bot.facts import Rule
from bot.messages import Incoming, Pace
from bot.records import (
    inbox,
    leases,
    outbox,
    pacing,
    people,
    revisions,
    rules,
    taking_back,
    tallies,
    timekeeping,
)
from bot.records.doorway import Doorway
from bot.records.store import Store, StoreError
from bot.records.tables import address as addresses
from bot.records.tables import fired, member, rule
from bot.records.tables import inbox as inbox_rows
from bot.records.tables import outbox as outbox_rows
from bot.records.tables import subject as subjects

NOW = datetime(2026, 3, 2, 7, tzinfo=UTC)
LEASE = timedelta(seconds=60)


def said(text: str, outside_id: str = "1", address: str = "7") -> Incoming:
    return Incoming("test", outside_id, address, text, NOW)


def grower(store: Store, name: str = "m1", address: str = "7") -> str:
    with store.begin() as tx:
        people.welcome(
            tx,
            member_id=name,
            group_id=f"g-{name}",
            channel="test",
            address=address,
            now=NOW,
        )
    return name


def letter(key: str, address: str = "7", **changed: object) -> outbox.Letter:
    plain = outbox.Letter(key, "test", address, "m1", f"text of {key}", "reply", outbox.REPLY)
    return replace(plain, **changed)  # type: ignore[arg-type]


def put(store: Store, *letters: outbox.Letter) -> list[int | None]:
    with store.begin() as tx:
        rows = outbox.put(tx, letters, NOW)
        return [rows.get(each.key) for each in letters]


def claimed(store: Store, token: str, now: datetime = NOW, limit: int = 10) -> list[str]:
    with store.begin() as tx:
        return [row.key for row in outbox.claim(tx, "test", token, now, LEASE, limit)]


# --- inbox ------------------------------------------------------------------------------------


def test_a_message_of_one_outside_id_is_kept_once(store: Store) -> None:
    assert inbox.keep(store, said("stirred"), NOW)
    assert not inbox.keep(store, said("stirred"), NOW)


def test_the_same_outside_id_on_another_channel_is_another_message(store: Store) -> None:
    assert inbox.keep(store, said("stirred"), NOW)
    assert inbox.keep(store, replace(said("stirred"), channel="other"), NOW)


def test_a_message_with_a_nul_in_it_is_kept_without(store: Store) -> None:
    inbox.keep(store, said("stir\0red"), NOW)
    with store.begin() as tx:
        row = inbox.first_waiting(tx, store.is_sqlite)
        assert row is not None
        assert inbox.incoming_of(row).text == "stirred"


def test_messages_of_one_address_are_handled_in_their_order(store: Store) -> None:
    for number in range(3):
        inbox.keep(store, said(f"{number}", f"{number}"), NOW)
    heard = []
    for _ in range(3):
        with store.begin() as tx:
            row = inbox.first_waiting(tx, store.is_sqlite)
            assert row is not None
            heard.append(inbox.incoming_of(row).text)
            inbox.finish(tx, row.id, "m1")
    assert heard == ["0", "1", "2"]


def test_what_cannot_be_read_is_set_aside_with_its_cause_and_the_rest_goes_on(store: Store) -> None:
    inbox.keep(store, replace(said("", "1"), fault="no such update", raw="{"), NOW)
    inbox.keep(store, said("stirred", "2"), NOW)
    with store.begin() as tx:
        row = inbox.first_waiting(tx, store.is_sqlite)
        assert row is not None
        assert row.outside_id == "2"
        bad = tx.execute(select(inbox_rows).where(inbox_rows.c.status == "bad")).one()
    assert bad.cause == "no such update"
    assert bad.body["raw"] == "{"


def test_two_workers_never_take_messages_of_one_address_at_once(store: Store) -> None:
    if store.is_sqlite:
        pytest.skip("SQLite has one writer")
    inbox.keep(store, said("first", "1"), NOW)
    inbox.keep(store, said("second", "2"), NOW)
    inbox.keep(store, said("of another", "3", "8"), NOW)
    with store.begin() as one, store.begin() as two, store.begin() as three:
        rows = [inbox.first_waiting(tx, is_sqlite=False) for tx in (one, two, three)]
        assert [row.outside_id if row else None for row in rows] == ["1", "3", None]


# --- outbox -----------------------------------------------------------------------------------


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
        people.moved(tx, "test", "7", "-1007")
        assert tx.execute(select(outbox_rows.c.address)).scalar_one() == "-1007"
        assert tx.execute(select(addresses.c.address)).scalar_one() == "-1007"


def test_an_address_that_moved_to_one_already_heard_is_forgotten(store: Store) -> None:
    grower(store)
    grower(store, "m2", "-1007")
    with store.begin() as tx:
        people.moved(tx, "test", "7", "-1007")
        assert list(tx.execute(select(addresses.c.address)).scalars()) == ["-1007"]


# --- pace -------------------------------------------------------------------------------------


def test_a_channel_carries_no_more_a_second_than_its_pace(store: Store) -> None:
    pace = Pace(per_second=10)
    with store.begin() as tx:
        assert pacing.allowance(tx, "test", pace, NOW, 32) == 10
        pacing.spend(tx, "test", pace, NOW, 10)
        assert pacing.allowance(tx, "test", pace, NOW, 32) == 0
        assert pacing.allowance(tx, "test", pace, NOW + timedelta(seconds=0.5), 32) == 5


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
        tx.execute(update(addresses).values(noticeboard=True))
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
        assert pacing.allowance(tx, "test", Pace(), NOW, 32) == 0
        assert pacing.allowance(tx, "test", Pace(), NOW + timedelta(seconds=30), 32) == 32


# --- rules ------------------------------------------------------------------------------------


def daily(store: Store, **changed: object) -> int:
    grower(store)
    with store.begin() as tx:
        tx.execute(
            insert(subjects).values(
                id="s1", kind="batch", code="B1", group_id="g-m1", zone="UTC", opened_at=NOW
            )
        )
        wanted = Rule("stir", "s1", "", None, "UTC", date(2026, 3, 2), time(8), 1)
        rules.reconcile(tx, "s1", [replace(wanted, **changed)], "m1", NOW)  # type: ignore[arg-type]
        return int(tx.execute(select(rule.c.id)).scalar_one())


def taken(tx: Connection, now: datetime) -> Sequence[rules.Taken]:
    found = rules.take(rules.waiting(tx, ["m1"], now).get("m1", ()), now, now)
    rules.settle(tx, [(each, "said", 1) for each in found], now)
    return found


def take(store: Store, now: datetime) -> Sequence[rules.Taken]:
    with store.begin() as tx:
        return taken(tx, now)


def test_a_rule_falls_due_once_a_day(store: Store) -> None:
    daily(store)
    assert take(store, NOW) == []
    (first,) = take(store, NOW + timedelta(hours=1))
    assert first.due.due_on == date(2026, 3, 2)
    assert take(store, NOW + timedelta(hours=2)) == []
    (second,) = take(store, NOW + timedelta(hours=25))
    assert second.due.due_on == date(2026, 3, 3)


def test_after_three_days_away_the_newest_day_stands_for_the_others(store: Store) -> None:
    daily(store)
    (caught,) = take(store, NOW + timedelta(days=3, hours=1))
    assert caught.due.due_on == date(2026, 3, 5)
    assert len(caught.folded) == 3
    assert not caught.lapsed


def test_a_rule_that_is_wanted_again_falls_due_again_but_says_no_day_twice(store: Store) -> None:
    daily(store)
    wanted = Rule("stir", "s1", "", None, "UTC", date(2026, 3, 2), time(8), 1)
    assert len(take(store, NOW + timedelta(hours=1))) == 1
    with store.begin() as tx:
        rules.reconcile(tx, "s1", [], "m1", NOW + timedelta(hours=2))
        assert rules.next_due(tx) is None
        rules.reconcile(tx, "s1", [wanted], "m1", NOW + timedelta(hours=3))
    assert take(store, NOW + timedelta(hours=4)) == []
    (next_day,) = take(store, NOW + timedelta(hours=25))
    assert next_day.due.due_on == date(2026, 3, 3)


def test_what_is_too_late_to_be_of_use_has_lapsed(store: Store) -> None:
    daily(store, stale="lapse", lapse_hours=6, every_days=None)
    (late,) = take(store, NOW + timedelta(hours=8))
    assert late.lapsed


def test_a_postponed_day_keeps_its_day_and_does_not_lapse_for_it(store: Store) -> None:
    daily(store, stale="lapse", lapse_hours=6, every_days=None)
    later = NOW + timedelta(hours=20)
    with store.begin() as tx:
        rules.postpone(tx, "m1", NOW + timedelta(hours=1), later, {"stir"})
    assert take(store, NOW + timedelta(hours=2)) == []
    (due,) = take(store, later)
    assert due.due.due_on == date(2026, 3, 2)
    assert not due.lapsed


def test_somebody_who_moves_east_past_their_hour_gets_that_day_at_once(store: Store) -> None:
    daily(store)
    with store.begin() as tx:
        east = Rule("stir", "s1", "", None, "Asia/Tokyo", date(2026, 3, 2), time(8), 1)
        rules.reconcile(tx, "s1", [east], "m1", NOW + timedelta(minutes=30))
    (due,) = take(store, NOW + timedelta(minutes=30))
    assert due.due.due_on == date(2026, 3, 2)


def test_somebody_who_moves_west_after_their_hour_is_not_told_twice(store: Store) -> None:
    daily(store)
    take(store, NOW + timedelta(hours=1))
    with store.begin() as tx:
        west = Rule("stir", "s1", "", None, "America/Bogota", date(2026, 3, 2), time(8), 1)
        rules.reconcile(tx, "s1", [west], "m1", NOW + timedelta(hours=2))
    assert take(store, NOW + timedelta(hours=20)) == []
    (due,) = take(store, NOW + timedelta(hours=30))
    assert due.due.due_on == date(2026, 3, 3)


def test_what_is_overdue_and_changed_is_not_lost(store: Store) -> None:
    daily(store)
    with store.begin() as tx:
        earlier = Rule("stir", "s1", "", None, "UTC", date(2026, 3, 2), time(6), 1)
        rules.reconcile(tx, "s1", [earlier], "m1", NOW + timedelta(hours=3))
    (due,) = take(store, NOW + timedelta(hours=3))
    assert due.due.due_on == date(2026, 3, 2)


def test_after_a_restore_what_is_past_is_passed_over_without_a_word(store: Store) -> None:
    daily(store)
    with store.begin() as tx:
        assert rules.pass_over(tx, NOW + timedelta(days=2), "restored") == 2
    assert take(store, NOW + timedelta(days=2)) == []
    with store.begin() as tx:
        became = tx.execute(select(fired.c.became).order_by(fired.c.due_on)).scalars().all()
    assert became == ["folded", "restored"]


def test_a_clock_that_ran_ahead_gives_back_the_days_it_only_passed_over(store: Store) -> None:
    daily(store)
    ahead = NOW + timedelta(days=3, hours=1)
    with store.begin() as tx:
        assert timekeeping.is_trusted(tx, NOW)
        assert timekeeping.is_trusted(tx, ahead)
        taken(tx, ahead)
    back = NOW + timedelta(minutes=10)
    with store.begin() as tx:
        assert not timekeeping.is_trusted(tx, back)
    with store.begin() as tx:
        assert not timekeeping.is_trusted(tx, back + timedelta(minutes=59))
        assert timekeeping.look(tx).behind_since == back
    with store.begin() as tx:
        assert timekeeping.is_trusted(tx, back + timedelta(minutes=60))
    days = []
    for hours in range(0, 120, 1):
        days += [each.due.due_on for each in take(store, NOW + timedelta(hours=1 + hours))]
    # The 5th was said while the clock ran ahead; the 2nd to the 4th were only passed over.
    assert days == [date(2026, 3, 2), date(2026, 3, 3), date(2026, 3, 4), date(2026, 3, 6)]


def test_a_day_put_off_by_a_clock_that_ran_ahead_falls_due_on_its_own_day(store: Store) -> None:
    daily(store)
    ahead = NOW + timedelta(days=3)
    put(store, letter("early"))
    with store.begin() as tx:
        assert timekeeping.is_trusted(tx, ahead)
        rules.postpone(tx, "m1", ahead, ahead + timedelta(days=1), {"stir"})
        tx.execute(update(outbox_rows).values(created_at=ahead))
        timekeeping.accept(tx, NOW + timedelta(minutes=5), NOW)
        assert rules.next_due(tx) == NOW + timedelta(hours=1)
        created_at = tx.execute(select(outbox_rows.c.created_at)).scalar_one()
    # It would fill the ceiling of a day that is still to come.
    assert created_at == NOW


def test_words_overtaken_over_midnight_fold_into_the_day_that_was_said_meanwhile(
    store: Store,
) -> None:
    daily(store)
    at = NOW + timedelta(hours=1)
    _other, outbox_id = put(store, letter("other"), letter("first"))
    assert outbox_id is not None
    with store.begin() as tx:
        found = rules.take(rules.waiting(tx, ["m1"], at)["m1"], at, at)
        rules.settle(tx, [(each, "said", outbox_id) for each in found], at)
    next_at = at + timedelta(days=1)
    take(store, next_at)
    with store.begin() as tx:
        tx.execute(update(outbox_rows).values(status="dropped", cause=outbox.OVERTAKEN))
        taking_back.rearm(tx, outbox_id, next_at)
    take(store, next_at)
    with store.reading() as tx:
        became = tx.execute(select(fired.c.became).order_by(fired.c.due_on)).scalars().all()
    assert became == ["folded", "said"]


@pytest.mark.parametrize("order", [(0, 1), (1, 0)])
def test_words_of_two_days_taken_back_together_both_come_to_something(
    store: Store, order: tuple[int, int]
) -> None:
    daily(store)
    letters = put(store, letter("first"), letter("second"))
    at = NOW + timedelta(hours=1)
    for outbox_id in letters:
        with store.begin() as tx:
            found = rules.take(rules.waiting(tx, ["m1"], at)["m1"], at, at)
            rules.settle(tx, [(each, "said", outbox_id) for each in found], at)
        at += timedelta(days=1)
    with store.begin() as tx:
        tx.execute(update(outbox_rows).values(status="dropped", cause=outbox.OVERTAKEN))
        for place in order:
            taking_back.rearm(tx, letters[place] or 0, at - timedelta(days=1))
    (again,) = take(store, at - timedelta(days=1))
    assert again.due.due_on == date(2026, 3, 3)
    assert [each.due_on for each in again.folded] == [date(2026, 3, 2)]
    with store.reading() as tx:
        became = tx.execute(select(fired.c.became).order_by(fired.c.due_on)).scalars().all()
    assert became == ["folded", "said"]


@pytest.mark.parametrize("may_have_arrived", [False, True])
def test_the_key_of_overtaken_words_is_free_unless_they_may_have_arrived(
    store: Store, may_have_arrived: bool
) -> None:
    daily(store)
    (outbox_id,) = put(store, letter("first"))
    at = NOW + timedelta(hours=1)
    with store.begin() as tx:
        found = rules.take(rules.waiting(tx, ["m1"], at)["m1"], at, at)
        rules.settle(tx, [(each, "said", outbox_id) for each in found], at)
        gone = {"status": "dropped", "unknown_at": at if may_have_arrived else None}
        tx.execute(update(outbox_rows).values(gone))
        taking_back.rearm(tx, outbox_id or 0, at)
    assert (put(store, letter("first")) == [None]) is may_have_arrived


def test_a_small_step_back_of_the_clock_holds_nothing(store: Store) -> None:
    with store.begin() as tx:
        assert timekeeping.is_trusted(tx, NOW)
        assert timekeeping.is_trusted(tx, NOW - timedelta(seconds=90))
        assert tallies.all_of(tx) == {}


# --- leases -----------------------------------------------------------------------------------


def test_a_lease_is_held_by_one_until_it_lapses(store: Store) -> None:
    length = timedelta(seconds=30)
    assert leases.hold(store, "channel:test", "a", NOW, length)
    assert leases.hold(store, "channel:test", "a", NOW + length / 2, length)
    assert not leases.hold(store, "channel:test", "b", NOW + length, length)
    assert leases.hold(store, "channel:test", "b", NOW + 2 * length, length)
    assert not leases.hold(store, "channel:test", "a", NOW + 2 * length, length)


def test_a_lease_given_back_is_free_at_once(store: Store) -> None:
    length = timedelta(seconds=30)
    leases.hold(store, "channel:test", "a", NOW, length)
    leases.give_back(store, "channel:test", "a")
    assert leases.hold(store, "channel:test", "b", NOW, length)


# --- the door, the store ----------------------------------------------------------------------


def test_what_a_channel_keeps_is_there_again(store: Store) -> None:
    door = Doorway(store, lambda: NOW)
    assert door.recall("test", "offset") == ""
    door.keep("test", "offset", "5")
    door.keep("test", "offset", "6")
    assert door.recall("test", "offset") == "6"


def test_what_failed_half_way_was_never_there(store: Store) -> None:
    def half_way() -> None:
        with store.begin() as tx:
            people.welcome(tx, member_id="m1", group_id="g1", channel="test", address="7", now=NOW)
            raise RuntimeError

    with pytest.raises(RuntimeError):
        half_way()
    with store.begin() as tx:
        assert tx.execute(select(func.count()).select_from(member)).scalar_one() == 0


def test_moments_come_back_in_utc_and_naive_ones_are_refused(store: Store) -> None:
    grower(store)
    with store.begin() as tx:
        found = people.by_id(tx, "m1")
        assert found is not None
        assert found.created_at == NOW
        assert found.created_at.tzinfo is not None
    with pytest.raises(Exception, match="without a zone"), store.begin() as tx:
        people.died(tx, "test", "7", datetime(2026, 3, 2))  # noqa: DTZ001 - the fault itself


def test_a_database_newer_than_the_program_is_refused_in_one_line(store: Store) -> None:
    with store.begin() as tx:
        tx.exec_driver_sql("UPDATE alembic_version SET version_num = '9999'")
    with pytest.raises(StoreError, match="install the newer program"):
        store.migrate()


def test_every_revision_steps_down_and_up_again_with_rows_in_it(store: Store) -> None:
    rule_id = daily(store)
    put(store, letter("k"))
    inbox.keep(store, said("stirred"), NOW)
    revisions.downgrade(store, "-1")
    store.migrate()
    with store.begin() as tx:
        assert tx.execute(select(rule.c.id)).scalar_one() == rule_id
        assert tx.execute(select(outbox_rows.c.text)).scalar_one() == "text of k"
        assert tx.execute(select(inbox_rows.c.status)).scalar_one() == "waiting"
    assert claimed(store, "a") == ["k"]


def test_a_commit_that_fails_leaves_nothing_behind_and_the_next_one_is_its_own(
    store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fails(_connection: object) -> None:
        raise OperationalError("COMMIT", None, Exception("database or disk is full"))

    with monkeypatch.context() as broken:
        broken.setattr(store.engine.dialect, "do_commit", fails)
        with pytest.raises(OperationalError), store.begin() as tx:
            outbox.put(tx, [letter("lost")], NOW)
    with store.begin() as tx:
        outbox.put(tx, [letter("kept")], NOW)
    with store.reading() as tx:
        assert tx.execute(select(outbox_rows.c.key)).scalars().all() == ["kept"]
