"""One small way to use a page, whatever engine shows it.

Firefox is driven over WebDriver BiDi, which it speaks by itself; WebKit over WebDriver, by
Debian's driver; Chromium through Playwright. Both protocols are open W3C standards. All that
the tests need of them stands here.
"""

from __future__ import annotations

import json
import os
import re
import signal
import socket
import subprocess
import time
import urllib.error
import urllib.request
from abc import ABC, abstractmethod
from collections.abc import Callable
from contextlib import ExitStack, suppress
from pathlib import Path
from typing import Any

from playwright.sync_api import Browser, Error
from websockets.sync.client import connect

#: Longest wait for anything in a page: a start of Python on a busy machine. [s]
PATIENCE = 180.0
PAUSE = 0.25
FIREFOX = os.environ.get("EVENROW_FIREFOX", "/usr/bin/firefox-esr")
WEBKIT_DRIVER = "WebKitWebDriver"
#: The small browser that comes with the library; its folder is named after the library's version.
MINI_BROWSERS = "*/webkit2gtk-*/MiniBrowser"
#: How WebDriver writes a reference to an element.
ELEMENT = "element-6066-11e4-a52e-4f735466cecf"
#: The window of an ordinary desk, width and height [px].
SCREEN = (1280, 900)


def until(ready: Callable[[], Any], what: str) -> Any:
    """Ask again and again until the answer is true; return that answer."""
    end = time.monotonic() + PATIENCE
    while time.monotonic() < end:
        if found := ready():
            return found
        time.sleep(PAUSE)
    raise AssertionError(f"waited {PATIENCE:.0f} s in vain for {what}")


def end_group(process: subprocess.Popen[str]) -> None:
    """End a program and all that it started."""
    with suppress(ProcessLookupError):
        os.killpg(process.pid, signal.SIGTERM)
    try:
        process.wait(20)
    except subprocess.TimeoutExpired:
        os.killpg(process.pid, signal.SIGKILL)
        process.wait()


def free_port() -> int:
    """Return a port of this machine that nobody uses now."""
    with socket.socket() as tried:
        tried.bind(("127.0.0.1", 0))
        return int(tried.getsockname()[1])


def mini_browser() -> str:
    """Return the path of WebKit's own small browser."""
    found = sorted(Path("/usr/lib").glob(MINI_BROWSERS))
    if not found:
        raise FileNotFoundError(f"/usr/lib/{MINI_BROWSERS}: install webkit2gtk-driver")
    return str(found[-1])


def start(words: list[str], log: Path, **more: str) -> subprocess.Popen[str]:
    """Start a program in a group of its own, with all that it says in a file."""
    return subprocess.Popen(
        words,
        stdin=subprocess.DEVNULL,
        stdout=log.open("w"),
        stderr=subprocess.STDOUT,
        start_new_session=True,
        env={**os.environ, **more},
        text=True,
    )


class Engine(ABC):
    """A browser with one page in sight. Use it in a ``with`` statement."""

    #: What the engine calls itself in every request.
    name: str

    def __init__(self) -> None:
        #: Errors that pages wrote to the console or threw, where the engine tells.
        self.errors: list[str] = []

    @abstractmethod
    def go(self, address: str) -> None:
        """Show an address in the page in sight."""

    @abstractmethod
    def reload(self) -> None:
        """Load the page in sight anew."""

    @abstractmethod
    def fresh(self, address: str) -> None:
        """Close the page in sight and show an address in a new one."""

    @abstractmethod
    def ask(self, expression: str) -> Any:
        """Return the value of a JavaScript expression; a promise is waited for."""

    @abstractmethod
    def click(self, selector: str) -> None:
        """Click an element with the pointer."""

    @abstractmethod
    def fill(self, selector: str, text: str) -> None:
        """Type a text into a field, over what stands there."""

    @abstractmethod
    def close(self) -> None:
        """End the browser."""

    def __enter__(self) -> Engine:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def wait(self, selector: str, text: str = "") -> None:
        """Wait until an element is there that holds the text."""
        held = f"document.querySelector({json.dumps(selector)})?.textContent.includes"
        # A page on its way is asked again.
        wanted = f"Boolean({held}({json.dumps(text)}))"

        def there() -> bool:
            with suppress(EngineError):
                return bool(self.ask(wanted))
            return False

        until(there, f"{selector} with {text!r}")

    def choose(self, selector: str, label: str) -> None:
        """Choose an option of a list by its words."""
        self.ask(
            f"""(list => {{
              const option = [...list.options].find(o => o.text === {json.dumps(label)});
              list.value = option.value;
              for (const name of ["input", "change"])
                list.dispatchEvent(new Event(name, {{ bubbles: true }}));
              return true;
            }})(document.querySelector({json.dumps(selector)}))"""
        )


