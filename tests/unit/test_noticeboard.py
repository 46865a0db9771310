"""A group chat that joined with the code is told what is for the noticeboard."""

from __future__ import annotations

from pathlib import Path

from bot.facts import Fact
from bot.permission import NotFromBoard
from bot.records import people
from bot.records.changes import Told
from bot.telling import Teller, tell
from tests.unit.requests.test_permissions_of_messages import MORNING, Farm, farm


def told_the_board(here: Farm) -> list[str]:
    rooms = here.house.engine.exchange.rooms
    fact: Fact = NotFromBoard()
    with here.house.store.begin() as tx:
        member = people.by_address(tx, "terminal", "keeper")
        assert member is not None
        tell(tx, rooms, Told((fact,), board=True), Teller(member, 900), MORNING)
    here.said.clear()
    here.house.engine.step(MORNING)
    return sorted(each.address for each in here.said)


def test_what_is_for_the_board_goes_there_once(tmp_path: Path) -> None:
    with farm(tmp_path) as here:
        assert told_the_board(here) == ["stranger"]


def test_without_a_board_it_goes_nowhere(tmp_path: Path) -> None:
    with farm(tmp_path, board=False) as here:
        assert told_the_board(here) == []


def test_rain_and_days_without_rounds_are_said_on_the_board_in_the_language_set_there(
    tmp_path: Path,
) -> None:
    with farm(tmp_path) as here:
        here.says("stranger", "language swahili")
        here.says("keeper", "rain, hold")
        held = [each.text for each in here.said if each.address == "stranger"]
        assert len(held) == 1
        assert "mvua" in held[0].casefold(), held
        here.says("keeper", "rain is over")
        assert [each.address for each in here.said].count("stranger") == 1
        here.says("keeper", "market day every friday")
        assert [each.address for each in here.said].count("stranger") == 1
    (tmp_path / "alone").mkdir()
    with farm(tmp_path / "alone", board=False) as here:
        here.says("keeper", "market day every friday")
        assert {each.address for each in here.said} == {"keeper"}
