"""Names made by chance, and the form of a phone's public key."""

from __future__ import annotations

import base64
import binascii
import secrets

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey, Ed25519PublicKey

from shop.limits import SECRET_BYTES

LETTERS = "abcdefghijklmnopqrstuvwxyz234567"
# The first byte of a user's public nkey, which is why it begins with U; then 32 bytes of Ed25519 and two of a checksum.
_USER = 20 << 3
_LONG = 35


def name_by_chance(length: int) -> str:
    return "".join(secrets.choice(LETTERS) for _ in range(length))


def new_secret() -> str:
    return base64.b32encode(secrets.token_bytes(SECRET_BYTES)).decode().rstrip("=").lower()


def is_user_key(text: object) -> bool:
    """Whether the engine would take it for the public key of a user: it refuses a whole configuration for one that is none."""
    if not isinstance(text, str) or len(text) != 56:
        return False
    try:
        raw = base64.b32decode(text)
    except (binascii.Error, ValueError):
        return False
    return len(raw) == _LONG and raw[0] == _USER and checksum(raw[:-2]) == int.from_bytes(raw[-2:], "little")


def encoded(key: Ed25519PublicKey) -> str:
    """The public key of a user as nkeys write it."""
    return _in_letters(bytes([_USER]) + key.public_bytes_raw())


def seed_of(key: Ed25519PrivateKey) -> str:
    """A user's secret key as nkeys write it: "a seed" and "of a user" share the first two bytes, five bits each."""
    seed = 18 << 3
    return _in_letters(bytes([seed | _USER >> 5, (_USER & 31) << 3]) + key.private_bytes_raw())


def _in_letters(raw: bytes) -> str:
    return base64.b32encode(raw + checksum(raw).to_bytes(2, "little")).decode().rstrip("=")


def checksum(content: bytes) -> int:
    """CRC-16 with the polynomial 0x1021, beginning at 0 (XMODEM), as nkeys have it."""
    return binascii.crc_hqx(content, 0)
