from datetime import date
from decimal import Decimal

from bot.facts import Count, Mention
from bot.language.reading import Reading


def test_a_reading_gives_the_mentions_of_one_kind_in_order() -> None:
    tanks = Mention("count", Count(Decimal(3), "tank"), 0, 2)
    day = Mention("date", date(2026, 3, 2), 2, 3)
    reading = Reading("3 tanks tomorrow", (), (tanks, day))
    assert reading.of("count") == (tanks,)
    assert reading.of("date", "count") == (tanks, day)
