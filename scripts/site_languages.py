"""Which page is in which language: a page of another language stands below a folder of its code."""

from __future__ import annotations

from evenrow.words import LANGUAGES, translations

#: The language of the pages that stand in no such folder.
FIRST = "en"
#: Every language but the first, in order.
OTHERS = tuple(code for code in LANGUAGES if code != FIRST)


def language_of(path: str) -> str:
    """Return the language of a page from its path below the site, such as ``es/zones.md``."""
    folder, slash, _ = path.partition("/")
    return folder if slash and folder in OTHERS else FIRST


def without_language(path: str) -> str:
    """Return the path that a page has in the first language: ``zones.md`` of ``es/zones.md``."""
    return path if language_of(path) == FIRST else path.partition("/")[2]


def in_language(path: str, code: str) -> str:
    """Return the path that a page has in a language: ``es/zones.md`` of ``zones.md``."""
    plain = without_language(path)
    return plain if code == FIRST else f"{code}/{plain}"


def say(english: str, code: str) -> str:
    """Return a text of the page templates in a language; English where it is not translated."""
    return translations(code).get(english, english)
