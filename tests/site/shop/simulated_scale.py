"""A scale with a serial port, played on a pseudoterminal: it drifts, overloads, sends garbage, dies in mid-line, is unplugged and comes back."""

import contextlib
import os
import pty
import select
import threading
import tty
from pathlib import Path


class SimulatedScale:
    """`place` is where its port is found, as a name of a device that stays while the device behind it changes."""

    def __init__(self, place: Path, *, asked: bool):
        self.place, self.asked = place, asked
        # What it answers, or sends every 50 ms; None keeps it quiet.
        self.frame: bytes | None = None
        self.questions: list[bytes] = []
        self._ends = threading.Event()
        self.plug_in()

    def plug_in(self) -> None:
        self._ends.clear()
        self.end, slave = pty.openpty()
        tty.setraw(slave)
        self._slave = slave
        self.place.unlink(missing_ok=True)
        self.place.symlink_to(os.ttyname(slave))
        self._runs = threading.Thread(target=self._run, args=(self.end,), daemon=True)
        self._runs.start()

    def unplug(self) -> None:
        self._ends.set()
        self._runs.join()
        self.place.unlink()
        os.close(self._slave)
        os.close(self.end)

    def _run(self, end: int) -> None:
        while not self._ends.is_set():
            ready, _, _ = select.select([end], [], [], 0.05)
            if ready:
                with contextlib.suppress(OSError):
                    self.questions.append(os.read(end, 100))
            if self.frame is not None and (bool(ready) if self.asked else True):
                self.sends(self.frame)

    def sends(self, came: bytes) -> None:
        with contextlib.suppress(OSError):
            os.write(self.end, came)


def sma(weight: str, unit: str = "kg ", status: str = " ", mode: str = "N", motion: str = " ") -> bytes:
    """A weight as SMA SCP-0499 frames it: LF s r n m f, ten characters of weight, three of unit, CR."""
    return f"\n{status}1{mode}{motion} {weight:>10}{unit}\r".encode()
