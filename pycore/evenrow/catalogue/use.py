"""What the catalogue in use answers: lines, pipes, parts and fittings by their codes."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from functools import cache

from evenrow.catalogue.host import own_folder
from evenrow.catalogue.load import _of_code
from evenrow.catalogue.types import AssemblyPart, Device, Fitting, PipeSize
from evenrow.catalogue.whole import Catalogue, builtin
from evenrow.errors import InputError
from evenrow.words import said, tr

#: The catalogue in use; empty until one is set, so that nothing is read at import.
_in_use: list[Catalogue] = []


@cache
def standing() -> Catalogue:
    """Return the catalogue that this copy of the package was built with, else the generic one."""
    folder = own_folder()
    if folder is None:
        return builtin()
    # Only a co-op's own site reads a folder, so nobody else waits for what reads it.
    from evenrow.catalogue.directory import load_directory

    return load_directory(folder)


def current() -> Catalogue:
    """Return the catalogue in use: that of this copy of the package until `use` sets another."""
    return _in_use[0] if _in_use else standing()


def use(catalogue: Catalogue) -> None:
    """Let every design from here on be made from this catalogue."""
    _in_use[:] = [catalogue]


@contextmanager
def using(catalogue: Catalogue) -> Iterator[Catalogue]:
    """Use a catalogue inside a ``with`` block, and the one before it again afterwards."""
    before = list(_in_use)
    use(catalogue)
    try:
        yield catalogue
    finally:
        _in_use[:] = before


def devices() -> Mapping[str, Device]:
    """Return the tapes and driplines by code, in the order of the data file."""
    return current().devices


def pipes() -> Mapping[str, PipeSize]:
    """Return the pipe sizes by code, smallest bore first."""
    return current().pipes


def assembly_parts() -> tuple[AssemblyPart, ...]:
    """Return the parts of head assemblies, those of a kind together, the smallest first."""
    return tuple(current().parts.values())


def fittings() -> Mapping[str, Fitting]:
    """Return the fittings by code, in the order of the data file."""
    return current().fittings


def device(code: str, *, field: str = "line.device") -> Device:
    """Return the device of that code; raises `InputError` ``unknown_choice`` if there is none."""
    return _of_code(devices(), code, said("this line is not in the catalogue"), field)


def pipe(code: str, *, field: str = "header.pipe") -> PipeSize:
    """Return the pipe of that code; raises `InputError` ``unknown_choice`` if there is none."""
    return _of_code(pipes(), code, said("this pipe is not in the catalogue"), field)


def _no_fitting(kind: str, fits: str, to: str) -> InputError:
    asked = tr(kind)
    if fits:
        asked = tr("{part} for {fits}", part=asked, fits=fits)
    if to:
        asked = tr("{part} to {other}", part=asked, other=to)
    same = [f for f in fittings().values() if f.kind == kind]
    uses = [
        tr("{part} to {other}", part=f.fits, other=f.to) if f.to else f.fits or tr("any")
        for f in same
    ]
    return InputError(
        tr("the catalogue has no {asked}", asked=asked),
        code="no_fitting",
        field="catalogue",
        given=asked,
        accepted=", ".join(uses or dict.fromkeys(f.kind for f in fittings().values())),
        hint=tr("an entry of that kind in fittings.toml of your catalogue"),
    )


def fitting(kind: str, fits: str = "", to: str = "") -> Fitting:
    """Return the fitting of a kind for a pipe, line, head part or thread.

    Parameters
    ----------
    kind : str
        One of `evenrow.catalogue.forms.FITTING_KINDS`.
    fits : str
        Code of a pipe, line or head part, kind of line, or thread.  A line has the fittings
        of its kind unless there are some for its own code.  A fitting that fits any is the
        answer where there is none of its own.
    to : str
        The other side, for a reducer (either way round) and a thread adapter.

    Returns
    -------
    Fitting
        A stocked one before one that is not; an entry of one's own catalogue before a
        generic one.

    Raises
    ------
    InputError
        Code ``no_fitting``.
    """
    by_use = current().fittings_by_use
    line = devices().get(fits)
    tries = [(fits, to), (to, fits), *([(line.kind, to)] if line else []), ("", to)]
    for left, right in tries:
        if found := by_use.get((kind, left, right)):
            return found
    raise _no_fitting(kind, fits, to)


def controller(stations: int) -> Fitting:
    """Return the smallest controller for that many zone valves.

    Raises
    ------
    InputError
        Code ``no_fitting`` when none has as many stations.
    """
    enough = [
        f
        for f in fittings().values()
        if f.kind == "controller" and f.stations is not None and f.stations >= stations
    ]
    if not enough:
        raise _no_fitting("controller", tr("{count} zone valves", count=stations), "")
    return min(enough, key=lambda f: (f.stations or 0, not f.stocked))
