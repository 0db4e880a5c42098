"""Which scale hangs at which port: a small list in the shop's folder, written by `build.py shop scale`."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable
from dataclasses import asdict, dataclass, replace
from functools import cached_property
from pathlib import Path

from shop.files import replace_file
from shop.refusals import Refused
from shop.speaks.frames import LINE, MARKS, UNITS, compiled

SMA, LINES = "sma", "line"
BITS = ("8N1", "7E1", "7O1", "8E1", "8O1", "8N2", "7N2")
BAUD, USUAL_BITS = 9600, "8N1"


@dataclass(frozen=True)
class Kept:
    """One scale. name: as the workshop's scale is called, by which phones know whose reading it is."""

    name: str
    port: str
    speaks: str  # SMA: it's asked by SCP-0499; LINES: it sends unasked
    baud: int = BAUD
    bits: str = USUAL_BITS
    pattern: str | None = None
    unit: str | None = None

    @cached_property
    def form(self) -> re.Pattern[str]:
        """Of a line that comes unasked."""
        return compiled(self.pattern) if self.pattern else LINE

    @property
    def token(self) -> str:
        """Its name as a part of a subject."""
        return re.sub(r"[^a-z0-9]+", "-", self.name.lower()).strip("-") or "scale"


def looked_over(kept: Kept) -> Kept:
    """Refuses what could only be garbage later."""
    if not kept.name:
        raise Refused("Which scale? Remedy: python3 build.py shop scale NAME PORT, with the name that the scale has in the workshop.")
    if kept.bits not in BITS:
        raise Refused(f"{kept.bits!r} is no form of a line's characters. Remedy: --bits, one of {', '.join(BITS)}.")
    if kept.unit is not None and kept.unit not in UNITS:
        raise Refused(f"{kept.unit!r} is no unit of a scale here. Remedy: --unit, one of {', '.join(UNITS)}.")
    if kept.pattern is None:
        return kept
    try:
        groups = set(kept.form.groupindex)
    except ValueError as error:
        raise Refused(f"The pattern of “{kept.name}” can't be used: {error}. Remedy: put it right, or leave --pattern out.") from error
    if unknown := groups - MARKS:
        raise Refused(
            f"The pattern of “{kept.name}” names {', '.join(sorted(unknown))}, which nobody reads. "
            f"Remedy: name its groups out of {', '.join(sorted(MARKS))}."
        )
    if "weight" not in groups:
        raise Refused(f"The pattern of “{kept.name}” doesn't say where the weight is. Remedy: put (?<weight>…) around its digits.")
    if "unit" not in groups and kept.unit is None:
        raise Refused(f"The pattern of “{kept.name}” has no unit. Remedy: put (?<unit>…) around it, or say it with --unit kg.")
    return kept


def read(file: Path) -> tuple[Kept, ...]:
    if not file.exists():
        return ()
    try:
        return tuple(looked_over(Kept(**each)) for each in json.loads(file.read_text(encoding="utf-8")))
    except (ValueError, TypeError) as error:
        raise Refused(
            f"{file} can't be read ({error}). Remedy: remove it, and name the scale anew: python3 build.py shop scale NAME PORT"
        ) from error


def same(one: str, other: str) -> bool:
    """As phones compare them."""
    return " ".join(one.split()).casefold() == " ".join(other.split()).casefold()


def put(file: Path, kept: Kept) -> None:
    """In the place of what the scale, or the port, had before."""
    others = [each for each in read(file) if not same(each.name, kept.name) and each.port != kept.port]
    _write(file, [*others, kept])


def take_out(file: Path, name: str) -> bool:
    """Whether it was there."""
    before = read(file)
    left = [each for each in before if not same(each.name, name)]
    if len(left) < len(before):
        _write(file, left)
    return len(left) < len(before)


def _write(file: Path, all_: Iterable[Kept]) -> None:
    replace_file(file, json.dumps([asdict(each) for each in all_], indent=1, ensure_ascii=False).encode())


def with_options(kept: Kept, *, baud: int | None, bits: str | None, pattern: str | None, unit: str | None) -> Kept:
    """As the command line says it, the rest as it was."""
    return looked_over(
        replace(
            kept, baud=baud or kept.baud, bits=bits.upper() if bits else kept.bits, pattern=pattern or kept.pattern,
            unit=unit or kept.unit,
        )
    )  # fmt: skip
