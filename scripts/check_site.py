"""Check a built site: every link leads somewhere, nothing is loaded from anywhere else."""

from __future__ import annotations

import os
import re
from html.parser import HTMLParser
from itertools import zip_longest
from pathlib import Path
from urllib.parse import unquote, urlsplit

from common import SITE, StopError, guarded
from page_weight import MOST_KB, page_weights
from site_languages import language_of, without_language

#: (tag, attribute) pairs that make the browser load something by itself.
LOADS = {
    ("script", "src"),
    ("link", "href"),
    ("img", "src"),
    ("img", "srcset"),
    ("source", "src"),
    ("source", "srcset"),
    ("iframe", "src"),
    ("audio", "src"),
    ("video", "src"),
    ("object", "data"),
    ("embed", "src"),
    ("form", "action"),
    ("image", "href"),
    ("use", "href"),
}
#: Tags, and those of them that `PageReader` looks at: most of a page draws or spaces something.
COMMENT = re.compile(r"<!--.*?-->", re.DOTALL)
TAG = re.compile(r"""</?[a-zA-Z](?:[^>"']|"[^"]*"|'[^']*')*>""")
TOLD = re.compile(
    # What holds text alone must end, or all behind it would pass for its text.
    r"</?(?:template|html|script|style|textarea|title|iframe|xmp|noembed|noframes|h[1-6])\b"
    r"|\s(?:id|href|srcset|src|data|action|data-field|data-name|data-table|on[a-z]+)\s*=",
    re.IGNORECASE,
)
CSS_LOAD = re.compile(r"""(?:url\(\s*["']?|@import\s+["'])([^"')\s]+)""")
FOREIGN = re.compile(r"^(?:[a-z][a-z0-9+.-]*:)?//|^(?:https?|ftp|ws|wss):", re.IGNORECASE)


class PageReader(HTMLParser):
    """Collects what one page links to, loads and names, and what it is made of."""

    def __init__(self) -> None:
        super().__init__()
        self.links: list[str] = []
        self.loads: list[str] = []
        self.ids: set[str] = set()
        self.doubled: list[str] = []
        self.handlers: list[str] = []
        self.in_template = 0
        self.language = ""
        #: Headings, fields, numbers and tables in their order: the same in every language.
        self.parts: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Take in one tag."""
        if tag == "template":
            self.in_template += 1
        if tag == "html":
            self.language = dict(attrs).get("lang") or ""
        elif re.fullmatch("h[1-6]", tag):
            self.parts.append(tag)
        for name, value in attrs:
            text = value or ""
            if name in ("data-field", "data-name", "data-table"):
                self.parts.append(f"{name} {text}")
            if name == "id" and not self.in_template:
                if text in self.ids:
                    self.doubled.append(text)
                self.ids.add(text)
            if name.startswith("on"):
                self.handlers.append(f"{tag} {name}")
            if (tag, name) in LOADS:
                self.loads.append(text)
            elif tag == "a" and name == "href":
                self.links.append(text)

    def handle_endtag(self, tag: str) -> None:
        """Leave a template."""
        if tag == "template":
            self.in_template -= 1


def read_pages(site: Path) -> dict[Path, PageReader]:
    """Parse every page of the site."""
    pages = {}
    for path in sorted(site.rglob("*.html")):
        pages[path] = PageReader()
        text = COMMENT.sub("", path.read_text(encoding="utf-8"))
        pages[path].feed("".join(filter(TOLD.search, TAG.findall(text))))
    return pages


def leads_to(page: Path, link: str) -> tuple[Path, str]:
    """Return the file and the fragment that a relative link on a page leads to."""
    parts = urlsplit(link)
    target = page
    if parts.path:
        # The site's folder is resolved, and there are no links of the file system inside.
        target = Path(os.path.normpath(page.parent / unquote(parts.path)))
        if target.is_dir():
            target = target / "index.html"
    return target, unquote(parts.fragment)


def link_problem(site: Path, pages: dict[Path, PageReader], page: Path, link: str) -> str:
    """Say what is wrong with one link of a page, or return ""."""
    if FOREIGN.match(link) or link.startswith(("data:", "mailto:")) or link in ("", "#"):
        return ""
    if link.startswith("/"):
        return f"the link {link} starts at the root, so the site would not run under a sub-path"
    target, fragment = leads_to(page, link)
    if site not in target.parents or not target.is_file():
        return f"the link {link} leads nowhere"
    if fragment and target in pages and fragment not in pages[target].ids:
        return f"the link {link} leads to a place that is not on that page"
    return ""


def css_problems(site: Path) -> list[str]:
    """Return foreign and dead addresses in style sheets."""
    problems = []
    for path in sorted(site.rglob("*.css")):
        for address in CSS_LOAD.findall(path.read_text(encoding="utf-8")):
            if address.startswith(("data:", "#")):
                continue
            where = path.relative_to(site)
            if FOREIGN.match(address):
                problems.append(f"{where}: loads {address} from elsewhere")
            elif not leads_to(path, address)[0].is_file():
                problems.append(f"{where}: {address} is missing")
    return problems


def page_problems(site: Path) -> list[str]:
    """Return everything that is wrong with links, loads and names of the pages."""
    pages = read_pages(site)
    problems = language_problems(site, pages)
    for page, found in pages.items():
        where = page.relative_to(site)
        problems += [f"{where}: loads {a} from elsewhere" for a in found.loads if FOREIGN.match(a)]
        problems += [f"{where}: the name {name} stands twice" for name in found.doubled]
        problems += [f"{where}: script in an attribute ({each})" for each in found.handlers]
        for link in [*found.links, *found.loads]:
            problem = link_problem(site, pages, page, link)
            if problem:
                problems.append(f"{where}: {problem}")
    return problems


def language_problems(site: Path, pages: dict[Path, PageReader]) -> list[str]:
    """Return every page of another language that is not made like its twin in the first."""
    problems = []
    for page, found in pages.items():
        where = page.relative_to(site).as_posix()
        code = language_of(where)
        if found.language != code and where != "404.html":
            problems.append(f"{where}: says that it is in {found.language!r}, not {code!r}")
        twin = pages.get(site / without_language(where))
        if twin is None:
            problems.append(f"{where}: there is no such page in the first language")
        elif found.parts != twin.parts:
            pairs = zip_longest(twin.parts, found.parts)
            one, other = next(pair for pair in pairs if pair[0] != pair[1])
            problems.append(f"{where}: has {other} where the first language has {one}")
    return problems


def check_site(site: Path) -> None:
    """Check a built site.

    Raises
    ------
    StopError
        With one line for each thing that is wrong.
    """
    site = site.resolve()
    problems = page_problems(site) + css_problems(site)
    if not any(site.rglob("*.html")):
        problems.append("there is no page at all")
    problems += [
        f"{page}: {weight:.0f} kB to load before Python, more than {MOST_KB}"
        for page, weight in page_weights(site).items()
        if weight > MOST_KB
    ]
    if problems:
        raise StopError("The built site has faults:\n" + "\n".join(problems))


if __name__ == "__main__":
    guarded(lambda: check_site(SITE))
