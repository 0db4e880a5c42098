"""What stands in the terminal, in English: who starts a server reads it, and no phone."""

from __future__ import annotations

import io
import sys
from collections.abc import Iterable

import segno

from shop.authority import Authority
from shop.folder import Shop
from shop.limits import PHONES
from shop.trust_page import lines, trust_address

NO_SEAT = f"{PHONES} phones belong already, and no more can. Remedy: python3 build.py shop revoke NAME; shop status lists them."


def say(words: str = "") -> None:
    print(words, flush=True)


def code(text: str) -> str:
    """A QR code in half blocks: light on dark where the terminal can be told so, or a camera sees its negative."""
    drawn = io.StringIO()
    segno.make(text, error="l", micro=False).terminal(drawn, compact=True)
    if not sys.stdout.isatty():
        return drawn.getvalue()
    return "".join(f"\x1b[40;97m{line}\x1b[0m\n" for line in drawn.getvalue().splitlines())


def opened(shop: Shop, authority: Authority, trust_port: int, numbers: Iterable[str], *, is_new: bool) -> None:
    """What is said once all runs."""
    address = trust_address(shop, trust_port)
    say(f"\nThe shop is open at {shop.origin}/   (Ctrl+C ends it)")
    say(
        "\nA phone that comes here for the first time has to trust this computer. On the shop's Wi-Fi, open on the phone:"
    )
    say(f"    {address}")
    for number in numbers:
        say(f"    or, if the phone doesn't find that: http://{number}:{trust_port}/")
    say(code(address))
    say("It says what to do, and can be printed. Compare what the phone says of the certificate with this (SHA-256):")
    for line in lines(authority.fingerprint):
        say(f"    {line}")
    say(
        f"The phone then trusts this computer about {shop.name} and about nothing else, until {authority.ends:%Y-%m-%d}."
    )
    if is_new:
        say(
            "\nThis is a new shop. The first phone that is paired is its owner's: it can let others in and turn them out."
        )


def pairing(address: str, until: str) -> None:
    say("\nOn the phone, scan this with its camera, or open the address:")
    say(code(address))
    say(address)
    say(f"It's good for one phone, until {until}. Whoever has it can ask to come in, so show it to nobody else.")
