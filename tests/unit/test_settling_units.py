"""What a unit means here is asked once, and what was answered is kept for the group."""

from decimal import Decimal

import pytest

from bot.craft.units import Quantity, meanings
from bot.facts import SETTLES_UNIT, Request
from bot.settling import settle


@pytest.mark.parametrize("said", ["gallon", "bigha", "katha", "manzana", "maund"])
def test_the_answer_is_kept_whatever_the_meaning_is_called(said: str) -> None:
    asked = settle(Request("mix", {"area": Quantity(Decimal(2), said)}), "", {}, {})
    assert asked.question is not None
    for option in asked.question.options:
        answered = asked.question.request.with_slots(area=option.value)
        found = settle(answered, "", {}, {})
        assert found.question is None
        assert found.chosen == {said: option.value.unit}
        assert SETTLES_UNIT not in found.request.slots
        again = settle(Request("mix", {"area": Quantity(Decimal(2), said)}), "", found.chosen, {})
        assert again.question is None
    assert len(asked.question.options) == len(meanings(said))
