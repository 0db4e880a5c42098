"""A serial line read from a simulated scale: what is told while it drifts, fails and is pulled out, and what a start refuses."""

import argparse
import json
import os
import time

import pytest
from simulated_scale import SimulatedScale, sma

from shop.refusals import Refused
from shop.speaks import command, kept, trial
from shop.speaks.kept import LINES, SMA, Kept
from shop.speaks.line import ASK, Line

pytestmark = pytest.mark.skipif(os.name == "nt", reason="pseudoterminals are of POSIX")
PATIENCE_S = 20


class Heard:
    """What one line told, in the order of time."""

    def __init__(self, scale: SimulatedScale, **how):
        self.readings, self.troubles = [], []
        how = {"name": "bench scale", "port": str(scale.place), "speaks": SMA if scale.asked else LINES} | how
        self.line = Line(Kept(**how), self.readings.append, self.troubles.append)
        self.line.start()

    def until(self, wanted, since: int = 0):
        """The first reading since then that is wanted."""
        ends = time.monotonic() + PATIENCE_S
        while time.monotonic() < ends:
            for reading in self.readings[since:]:
                if wanted(reading):
                    return reading
            time.sleep(0.01)
        raise AssertionError(self.readings[-5:])

    def status(self, status: str, since: int = 0):
        return self.until(lambda reading: reading.status == status, since)

    def end(self):
        self.line.end()
        self.line.join(5)
        assert not self.line.is_alive()


@pytest.fixture
def made(tmp_path):
    """Makes a scale and what hears it, and ends both."""
    ends = []

    def make(*, asked: bool, frame: bytes | None = None, **how):
        scale = SimulatedScale(tmp_path / "ttyScale", asked=asked)
        scale.frame = frame
        heard = Heard(scale, **how)
        ends.extend((heard.end, scale))
        return scale, heard

    yield make
    for each in ends:
        if isinstance(each, SimulatedScale):
            if each.place.exists():
                each.unplug()
        else:
            each()


def test_a_scale_that_is_asked_is_told_as_it_drifts_and_settles(made):
    scale, heard = made(asked=True, frame=sma("0.00", status="Z"))
    assert heard.status("stable").zero
    for count in ("1.20", "6.84", "12.30"):
        scale.frame = sma(count, motion="M")
        assert heard.until(lambda reading, count=count: reading.count == count).status == "moving"
    scale.frame = sma("12.34")
    settled = heard.until(lambda reading: reading.count == "12.34")
    assert (settled.status, settled.unit, settled.net, settled.zero) == ("stable", "kg", True, False)
    # Asked by the standard's own command alone: nothing sets its tare or its zero from here.
    assert b"".join(scale.questions).replace(ASK, b"") == b""


def test_overload_and_dashes_are_no_number(made):
    scale, heard = made(asked=True, frame=sma("151.00", status="O", mode="G"))
    assert heard.status("over").count is None
    scale.frame = sma("-" * 10, status="E", mode="G")
    assert heard.status("zero_error").count is None
    scale.frame = sma("-" * 10, mode="G")
    assert heard.status("dashes").count is None


def test_a_line_that_breaks_off_leaves_the_next_one_whole(made):
    scale, heard = made(asked=False)
    scale.sends(b"ST,NT,+   11.11kg\r\n")
    for _ in range(5):
        scale.sends(b"ST,NT,+   12.")
        time.sleep(0.3)
        # Switched off and on in mid-line: the rest of it never comes.
        scale.sends(b"\r\nST,NT,+   98.76kg\r\n")
    heard.until(lambda reading: reading.count == "98.76")
    assert {reading.count for reading in heard.readings} <= {"98.76", None}


def test_garbage_is_told_as_garbage_once_nothing_else_comes_and_a_weight_ends_it(made):
    scale, heard = made(asked=False, frame=b"\xf3\x81?#\r\n")
    assert heard.status("garbage").count is None
    assert "can't be read" in heard.troubles[0]
    scale.frame = b"ST,GS,+   12.34kg\r\n"
    assert heard.until(lambda reading: reading.count == "12.34")
    # The terminal is told of it once, not with each line.
    assert [bool(each) for each in heard.troubles] == [True, False]


def test_a_scale_that_is_switched_off_is_gone_and_is_heard_again(made):
    scale, heard = made(asked=True, frame=sma("12.34"))
    heard.status("stable")
    scale.frame = None
    assert heard.status("gone").count is None
    before = len(heard.readings)
    scale.frame = sma("12.36")
    assert heard.until(lambda reading: reading.count == "12.36", before)


@pytest.mark.parametrize(
    ("asked", "frame", "later"),
    [(False, b"ST,NT,+   12.34kg\r\n", b"ST,NT,+    0.00kg\r\n"), (True, sma("12.34"), sma("0.00"))],
    ids=["sends", "is asked"],
)
def test_a_port_that_is_pulled_out_is_gone_and_comes_back_by_itself(made, asked, frame, later):
    scale, heard = made(asked=asked, frame=frame)
    heard.status("stable")
    scale.unplug()
    assert heard.status("gone").count is None
    before = len(heard.readings)
    scale.frame = later
    scale.plug_in()
    back = heard.status("stable", before)
    # What it showed before is never told again.
    assert back.count == "0.00"
    assert "went away. Remedy: plug its cable in" in heard.troubles[1]
    assert heard.troubles[-1] == ""


