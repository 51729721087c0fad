"""Passwords, PINs and tokens. Only what cannot be turned back is kept."""

from __future__ import annotations

import hashlib
import hmac
import re
import secrets

from domain.errors import InvalidValue
from domain.saying import say

COST = {"n": 2**14, "r": 8, "p": 1}
"""scrypt as in RFC 7914, 16 MB of memory for a guess."""
LEAST_PASSWORD, MOST_PASSWORD = 10, 200


def kept_secret(secret: str) -> str:
    """What is kept of a password or PIN: a salt of its own and its scrypt."""
    salt = secrets.token_bytes(16)
    return f"{salt.hex()}${_scrypt(secret, salt).hex()}"


def is_secret(secret: str, kept: str | None) -> bool:
    """Takes as long where nothing is kept, so that time tells nobody which names exist."""
    salt, _, digest = (kept or f"{'00' * 16}$").partition("$")
    same = hmac.compare_digest(_scrypt(secret, bytes.fromhex(salt)).hex(), digest)
    return same and kept is not None


def _scrypt(secret: str, salt: bytes) -> bytes:
    return hashlib.scrypt(secret[:MOST_PASSWORD].encode(), salt=salt, dklen=32, **COST)


def new_token() -> str:
    return secrets.token_urlsafe(32)


def token_digest(token: str) -> str:
    """A token is long and random, so a plain digest keeps it safe."""
    return hashlib.sha256(token.encode()).hexdigest()


def checked_password(text: str) -> str:
    if not LEAST_PASSWORD <= len(text) <= MOST_PASSWORD:
        raise InvalidValue(
            "password",
            say(
                "a password has {least} to {most} characters; a few words do well",
                least=LEAST_PASSWORD,
                most=MOST_PASSWORD,
            ),
        )
    return text


def checked_pin(text: str) -> str:
    if not re.fullmatch(r"[0-9]{4,8}", text):
        raise InvalidValue("pin", say("a PIN has 4 to 8 digits"))
    if len(set(text)) == 1 or text in "0123456789" or text in "9876543210":
        raise InvalidValue("pin", say("this PIN is the first that anybody would try; choose another"))
    return text
