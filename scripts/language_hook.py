"""MkDocs hook: each page in its language, with the way to the same page in the other.

The pages of another language are the last part of the navigation, under the name of the language;
here they get a navigation of their own. The theme has one language for the whole site, so that
what depends on it is set anew for each page, just before that page is rendered.
"""

from __future__ import annotations

import json
from copy import deepcopy
from functools import partial
from typing import Any

from mkdocs.config.defaults import MkDocsConfig
from mkdocs.exceptions import PluginError
from mkdocs.structure.files import Files
from mkdocs.structure.nav import Link, Navigation, Section
from mkdocs.structure.pages import Page
from mkdocs.utils import get_relative_url

from evenrow.calculators.registry import CALCULATORS
from evenrow.words import LANGUAGES
from site_languages import FIRST, OTHERS, in_language, language_of, say, without_language

_navigations: dict[str, Navigation] = {}
_first: dict[str, Any] = {}


def on_config(config: MkDocsConfig) -> MkDocsConfig:
    """Note what the theme says in the first language."""
    _first["palette"] = deepcopy(config.theme["palette"])
    _first["description"] = config.site_description
    return config


def on_nav(nav: Navigation, *, files: Files, **_: Any) -> Navigation:
    """Take the pages of other languages out of the navigation, into one of their own."""
    pages = {page.file.src_uri: page for page in nav.pages}
    for code in OTHERS:
        section = next((item for item in nav.items if item.title == LANGUAGES[code]), None)
        if not isinstance(section, Section):
            raise PluginError(f"mkdocs.yml has no navigation named {LANGUAGES[code]}")
        nav.items.remove(section)
        for item in section.children:
            item.parent = None
        own = [item for item in section.children if isinstance(item, Page)]
        own[0].previous_page = None
        items = [
            *section.children,
            *(_link(page, code) for page in _untranslated(nav, files, code)),
        ]
        _navigations[code] = Navigation(items, own)
        _navigations[code].homepage = pages[in_language("index.md", code)]
    last = [page for page in nav.pages if language_of(page.file.src_uri) == FIRST][-1]
    last.next_page = None
    _navigations[FIRST] = nav
    return nav


def _untranslated(nav: Navigation, files: Files, code: str) -> list[Page]:
    """Return the pages of the first language that have none in another."""
    return [
        item
        for item in nav.items
        if isinstance(item, Page)
        and language_of(item.file.src_uri) == FIRST
        and files.get_file_from_path(in_language(item.file.src_uri, code)) is None
    ]


def _link(page: Page, code: str) -> Link:
    title = say("{page} (in English)", code).format(page=say(str(page.title), code))
    return Link(title, page.url)


def other_pages(page: Page, files: Files) -> list[dict[str, str]]:
    """Return the same page in each other language; its start page where there is none."""
    own = language_of(page.file.src_uri)
    found = []
    for code in LANGUAGES:
        if code != own:
            same = files.get_file_from_path(in_language(page.file.src_uri, code))
            same = same or files.get_file_from_path(in_language("index.md", code))
            assert same is not None  # each language has a start page: see `on_nav`
            found.append({"name": LANGUAGES[code], "lang": code, "link": same.url})
    return found


_files: list[Files] = []


def on_files(files: Files, **_: Any) -> Files:
    """Note which pages there are."""
    _files[:] = [files]
    return files


def on_page_context(
    context: dict[str, Any], *, page: Page, config: MkDocsConfig, **_: Any
) -> dict[str, Any]:
    """Give a page the navigation, the theme's words and ours in its language."""
    code = language_of(page.file.src_uri)
    words = partial(say, code=code)
    config.theme["language"] = code
    palette = deepcopy(_first["palette"])
    for scheme in palette:
        scheme["toggle"]["name"] = words(scheme["toggle"]["name"])
    config.theme["palette"] = palette
    config.site_description = words(_first["description"])
    # Dark or light is kept for the whole site; search looks below the language alone.
    config.extra["scope"] = context["base_url"]
    home = "." if code == FIRST else code
    titles = {name: words(each.title) for name, each in CALCULATORS.items()}
    return {
        **context,
        "nav": _navigations[code],
        "base_url": get_relative_url(home, page.url).rstrip("/"),
        "say": words,
        "other_languages": other_pages(page, _files[0]),
        "home": "" if code == FIRST else f"{code}/",
        "plain_url": without_language(page.url),
        "titles": json.dumps(titles, ensure_ascii=False),
    }
