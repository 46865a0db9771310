from __future__ import annotations

from collections import Counter
from datetime import UTC, date, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.craft.entries import Entry, Head
from bot.craft.rota import TURN, Rota, ahead, among, fold

ORIGIN = datetime(2026, 3, 2, 6, 0, tzinfo=UTC)  # a Monday
HEAD = Head("t1", "rota", "T1", "g1", ORIGIN)


def day(n: int) -> date:
    return ORIGIN.date() + timedelta(days=n)


def said(n: int, kind: str, by: str = "", **data: object) -> Entry:
    return Entry(kind, ORIGIN + timedelta(days=n), data, by)


def circle(*entries: Entry, people: str = "abc") -> Rota:
    joined = [said(0, "joined", who) for who in people]
    return fold(HEAD, [*joined, said(0, "keeper", "k"), *entries])


def holders(rota: Rota, days: int) -> str:
    return "".join(turn.holder for turn in rota.turns(days))


def test_turns_go_round() -> None:
    assert holders(circle(), 7) == "abcabca"
    assert circle().turn(day(0)).chain == ("a", "b", "k")
    assert circle().turn(day(0)).state == "not_reported"


def test_an_empty_rota_falls_to_the_keeper_and_without_one_to_nobody() -> None:
    assert holders(circle(people=""), 2) == "kk"
    assert fold(HEAD, []).turn(day(0)).holder == ""


def test_the_past_is_in_the_record_not_in_the_plan() -> None:
    rota = ahead(circle(), day(3))
    assert [turn.holder for turn in rota.past] == ["a", "b", "c"]
    assert [turn.state for turn in rota.past] == ["not_reported"] * 3
    with pytest.raises(ValueError, match="past"):
        rota.turn(day(1))


def test_who_cannot_tomorrow_is_left_out_and_comes_soon_after() -> None:
    rota = circle(said(0, "away", "b", on=day(1).isoformat()))
    assert holders(rota, 6) == "acbabc"[:3] + holders(rota, 6)[3:]
    assert "b" not in rota.turn(day(1)).chain
    again = circle(
        said(0, "away", "b", from_on=day(1).isoformat(), until_on=day(9).isoformat()),
        said(0, "back", "b", on=day(1).isoformat()),
    )
    assert again.turn(day(1)).holder == "b"
    assert again.turn(day(4)).holder != "b"


def test_a_swap_gives_the_day_to_another_who_is_spared_later() -> None:
    rota = circle(said(0, "swap", "c", on=day(1).isoformat()))
    assert rota.turn(day(1)).chain[:2] == ("c", "b")
    assert Counter(holders(rota, 6)) == Counter("aabbcc")
    assert circle(said(0, "swap", "z", on=day(1).isoformat())).turn(day(1)).holder == "b"


def test_who_took_a_day_and_cannot_either_gives_it_back() -> None:
    swap = said(0, "swap", "c", on=day(1).isoformat())
    rota = circle(swap, said(0, "away", "c", on=day(1).isoformat()))
    assert rota.turn(day(1)).holder == "b"
    left = circle(swap, said(0, "left", "c"))
    assert left.turn(day(1)).holder == "b"


def test_a_missed_turn_passes_to_the_next_and_then_to_the_keeper() -> None:
    once = circle(said(0, "missed"))
    assert once.turn(day(0)).holder == "b"
    assert once.turn(day(0)).state == "missed"
    twice = circle(said(0, "missed"), said(0, "missed"))
    assert twice.turn(day(0)).holder == "k"
    ever = circle(*(said(0, "missed") for _ in range(5)))
    assert ever.turn(day(0)).holder == "k"


def test_who_missed_still_owes_the_turn() -> None:
    rota = circle(said(0, "missed"), said(0, "stirred", "b"))
    assert rota.turn(day(0)).state == "done"
    assert rota.turn(day(1)).holder == "a"


def test_done_missed_and_not_reported_are_three_things() -> None:
    rota = ahead(circle(said(0, "stirred", "a"), said(1, "missed")), day(3))
    assert [turn.state for turn in rota.past] == ["done", "missed", "not_reported"]
    assert rota.past[0].by == "a"


def test_a_stir_told_a_day_late_puts_the_record_right() -> None:
    rota = circle(said(2, "stirred", "b", on=day(0).isoformat()))
    assert [(turn.state, turn.by) for turn in rota.past] == [("done", "b"), ("not_reported", "")]
    twice = circle(said(0, "stirred", "a"), said(1, "stirred", "b", on=day(0).isoformat()))
    assert twice.past[0].by == "a"


