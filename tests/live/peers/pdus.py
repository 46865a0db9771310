"""PDUs of 3GPP TS 23.040 as a centre writes and reads them, for the simulated modem."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta, timezone

import gsm0338

GSM = gsm0338.Codec()
CENTRE = "0791190000000000"
"""+910000000000, the number of the simulated centre: the daemon matches reports by it."""


def semi_octets(digits: str) -> str:
    """Digits with each pair swapped, filled up with F."""
    padded = digits + "F" * (len(digits) % 2)
    return "".join(padded[i + 1] + padded[i] for i in range(0, len(padded), 2))


def digits_of(octets: str) -> str:
    return "".join(octets[i + 1] + octets[i] for i in range(0, len(octets), 2)).rstrip("F")


def packed(septets: bytes, fill_bits: int = 0) -> bytes:
    """7 bit codes packed into octets, the first bit after `fill_bits`."""
    bits = 0
    for at, septet in enumerate(septets):
        bits |= septet << (7 * at + fill_bits)
    return bits.to_bytes((7 * len(septets) + fill_bits + 7) // 8, "little")


def unpacked(octets: bytes, count: int, fill_bits: int = 0) -> bytes:
    bits = int.from_bytes(octets, "little") >> fill_bits
    return bytes((bits >> (7 * at)) & 0x7F for at in range(count))


def address(number: str) -> str:
    """An address field: its length, its type, its digits; letters go as the 7 bit alphabet."""
    if number.strip("+").isdigit():
        kind = "91" if number.startswith("+") else "81"
        digits = number.lstrip("+")
        return f"{len(digits):02X}{kind}{semi_octets(digits)}"
    octets = packed(GSM.encode(number)[0])
    useful = -(-len(number) * 7 // 4)
    return f"{useful:02X}D0{octets.hex().upper()}"


def stamp(at: datetime) -> str:
    """A service centre time stamp in the moment's own offset."""
    offset = at.utcoffset() or timedelta()
    quarters = int(abs(offset).total_seconds() // 900)
    sign = 0x80 if offset < timedelta() else 0
    zone = f"{(quarters // 10) | (sign >> 4):X}{quarters % 10}"
    return semi_octets(at.strftime("%y%m%d%H%M%S")) + semi_octets(zone)


def deliver(
    sender: str,
    text: str,
    at: datetime,
    header: bytes = b"",
    *,
    ucs2: bool = False,
    binary: bytes | None = None,
) -> str:
    """An SMS-DELIVER in hex, with the centre's address before it."""
    head = bytes([len(header), *header]) if header else b""
    if binary is not None:
        coding, data = "04", head + binary
        length = len(data)
    elif ucs2:
        coding, data = "08", head + text.encode("utf-16-be")
        length = len(data)
    else:
        septets = GSM.encode(text)[0]
        fill = -len(head) * 8 % 7
        coding, data = "00", head + packed(septets, fill)
        length = (len(head) * 8 + fill) // 7 + len(septets)
    first = "44" if header else "04"
    body = f"{address(sender)}00{coding}{stamp(at)}{length:02X}{data.hex().upper()}"
    return f"{CENTRE}{first}{body}"


def status_report(reference: int, number: str, at: datetime, status: int = 0) -> str:
    """An SMS-STATUS-REPORT in hex; status 0 is received, 0x46 is a validity that ran out.

    Source of the values: 3GPP TS 23.040, section 9.2.3.15 (from memory).
    """
    return f"{CENTRE}06{reference:02X}{address(number)}{stamp(at)}{stamp(at)}{status:02X}"


@dataclass(frozen=True)
class Submit:
    """What a modem was given to send."""

    reference: int
    number: str
    text: str
    coding: int
    header: bytes
    validity: int | None
    wants_report: bool


def submit(pdu: str, reference: int) -> Submit:
    """An SMS-SUBMIT read back."""
    octets = bytes.fromhex(pdu)
    at = 1 + octets[0]
    first = octets[at]
    digits = octets[at + 2]
    number_ends = at + 4 + (digits + 1) // 2
    number = digits_of(octets[at + 4 : number_ends].hex().upper())
    number = "+" + number if octets[at + 3] == 0x91 else number
    coding = octets[number_ends + 1]
    at = number_ends + 2
    validity_format = (first >> 3) & 3
    validity = octets[at] if validity_format == 2 else None
    at += {0: 0, 2: 1}.get(validity_format, 7)
    length, data = octets[at], octets[at + 1 :]
    header = data[1 : 1 + data[0]] if first & 0x40 else b""
    used = len(header) + 1 if header else 0
    if coding & 0x0C == 0x08:
        text = data[used:length].decode("utf-16-be")
    else:
        fill = -used * 8 % 7
        count = length - (used * 8 + fill) // 7
        text = GSM.decode(unpacked(data[used:], count, fill))[0]
    return Submit(reference, number, text, coding, header, validity, bool(first & 0x20))


def parts(sender: str, texts: list[str], reference: int, *, ucs2: bool) -> list[str]:
    """The parts of one long message as PDUs."""
    at = datetime(2026, 3, 2, 7, 0, tzinfo=timezone(timedelta(hours=5, minutes=30)))
    total = len(texts)
    return [
        deliver(sender, text, at, bytes([0, 3, reference, total, n]), ucs2=ucs2)
        for n, text in enumerate(texts, 1)
    ]


def centre_now() -> datetime:
    """The moment a centre stamps a report with; the daemon compares it with its own clock."""
    return datetime.now(UTC).replace(microsecond=0)  # noqa: TID251 - the peer is a clock of its own


def messages(parts_: list[tuple[bytes, str]]) -> list[str]:
    """Texts of (header, text) parts as a phone shows them: whole ones, by their first parts."""
    whole: dict[bytes, dict[int, str]] = {}
    total: dict[bytes, int] = {}
    for at, (header, text) in enumerate(parts_):
        place = header[:4] if header else at.to_bytes(8, "big")
        whole.setdefault(place, {})[header[4] if header else 1] = text
        total[place] = header[3] if header else 1
    return [
        "".join(found[n] for n in sorted(found))
        for place, found in whole.items()
        if len(found) == total[place]
    ]
