"""Reads the catalogue's data files: values as people write them in, SI out."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from functools import cache
from importlib.resources import files
from typing import Any, TypeVar

from evenrow.catalogue.types import AssemblyPart, Device, PipeSize
from evenrow.errors import InputError
from evenrow.hydraulics.emitter import Emitter
from evenrow.units import parse

_Found = TypeVar("_Found")


def _file(name: str) -> dict[str, Any]:
    return tomllib.loads(files("evenrow.catalogue").joinpath(name).read_text("utf-8"))


class _Entry:
    """One entry of a data file; every complaint names file, entry and key."""

    def __init__(self, file: str, code: str, values: Mapping[str, Any]) -> None:
        self.place = f"{file}: {code}"
        self.values = values

    def text(self, key: str) -> str:
        value = self.values.get(key)
        if not isinstance(value, str) or not value:
            raise InputError(
                f"{self.place}: {key} is missing", code="missing", field=key, accepted="a text"
            )
        return value

    def si(self, key: str, quantity: str, default: float | None = None) -> float:
        if key not in self.values and default is not None:
            return default
        return parse(self.text(key), quantity, field=f"{self.place}.{key}")

    def lengths(self, key: str, quantity: str) -> tuple[float, ...]:
        entries = self.values.get(key, [])
        found = tuple(parse(text, quantity, field=f"{self.place}.{key}") for text in entries)
        if not found or list(found) != sorted(found):
            raise InputError(
                f"{self.place}: {key} must list rising lengths", field=key, given=entries
            )
        return found


def _device(code: str, values: Mapping[str, Any]) -> Device:
    entry = _Entry("devices.toml", code, values)
    compensating = "compensates_from" in values
    return Device(
        code=code,
        label=entry.text("label"),
        kind=entry.text("kind"),
        diameter=entry.si("diameter", "diameter"),
        wall=entry.si("wall", "thickness"),
        emitter=Emitter(
            flow_nominal=entry.si("flow", "emitter_flow"),
            head_nominal=entry.si("at", "pressure"),
            exponent=float(values["exponent"]),
            cv=entry.si("cv", "share"),
            head_min=entry.si("compensates_from" if compensating else "pressure_min", "pressure"),
            head_max=entry.si("pressure_max", "pressure"),
            compensating=compensating,
        ),
        spacings=entry.lengths("spacings", "spacing"),
        passage=entry.si("passage", "diameter"),
        coils=entry.lengths("coil", "length"),
    )


@cache
def devices() -> dict[str, Device]:
    """Return the tapes and driplines by code, in the order of the data file."""
    return {code: _device(code, values) for code, values in _file("devices.toml").items()}


@cache
def pipes() -> dict[str, PipeSize]:
    """Return the pipe sizes by code, smallest bore first."""
    sizes = []
    for code, values in _file("pipes.toml").items():
        entry = _Entry("pipes.toml", code, values)
        sizes.append(
            PipeSize(
                code=code,
                label=entry.text("label"),
                bore=entry.si("bore", "diameter"),
                head_max=entry.si("pressure_max", "pressure"),
                coils=entry.lengths("coil", "length"),
                clamped=bool(values["clamped"]),
            )
        )
    return {size.code: size for size in sorted(sizes, key=lambda size: size.bore)}


@cache
def assembly_parts() -> tuple[AssemblyPart, ...]:
    """Return the parts of head assemblies in the order of the data file."""
    found = []
    for values in _file("assembly.toml")["part"]:
        entry = _Entry("assembly.toml", str(values.get("code", "?")), values)
        found.append(
            AssemblyPart(
                code=entry.text("code"),
                kind=entry.text("kind"),
                label=entry.text("label"),
                size=entry.text("size"),
                flow=entry.si("flow", "flow"),
                loss=entry.si("loss", "pressure"),
                flow_min=entry.si("flow_min", "flow", 0.0),
                flow_max=entry.si("flow_max", "flow"),
                dirty=entry.si("dirty", "pressure", 0.0),
                set_head=entry.si("set", "pressure") if "set" in values else None,
            )
        )
    return tuple(found)


def _of_code(entries: Mapping[str, _Found], code: str, what: str, field: str) -> _Found:
    found = entries.get(code)
    if found is None:
        raise InputError(
            f"this {what} is not in the catalogue",
            code="unknown_choice",
            field=field,
            given=code,
            accepted=", ".join(entries),
        )
    return found


def device(code: str, *, field: str = "line.device") -> Device:
    """Return the device of that code; raises `InputError` ``unknown_choice`` if there is none."""
    return _of_code(devices(), code, "line", field)


def pipe(code: str, *, field: str = "header.pipe") -> PipeSize:
    """Return the pipe of that code; raises `InputError` ``unknown_choice`` if there is none."""
    return _of_code(pipes(), code, "pipe", field)
