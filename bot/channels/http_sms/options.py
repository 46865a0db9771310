"""What an operator sets for a hosted SMS service, and what is wrong with it in one line."""

from __future__ import annotations

import re
from urllib.parse import urlsplit

from bot.channels.http_sms.mapping import FORMS, fields, json_body, unknown
from bot.channels.http_sms.signing import HASHES, WRITINGS
from bot.listener import address
from bot.settings import SettingsError
from bot.sms import SmsOptions, check

NAME = "http_sms"

PREFIX = "STIRBELL_HTTP_SMS_"

SHORTEST_SECRET = 16

_ANSWER = re.compile(r"[^=~]+=.+|~.+")


class Options(SmsOptions, frozen=True):
    """The variables `STIRBELL_HTTP_SMS_SEND_URL` and so on.

    Sending: `send_method` and `send_url`; `send_as` is form, json or query; `send_fields` and
    `send_headers` are `name=template` pairs parted by `&`, in which stand {to} {to_bare} {text}
    {key} {token} {sender} {valid_minutes} {alphabet}. A field without a value is left out.
    `unicode_fields` go along where the text needs UCS-2; {alphabet} is gsm7 or ucs2. `user` and
    `password` are sent as Basic authentication.

    The answer: `accepted_status` and `refused_status` are lists of codes; `accepted_answer`
    is `path=word,word` into its JSON or `~pattern` over its text; `answer_id` the path of the
    service's own id for the message.

    Calls to us: `listen` (empty: none), `in_path`, `report_path`, `call_as` (form, json, query);
    the fields `from_field`, `text_field`, `id_field`, `time_field`; of a report `report_id_field`
    (the service's id, or our {key} if it was sent along), `report_status_field`,
    `delivered_words`, `failed_words`, `report_cause_field`.

    Who calls: `secret`, and either the field or header it comes in (`secret_field`,
    `secret_header`) or the header of an HMAC made with it (`signature_header`), over
    `signature_of` ({body} {url} {path} {header:Name}), by `signature_hash`, written as
    `signature_as` after `signature_prefix`. `called` is our address as the service writes it.

    `per_second` is how many messages the service takes; 0 is no limit. The rest are those of
    `bot/sms.py`.
    """

    send_url: str
    send_method: str = "POST"
    send_as: str = "form"
    send_fields: str = "to={to}&text={text}"
    send_headers: str = ""
    unicode_fields: str = ""
    user: str = ""
    password: str = ""
    token: str = ""
    sender: str = ""

    accepted_status: str = "200,201,202"
    refused_status: str = "400,404,422"
    accepted_answer: str = ""
    answer_id: str = ""

    listen: str = ""
    called: str = ""
    in_path: str = "/in"
    report_path: str = "/report"
    call_as: str = "form"
    from_field: str = "from"
    text_field: str = "text"
    id_field: str = "id"
    time_field: str = ""
    report_id_field: str = "id"
    report_status_field: str = "status"
    report_cause_field: str = ""
    delivered_words: str = "delivered,delivrd"
    failed_words: str = "failed,undelivered,undeliv,expired,rejected"

    secret: str = ""
    secret_field: str = ""
    secret_header: str = ""
    signature_header: str = ""
    signature_of: str = "{body}"
    signature_hash: str = "sha256"
    signature_as: str = "hex"
    signature_prefix: str = ""

    timeout_s: float = 20.0
    per_second: float = 0.0


def checked(options: Options) -> Options:
    """The same options, once each of them can work.

    Raises:
        SettingsError: one line that names the variable and the mend.
    """
    _check_sending(options)
    if options.listen:
        address(options.listen, PREFIX + "LISTEN")
        _check_calls(options)
    check(options, PREFIX)
    if options.timeout_s <= 0:
        raise SettingsError(f"{PREFIX}TIMEOUT_S is above 0")
    if options.per_second < 0:
        raise SettingsError(f"{PREFIX}PER_SECOND is 0 (no limit) or more")
    return options


