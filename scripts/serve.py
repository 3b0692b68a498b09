"""Serve a folder of static files on this machine only, as any plain static host would."""

from __future__ import annotations

import errno
from contextlib import suppress
from functools import partial
from http import HTTPStatus
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any
from urllib.parse import quote, unquote

from common import StopError

HOST = "127.0.0.1"
TYPES = {
    ".js": "text/javascript",
    ".mjs": "text/javascript",
    ".wasm": "application/wasm",
    ".json": "application/json",
    ".webmanifest": "application/manifest+json",
    ".svg": "image/svg+xml",
    ".css": "text/css",
    ".html": "text/html; charset=utf-8",
    ".zip": "application/zip",
    ".toml": "application/toml; charset=utf-8",
}
TRIES = 50


class StaticHandler(SimpleHTTPRequestHandler):
    """Static files below one base path; no folder listings, no log of good requests."""

    protocol_version = "HTTP/1.1"
    extensions_map = {**SimpleHTTPRequestHandler.extensions_map, **TYPES}  # noqa: RUF012
    # A keep-alive connection sends header and body apart; without this each waits for the other.
    disable_nagle_algorithm = True

    def __init__(self, *args: Any, base: str = "/", **kwargs: Any) -> None:
        self.base = base
        super().__init__(*args, **kwargs)

    def handle(self) -> None:
        """Answer the requests of one connection until the browser drops it."""
        # Browsers drop connections at will; that is no fault worth a traceback.
        with suppress(ConnectionError):
            super().handle()

    def send_head(self) -> Any:
        """Answer one request, refusing what is not below the base path."""
        path, _, query = self.path.partition("?")
        if "\0" in unquote(path):
            self.send_error(404)  # no file is named so, and asking the disk raises
            return None
        if path == self.base.rstrip("/") and path:
            return self._redirect(self.base)
        if not path.startswith(self.base):
            self.send_error(404)
            return None
        # More slashes in front would make the rest of it the name of another host.
        self.path = "/" + self.path[len(self.base) :].lstrip("/")
        folder = Path(self.translate_path(self.path))
        if folder.is_dir() and not path.endswith("/"):
            inner = folder.relative_to(self.directory).as_posix()
            inner = "" if inner == "." else quote(inner) + "/"
            return self._redirect(self.base + inner + ("?" + query if query else ""))
        return super().send_head()

    def _redirect(self, location: str) -> None:
        self.send_response(301)
        self.send_header("Location", location)
        self.send_header("Content-Length", "0")
        self.end_headers()

    def send_error(self, code: int, *args: Any, **kwargs: Any) -> None:
        """Show the site's own page for what is not there, as static hosts do."""
        page = Path(self.directory) / "404.html"
        if code != HTTPStatus.NOT_FOUND or self.command == "HEAD" or not page.is_file():
            super().send_error(code, *args, **kwargs)
            return
        body = page.read_bytes()
        self.send_response(code)
        self.send_header("Content-Type", TYPES[".html"])
        self.send_header("Content-Length", str(len(body)))
        self.end_headers()
        self.wfile.write(body)

    def list_directory(self, path: Any) -> Any:
        """Refuse: a static host shows no folder."""
        self.send_error(404)

    def end_headers(self) -> None:
        """Let browsers keep files but ask each time whether they changed."""
        self.send_header("Cache-Control", "no-cache")
        super().end_headers()

    def log_request(self, code: int | str = "-", size: int | str = "-") -> None:
        """Stay silent: the terminal holds the address and the design; keep count if asked to."""
        seen = getattr(self.server, "seen", None)
        if seen is not None:
            seen.append((self.path, int(code)))

    def log_message(self, format: str, *args: Any) -> None:
        """Stay silent."""


def make_server(
    folder: Path, *, port: int = 0, base: str = "/", handler: type[StaticHandler] = StaticHandler
) -> ThreadingHTTPServer:
    """Return a server on a loopback port: `port`, or the next free one; 0 takes any.

    Raises
    ------
    StopError
        When none of the ports tried is free.
    """
    base = "/" + base.strip("/") + "/" if base.strip("/") else "/"
    answering = partial(handler, directory=str(folder), base=base)
    for number in range(port, port + TRIES) if port else [0]:
        try:
            server = ThreadingHTTPServer((HOST, number), answering)
        except OSError as error:
            if error.errno not in (errno.EADDRINUSE, errno.EACCES):
                raise
            continue
        server.daemon_threads = True
        return server
    raise StopError(f"No port from {port} to {port + TRIES - 1} is free; name another by --port.")


def address(server: ThreadingHTTPServer, base: str = "/") -> str:
    """Return the address that people type for a server made by `make_server`."""
    path = "/" + base.strip("/") + "/" if base.strip("/") else "/"
    return f"http://{HOST}:{server.server_address[1]}{path}"
