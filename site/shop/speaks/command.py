"""`build.py shop scale`: which scales of the workshop this computer hears."""

from __future__ import annotations

import argparse
from collections.abc import Iterator, Sequence
from pathlib import Path

from shop import terminal
from shop.refusals import Refused
from shop.speaks import kept, trial
from shop.speaks.frames import Reading
from shop.speaks.kept import SMA, Kept

_OFF = "off"
_STATES = {
    "stable": "settled", "moving": "still moving", "over": "more than it carries", "under": "less than it carries",
    "zero_error": "an error of its zero", "dashes": "dashes",
}  # fmt: skip


def deed(file: Path, options: argparse.Namespace) -> int:
    words: Sequence[str] = options.words
    if not words:
        for line in listed(file):
            terminal.say(line)
        return 0
    if len(words) == 1:
        raise Refused("At which port? Remedy: python3 build.py shop scale NAME PORT; without both, it lists the ports that are there.")
    # A scale's name may be several words, a port is one.
    name, port = " ".join(words[:-1]), words[-1]
    if port == _OFF:
        return _off(file, name)
    wanted = kept.with_options(
        Kept(name, port, SMA), baud=options.baud, bits=options.bits, pattern=options.pattern, unit=options.unit
    )
    terminal.say(f"Listening at {port} for a few seconds…")
    heard = trial.tried(wanted)
    kept.put(file, heard.kept)
    how = "answers when it's asked (SMA SCP-0499)" if heard.kept.speaks == SMA else "sends by itself"
    terminal.say(f"“{name}” {how}, and shows {shown(heard.reading)}.")
    terminal.say("It's kept. The shop reads it from its next start on: python3 build.py shop")
    terminal.say(f"Phones show it at steps on the workshop's scale that is called “{name}”. Another name there? Then give that one here.")
    return 0


def _off(file: Path, name: str) -> int:
    if not kept.take_out(file, name):
        raise Refused(f"No scale here is called “{name}”. Remedy: python3 build.py shop scale lists their names.")
    terminal.say(f"“{name}” isn't read any more from the shop's next start on.")
    return 0


def listed(file: Path) -> Iterator[str]:
    scales = kept.read(file)
    yield "Scales that this computer hears:" if scales else "This computer hears no scale."
    for each in scales:
        yield f"  {each.name}  at {each.port}, {each.baud} {each.bits}, {'asked by SMA SCP-0499' if each.speaks == SMA else 'sends by itself'}"
    there = trial.ports()
    yield "\nPorts that are there:" if there else "\nNo port is there. Plug the scale's cable in."
    for port in there:
        yield f"  {port}"
    yield "\nTo hear one: python3 build.py shop scale NAME PORT, with the name that the scale has in the workshop."


def shown(reading: Reading) -> str:
    state = _STATES[reading.status]
    return state if reading.count is None else f"{reading.count} {reading.unit}, {state}"
