"""The words people read, in their language.

Every text that a user can see is written in English where it is used, and goes through `tr`.
The other languages stand in `languages/<code>/*.json`, each a table from the English template to
the translated one, with the same placeholders.  English is the key, so that the code reads
without a dictionary, and a text without a translation is shown in English.

The language is a context variable, not an argument: it is set once where a request comes in
(`use_language`), and sentences are made inside.  What keeps made texts beyond one request must
have `language()` in its key.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from functools import cache
from importlib import resources

#: The languages there are: code (BCP 47) and the name by which their speakers know them.
LANGUAGES = {"en": "English", "es": "Español"}

_language: ContextVar[str] = ContextVar("language", default="en")


@cache
def translations(code: str) -> dict[str, str]:
    """Return the table of one language: English template to its own.

    Parameters
    ----------
    code : str
        One of `LANGUAGES`.

    Returns
    -------
    dict
        Empty for English, whose templates are their own translation.

    Raises
    ------
    KeyError
        If there is no such language.
    """
    if code == "en":
        return {}
    if code not in LANGUAGES:
        raise KeyError(code)
    table: dict[str, str] = {}
    folder = resources.files("evenrow") / "languages" / code
    for file in sorted(folder.iterdir(), key=lambda file: file.name):
        if file.name.endswith(".json"):
            table.update(json.loads(file.read_text(encoding="utf-8")))
    return table


def language() -> str:
    """Return the code of the language in which texts are made now."""
    return _language.get()


@contextmanager
def use_language(code: str) -> Iterator[None]:
    """Make the texts within in this language.

    Parameters
    ----------
    code : str
        One of `LANGUAGES`; anything else means English, because a link or a browser may ask for
        whatever it likes.

    Yields
    ------
    None
    """
    token = _language.set(code if code in LANGUAGES else "en")
    try:
        yield
    finally:
        _language.reset(token)


def tr(english: str, **values: object) -> str:
    """Return a text in the language in use.

    Parameters
    ----------
    english : str
        The English text, a literal where it is called, so that the texts can be collected from
        the code; values go in named places, ``"{rows} rows of {length}"``, never in pieces that
        are joined: another language may want them in another order.
    **values : object
        What the places hold.  Format specifications are allowed (``"{share:.0f}"``).

    Returns
    -------
    str
        Without `values` the text is returned as it stands, braces and all.
    """
    code = _language.get()
    text = english if code == "en" else translations(code).get(english, english)
    return text.format_map(values) if values else text


def tr_count(count: int, one: str, many: str, **values: object) -> str:
    """Return the text for one or for several, in the language in use.

    Parameters
    ----------
    count : int
        How many there are; the place ``{count}`` holds it.
    one, many : str
        The English texts, literals as for `tr`.
    **values : object
        What other places hold.

    Returns
    -------
    str
        `one` for exactly one, else `many`; English and Spanish agree in this.
    """
    return tr(one if count == 1 else many, count=count, **values)


def said(english: str) -> str:
    """Mark a text that is declared here and passed to `tr` where it is shown.

    Parameters
    ----------
    english : str
        The English text, a literal.

    Returns
    -------
    str
        The same text.
    """
    return english
