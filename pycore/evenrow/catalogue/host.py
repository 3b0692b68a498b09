"""Whose site this is: name, contact line, cautions, usual units and language of a co-op.

``site.toml`` stands beside the catalogue that it goes with.  A site built for a co-op carries both
in the folder ``own`` of the package, where `host` and `evenrow.catalogue.current` find them; the
package as it is published has no such folder.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from importlib.resources.abc import Traversable
from pathlib import Path
from typing import Any

from evenrow.catalogue.data_file import MAX_BYTES, DataFile, read_data_file
from evenrow.catalogue.keys import Entry, Form, Key, read_entry
from evenrow.errors import InputError, InputErrors
from evenrow.words import LANGUAGES

#: Most cautions of a host: the field sheet leaves none out, and has two sides.
MAX_CAUTIONS = 3

HOST = Form(
    file="site.toml",
    what="site",
    keys=(
        Key(
            name="name",
            help="Name of the site, up to 60 characters; without it, that of the catalogue.",
            required=False,
            pattern=".{1,60}",
        ),
        Key(
            name="contact",
            help="How to reach whoever keeps the site, in one line of up to 160 characters.",
            required=False,
            pattern=".{1,160}",
        ),
        Key(
            name="cautions",
            help="Cautions of one's own, shown with every answer and on every field sheet.",
            required=False,
            many=True,
            at_most=MAX_CAUTIONS,
        ),
        Key(
            name="units",
            help="Units at first; without it, those of the visitor's region.",
            required=False,
            choices=("us", "metric"),
        ),
        Key(
            name="language",
            help="Language in which the site opens.",
            required=False,
            choices=tuple(LANGUAGES),
        ),
    ),
)


@dataclass(frozen=True, kw_only=True)
class Host:
    """Who keeps a site.

    Parameters
    ----------
    name : str
        What the site is called.
    contact : str
        How to reach whoever keeps it, "" for none.
    cautions : tuple of str
        Cautions of its own, up to `MAX_CAUTIONS`.
    units : str
        ``"us"``, ``"metric"``, or "" for those of the visitor's region.
    language : str
        One of `evenrow.words.LANGUAGES`.
    """

    name: str
    contact: str = ""
    cautions: tuple[str, ...] = ()
    units: str = ""
    language: str = "en"

    def to_toml(self) -> str:
        """Return what ``site.toml`` holds of it."""
        told: dict[str, object] = {
            "name": self.name,
            "contact": self.contact,
            "cautions": list(self.cautions),
            "units": self.units,
            "language": self.language,
        }
        # A text or a list of texts is written in JSON as in TOML.
        return "".join(
            f"{key} = {json.dumps(value, ensure_ascii=False)}\n"
            for key, value in told.items()
            if value
        )


@dataclass(frozen=True, kw_only=True)
class _Asked(Entry):
    """What a file and the words of a command say of a site; complaints name the right one."""

    words: Mapping[str, object]

    def place(self, key: str = "") -> str:
        if key in self.words:
            return f"--{key.removesuffix('s') if key == 'cautions' else key}"
        line = self.line_of(key) if key else None
        where = self.file if line is None else f"{self.file}, line {line}"
        return f"{where}, {key}" if key else where


def read_host(
    folder: str | Path | Traversable, *, called: str, words: Mapping[str, object] | None = None
) -> Host:
    """Read who keeps a site.

    Parameters
    ----------
    folder : str, Path or Traversable
        Folder of the catalogue, with or without ``site.toml``.
    called : str
        Name of the site where nothing names it.
    words : mapping, optional
        What a command says in place of the file, by the names of the keys.

    Returns
    -------
    Host
        The two together.

    Raises
    ------
    InputErrors
        With every complaint, each with file, line and key, or with the option.
    """
    place = Path(folder) if isinstance(folder, str) else folder
    given = {key: value for key, value in (words or {}).items() if value not in (None, [], "")}
    data = _data_file(place)
    complaints = [
        InputError(
            "a site has no tables",
            code="unknown_key",
            field=stray.place(),
            accepted=", ".join(key.name for key in HOST.keys),
        )
        for stray in (data.entries.values() if data else ())
    ]
    entry = _Asked(
        file=HOST.file,
        code="site",
        values={**(data.top if data else {}), **given},
        line_of=data.line_of if data else lambda *_: None,
        words=given,
    )
    found = read_entry(HOST, entry, complaints)
    if found is None or complaints:
        raise InputErrors(complaints)
    return Host(**{"name": called, **found})


def _data_file(folder: Path | Traversable) -> DataFile | None:
    """Return ``site.toml`` of a folder, however its name is written; None without one."""
    for file in folder.iterdir():
        if file.name.lower() == HOST.file:
            with file.open("rb") as opened:
                content: Any = opened.read(MAX_BYTES + 1)
            try:
                return read_data_file(HOST.file, content)
            except InputError as error:
                raise InputErrors([error]) from None
    return None


@cache
def own_folder() -> Traversable | None:
    """Return the folder with the catalogue that this copy of the package was built for, or None."""
    folder = files("evenrow").joinpath("own")
    return folder if folder.is_dir() else None


def host_cautions() -> tuple[str, ...]:
    """Return the cautions of who keeps the site, in their own words."""
    keeper = host()
    return () if keeper is None else keeper.cautions


@cache
def host() -> Host | None:
    """Return who keeps the site that this copy of the package was built for; None for nobody."""
    folder = own_folder()
    return None if folder is None else read_host(folder, called="Evenrow")