class EngineError(Exception):
    """The browser refused a command."""


class Chromium(Engine):
    """Debian's Chromium, through Playwright."""

    name = "Chrome/"

    def __init__(self, browser: Browser) -> None:
        super().__init__()
        width, height = SCREEN
        self.context = browser.new_context(viewport={"width": width, "height": height})
        self.context.set_default_timeout(PATIENCE * 1000)
        self.context.on("weberror", lambda error: self.errors.append(str(error.error)))
        self.page = self.context.new_page()

    def go(self, address: str) -> None:
        self.page.goto(address)

    def reload(self) -> None:
        self.page.reload()

    def fresh(self, address: str) -> None:
        self.page.close()
        self.page = self.context.new_page()
        self.go(address)

    def ask(self, expression: str) -> Any:
        try:
            return self.page.evaluate(expression)
        except Error as error:
            raise EngineError(str(error)) from error

    def click(self, selector: str) -> None:
        self.page.click(selector)

    def fill(self, selector: str, text: str) -> None:
        self.page.fill(selector, text)

    def close(self) -> None:
        self.context.close()


class Firefox(Engine):
    """Debian's Firefox, without a window, over WebDriver BiDi."""

    name = "Firefox/"

    def __init__(self, folder: Path) -> None:
        super().__init__()
        profile = folder / "profile"
        profile.mkdir()
        log = folder / "firefox.log"
        words = ["--headless", "--no-remote", "--remote-debugging-port=0", "--profile"]
        self.process = start([FIREFOX, *words, str(profile)], log, MOZ_CRASHREPORTER_DISABLE="1")
        self.line = ExitStack()
        self.last = 0
        try:
            place = until(lambda: re.search(r"ws://\S+", log.read_text()), "Firefox to listen")
            line = connect(f"{place[0]}/session", max_size=None)
            self.socket = self.line.enter_context(line)
            self.command("session.new", capabilities={})
            self.command("session.subscribe", events=["log.entryAdded"])
            tree = self.command("browsingContext.getTree")
            self.page = tree["contexts"][0]["context"]
        except BaseException:
            end_group(self.process)
            raise

    def command(self, method: str, **params: Any) -> Any:
        """Send one command and return its result; events on the way are noted."""
        self.last += 1
        self.socket.send(json.dumps({"id": self.last, "method": method, "params": params}))
        while True:
            said = json.loads(self.socket.recv(PATIENCE))
            if said.get("id") == self.last:
                if said["type"] == "error":
                    raise EngineError(f"{method}: {said['message']}")
                return said["result"]
            if said.get("method") == "log.entryAdded" and said["params"]["level"] == "error":
                self.errors.append(str(said["params"]["text"]))

    def go(self, address: str) -> None:
        self.command("browsingContext.navigate", context=self.page, url=address, wait="complete")

    def reload(self) -> None:
        self.command("browsingContext.reload", context=self.page, wait="complete")

    def fresh(self, address: str) -> None:
        made = self.command("browsingContext.create", type="tab")["context"]
        self.command("browsingContext.close", context=self.page)
        self.page = made
        self.go(address)

    def evaluate(self, expression: str) -> Any:
        """Return what BiDi says of the value of an expression."""
        said = self.command(
            "script.evaluate",
            expression=expression,
            target={"context": self.page},
            awaitPromise=True,
        )
        if said["type"] == "exception":
            raise EngineError(said["exceptionDetails"]["text"])
        return said["result"]

    def ask(self, expression: str) -> Any:
        value = self.evaluate(f"Promise.resolve({expression}).then(JSON.stringify)")
        return json.loads(value["value"]) if "value" in value else None

    def click(self, selector: str) -> None:
        query = f"document.querySelector({json.dumps(selector)})"

        def clicked() -> bool:
            # An answer that arrives meanwhile may move the element out of sight again.
            with suppress(EngineError):
                self.ask(f'{query}.scrollIntoView({{ block: "center", behavior: "instant" }})')
                place = {
                    "type": "element",
                    "element": {"sharedId": self.evaluate(query)["sharedId"]},
                }
                moves = [
                    {"type": "pointerMove", "x": 0, "y": 0, "origin": place},
                    {"type": "pointerDown", "button": 0},
                    {"type": "pointerUp", "button": 0},
                ]
                hand = {"type": "pointer", "id": "hand", "actions": moves}
                self.command("input.performActions", context=self.page, actions=[hand])
                return True
            return False

        until(clicked, f"a click on {selector}")

    def fill(self, selector: str, text: str) -> None:
        self.click(selector)
        self.ask(f"document.querySelector({json.dumps(selector)}).select()")
        keys = [{"type": kind, "value": key} for key in text for kind in ("keyDown", "keyUp")]
        board = {"type": "key", "id": "keys", "actions": keys}
        self.command("input.performActions", context=self.page, actions=[board])

    def close(self) -> None:
        with suppress(Exception):
            self.line.close()
        end_group(self.process)


