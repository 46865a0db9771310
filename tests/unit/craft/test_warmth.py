import pytest

from bot.craft.warmth import USUAL_C, Told, warmth


def test_with_nothing_known_it_is_as_warm_as_growers_usually_report() -> None:
    found = warmth()
    assert found.temperatures_c == (USUAL_C,)
    assert found.source == "unknown"
    assert found.sd_c > 4


def test_a_known_place_has_its_climate_day_by_day() -> None:
    found = warmth(usual_c=[20.0, 21.0, 22.0, 22.0])
    assert found.temperatures_c == (20.0, 21.0, 22.0)
    assert found.source == "climate"
    assert found.sd_c < warmth().sd_c


def test_a_members_own_reading_outweighs_the_climate() -> None:
    found = warmth([Told(0, 30.0, "reading")], [24.0])
    assert 28 < found.temperatures_c[0] < 30
    assert found.source == "reading"


def test_a_word_says_less_than_a_reading() -> None:
    word, reading = (warmth([Told(0, 31.0, source)]) for source in ("word", "reading"))
    assert word.sd_c > reading.sd_c
    assert word.temperatures_c[0] < reading.temperatures_c[0]
    assert word.source == "word"


def test_a_later_reading_counts_from_its_day() -> None:
    found = warmth([Told(3, 22.0, "reading"), Told(0, 30.0, "word")])
    assert len(found.temperatures_c) == 4
    assert found.temperatures_c[0] == found.temperatures_c[2] > found.temperatures_c[3]
    assert found.source == "reading"


def test_a_first_reading_on_a_later_day_holds_for_the_days_before_it() -> None:
    assert warmth([Told(2, 29.0, "reading")]).temperatures_c == pytest.approx((28.5,), abs=0.3)
