"""Whether a call is from the service: a shared word, or a signature over the call. Pure."""

from __future__ import annotations

import base64
import hashlib
import hmac
import re

from bot.listener import Call, same

HASHES = ("sha1", "sha256", "sha512")
WRITINGS = ("hex", "base64")

_PLACE = re.compile(rb"\{(body|url|path|header:[A-Za-z0-9-]+)\}")


def signed_octets(template: str, call: Call, called: str) -> bytes:
    """What a signature is over: `{body}`, `{url}`, `{path}` and `{header:Name}` put in place.

    `called` is the address under which the service calls us, as it writes it.

    >>> signed_octets("{header:X-Time}.{body}", Call("POST", "/in", b"{}", {"x-time": "7"}), "")
    b'7.{}'
    """

    def value(place: re.Match[bytes]) -> bytes:
        name = place[1].decode()
        if name == "body":
            return call.body
        if name == "url":
            return (called + call.target).encode()
        if name == "path":
            return call.target.encode()
        return call.headers.get(name.removeprefix("header:").lower(), "").encode()

    return _PLACE.sub(value, template.encode())


def signature(secret: str, octets: bytes, hash_name: str, writing: str) -> str:
    """The signature of some octets: an HMAC, written in hex or base64.

    >>> signature("key", b"The quick brown fox jumps over the lazy dog", "sha256", "hex")[:16]
    'f7bc83f430538424'
    """
    digest = hmac.new(secret.encode(), octets, getattr(hashlib, hash_name)).digest()
    return digest.hex() if writing == "hex" else base64.b64encode(digest).decode()


def matches(given: str, wanted: str, writing: str) -> bool:
    """Whether a signature is the right one, compared in constant time."""
    bare = given.strip()
    return same(bare.lower() if writing == "hex" else bare, wanted)
