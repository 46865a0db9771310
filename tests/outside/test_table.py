"""The table of checks can be counted: no id twice, and enough of them from enough sources."""

from tests.outside.table import collected, table


def test_every_check_has_its_own_id_and_names_its_source() -> None:
    checks = collected()
    keys = [(check.topic, check.id) for check in checks]
    assert len(set(keys)) == len(keys)
    assert all(check.source for check in checks)


def test_there_are_more_than_a_hundred_and_twenty_from_more_than_twenty_five() -> None:
    checks = collected()
    assert len(checks) >= 120
    assert len({check.source for check in checks}) >= 25
    assert table(checks).count("\n") >= 6
