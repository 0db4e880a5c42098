"""Each reason not to start, with its remedy, and that what is right isn't refused."""

import json
import os
import socket
import stat
from datetime import UTC, datetime, timedelta

import pytest

from shop import programs, refusals
from shop.folder import Folder, find_shop, keep_shop
from shop.refusals import Refused

NOW = datetime(2026, 12, 1, 8, tzinfo=UTC)
BUILT = datetime(2026, 11, 1, tzinfo=UTC)


def open_shop(folder, *asked):
    """As a start does that nothing else keeps from going on."""
    shop, is_new = find_shop(folder, *asked)
    keep_shop(folder, shop)
    return shop, is_new


def test_a_clock_before_the_builds_date_is_refused():
    with pytest.raises(Refused, match=r"clock says 2001-01-01 00:00 UTC, .* from 2026-11-01.*Remedy: set the clock"):
        refusals.clock(BUILT, datetime(2001, 1, 1, tzinfo=UTC))
    refusals.clock(BUILT, BUILT - timedelta(hours=12))
    refusals.clock(BUILT, NOW)


def test_what_a_start_writes_anew_makes_no_build_of_it(tmp_path):
    for folder in ("calc", "site", "shared"):
        (tmp_path / folder).mkdir()
    for name, year in (("calc/a.py", 2026), ("shared/es.mo", 2030), ("site/a.pyc", 2031)):
        file = tmp_path / name
        file.write_text("")
        at = datetime(year, 11, 1, tzinfo=UTC).timestamp()
        os.utime(file, (at, at))
    assert refusals.built_on(tmp_path) == BUILT


def test_a_disk_that_is_nearly_full_is_refused(tmp_path):
    with pytest.raises(Refused, match=r"nearly full.*Remedy: make room"):
        refusals.disk(tmp_path, least=1 << 62)
    refusals.disk(tmp_path, least=1)


def test_a_folder_that_cant_be_written_is_refused(tmp_path):
    in_the_way = tmp_path / "file"
    in_the_way.write_text("")
    with pytest.raises(Refused, match=r"Nothing can be written.*Remedy"):
        refusals.writable(in_the_way / "shop")
    refusals.writable(tmp_path / "new" / "shop")
    assert not list((tmp_path / "new" / "shop").iterdir())


@pytest.mark.skipif(os.name == "nt" or os.geteuid() == 0, reason="whoever may do all can write anywhere")
def test_a_folder_of_somebody_else_is_refused(tmp_path):
    tmp_path.chmod(0o500)
    with pytest.raises(Refused, match="Remedy: let this user write there"):
        refusals.writable(tmp_path)


def test_a_taken_port_is_refused_with_the_option_for_another():
    with socket.socket() as other:
        other.bind(("", 0))
        other.listen()
        port = other.getsockname()[1]
        with pytest.raises(Refused, match=rf"Port {port} can't be used.*Remedy: --trust-port N"):
            refusals.ports([(port, "--trust-port N")])
    refusals.ports([(port, "--trust-port N")])
    with pytest.raises(Refused, match="Port 70000"):
        refusals.ports([(70_000, "")])


@pytest.mark.parametrize("name", ["192.168.1.5", "tarewell", "Tarewell.local", "a b.local", "-a.local", "x.local/y", ""])
def test_a_name_that_is_none_is_refused(name):
    with pytest.raises(Refused, match="Remedy: --name"):
        refusals.host_name(name)


@pytest.mark.parametrize("name", ["tarewell.local", "soap.home.arpa", "shop-2.example"])
def test_a_name_is_taken(name):
    refusals.host_name(name)


def test_a_new_folder_gets_a_shop_that_is_the_same_the_next_day(tmp_path):
    folder = Folder(tmp_path)
    first, is_new = open_shop(folder, None, None, BUILT, NOW)
    assert is_new
    assert (first.name, first.port, first.origin) == ("tarewell.local", 8443, "https://tarewell.local:8443")
    assert set(first.id) <= set("abcdefghijklmnopqrstuvwxyz234567")
    assert len(first.id) == 8
    again, is_new = open_shop(folder, None, None, BUILT, NOW + timedelta(days=1))
    assert (again, is_new) == (first, False)


def test_another_name_or_port_than_the_folders_is_refused(tmp_path):
    folder = Folder(tmp_path)
    open_shop(folder, "soap.local", 9000, BUILT, NOW)
    for name, port in (("other.local", None), (None, 9001)):
        with pytest.raises(Refused, match=r"is the shop at https://soap.local:9000.*Remedy.*--data"):
            open_shop(folder, name, port, BUILT, NOW)
    assert open_shop(folder, "soap.local", 9000, BUILT, NOW)[0].port == 9000


def test_a_start_that_came_to_nothing_fixes_no_port(tmp_path):
    folder = Folder(tmp_path)
    find_shop(folder, None, None, BUILT, NOW)
    assert not list(tmp_path.iterdir())
    assert open_shop(folder, None, 9000, BUILT, NOW)[0].port == 9000


def test_a_folder_of_something_else_is_refused_and_left_alone(tmp_path):
    (tmp_path / "letters.txt").write_text("mine")
    with pytest.raises(Refused, match=r"no shop server's \(letters.txt\).*Remedy.*--data"):
        open_shop(Folder(tmp_path), None, None, BUILT, NOW)
    assert [path.name for path in tmp_path.iterdir()] == ["letters.txt"]


def test_a_damaged_shop_file_is_refused(tmp_path):
    (tmp_path / "shop.json").write_text("{")
    with pytest.raises(Refused, match=r"can't be read.*Remedy"):
        open_shop(Folder(tmp_path), None, None, BUILT, NOW)


def test_a_clock_before_the_newest_build_that_was_ever_served_is_refused(tmp_path):
    folder = Folder(tmp_path)
    open_shop(folder, None, None, NOW, NOW)
    # Files that were unpacked anew may look old.
    with pytest.raises(Refused, match="Remedy: set the clock"):
        open_shop(folder, None, None, BUILT - timedelta(days=300), NOW - timedelta(days=3))
    assert json.loads(folder.shop.read_text())["build_date"] == "2026-12-01T08:00:00.000Z"


def test_both_programs_are_those_that_were_looked_at():
    for name in (programs.ENGINE, programs.DOOR):
        path = programs.program(name)
        assert path.stat().st_mode & stat.S_IXUSR


def test_another_program_under_its_name_is_refused(tmp_path):
    with pytest.raises(Refused, match=r"not in this environment.*Remedy"):
        programs.program(programs.ENGINE, tmp_path)
    name = "nats-server.exe" if os.name == "nt" else "nats-server"
    (tmp_path / name).write_bytes(b"another one")
    with pytest.raises(Refused, match=r"not the program that was looked at.*Remedy"):
        programs.program(programs.ENGINE, tmp_path)


def test_every_platform_has_both_programs_and_no_digest_twice():
    platforms = {(system, machine) for _, system, machine in programs.DIGESTS}
    assert platforms == {(system, machine) for system in ("linux", "darwin", "win32") for machine in ("x86_64", "arm64")}
    assert len({*programs.DIGESTS.values()}) == len(programs.DIGESTS) == 12
