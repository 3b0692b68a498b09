"""Give every built page a content security policy that fits exactly its own scripts.

A static site cannot rely on response headers, so the policy stands in a ``<meta>``. Inline
scripts of the theme are allowed one by one by their hash; anything else inline never runs.
"""

from __future__ import annotations

import base64
import hashlib
import re
from pathlib import Path

from common import StopError

INLINE = re.compile(r"<script(?P<attributes>[^>]*)>(?P<text>.*?)</script>", re.DOTALL)
HEAD = re.compile(r"<head>")
#: Script types that browsers never run: data for other scripts.
DATA = re.compile(r"""type\s*=\s*["']?application/(ld\+)?json""")


def script_hashes(page: str) -> list[str]:
    """Return the policy's words for the inline scripts of a page, each once."""
    found: dict[str, None] = {}
    for match in INLINE.finditer(page):
        attributes = match["attributes"]
        if " src" in attributes or DATA.search(attributes):
            continue
        digest = hashlib.sha256(match["text"].encode()).digest()
        found[f"'sha256-{base64.b64encode(digest).decode()}'"] = None
    return list(found)


def policy(page: str) -> str:
    """Return the content security policy of one page."""
    scripts = " ".join(["'self'", "'wasm-unsafe-eval'", *script_hashes(page)])
    return "; ".join(
        [
            "default-src 'self'",
            f"script-src {scripts}",
            "style-src 'self' 'unsafe-inline'",
            "img-src 'self' data:",
            "connect-src 'self'",
            "worker-src 'self'",
            "object-src 'none'",
            "base-uri 'self'",
            "form-action 'self'",
        ]
    )


def write_policies(site: Path) -> None:
    """Write the policy into every page of a built site, before anything it governs."""
    for path in sorted(site.rglob("*.html")):
        page = path.read_text(encoding="utf-8")
        meta = f'<meta http-equiv="Content-Security-Policy" content="{policy(page)}">'
        # A function, because the replacement must not be read as a pattern.
        text, count = HEAD.subn(lambda m, meta=meta: m[0] + meta, page, count=1)  # type: ignore[misc]
        if count != 1:
            raise StopError(f"{path.relative_to(site)} has no <head> to put its policy into.")
        path.write_text(text, encoding="utf-8")