@pytest.fixture(autouse=True)
def in_a_hurry(monkeypatch):
    """A real display may send once a second; the simulated one does twenty times."""
    monkeypatch.setattr(trial, "_LISTENS_S", 0.6)
    monkeypatch.setattr(trial, "_ASKS", 2)


def wanted(words, **said):
    options = {"baud": None, "bits": None, "pattern": None, "unit": None} | said
    return argparse.Namespace(words=words, **options)


@pytest.mark.parametrize(("asked", "frame", "speaks"), [(True, sma("12.34"), SMA), (False, b"ST,NT,+   12.34kg\r\n", LINES)])
def test_the_command_finds_out_how_a_scale_speaks_and_keeps_it(tmp_path, capsys, asked, frame, speaks):
    scale = SimulatedScale(tmp_path / "ttyScale", asked=asked)
    scale.frame = frame
    file = tmp_path / "scales.json"
    try:
        assert command.deed(file, wanted(["bench", "scale", str(scale.place)])) == 0
    finally:
        scale.unplug()
    assert "shows 12.34 kg, settled" in capsys.readouterr().out
    assert kept.read(file) == (Kept("bench scale", str(scale.place), speaks),)
    command.deed(file, wanted([]))
    assert f"bench scale  at {scale.place}, 9600 8N1" in capsys.readouterr().out
    assert command.deed(file, wanted(["Bench scale", "off"])) == 0
    assert kept.read(file) == ()
    with pytest.raises(Refused, match="No scale here is called"):
        command.deed(file, wanted(["Bench scale", "off"]))


@pytest.mark.parametrize(
    ("frame", "words"),
    [(None, "Nothing is heard at .*Remedy: switch the scale on"), (b"\xf3\x81?#\r\n", "no weight that can be read.*Remedy: set the speed")],
)
def test_a_scale_that_says_nothing_or_garbage_is_refused_and_not_kept(tmp_path, frame, words):
    scale = SimulatedScale(tmp_path / "ttyScale", asked=False)
    scale.frame = frame
    try:
        with pytest.raises(Refused, match=words):
            command.deed(tmp_path / "scales.json", wanted(["bench scale", str(scale.place)]))
    finally:
        scale.unplug()
    assert not (tmp_path / "scales.json").exists()


def test_a_port_that_is_not_there_or_is_none_is_refused_with_its_remedy(tmp_path):
    file = tmp_path / "scales.json"
    with pytest.raises(Refused, match="there is no port .*Remedy: plug its cable in"):
        command.deed(file, wanted(["bench scale", str(tmp_path / "none")]))
    (tmp_path / "file").write_text("")
    with pytest.raises(Refused, match="is no serial port"):
        command.deed(file, wanted(["bench scale", str(tmp_path / "file")]))
    with pytest.raises(Refused, match="At which port"):
        command.deed(file, wanted(["bench scale"]))


@pytest.mark.skipif(os.name == "nt" or os.geteuid() == 0, reason="whoever may do all can read any port")
def test_a_port_that_this_user_may_not_read_is_refused_with_its_remedy(tmp_path):
    (tmp_path / "port").touch(0o000)
    with pytest.raises(Refused, match="may not read .*usermod -aG dialout"):
        command.deed(tmp_path / "scales.json", wanted(["bench scale", str(tmp_path / "port")]))


def test_a_port_that_another_program_reads_is_refused_with_its_remedy(made, tmp_path):
    scale, heard = made(asked=True, frame=sma("12.34"))
    heard.status("stable")
    with pytest.raises(Refused, match="another program reads .*end it"):
        trial.tried(Kept("bench scale", str(scale.place), SMA))


@pytest.mark.parametrize(
    ("said", "words"),
    [
        ({"pattern": "(?<weight>["}, "no regular expression"),
        ({"pattern": "(?<mass>.*)kg"}, "names mass, which nobody reads"),
        ({"pattern": ".*kg", "unit": "kg"}, "doesn't say where the weight is"),
        ({"pattern": "(?<weight>.*)kg"}, "has no unit"),
        ({"unit": "stone"}, "no unit of a scale"),
        ({"bits": "9N1"}, "no form of a line"),
    ],
)
def test_what_could_only_be_garbage_is_refused_before_anything_is_heard(tmp_path, said, words):
    with pytest.raises(Refused, match=rf"{words}.*Remedy"):
        command.deed(tmp_path / "scales.json", wanted(["bench scale", "/dev/none"], **said))
    # And at the server's start, of a file that somebody wrote by hand.
    file = tmp_path / "by_hand.json"
    file.write_text(json.dumps([{"name": "bench scale", "port": "/dev/none", "speaks": "line"} | said]))
    with pytest.raises(Refused, match=rf"{words}.*Remedy"):
        kept.read(file)


def test_a_list_that_is_damaged_is_refused_with_its_remedy(tmp_path):
    file = tmp_path / "scales.json"
    file.write_text("[{")
    with pytest.raises(Refused, match="can't be read.*Remedy: remove it"):
        kept.read(file)
    assert kept.read(tmp_path / "none.json") == ()


def test_a_scale_that_moves_to_another_port_is_not_kept_twice(tmp_path):
    file = tmp_path / "scales.json"
    for name, port in (("bench scale", "/dev/a"), ("floor scale", "/dev/b"), ("Bench  scale", "/dev/b")):
        kept.put(file, Kept(name, port, SMA))
    assert [(each.name, each.port) for each in kept.read(file)] == [("Bench  scale", "/dev/b")]
