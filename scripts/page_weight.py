"""How much a page loads before Python: its HTML, style sheets and scripts, as they are sent.

The runtime (Pyodide, NumPy and our package) is left out: it is loaded once, after the page can be
read. So are drawings and the search index, which is fetched when somebody searches.
"""

from __future__ import annotations

import gzip
import re
from functools import cache
from html.parser import HTMLParser
from pathlib import Path
from urllib.parse import unquote, urlsplit

#: Most that any page may load, in kB of 1000 bytes, compressed by gzip as servers do.
MOST_KB = 250.0
#: Static imports and workers of a module; comments may name more, which counts too much, not less.
_MODULE = re.compile(
    r"""(?:\bfrom\s*|\bimport\s*\(?\s*|new\s+(?:Shared)?Worker\(\s*new\s+URL\(\s*)["'](\.[^"']+\.js)["']"""
)


#: The only tags that matter here; the rest of a page need not be parsed. A script must end, or all
#: behind it would pass for its text.
_TAG = re.compile(r"<(?:script|link)\b[^>]*>|</script>", re.IGNORECASE)


class _Loads(HTMLParser):
    """The style sheets and scripts of a page."""

    def __init__(self) -> None:
        super().__init__()
        self.found: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Take in one tag."""
        told = dict(attrs)
        if tag == "script" and told.get("src"):
            self.found.append(told["src"] or "")
        elif tag == "link" and "stylesheet" in (told.get("rel") or "").split():
            self.found.append(told.get("href") or "")


@cache
def _sent(path: Path) -> int:
    """Return the bytes of a file as a server sends it."""
    return len(gzip.compress(path.read_bytes(), compresslevel=6, mtime=0))


@cache
def _imports(path: Path) -> tuple[Path, ...]:
    """Return the modules and workers that a module names."""
    text = path.read_text(encoding="utf-8")
    return tuple((path.parent / name).resolve() for name in _MODULE.findall(text))


def loaded_files(site: Path, page: Path) -> set[Path]:
    """Return the files that a page loads before Python, itself among them.

    Modules that it imports are followed, those of its workers too.
    """
    reader = _Loads()
    reader.feed("".join(_TAG.findall(page.read_text(encoding="utf-8"))))
    waiting = [(page.parent / unquote(urlsplit(a).path)).resolve() for a in reader.found]
    found = {page}
    while waiting:
        path = waiting.pop()
        if path in found or not path.is_file() or site not in path.parents:
            continue
        found.add(path)
        if path.suffix == ".js":
            waiting += _imports(path)
    return found


def page_weights(site: Path) -> dict[str, float]:
    """Return what each page of a built site loads before Python, in kB (1000 bytes)."""
    site = site.resolve()
    # The files of an earlier site may have stood at the same places.
    _sent.cache_clear()
    _imports.cache_clear()
    weights = {}
    for page in sorted(site.rglob("*.html")):
        files = loaded_files(site, page)
        runtime = site / "assets" / "runtime"
        total = sum(_sent(path) for path in files if runtime not in path.parents)
        weights[page.relative_to(site).as_posix()] = total / 1000.0
    return weights
