"""What groups learned is a cache: the record rebuilds it equal, and corrects it."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

from sqlalchemy import delete

from bot.craft import batches
from bot.craft.learning import Evidence, Pool
from bot.craft.learning_cache import stored
from bot.craft.ways import model_of
from bot.records import learnt
from bot.records.journal import all_subjects
from bot.records.people import by_address
from bot.records.tables import kept
from tests.conversations.chat_file import Stage, stage

START = datetime(2026, 3, 2, 9, tzinfo=UTC)
MODEL = model_of(5, 7)


def _plain(state: Evidence | Pool) -> dict[str, str | int]:
    return stored(MODEL, state)


def _learned(here: Stage, who: str) -> tuple[Evidence, Pool]:
    recipe = here.house.engine.exchange.rooms.recipes["mother"]
    with here.house.store.begin() as tx:
        member = by_address(tx, "terminal", who)
        assert member is not None
        return learnt.known(tx, member.group_id, recipe)


def _forget(here: Stage) -> None:
    with here.house.store.begin() as tx:
        tx.execute(delete(kept).where(kept.c.channel == learnt.ROOM))


def _rebuild(here: Stage, who: str) -> None:
    recipe = here.house.engine.exchange.rooms.recipes["mother"]
    with here.house.store.begin() as tx:
        member = by_address(tx, "terminal", who)
        assert member is not None
        known = all_subjects(tx, member.group_id, batches.SUBJECT, batches.fold)
        place = member.settings.get("place", ())
        learnt.relearn(tx, member.group_id, recipe, place, known)


def _season(here: Stage, who: str) -> None:
    here.turn(f"@{who} started 100 l barrel")
    here.turn("@ +5d")
    here.turn(f"@{who} not yet")
    here.turn("@ +1d")
    here.turn(f"@{who} ready")


def test_the_record_alone_rebuilds_what_was_learned(tmp_path: Path) -> None:
    with stage(tmp_path, {}, START) as here:
        here.turn("@weaver i live in kisumu")
        _season(here, "miller")
        _season(here, "weaver")
        before = [_learned(here, who) for who in ("miller", "weaver")]
        _forget(here)
        for who in ("weaver", "miller"):
            _rebuild(here, who)
        after = [_learned(here, who) for who in ("miller", "weaver")]
    assert [[_plain(each) for each in pair] for pair in before] == [
        [_plain(each) for each in pair] for pair in after
    ]
    assert before[0][0].batches == 1
    assert before[0][1].batches == 2


def test_a_group_that_changed_a_recipes_days_learns_apart(tmp_path: Path) -> None:
    with stage(tmp_path, {}, START) as here:
        _season(here, "miller")
        recipe = here.house.engine.exchange.rooms.recipes["mother"]
        longer = replace(recipe, ready=replace(recipe.ready, warm_days=9, cool_days=12))
        with here.house.store.begin() as tx:
            member = by_address(tx, "terminal", "miller")
            assert member is not None
            known = all_subjects(tx, member.group_id, batches.SUBJECT, batches.fold)
            learnt.relearn(tx, member.group_id, longer, (), known)
            apart = learnt.known(tx, member.group_id, longer)
        kept_as_it_was = _learned(here, "miller")
    assert apart[0].batches == apart[1].batches == 1
    assert apart[0].earlier == 1
    assert kept_as_it_was[0].batches == kept_as_it_was[1].batches == 1
    assert kept_as_it_was[0].earlier == 0


def test_a_judgement_taken_back_is_unlearned(tmp_path: Path) -> None:
    with stage(tmp_path, {}, START) as here:
        _season(here, "miller")
        here.turn("@miller undo")
        own, everyone = _learned(here, "miller")
    assert own.batches == 0
    assert everyone.batches == 0


def test_a_new_group_begins_from_what_others_learned(tmp_path: Path) -> None:
    with stage(tmp_path, {}, START) as here:
        for _ in range(4):
            here.turn("@miller started 100 l barrel")
            here.turn("@ +9d")
            here.turn("@miller not yet")
            here.turn("@ +1d")
            here.turn("@miller ready")
            here.turn("@miller finished")
        late = here.turn("@weaver started 100 l barrel")
    (tmp_path / "alone").mkdir()
    with stage(tmp_path / "alone", {}, START) as here:
        usual = here.turn("@weaver started 100 l barrel")
    assert late[2].partition("Look")[0] == usual[2].partition("Look")[0]
    assert late[2] != usual[2]
