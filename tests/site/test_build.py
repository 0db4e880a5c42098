"""What a build must not be able to get wrong quietly: pinned digests, lock files without addresses, one policy."""

import gzip
import hashlib
import json
import re
import sys
from pathlib import Path

import pytest

from offline.assemble import file_list, service_worker
from offline.policy import HEADERS, headers_file
from pages.app import POLICY, create_app
from runtime import bundle, fetch

ROOT = Path(__file__).parents[2]
REQUIREMENTS = sorted((ROOT / ".requirements").glob("*.txt"))


@pytest.mark.parametrize("path", [*REQUIREMENTS, ROOT / "site" / "package-lock.json"], ids=lambda path: path.name)
def test_lock_files_name_no_place_to_fetch_from(path):
    text = path.read_text("utf-8")
    assert '"resolved"' not in text
    if path.suffix == ".json":
        # Where a package asks for donations is no place to fetch it from.
        packages = json.loads(text)["packages"].values()
        text = json.dumps([{key: value for key, value in package.items() if key != "funding"} for package in packages])
    assert "://" not in text
    assert not re.search(r"^-|/(home|root|tmp|opt)/", text, re.MULTILINE)


@pytest.mark.parametrize("path", REQUIREMENTS, ids=lambda path: path.name)
def test_every_requirement_is_pinned_with_digests(path):
    entries = re.split(r"(?<!\\)\n", path.read_text("utf-8").strip())
    assert entries
    for entry in entries:
        assert re.match(r"[A-Za-z0-9._-]+==[^\s;]+", entry), entry
        assert "--hash=sha256:" in entry, entry


def test_every_npm_package_has_a_digest():
    packages = json.loads((ROOT / "site" / "package-lock.json").read_text("utf-8"))["packages"]
    assert [name for name, package in packages.items() if name and not package.get("integrity")] == []


def test_the_runtime_is_the_pinned_release():
    wanted = json.loads((ROOT / "site" / "package.json").read_text("utf-8"))["dependencies"]["pyodide"]
    pinned = json.loads(fetch.LOCK.read_text("utf-8"))
    assert pinned["version"] == wanted
    assert set(fetch.SHIPPED) <= set(pinned["sha256"])


def test_a_changed_runtime_file_is_refused(tmp_path):
    package = tmp_path / "pyodide"
    package.mkdir()
    for name in json.loads(fetch.LOCK.read_text("utf-8"))["sha256"]:
        (package / name).write_bytes(b"something else")
    with pytest.raises(RuntimeError, match="not the file that pyodide.lock.json pins"):
        fetch.checked_pyodide(tmp_path)


def test_pages_and_headers_carry_one_policy():
    # HTML standard, "pragma directives": a meta element can't hold frame-ancestors, so the header alone has it.
    assert HEADERS["Content-Security-Policy"] == f"{POLICY}; frame-ancestors 'none'"
    assert f"  Content-Security-Policy: {POLICY}; frame-ancestors 'none'\n" in headers_file()
    page = create_app().test_client().get("/").get_data(as_text=True)
    stated = re.findall(r'<meta http-equiv="Content-Security-Policy" content="([^"]*)">', page)
    assert [text.replace("&#39;", "'") for text in stated] == [POLICY]


def test_the_list_names_pages_by_their_folder_and_every_file_by_its_digest(tmp_path):
    (tmp_path / "batch").mkdir()
    for name in ("index.html", "batch/index.html", "batch/a.css", "service-worker.js", "_headers"):
        (tmp_path / name).write_text(name, encoding="utf-8")
    # SHA-256 by coreutils: printf 'batch/a.css' | sha256sum
    digest = "45632cdd59e41c403ca2da01fe216c29619bca1d8af647d3ae805d29d14c9dc8"
    assert set(file_list(tmp_path)) == {"", "batch/", "batch/a.css"}
    assert file_list(tmp_path)["batch/a.css"] == digest


def test_what_travels_packed_is_listed_by_what_is_kept_of_it_and_by_what_travels(tmp_path):
    (tmp_path / "runtime").mkdir()
    packed = gzip.compress(b"memory")
    (tmp_path / "runtime" / "snapshot.0.bin").write_bytes(packed)
    # SHA-256 by coreutils: printf memory | sha256sum
    digest = "c064fbca9d9de8dd9bb0624984403b28d0da807a69365d4f7fb09123ecb0c405"
    assert file_list(tmp_path) == {"runtime/snapshot.0.bin": digest}
    head = service_worker("b", tmp_path).partition("\n// One build")[0]
    told = dict(re.findall(r"^const (\w+) = (.*?);$", head, re.DOTALL | re.MULTILINE))
    travels = {"runtime/snapshot.0.bin": hashlib.sha256(packed).hexdigest()}
    assert {name: json.loads(value) for name, value in told.items()} == {"BUILD": "b", "FILES": {"runtime/snapshot.0.bin": digest}, "PACKED": travels}


def test_numbers_may_differ_in_their_last_digits_only():
    assert bundle._same({"a": [1.0, "x"]}, {"a": [1.0 + 2e-13, "x"]})
    assert not bundle._same({"a": [1.0, "x"]}, {"a": [1.000001, "x"]})
    assert not bundle._same({"a": 1}, {"b": 1})
    assert not bundle._same([1], [1, 2])


def test_the_parts_left_out_exist_under_these_names():
    lines = (bundle.HERE / "left_out.txt").read_text("utf-8").splitlines()
    names = [line for line in lines if line and not line.startswith("#")]
    assert len(names) == len(set(names))
    known = set(sys.stdlib_module_names) | {"pyodide", "compression", "__hello__", "__phello__"}
    strange = {name.partition(".")[0] for name in names} - known
    assert {name for name in strange if not name.startswith("_")} == set()
