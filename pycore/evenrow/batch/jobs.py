"""What a batch has to work on: design files, folders of them, tables of variants of one design."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path
from typing import Any, NoReturn

from evenrow import documents
from evenrow.batch.table import TABLES, read_cells
from evenrow.errors import InputError
from evenrow.words import tr

#: Endings of design files that are looked for in a folder.
DESIGNS = (".toml", ".json")
#: Column of a table of variants that names each.
NAME = "design"

_PLACE = re.compile(r"0|[1-9][0-9]{0,2}", re.ASCII)


@dataclass(frozen=True, kw_only=True)
class Job:
    """One design to work out.

    Parameters
    ----------
    name : str
        What the table calls it: the path as given, or that of the table with the row's number.
    path : str
        Design file, or "" where the design is given as `cells`.
    base : mapping or None
        Document that the cells change.
    cells : mapping of str to value, or None
        Values by dotted name (``"rows.0.length"``).
    """

    name: str
    path: str = ""
    base: Mapping[str, Any] | None = None
    cells: Mapping[str, Any] | None = None

    def read(self) -> bytes:
        """Return the text of the design; raises `InputError` when it cannot be read."""
        if self.path:
            try:
                with Path(self.path).open("rb") as file:
                    return file.read(documents.MAX_BYTES + 1)
            except OSError as error:
                _refuse(self.path, error)
        changed = _changed(self.base or {}, self.cells or {})
        return json.dumps(changed, ensure_ascii=False, sort_keys=True).encode()


def _refuse(name: str, error: OSError) -> NoReturn:
    raise InputError(
        tr("the file cannot be opened: {reason}", reason=error.strerror or ""),
        code="no_file",
        field="file",
        given=name,
    ) from None


def digest(text: bytes, *more: str) -> str:
    """Return a short hash of a design's text and of what else its row follows from."""
    made = sha256(text)
    for each in more:
        made.update(b"\0" + each.encode())
    return made.hexdigest()[:24]


def find_jobs(designs: Iterable[str | Path], base: Mapping[str, Any] | None = None) -> list[Job]:
    """Return the designs that a batch is asked for, in their order, none twice.

    Parameters
    ----------
    designs : iterable of str or Path
        Design files; folders, searched to their bottom for ``.toml`` and ``.json``; tables
        (``.csv``, ``.parquet``), each row of which is a variant of `base`: its columns are dotted
        names of the design file (``rows.0.length``), an empty cell leaves the base as it is, and
        the column ``design`` names the variant.
    base : mapping, optional
        The document that tables change.

    Raises
    ------
    InputError
        Field ``designs``: a folder without designs, a table without a base, a table that cannot
        be read, or nothing at all.  A file that cannot be read is no error here but in its row.
    """
    found: dict[tuple[str, str], Job] = {}
    for given in designs:
        for job in _jobs(Path(given), base):
            found.setdefault((job.path, job.name), job)
    if not found:
        raise InputError(tr("there is nothing to work out"), code="missing", field="designs")
    return list(found.values())


def _jobs(path: Path, base: Mapping[str, Any] | None) -> Iterator[Job]:
    if path.is_dir():
        files = sorted(p for p in path.rglob("*") if p.suffix in DESIGNS and p.is_file())
        if not files:
            raise InputError(
                tr("the folder holds no design files"),
                code="empty_folder",
                field="designs",
                given=str(path),
                accepted=" ".join(DESIGNS),
            )
        yield from (Job(name=str(file), path=str(file)) for file in files)
    elif path.suffix in TABLES:
        if base is None:
            raise InputError(
                tr("a table of variants needs a design that its rows change"),
                code="no_base",
                field="designs",
                given=str(path),
                hint=tr("--base with a design file"),
            )
        yield from _variants(path, base)
    else:
        yield Job(name=str(path), path=str(path))


def _variants(path: Path, base: Mapping[str, Any]) -> Iterator[Job]:
    for number, cells in enumerate(read_cells(path), start=1):
        called = cells.pop(NAME, None) or str(number)
        given = {name: value for name, value in cells.items() if value not in (None, "")}
        yield Job(name=f"{path}:{called}", base=base, cells=given)


def _changed(base: Mapping[str, Any], cells: Mapping[str, Any]) -> dict[str, Any]:
    """Return the base with the values of the cells put in their places."""
    document: dict[str, Any] = json.loads(json.dumps(base))
    for name, value in cells.items():
        *way, last = name.split(".")
        place: Any = document
        for part, after in zip(way, [*way[1:], last], strict=True):
            place = _inside(place, part, name, [] if _PLACE.fullmatch(after) else {})
        _set(place, last, value, name)
    return document


def _inside(place: Any, part: str, name: str, new: Any) -> Any:
    if isinstance(place, list):
        index = _index(place, part, name)
        if index == len(place):
            place.append(new)
        return place[index]
    if not isinstance(place, dict):
        _no_place(name)
    return place.setdefault(part, new)


def _set(place: Any, last: str, value: Any, name: str) -> None:
    if isinstance(place, list):
        index = _index(place, last, name)
        place[index : index + 1] = [value]
    elif isinstance(place, dict):
        place[last] = value
    else:
        _no_place(name)


def _index(place: list[Any], part: str, name: str) -> int:
    """Return the place in a list; one behind its last entry makes a new one."""
    if not _PLACE.fullmatch(part) or int(part) > len(place):
        _no_place(name)
    return int(part)


def _no_place(name: str) -> NoReturn:
    raise InputError(tr("the design has no such place"), code="unknown_key", field=name, given=name)
