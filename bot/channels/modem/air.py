"""What stands in an SMS on the air: its validity, and why a send failed. Pure."""

from __future__ import annotations

from datetime import timedelta

from bot.messages import Became, Outcome

NO_CODE = -1
"""The daemon's word for: the phone gave no reason."""


def validity(left: timedelta) -> int:
    """The relative validity octet for the longest time that is not longer than `left`.

    The shortest there is, 5 minutes, stands for anything below.
    Source: 3GPP TS 23.040, section 9.2.3.12.1.

    >>> validity(timedelta(hours=2)), validity(timedelta(hours=13)), validity(timedelta(days=3))
    (23, 145, 169)
    """
    minutes = int(left.total_seconds() // 60)
    if minutes <= 12 * 60:
        return max(0, minutes // 5 - 1)
    if minutes <= 24 * 60:
        return 143 + (minutes - 12 * 60) // 30
    if minutes < 5 * 7 * 24 * 60:
        return min(196, 166 + max(1, minutes // (24 * 60)))
    return min(255, 192 + minutes // (7 * 24 * 60))


def lasts(octet: int) -> timedelta:
    """How long a relative validity octet holds.

    Source: 3GPP TS 23.040, section 9.2.3.12.1.

    >>> lasts(23), lasts(145), lasts(169), lasts(197)
    (datetime.timedelta(seconds=7200), datetime.timedelta(seconds=46800), \
datetime.timedelta(days=3), datetime.timedelta(days=35))
    """
    if octet <= 143:
        return timedelta(minutes=5 * (octet + 1))
    if octet <= 167:
        return timedelta(hours=12, minutes=30 * (octet - 143))
    if octet <= 196:
        return timedelta(days=octet - 166)
    return timedelta(weeks=octet - 192)


_NEVER = {
    1: "there is no such number",
    28: "the network does not know this subscriber",
    30: "the network does not know this subscriber",
}
_SIM = {
    8: "the operator has barred the SIM",
    10: "calls are barred on the SIM",
    21: "the network turned the message down; look at the SIM's credit",
    29: "the network does not allow the SIM this",
    50: "the SIM has no contract for sending",
    69: "the network does not offer this",
    302: "the SIM does not allow sending",
    310: "there is no SIM in the modem",
    311: "the SIM asks for its PIN",
    312: "the SIM asks for another PIN",
    313: "the SIM has failed",
    315: "the wrong SIM is in the modem",
    316: "the SIM is locked and asks for its PUK",
    317: "the SIM asks for its second PIN",
    318: "the SIM asks for its second PUK",
    320: "the modem's memory has failed",
    322: "the SIM's memory is full",
    330: "the SIM does not know its message centre",
}
_NETWORK = {
    38: "the network is out of order",
    41: "the network has failed for now",
    42: "the network is congested",
    47: "the network has no room",
    314: "the SIM is busy",
    331: "there is no network",
}
_MESSAGE = {
    81: "the network turned the message down as ill formed",
    95: "the network turned the message down as ill formed",
    96: "the network turned the message down as ill formed",
    97: "the network turned the message down as ill formed",
    98: "the network turned the message down as ill formed",
    99: "the network turned the message down as ill formed",
    304: "the modem turned the message down as ill formed",
    305: "the modem turned the message down as ill formed",
}
_TIMED_OUT = 332

SIM_WAIT_S = 900.0
"""Somebody must do something with the SIM first."""

NETWORK_WAIT_S = 60.0

ADDRESS_WAIT_S = 600.0


def failed(code: int) -> Outcome:
    """What a send became that the phone answered with a +CMS ERROR of this code.

    Source: 3GPP TS 24.011, annex E-2 (1 to 127) and TS 27.005, section 3.2.5 (300 to 512).
    """
    if code in _NEVER:
        return Outcome(Became.REFUSED, f"{_NEVER[code]} (CMS {code})", dead_address=True)
    if code in _MESSAGE:
        return Outcome(Became.REFUSED, f"{_MESSAGE[code]} (CMS {code})")
    if code in _SIM or code in _NETWORK:
        why = _SIM.get(code) or _NETWORK[code]
        wait_s = SIM_WAIT_S if code in _SIM else NETWORK_WAIT_S
        return Outcome(
            Became.LATER, f"{why} (CMS {code})", retry_after_s=wait_s, whole_channel=True
        )
    if code == NO_CODE:
        return Outcome(Became.UNKNOWN, "the phone did not say whether it sent the message")
    if code == _TIMED_OUT:
        return Outcome(Became.UNKNOWN, f"the network did not answer in time (CMS {code})")
    return Outcome(
        Became.LATER, f"the phone could not send (CMS {code})", retry_after_s=ADDRESS_WAIT_S
    )
