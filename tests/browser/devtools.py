"""Chromium spoken to by its own protocol (Chrome DevTools Protocol), through the tab.

The browser library attaches to pages in a way in which Chromium makes none ready ahead: Preload.prerenderStatusUpdated then
says PrerenderingDisabledByDevTools. What stands in a tab and what is made ready for it are two pages of that tab here.
"""

from __future__ import annotations

import json
import os
import signal
import subprocess
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import websocket

PATIENCE_S = 60
# A page that goes to the back/forward cache while it is asked may never answer: `until` asks again then.
ONE_QUESTION_S = 5


class Chromium:
    """One browser process with its profile."""

    def __init__(self, program: str, arguments: list[str], profile: Path) -> None:
        told = profile / "DevToolsActivePort"
        told.unlink(missing_ok=True)
        own = ["--headless", "--remote-debugging-port=0", f"--user-data-dir={profile}", *(["--no-sandbox"] if os.geteuid() == 0 else [])]
        self.process = subprocess.Popen(
            [program, *own, *arguments, "about:blank"], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, start_new_session=True
        )
        end = time.monotonic() + PATIENCE_S
        while len(lines := told.read_text().splitlines() if told.exists() else []) < 2:
            assert self.process.poll() is None and time.monotonic() < end, "the browser did not start"
            time.sleep(0.02)
        self._socket = websocket.create_connection(f"ws://127.0.0.1:{lines[0]}{lines[1]}", suppress_origin=True, timeout=PATIENCE_S)
        self._last = 0
        # By session: the session of its tab, and what the browser says about the page.
        self.attached: dict[str, tuple[str, dict[str, Any]]] = {}

    def call(self, method: str, session: str = "", *, patience_s: float = PATIENCE_S, **parameters: Any) -> dict[str, Any]:
        """Asks for one deed and waits for its result; raises RuntimeError where the browser refuses it, TimeoutError
        where it says nothing."""
        self._last += 1
        asked = {"id": self._last, "method": method, "params": parameters}
        self._socket.send(json.dumps(asked | ({"sessionId": session} if session else {})))
        end = time.monotonic() + patience_s
        while (message := self._next(end, method)).get("id") != asked["id"]:
            # A result that comes after its time is nobody's any more.
            if "method" in message:
                self._heard(message)
        if "error" in message:
            raise RuntimeError(f"{method}: {message['error']['message']}")
        result: dict[str, Any] = message["result"]
        return result

    def _next(self, end: float, method: str) -> dict[str, Any]:
        self._socket.settimeout(max(0.01, end - time.monotonic()))
        try:
            message: dict[str, Any] = json.loads(self._socket.recv())
        except websocket.WebSocketTimeoutException as error:
            raise TimeoutError(f"{method}: no answer") from error
        return message

    def _heard(self, message: dict[str, Any]) -> None:
        told = message.get("params", {})
        if message["method"] == "Target.attachedToTarget":
            self.attached[told["sessionId"]] = (message.get("sessionId", ""), told["targetInfo"])
        elif message["method"] == "Target.detachedFromTarget":
            self.attached.pop(told["sessionId"], None)
        elif message["method"] == "Target.targetInfoChanged":
            for session, (tab, info) in self.attached.items():
                if info["targetId"] == told["targetInfo"]["targetId"]:
                    self.attached[session] = (tab, told["targetInfo"])

    def tab(self) -> Tab:
        return Tab(self)

    def kill(self) -> None:
        """As by the system: nothing can be stored any more."""
        os.killpg(self.process.pid, signal.SIGKILL)
        self.process.wait()
        self._socket.close()