def _check_sending(options: Options) -> None:
    if not options.send_url.startswith(("http://", "https://")) or not _host(options.send_url):
        raise SettingsError(f"{PREFIX}SEND_URL is no address: it begins with https://")
    if not options.send_method.isalpha() or not options.send_method.isupper():
        raise SettingsError(f"{PREFIX}SEND_METHOD is a method in capitals, as POST")
    _one_of("SEND_AS", options.send_as, FORMS)
    for name in ("send_fields", "send_headers", "unicode_fields"):
        _check_fields(name.upper(), getattr(options, name))
    if "{text}" in options.send_headers:
        raise SettingsError(f"{PREFIX}SEND_HEADERS cannot hold {{text}}: a header is one line")
    templates = options.send_fields + options.send_url
    if "{text}" not in templates or not ("{to}" in templates or "{to_bare}" in templates):
        raise SettingsError(f"{PREFIX}SEND_FIELDS has to hold {{text}}, and {{to}} or {{to_bare}}")
    for name in ("accepted_status", "refused_status"):
        codes = [code.strip() for code in getattr(options, name).split(",") if code.strip()]
        if not all(code.isdecimal() and len(code) == 3 for code in codes):
            raise SettingsError(f"{PREFIX}{name.upper()} is codes parted by commas, as 200,202")
    if options.accepted_answer:
        _check_answer(options.accepted_answer)


def _host(url: str) -> str:
    try:
        return urlsplit(url).hostname or ""
    except ValueError:
        return ""


def _check_answer(written: str) -> None:
    if not _ANSWER.fullmatch(written):
        raise SettingsError(f"{PREFIX}ACCEPTED_ANSWER is path=word,word or ~pattern")
    if written.startswith("~"):
        try:
            re.compile(written[1:])
        except re.error as fault:
            raise SettingsError(f"{PREFIX}ACCEPTED_ANSWER is no pattern: {fault}") from None


def _check_fields(name: str, written: str) -> None:
    try:
        pairs = fields(written)
    except ValueError as fault:
        raise SettingsError(f"{PREFIX}{name}: {fault}") from None
    for _, template in pairs:
        if place := unknown(template):
            raise SettingsError(f"{PREFIX}{name}: {{{place}}} is nothing a message has")
    if name != "SEND_HEADERS":
        try:
            json_body(pairs)
        except ValueError as fault:
            raise SettingsError(f"{PREFIX}{name}: {fault}") from None


def _check_calls(options: Options) -> None:
    _one_of("CALL_AS", options.call_as, FORMS)
    _one_of("SIGNATURE_HASH", options.signature_hash, HASHES)
    _one_of("SIGNATURE_AS", options.signature_as, WRITINGS)
    if len(options.secret) < SHORTEST_SECRET:
        raise SettingsError(
            f"{PREFIX}SECRET has to be {SHORTEST_SECRET} or more letters: without it anybody "
            "could write in a member's name"
        )
    ways = (options.secret_field, options.secret_header, options.signature_header)
    if sum(bool(way) for way in ways) != 1:
        raise SettingsError(
            f"{PREFIX}SIGNATURE_HEADER, SECRET_HEADER or SECRET_FIELD: set the one that the "
            "service uses"
        )
    covers = ("{url}", "{path}") if options.call_as == "query" else ("{body}",)
    if options.signature_header and not any(place in options.signature_of for place in covers):
        raise SettingsError(
            f"{PREFIX}SIGNATURE_OF has to hold {' or '.join(covers)}: else any text passes"
        )
    if options.in_path == options.report_path:
        raise SettingsError(f"{PREFIX}REPORT_PATH has to differ from IN_PATH")
    for name in ("in_path", "report_path"):
        if not getattr(options, name).startswith("/"):
            raise SettingsError(f"{PREFIX}{name.upper()} begins with /")


def _one_of(name: str, given: str, allowed: tuple[str, ...]) -> None:
    if given not in allowed:
        raise SettingsError(f"{PREFIX}{name} is one of {', '.join(allowed)}")
