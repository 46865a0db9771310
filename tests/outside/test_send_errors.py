"""What the modem makes of +CMS ERROR codes, against the standards' tables.

Source: 3GPP TS 24.011, annex E-2 (1 to 127) and TS 27.005, section 3.2.5 (300 to 500), as two
public copies give them, read 2026-11: the enumeration of the Rust crate atat (300 to 500), and a
modem maker's list of the whole range. Mark V: seen there. What each asks of an operator is ours.
"""

from __future__ import annotations

import pytest

from bot.channels.modem.air import failed
from bot.messages import Became

NUMBER, SIM, NETWORK, MESSAGE, UNSURE = "number", "SIM", "network", "message", "unsure"

TABLE = [
    (1, "unassigned number", NUMBER),
    (8, "operator determined barring", SIM),
    (10, "call barred", SIM),
    (21, "short message transfer rejected", SIM),
    (28, "unidentified subscriber", NUMBER),
    (29, "facility rejected", SIM),
    (30, "unknown subscriber", NUMBER),
    (38, "network out of order", NETWORK),
    (41, "temporary failure", NETWORK),
    (42, "congestion", NETWORK),
    (47, "resources unavailable", NETWORK),
    (50, "requested facility not subscribed", SIM),
    (69, "requested facility not implemented", SIM),
    (81, "invalid short message transfer reference value", MESSAGE),
    (95, "invalid message", MESSAGE),
    (96, "invalid mandatory information", MESSAGE),
    (97, "message type non-existent", MESSAGE),
    (98, "message not compatible with state", MESSAGE),
    (99, "information element non-existent", MESSAGE),
    (302, "operation not allowed", SIM),
    (304, "invalid PDU mode parameter", MESSAGE),
    (305, "invalid text mode parameter", MESSAGE),
    (310, "SIM not inserted", SIM),
    (311, "SIM PIN required", SIM),
    (312, "PH-SIM PIN required", SIM),
    (313, "SIM failure", SIM),
    (314, "SIM busy", NETWORK),
    (315, "SIM wrong", SIM),
    (316, "SIM PUK required", SIM),
    (317, "SIM PIN2 required", SIM),
    (318, "SIM PUK2 required", SIM),
    (320, "memory failure", SIM),
    (322, "memory full", SIM),
    (330, "SMSC address unknown", SIM),
    (331, "no network service", NETWORK),
    (332, "network timeout", UNSURE),
]


@pytest.mark.parametrize(("code", "standard", "whose"), TABLE)
def test_a_code_leads_to_what_the_standard_says_is_wrong(
    code: int, standard: str, whose: str
) -> None:
    outcome = failed(code)
    assert f"CMS {code}" in outcome.cause, standard
    match whose:
        case "number":
            assert (outcome.became, outcome.dead_address) == (Became.REFUSED, True)
        case "message":
            assert (outcome.became, outcome.dead_address) == (Became.REFUSED, False)
        case "unsure":
            assert outcome.became is Became.UNKNOWN
        case _:
            assert (outcome.became, outcome.whole_channel) == (Became.LATER, True)


@pytest.mark.parametrize("code", [27, 127, 255, 300, 301, 303, 321, 340, 500, 512])
def test_any_other_code_is_tried_again_later_for_this_number_alone(code: int) -> None:
    outcome = failed(code)
    assert (outcome.became, outcome.whole_channel) == (Became.LATER, False)
    assert outcome.retry_after_s
