"""Signatures of calls against published test vectors.

Source: RFC 2202 (HMAC-SHA-1) and RFC 4231 (HMAC-SHA-256, -512), test case 2 of each; from memory,
and equal to what the openssl command says.
"""

from __future__ import annotations

import base64
import shutil
import subprocess

import pytest

from bot.channels.http_sms.signing import signature

KEY, DATA = "Jefe", b"what do ya want for nothing?"


@pytest.mark.parametrize(
    ("hash_name", "digest"),
    [
        ("sha1", "effcdf6ae5eb2fa2d27416d5f184df9c259a7c79"),
        ("sha256", "5bdcc146bf60754e6a042426089575c75a003f089d2739839dec58b964ec3843"),
    ],
)
def test_the_published_vectors_come_out(hash_name: str, digest: str) -> None:
    assert signature(KEY, DATA, hash_name, "hex") == digest
    assert base64.b64decode(signature(KEY, DATA, hash_name, "base64")).hex() == digest


@pytest.mark.skipif(shutil.which("openssl") is None, reason="NOT RUN: needs openssl")
@pytest.mark.parametrize("hash_name", ["sha1", "sha256", "sha512"])
def test_openssl_signs_the_same(hash_name: str) -> None:
    done = subprocess.run(
        ["openssl", "dgst", f"-{hash_name}", "-hmac", KEY, "-r"],
        input=DATA,
        capture_output=True,
        check=True,
    )
    assert done.stdout.decode().split()[0] == signature(KEY, DATA, hash_name, "hex")