class WebKit(Engine):
    """WebKit's own small browser on a screen in memory, over WebDriver."""

    name = "AppleWebKit/"

    def __init__(self, folder: Path) -> None:
        super().__init__()
        log = folder / "webkit.log"
        self.session = ""
        port = free_port()
        self.server = f"http://127.0.0.1:{port}"
        width, height = SCREEN
        screen = ["xvfb-run", "-a", "-s", f"-screen 0 {width}x{height}x24"]
        self.process = start(
            [*screen, WEBKIT_DRIVER, f"--port={port}"],
            log,
            # Its sandbox needs rights that containers and root do not have.
            WEBKIT_DISABLE_SANDBOX_THIS_IS_DANGEROUS="1",
            LIBGL_ALWAYS_SOFTWARE="1",
            WEBKIT_DISABLE_COMPOSITING_MODE="1",
            HOME=str(folder),
            LANG="C.UTF-8",
        )
        options = {"binary": mini_browser(), "args": ["--automation"]}
        wanted = {"browserName": "MiniBrowser", "webkitgtk:browserOptions": options}

        def begin() -> Any:
            with suppress(OSError):
                return self.call("POST", "/session", capabilities={"alwaysMatch": wanted})
            return None

        try:
            self.session = f"/session/{until(begin, 'WebKit to listen')['sessionId']}"
            limit = int(PATIENCE * 1000)
            self.call("POST", "/timeouts", script=limit, pageLoad=limit)
        except BaseException:
            end_group(self.process)
            raise

    def call(self, method: str, path: str, **body: Any) -> Any:
        """Send one command of WebDriver and return its value."""
        data = json.dumps(body).encode() if method == "POST" else None
        request = urllib.request.Request(
            self.server + self.session + path,
            data=data,
            method=method,
            headers={"Content-Type": "application/json"},
        )
        try:
            with urllib.request.urlopen(request, timeout=PATIENCE + 20) as answer:
                return json.load(answer)["value"]
        except urllib.error.HTTPError as error:
            raise EngineError(f"{path}: {error.read().decode()[:2000]}") from error

    def go(self, address: str) -> None:
        self.call("POST", "/url", url=address)

    def reload(self) -> None:
        self.call("POST", "/refresh")

    def fresh(self, address: str) -> None:
        made = self.call("POST", "/window/new", type="tab")["handle"]
        self.call("DELETE", "/window")
        self.call("POST", "/window", handle=made)
        self.go(address)

    def ask(self, expression: str) -> Any:
        script = (
            f"const done = arguments[0]; Promise.resolve({expression}).then("
            "value => done({ value }), error => done({ error: String(error) }));"
        )
        said = self.call("POST", "/execute/async", script=script, args=[])
        if "error" in said:
            raise EngineError(said["error"])
        return said.get("value")

    def element(self, selector: str) -> str:
        """Return the address of an element in WebDriver."""
        found = self.call("POST", "/element", using="css selector", value=selector)
        return f"/element/{found[ELEMENT]}"

    def click(self, selector: str) -> None:
        self.call("POST", f"{self.element(selector)}/click")

    def fill(self, selector: str, text: str) -> None:
        self.call("POST", f"{self.element(selector)}/clear")
        self.call("POST", f"{self.element(selector)}/value", text=text)

    def close(self) -> None:
        with suppress(Exception):
            self.call("DELETE", "")
        end_group(self.process)
