"""Firefox and WebKitGTK as this machine has them, each behind the same few verbs."""

from __future__ import annotations

import os
import shutil
import subprocess
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, NoReturn, Protocol

import pytest
from conftest import Watch
from playwright.sync_api import Error, Page, Playwright
from selenium import webdriver
from selenium.webdriver.common.by import By
from selenium.webdriver.remote.webelement import WebElement
from selenium.webdriver.support.select import Select
from selenium.webdriver.webkitgtk.service import Service

from offline.browsers import OTHERS

# WebKitGTK's own browser, which systems keep off the search path: Debian's and Fedora's place.
MINI_BROWSER = ("lib/*/webkit2gtk-4.*/MiniBrowser", "libexec/webkit2gtk-4.*/MiniBrowser")


class Engine(Protocol):
    """A browser with one tab and storage of its own, both new."""

    def open(self, url: str) -> None: ...

    def reload(self) -> None: ...

    def type(self, css: str, text: str) -> None:
        """Replaces what stands in a control."""

    def choose(self, css: str, value: str) -> None: ...

    def press(self, css: str) -> None: ...

    def evaluate(self, expression: str) -> Any: ...

    def complaints(self) -> list[str]:
        """What went wrong so far, as far as the engine tells."""


def text_of(engine: Engine, css: str) -> str:
    """The words of the first element that matches; none while there is no such element."""
    return str(engine.evaluate(f"document.querySelector({css!r})?.textContent ?? ''"))


class Firefox:
    def __init__(self, page: Page, watch: Watch) -> None:
        self.page = page
        self.watch = watch

    def open(self, url: str) -> None:
        self.page.goto(url)

    def reload(self) -> None:
        self.page.reload()

    def type(self, css: str, text: str) -> None:
        self.page.locator(css).fill(text)

    def choose(self, css: str, value: str) -> None:
        self.page.locator(css).select_option(value)

    def press(self, css: str) -> None:
        self.page.locator(css).click()

    def evaluate(self, expression: str) -> Any:
        try:
            return self.page.evaluate(expression)
        except Error as error:
            # The page is on its way to another, and is asked there.
            if "context was destroyed" not in str(error):
                raise
            return self.evaluate(expression)

    def complaints(self) -> list[str]:
        return self.watch.left()


@contextmanager
def firefox(playwright: Playwright, origin: str, _: Path) -> Iterator[Engine]:
    # This channel drives a Firefox as it is; Playwright's usual way needs one that is patched for it.
    program = _program(OTHERS["firefox"][0], "firefox")
    browser = playwright.firefox.launch(channel="moz-firefox", executable_path=program)
    try:
        context = browser.new_context()
        watch = Watch(origin)
        # Its words for an answer of the service worker that a page which is being left no longer waits for; a file that
        # can't be given is told in others (its texts from memory).
        watch.allow("A ServiceWorker intercepted the request and encountered an unexpected error")
        watch.over(context)
        yield Firefox(context.new_page(), watch)
    finally:
        browser.close()


class WebKit:
    # The driver passes no console on, and a session under automation is private, of which WebKit prints none. So the
    # page is asked to keep what it hears from its load on, past its own end.
    LISTEN = """
    for (const kind of ["error", "unhandledrejection", "securitypolicyviolation"]) {
      addEventListener(kind, (event) => {
        const said = [kind, event.message, event.reason, event.violatedDirective, event.blockedURI, event.sourceFile, event.sample];
        sessionStorage["complaints"] = (sessionStorage["complaints"] ?? "") + said.filter(Boolean).join(" ") + "\\n";
      });
    }"""

    def __init__(self, driver: webdriver.WebKitGTK) -> None:
        self.driver = driver

    def open(self, url: str) -> None:
        self.driver.get(url)
        self.driver.execute_script(self.LISTEN)

    def reload(self) -> None:
        self.driver.refresh()
        self.driver.execute_script(self.LISTEN)

    def type(self, css: str, text: str) -> None:
        control = self._one(css)
        control.clear()
        control.send_keys(text)

    def choose(self, css: str, value: str) -> None:
        Select(self._one(css)).select_by_value(value)

    def press(self, css: str) -> None:
        self._one(css).click()

    def evaluate(self, expression: str) -> Any:
        return self.driver.execute_script(f"return {expression}")

    def complaints(self) -> list[str]:
        return str(self.evaluate("sessionStorage['complaints'] ?? ''")).splitlines()

    def _one(self, css: str) -> WebElement:
        return self.driver.find_element(By.CSS_SELECTOR, css)


@contextmanager
def webkit(_: Playwright, __: str, home: Path) -> Iterator[Engine]:
    program = _program(OTHERS["webkit"][0], "webkit")
    options = webdriver.WebKitGTKOptions()
    options.binary_location = _mini_browser()
    options.add_argument("--automation")
    with _display() as display:
        service = Service(program, env={**os.environ, "DISPLAY": display, "HOME": str(home)})
        with warnings.catch_warnings():
            # Of Selenium about itself.
            warnings.filterwarnings("ignore", "setting remote_server_addr", DeprecationWarning)
            driver = webdriver.WebKitGTK(options, service)
        try:
            yield WebKit(driver)
        finally:
            driver.quit()


@contextmanager
def _display() -> Iterator[str]:
    """A screen that nobody sees, under a number that is free."""
    program = _program("Xvfb", "webkit")
    reading, writing = os.pipe()
    command = [program, *f"-displayfd {writing} -nolisten tcp -screen 0 1024x900x24".split()]
    with subprocess.Popen(command, pass_fds=[writing], stderr=subprocess.DEVNULL) as server:
        os.close(writing)
        try:
            with os.fdopen(reading) as number:
                yield ":" + number.readline().strip()
        finally:
            server.terminate()


def _program(name: str, engine: str) -> str:
    return shutil.which(name) or _missing(engine)


def _mini_browser() -> str:
    found = sorted(path for place in MINI_BROWSER for path in Path("/usr").glob(place))
    return str(found[-1]) if found else _missing("webkit")


def _missing(engine: str) -> NoReturn:
    pytest.skip(f"NO {engine.upper()} on this machine. To run this too: apt install {' '.join(OTHERS[engine][1])}")
