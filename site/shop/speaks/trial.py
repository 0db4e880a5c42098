"""Finds out how a scale speaks, while somebody stands before it: it is listened to, then asked."""

from __future__ import annotations

import time
from dataclasses import dataclass, replace

import serial  # type: ignore[import-untyped]
from serial.tools import list_ports  # type: ignore[import-untyped]

from shop.refusals import Refused
from shop.speaks import line
from shop.speaks.frames import Reading, Splitter
from shop.speaks.kept import LINES, SMA, Kept

# A display that sends by itself does so at least once a second.
_LISTENS_S = 3.0
_ASKS = 5


@dataclass(frozen=True)
class Heard:
    kept: Kept
    reading: Reading


def tried(kept: Kept) -> Heard:
    """The scale as it is to be kept, with what it shows; Refused where it isn't understood."""
    came: list[str] = []
    try:
        with line.opened(kept) as port:
            found = _by_itself(kept, port, came) or (_asked(kept, port, came) if kept.pattern is None else None)
    except line.FAILS as error:
        raise Refused(f"“{kept.name}” can't be heard: {line.why(error, kept.port)}") from error
    if found:
        return found
    if came:
        raise Refused(
            f"{kept.port} sends something, but no weight that can be read: {came[-1]!r}. Remedy: set the speed and the characters "
            f"that the display is set to (--baud, now {kept.baud}; --bits, now {kept.bits}), its unit where it names none "
            "(--unit kg), or say how its lines are made (--pattern)."
        )
    raise Refused(
        f"Nothing is heard at {kept.port}. Remedy: switch the scale on, look at its cable, and set its display to send by itself "
        "or to answer by SMA SCP-0499."
    )


def _by_itself(kept: Kept, port: serial.Serial, came: list[str]) -> Heard | None:
    lines, until = Splitter(), time.monotonic() + _LISTENS_S
    while time.monotonic() < until:
        for text in lines.feed(port.read(max(1, port.in_waiting))):
            came.append(text)
            for speaks in (LINES, SMA) if kept.pattern is None else (LINES,):
                found = _read(replace(kept, speaks=speaks), text)
                if found:
                    return found
    return None


def _asked(kept: Kept, port: serial.Serial, came: list[str]) -> Heard | None:
    asks = replace(kept, speaks=SMA)
    for _ in range(_ASKS):
        text = line.ask(port)
        if text:
            came.append(text)
        found = _read(asks, text)
        if found:
            return found
    return None


def _read(kept: Kept, text: str) -> Heard | None:
    reading, _ = line.read(kept, text)
    return None if reading.status == "garbage" else Heard(kept, reading)


def ports() -> list[str]:
    """Those of this computer, each with what is plugged in."""
    return [f"{each.device}  {each.description}" for each in sorted(list_ports.comports())]
