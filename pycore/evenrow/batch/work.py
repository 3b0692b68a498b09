"""One design of a batch: from its file to its row."""

from __future__ import annotations

from collections.abc import Mapping
from contextlib import ExitStack
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import evenrow
from evenrow import documents
from evenrow.batch.columns import BAD_INPUT, DESIGNED, FAULT, IMPOSSIBLE, Row, empty_row
from evenrow.batch.jobs import Job, digest
from evenrow.calculators.build_fields import build_choices
from evenrow.calculators.reading import read
from evenrow.calculators.whole_field import CALCULATOR
from evenrow.catalogue import Catalogue, current, using
from evenrow.catalogue.directory import load_directory
from evenrow.design.field import field_of
from evenrow.design.model import Design
from evenrow.design.solve import design
from evenrow.errors import EvenrowError, ImpossibleError, InputError, InputErrors
from evenrow.words import language, use_language

#: Longest message in a row. [characters]
MAX_MESSAGE = 2000


def summary(found: Design) -> Row:
    """Return the numbers of a finished design as a row.

    Parameters
    ----------
    found : Design
        The design.

    Returns
    -------
    Row
        Flows in m3/s, lengths in m, pressures as metres of water, shares as fractions of 1, mass
        in kg, price in the catalogue's currency.  The price is that of the parts that have one;
        ``unpriced_parts`` counts the others.  Uniformity, flow variation and pressures are the
        least and largest of all zones, filter dirty.
    """
    zones, candidate, parts = found.zones, found.candidate, found.parts
    return {
        **empty_row(),
        "status": DESIGNED,
        "name": found.field.name,
        "rows": len(found.field.rows),
        "zones": len(zones),
        "emitters": sum(zone.emitters for zone in zones),
        "line_length": sum(row.length * row.lines for row in found.field.rows),
        "largest_zone_flow": found.largest.flow,
        "least_eu": found.worst.eu,
        "largest_flow_variation": max(zone.flow_variation for zone in zones),
        "least_emitter_pressure": min(zone.emitter_head_min for zone in zones),
        "largest_emitter_pressure": max(zone.emitter_head_max for zone in zones),
        "regulator": candidate.assembly.set_head,
        "main_length": candidate.layout.main_total,
        "price": parts.total,
        "unpriced_parts": len(parts.unpriced),
        "mass": parts.mass,
        "line": found.field.line.device.code,
        "header": candidate.header.code,
        "main": candidate.main.code,
        "currency": parts.currency,
        "catalogue": parts.catalogue,
    }


def row_of(source: Job | Mapping[str, Any] | str | Path) -> Row:
    """Work out one design and return its row; never raises for what is wrong with the design.

    The function holds no state and is pickled by its name, so any engine maps it:
    ``pool.map(row_of, paths)``, ``client.map(row_of, paths)``.

    Parameters
    ----------
    source : Job, mapping, str or Path
        A document, or the path of a design file.

    Returns
    -------
    Row
        As `summary`; ``status`` is ``"designed"``, ``"impossible"`` (with the limit in
        ``message`` and what would work in ``changes``), ``"bad input"`` (with each problem), or
        ``"fault"`` where the program itself failed.
    """
    if isinstance(source, Mapping):
        job = Job(name=str(source.get("name", "")), base=source)
    elif isinstance(source, Job):
        job = source
    else:
        job = Job(name=str(source), path=str(source))
    mark = ""
    row: Row
    try:
        text = job.read()
        mark = mark_of(text)
        row = _designed(documents.from_text(text))
    except ImpossibleError as error:
        row = _without(IMPOSSIBLE, error.message)
        row["changes"] = "; ".join(error.changes)[:MAX_MESSAGE]
    except InputErrors as error:
        row = _without(BAD_INPUT, " ".join(str(each) for each in error.errors))
    except EvenrowError as error:
        row = _without(BAD_INPUT if isinstance(error, InputError) else FAULT, str(error))
    except Exception as error:
        # A row tells it: the other designs of the batch have nothing to do with it.
        row = _without(FAULT, f"{type(error).__name__}: {error}")
    return {**row, "design": job.name, "digest": mark}


def mark_of(text: bytes) -> str:
    """Return the mark of a design's text: what has the same mark has the same row.

    It holds the version of the program, the catalogue and the language in use too.
    """
    return digest(text, evenrow.__version__, _catalogue_mark(), language())


#: The catalogue last asked for its mark, with it: one is in use for many designs.
_marked: list[tuple[Catalogue, str]] = []


def _catalogue_mark() -> str:
    """Return a hash of every entry of the catalogue in use, also where its version stayed."""
    catalogue = current()
    if not _marked or _marked[0][0] is not catalogue:
        _marked[:] = [(catalogue, digest(repr(catalogue).encode()))]
    return _marked[0][1]


def _designed(document: Mapping[str, Any]) -> Row:
    inputs, system = read(CALCULATOR, documents.upgrade(document))
    field = field_of(inputs, system)
    found = design(field, build_choices(inputs["build"], timer=field.timer))
    return {**summary(found), "name": str(document.get("name", ""))}


def _without(status: str, message: str) -> Row:
    return {**empty_row(), "status": status, "message": message[:MAX_MESSAGE]}


@dataclass(frozen=True, kw_only=True)
class Work:
    """`row_of` as a process of its own does it: in a language, with a catalogue.

    Parameters
    ----------
    language : str
        Code of the language of the messages.
    catalogue : str
        Folder of a catalogue of one's own, "" for the generic one.
    """

    language: str = "en"
    catalogue: str = ""

    def begin(self, stack: ExitStack) -> None:
        """Take language and catalogue until `stack` puts back what was in use."""
        stack.enter_context(use_language(self.language))
        if self.catalogue:
            stack.enter_context(using(load_directory(self.catalogue)))

    def __call__(self, job: Job) -> Row:
        """Return the row of a design."""
        return row_of(job)
