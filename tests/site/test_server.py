"""The server for one folder: what lies outside it is not there, however it is asked for."""

import http.client
import shutil
import threading

import pytest

from offline.server import make_server


@pytest.fixture
def ask(tmp_path):
    """Asks for a path, raw as it stands, of a folder that hangs under /shop/; gives status and body."""
    (tmp_path / "secret.txt").write_text("beside the folder", encoding="utf-8")
    folder = tmp_path / "site"
    folder.mkdir()
    (folder / "index.html").write_text("first page", encoding="utf-8")
    (folder / "a.txt").write_text("a file", encoding="utf-8")
    server = make_server(folder, "127.0.0.1", 0, "/shop/")
    raised = []
    server.handle_error = lambda *_: raised.append("an exception")
    running = threading.Thread(target=server.serve_forever, args=(0.02,), daemon=True)
    running.start()

    def asked(path, method="GET", **headers):
        connection = http.client.HTTPConnection("127.0.0.1", server.server_address[1], timeout=10)
        # http.client refuses what no browser sends; a server hears from others too.
        connection._validate_path = lambda _: None
        connection.request(method, path, headers=headers)
        answer = connection.getresponse()
        body = answer.read().decode()
        connection.close()
        return answer.status, body

    asked.folder = folder
    yield asked
    server.shutdown()
    server.server_close()
    running.join()
    assert raised == []


def test_files_inside_the_prefix_are_served(ask):
    assert ask("/shop/") == (200, "first page")
    assert ask("/shop/a.txt?x=1") == (200, "a file")


# RFC 9110, 15.5.5: not found.
@pytest.mark.parametrize(
    "path",
    ["/", "/favicon.ico", "/shop", "/other/a.txt", "/a.txt", "/shop/no.txt", "/shop/%00", "/shop/a.txt%00", "/shop/a%00/b", "/shop/\0", "/%00"],
)
@pytest.mark.parametrize("method", ["GET", "HEAD"])
def test_all_else_is_not_found_and_no_exception(ask, path, method):
    assert ask(path, method)[0] == 404


def test_nothing_above_the_folder_is_served(ask):
    for path in ("/shop/../secret.txt", "/shop/%2e%2e/secret.txt", "/shop/..%2fsecret.txt", "/shop//../../secret.txt"):
        assert ask(path)[0] == 404


def test_where_there_is_a_page_for_it_a_wrong_address_gets_that_page(ask):
    shutil.copyfile(ask.folder / "index.html", ask.folder / "404.html")
    assert ask("/shop/no.txt") == (404, "first page")
    html = {"Accept": "text/html"}
    assert ask("/shop/no/such.txt", **html)[0] == 302
    # What is not this site's gets no word of it.
    for path in ("/", "/other/a/b", "/shop/a/%00"):
        status, body = ask(path, **html)
        assert status == 404 and "first page" not in body