def test_somebody_outside_the_rota_may_stir() -> None:
    rota = ahead(circle(said(0, "stirred", "k")), day(1))
    assert rota.past[0].by == "k"
    assert {tender.earned for tender in rota.tenders.values()} == {TURN // 3}


def test_weekdays_are_respected() -> None:
    rota = circle(said(0, "free", "a", weekdays=[5, 6]), said(0, "joined", "b", weekdays=[0]))
    week = [rota.turn(day(n)).chain[0] for n in range(7)]
    assert week[0] in {"b", "c"}
    assert set(week[1:5]) == {"c"}
    assert "b" not in week[1:]
    assert circle(said(0, "free", "a")).turn(day(0)).holder == "a"


def test_entries_about_strangers_and_unknown_kinds_change_nothing() -> None:
    plain = circle()
    for kind in ("free", "away", "back", "sung", "left"):
        rota = circle(said(0, kind, "z", weekdays=[1]))
        assert holders(rota, 9) == holders(plain, 9)


def test_a_keeper_who_leaves_is_not_asked() -> None:
    assert circle(said(0, "left", "k")).turn(day(0)).chain == ("a", "b")


AVAILABLE = st.lists(
    st.frozensets(st.integers(0, 6), min_size=1, max_size=7), min_size=1, max_size=6
)


@given(people=st.integers(1, 9), days=st.integers(1, 120))
def test_with_everybody_there_nobody_has_two_turns_more_than_another(
    people: int, days: int
) -> None:
    names = [f"m{n}" for n in range(people)]
    rota = fold(HEAD, [said(0, "joined", name) for name in names])
    turns = Counter(turn.holder for turn in rota.turns(days))
    counts = [turns[name] for name in names]
    assert max(counts) - min(counts) <= 1


@given(available=AVAILABLE, weeks=st.integers(1, 16))
def test_turns_are_fair_by_availability(available: list[frozenset[int]], weeks: int) -> None:
    """Nobody is ever further from their share of the days they could than one turn a person."""
    names = [f"m{n}" for n in range(len(available))]
    rota = fold(
        HEAD,
        [
            said(0, "joined", name, weekdays=sorted(days))
            for name, days in zip(names, available, strict=True)
        ],
    )
    done = Counter[str]()
    share = dict.fromkeys(names, 0.0)
    for turn in rota.turns(7 * weeks):
        could = [
            name for name, days in zip(names, available, strict=True) if turn.on.weekday() in days
        ]
        for name in could:
            share[name] += 1 / len(could)
        if could:
            assert turn.holder in could
            done[turn.holder] += 1
        else:
            assert turn.holder == ""
        assert all(abs(done[name] - share[name]) <= len(names) for name in names)


@given(
    told=st.lists(
        st.tuples(
            st.integers(0, 30),
            st.sampled_from(("away", "back", "swap", "stirred", "missed", "joined", "left")),
            st.sampled_from("abcd"),
            st.integers(0, 4),
        ),
        max_size=20,
    )
)
def test_whatever_is_told_every_day_has_somebody_and_nobody_who_is_away(
    told: list[tuple[int, str, str, int]],
) -> None:
    entries = [
        said(
            n,
            kind,
            who,
            on=(day(max(0, n - 1)) if kind == "stirred" else day(n + aside)).isoformat(),
        )
        for n, kind, who, aside in sorted(told)
    ]
    rota = circle(*entries)
    assert [turn.on for turn in rota.past] == [day(n) for n in range(len(rota.past))]
    for turn in rota.turns(10):
        assert turn.holder
        for who in turn.chain:
            tender = rota.tenders.get(who)
            assert (
                who == "k"
                or (tender is not None and tender.can(turn.on))
                or (rota.taken.get(turn.on) == who)
            )
    paid = sum(tender.earned for tender in rota.tenders.values())
    assert abs(paid) <= TURN * (len(rota.past) + 1)


def test_several_join_at_once() -> None:
    rota = fold(HEAD, [said(0, "joined", who=["a", "b"], weekdays=[0, 1, 2, 3, 4, 5, 6])])
    assert holders(rota, 4) == "abab"


def test_the_turns_of_days_to_come_are_those_of_each_day() -> None:
    rota = circle(said(0, "away", "b", on=day(4).isoformat()), said(0, "missed"))
    assert rota.turns(12) == tuple(rota.turn(day(n)) for n in range(12))


def test_only_who_is_still_in_the_group_has_turns_and_its_keepers_come_last() -> None:
    rota = among(circle(said(0, "swap", "c", on=day(1).isoformat())), {"a", "b"}, ["b", "x"])
    assert holders(rota, 4) == "abab"
    assert rota.turn(day(0)).chain == ("a", "b", "x")
