"""PINs and passwords: what is allowed, how they are kept (scrypt), how one is held against what is kept."""

from __future__ import annotations

import hashlib
import hmac
import secrets
import unicodedata
from itertools import pairwise

# 16 MB and about a sixth of a second each. Parameters as OWASP's Password Storage Cheat Sheet lists them for scrypt
# (N=2^14, r=8, p=5), from memory.
COST, BLOCK, LANES = 2**14, 8, 5
LONGEST = 200
PIN_DIGITS = range(4, 9)
PASSWORD_LETTERS = 10
COMMON = frozenset({
    "password", "passwort", "letmein", "kitchen", "stillroom", "restaurant", "welcome", "qwerty", "iloveyou",
    "changeme",
})  # fmt: skip


def plain(secret: str) -> str:
    """A secret as it is compared: one form of every letter and digit, whichever keyboard wrote it."""
    return unicodedata.normalize("NFKC", secret[: LONGEST + 1])


def is_pin(secret: str) -> bool:
    """Whether it is made like a PIN: 4 to 8 digits."""
    text = plain(secret)
    return len(text) in PIN_DIGITS and text.isascii() and text.isdigit()


def pin_problem(secret: str) -> str | None:
    """Why a PIN can't be taken; None where it can."""
    if not is_pin(secret):
        return "A PIN is 4 to 8 digits."
    digits = [int(d) for d in plain(secret)]
    steps = {b - a for a, b in pairwise(digits)}
    half = digits[: len(digits) // 2]
    if steps in ({0}, {1}, {-1}) or half + half == digits or (len(digits) == 4 and digits[:2] in ([1, 9], [2, 0])):
        return "That PIN is among the first that anyone tries: no runs, no repeats, no years."
    return None


def password_problem(secret: str, name: str) -> str | None:
    """Why a password can't be taken; None where it can."""
    text = plain(secret)
    if len(text) < PASSWORD_LETTERS:
        return f"A password has at least {PASSWORD_LETTERS} characters. Three or four words do well."
    if len(text) > LONGEST:
        return f"A password has at most {LONGEST} characters."
    stripped = "".join(c for c in text.casefold() if c.isalpha())
    if len(set(text)) < 5 or stripped in COMMON | {name.casefold()} or text.isdigit():
        return "That password is among the first that anyone tries."
    return None


def keep(secret: str) -> str:
    """What is kept of a secret: the way it was hashed, a salt and the hash."""
    salt = secrets.token_bytes(16)
    return f"scrypt:{COST}:{BLOCK}:{LANES}:{salt.hex()}:{_scrypt(secret, salt, COST).hex()}"


def matches(secret: str, kept: str | None) -> bool:
    """Whether a secret is the one that was kept. Without a kept one it takes as long, and is not."""
    stand_in = f"scrypt:{COST}:{BLOCK}:{LANES}:{'00' * 16}:{'00' * 32}"
    _, cost, _, _, salt, wanted = (kept or stand_in).split(":")
    found = _scrypt(secret, bytes.fromhex(salt), int(cost))
    return hmac.compare_digest(found, bytes.fromhex(wanted)) and kept is not None


def _scrypt(secret: str, salt: bytes, cost: int) -> bytes:
    data = plain(secret).encode("utf-8", "surrogatepass")
    return hashlib.scrypt(data, salt=salt, n=cost, r=BLOCK, p=LANES, maxmem=64 * 1024 * 1024, dklen=32)
