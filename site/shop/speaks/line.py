"""A scale's serial line: opened, asked or listened to, in a thread of its own, and opened anew whenever it comes back."""

from __future__ import annotations

import errno
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import suppress

import serial  # type: ignore[import-untyped]

from shop.speaks.frames import LONGEST, Reading, Splitter, as_text, gone, read_line, read_sma, tells_rest
from shop.speaks.judge import Judge
from shop.speaks.kept import SMA, Kept

# A weight of SMA SCP-0499: five a second are as quick as an eye, and leave the line and the display alone meanwhile.
ASK = b"\nW\r"
_ASKS_EVERY_S = 0.2
_ANSWERS_WITHIN_S = 0.5
_READS_WITHIN_S = 0.25
_LOOKS_EVERY_S = 1.0
_PARITIES = {"N": serial.PARITY_NONE, "E": serial.PARITY_EVEN, "O": serial.PARITY_ODD}

# Of a port that was taken out while it is read; each system has its own.
FAILS: tuple[type[Exception], ...] = (OSError, serial.SerialException, ValueError, TypeError)
with suppress(ImportError):  # Windows has no such terminals.
    import termios

    # It is an OSError in all but its kind.
    FAILS += (termios.error,)


def opened(kept: Kept) -> serial.Serial:
    """Without waiting for ever; no second program reads half of what comes."""
    data, parity, stop = tuple(kept.bits)
    return serial.Serial(
        kept.port, kept.baud, bytesize=int(data), parity=_PARITIES[parity], stopbits=int(stop), timeout=_READS_WITHIN_S,
        write_timeout=_ANSWERS_WITHIN_S, exclusive=True,
    )  # fmt: skip


def why(error: Exception, port: str) -> str:
    """In words, with what to do."""
    number, said = getattr(error, "errno", None), str(error)
    if number in (errno.ENOENT, errno.ENXIO, errno.ENODEV) or "FileNotFoundError" in said:
        return f"there is no port {port}. Remedy: plug its cable in; python3 build.py shop scale lists the ports that are there."
    if number in (errno.EACCES, errno.EPERM):
        return (
            f"this user may not read {port}. Remedy, on Linux: sudo usermod -aG dialout $USER (on some systems the group is "
            "uucp), then log out and in again."
        )
    # Windows says with one error that it is taken and that it may not be read.
    if number in (errno.EAGAIN, errno.EBUSY) or "PermissionError" in said:
        return f"another program reads {port}. Remedy: end it; if it's this shop's own server, end that, and start it again afterwards."
    # Of a file, or a device of another kind.
    if number == errno.ENOTTY or "Could not configure port" in said:
        return f"{port} is no serial port. Remedy: python3 build.py shop scale lists the ports that are there."
    return f"{port} can't be read ({said}). Remedy: pull its cable out and plug it in again."


def ask(port: serial.Serial) -> str:
    """One weight, as the display shows it now; "" where nothing came. An older answer that waits is thrown away first."""
    port.reset_input_buffer()
    port.write(ASK)
    until = time.monotonic() + _ANSWERS_WITHIN_S
    came = b""
    # A frame begins with LF, so its end is looked for, never a line's.
    while not came.endswith(b"\r") and len(came) < LONGEST and time.monotonic() < until:
        came += port.read_until(b"\r", LONGEST)
    return as_text(came)


class Line(threading.Thread):
    """Tells what one scale shows until it is stopped."""

    def __init__(
        self, kept: Kept, told: Callable[[Reading], None], trouble: Callable[[str], None], clock: Callable[[], float] = time.monotonic
    ) -> None:
        """trouble: is told why it isn't heard, once for each reason, and "" once it is heard again."""
        super().__init__(name=f"scale {kept.name}", daemon=True)
        self._kept, self._told, self._trouble, self._clock = kept, told, trouble, clock
        self._ends = threading.Event()
        self._said: str | None = None

    def end(self) -> None:
        self._ends.set()

    def run(self) -> None:
        while not self._ends.is_set():
            try:
                port = opened(self._kept)
            except FAILS as error:
                self._lost(why(error, self._kept.port))
                continue
            try:
                with port:
                    for reading in self._readings(port):
                        self._tell(reading)
            except FAILS:
                self._lost(f"{self._kept.port} went away. Remedy: plug its cable in; it's heard again by itself.")

    def _lost(self, trouble: str) -> None:
        self._told(gone())
        self._say(trouble)
        self._ends.wait(_LOOKS_EVERY_S)

    def _readings(self, port: serial.Serial) -> Iterator[Reading | None]:
        judge, lines = Judge(self._clock()), Splitter()
        while not self._ends.is_set():
            if self._kept.speaks == SMA:
                text = ask(port)
                texts = [text] if text else []
                self._ends.wait(_ASKS_EVERY_S)
            else:
                # What waits is taken at once, so that what is told is never old.
                texts = lines.feed(port.read(max(1, port.in_waiting)))
            now = self._clock()
            for text in texts:
                reading, rests = read(self._kept, text)
                yield judge.heard(reading, now, tells_rest=rests)
            if not texts:
                yield judge.silent(now)

    def _tell(self, reading: Reading | None) -> None:
        if reading is None:
            return
        self._told(reading)
        if reading.status == "gone":
            self._say("nothing comes from it. Remedy: switch the scale on, and look at its cable.")
        elif reading.status == "garbage":
            self._say(f"what comes from it can't be read ({reading.raw!r}). Remedy: python3 build.py shop scale tries it anew.")
        else:
            self._say("")

    def _say(self, trouble: str) -> None:
        # What can't be read differs from line to line.
        kind = trouble.partition("(")[0]
        if kind != self._said:
            self._said = kind
            with suppress(RuntimeError):  # The server is ending.
                self._trouble(trouble)


def read(kept: Kept, text: str) -> tuple[Reading, bool]:
    """What a line says, and whether it says by itself that the display has settled."""
    if kept.speaks == SMA:
        return read_sma(text), True
    return read_line(text, kept.form, kept.unit), tells_rest(text, kept.form)
