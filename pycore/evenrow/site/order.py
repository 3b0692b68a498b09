"""What a co-op orders: its catalogue, whose site it is, and where the site shall stand."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from evenrow.calculators.reading import default_document, example_document
from evenrow.calculators.registry import CALCULATORS, answer
from evenrow.catalogue import Catalogue, using
from evenrow.catalogue.directory import KNOWN, load_directory
from evenrow.catalogue.host import HOST, Host, read_host
from evenrow.catalogue.prices import FILE as PRICES
from evenrow.errors import EvenrowError, ImpossibleError, InputError, InputErrors
from evenrow.words import tr, use_language

#: What every built site holds; a folder with other contents is never written over.
SIGNS = ("index.html", "sw.js", "assets")


@dataclass(frozen=True, kw_only=True)
class Order:
    """A site to be built.

    Parameters
    ----------
    catalogue : Catalogue
        What the co-op sells, read and found sound.
    host : Host
        Whose site it is.
    folder, out : Path
        Where the catalogue stands, and where the site shall stand.
    """

    catalogue: Catalogue
    host: Host
    folder: Path
    out: Path


def read_order(folder: Path, out: Path, words: Mapping[str, object]) -> Order:
    """Read and check everything that a site is built from, before anything is built.

    Parameters
    ----------
    folder : Path
        Folder of the catalogue.
    out : Path
        Folder for the site: empty, missing, or holding an earlier site.
    words : mapping
        What the command says in place of ``site.toml``: name, contact, cautions, units, language.

    Returns
    -------
    Order
        What to build.

    Raises
    ------
    InputErrors
        With every complaint about every file, each with file and line, or with the option.
    """
    complaints: list[InputError] = []
    catalogue, host = None, None
    try:
        catalogue = load_directory(folder)
    except InputErrors as errors:
        complaints += errors.errors
    if folder.is_dir():
        try:
            host = read_host(folder, called=catalogue.name if catalogue else "", words=words)
        except InputErrors as errors:
            complaints += errors.errors
    if trouble := _place_trouble(folder, out):
        complaints.append(trouble)
    if not complaints and catalogue and host:
        complaints += _no_answers(catalogue, host.language)
    if complaints or catalogue is None or host is None:
        raise InputErrors(complaints)
    return Order(catalogue=catalogue, host=host, folder=folder, out=out)


def _place_trouble(folder: Path, out: Path) -> InputError | None:
    """Return why nothing may be written where the site shall stand."""
    whole, source = out.absolute(), folder.absolute()
    if whole == source or source in whole.parents or whole in source.parents:
        message = tr("the site and the catalogue would stand inside each other")
    elif out.is_file():
        message = tr("there is a file of this name")
    elif (
        out.is_dir()
        and any(out.iterdir())
        and not all(out.joinpath(name).exists() for name in SIGNS)
    ):
        message = tr("the folder holds something else than a site built by this command")
    else:
        return None
    return InputError(
        message,
        code="wrong_folder",
        field="--out",
        given=str(out),
        accepted=tr("a folder that is empty, not there yet, or holds an earlier site"),
    )


def _no_answers(catalogue: Catalogue, language: str) -> list[InputError]:
    """Return a complaint for each form that would open without an answer.

    The first page a visitor sees must not be an error, so such a catalogue makes no site.
    """
    complaints = []
    with using(catalogue), use_language(language):
        for calculator in CALCULATORS.values():
            try:
                answer(default_document(calculator, "metric"))
            except EvenrowError as error:
                complaints.append(
                    InputError(
                        tr(
                            "with this catalogue the page “{title}” opens without an answer: "
                            "{reason}",
                            title=tr(calculator.title),
                            reason=error.message,
                        ),
                        code="no_answer",
                        field="catalogue",
                        accepted=tr("a catalogue with which every page opens with an answer"),
                        hint=error.hint,
                    )
                )
    return complaints


def unanswered_examples(order: Order) -> list[str]:
    """Return the titles of examples that have no answer with the catalogue of an order."""
    found = []
    with using(order.catalogue), use_language(order.host.language):
        for calculator in CALCULATORS.values():
            for name in calculator.examples:
                try:
                    answer(example_document(calculator, name))
                except (InputError, InputErrors, ImpossibleError):
                    found.append(f"{tr(calculator.title)}: {tr(name)}")
    return found


def write_own(order: Order, target: Path) -> None:
    """Write what a site carries of its co-op into a folder: the catalogue's files, and whose it is.

    Parameters
    ----------
    order : Order
        What was read.
    target : Path
        A folder that is there and empty.
    """
    for file in sorted(order.folder.iterdir()):
        name = file.name.lower()
        if name in (*KNOWN, PRICES):
            target.joinpath(name).write_bytes(file.read_bytes())
    target.joinpath(HOST.file).write_text(order.host.to_toml(), encoding="utf-8")