class Tab:
    """A tab of a phone's size: the page that stands in it, and the one that is made ready behind it."""

    def __init__(self, browser: Chromium) -> None:
        self._browser = browser
        target = browser.call("Target.createTarget", url="about:blank", forTab=True, width=390, height=844)["targetId"]
        self._session = browser.call("Target.attachToTarget", targetId=target, flatten=True)["sessionId"]
        browser.call("Target.setAutoAttach", self._session, autoAttach=True, waitForDebuggerOnStart=False, flatten=True)

    def _pages(self, ahead: bool) -> list[str]:
        # An answer to anything brings what has been said before it.
        self._browser.call("Target.getTargets")
        of_tab = {session: info for session, (tab, info) in self._browser.attached.items() if tab == self._session}
        return [session for session, info in of_tab.items() if info["type"] == "page" and (info.get("subtype") == "prerender") == ahead]

    def goto(self, url: str) -> None:
        self._browser.call("Page.navigate", self._pages(ahead=False)[-1], url=url)

    def evaluate(self, expression: str, *, ahead: bool = False, patience_s: float = PATIENCE_S) -> Any:
        """The expression's value on the page, or on the one behind it; None where there is no such page (any more).

        `patience_s`: the page is asked for so long [s]; raises TimeoutError where it doesn't answer.
        """
        found = self._pages(ahead)
        if not found:
            return None
        try:
            reply = self._browser.call(
                "Runtime.evaluate", found[-1], patience_s=patience_s, expression=expression, returnByValue=True, awaitPromise=True
            )
        except RuntimeError as error:
            if any(part in str(error) for part in ("Session with given id", "navigated", "context")):
                return None
            raise
        if "exceptionDetails" in reply:
            raise AssertionError(reply["exceptionDetails"]["exception"].get("description"))
        return reply["result"].get("value")

    def until(self, expression: str, what: str, *, ahead: bool = False) -> Any:
        """The expression's first truthy value."""
        end = time.monotonic() + PATIENCE_S
        while not (value := self._answered(expression, ahead)):
            assert time.monotonic() < end, f"waited in vain: {what}"
            time.sleep(0.02)
        return value

    def _answered(self, expression: str, ahead: bool) -> Any:
        """As `evaluate`; None, too, where the page says nothing in the time of one question."""
        try:
            return self.evaluate(expression, ahead=ahead, patience_s=ONE_QUESTION_S)
        except TimeoutError:
            return None

    def press(self, css: str) -> None:
        """Puts the finger on the first such element that is seen; it stays there."""
        place = self.until(PLACE % json.dumps(css), f"{css} to be seen")
        self._at = place
        self._mouse("mouseMoved", place)
        self._mouse("mousePressed", place)

    def let_go(self, *, beside: bool = False) -> None:
        """Lifts it: where it is, which is a tap, or elsewhere, which is none."""
        place = [1, 1] if beside else self._at
        if beside:
            self._mouse("mouseMoved", place)
        self._mouse("mouseReleased", place)

    def tap(self, css: str) -> None:
        self.press(css)
        self.let_go()

    def _mouse(self, kind: str, place: list[float]) -> None:
        down = kind != "mouseReleased"
        self._browser.call(
            "Input.dispatchMouseEvent", self._pages(ahead=False)[-1], type=kind, x=place[0], y=place[1],
            button="none" if kind == "mouseMoved" else "left", buttons=int(down and kind == "mousePressed"), clickCount=1,
        )  # fmt: skip

    def close(self) -> None:
        for session in self._pages(ahead=False):
            self._browser.call("Page.close", session)


PLACE = """(() => {
  const found = [...document.querySelectorAll(%s)].find((each) => each.checkVisibility());
  found?.scrollIntoView({ block: "center", behavior: "instant" });
  const box = found?.getBoundingClientRect();
  return box && [box.x + box.width / 2, box.y + box.height / 2];
})()"""


@contextmanager
def chromium_at(program: str, arguments: list[str], profile: Path) -> Iterator[Chromium]:
    browser = Chromium(program, arguments, profile)
    try:
        yield browser
    finally:
        if browser.process.poll() is None:
            browser.kill()
