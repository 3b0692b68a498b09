"""From the entries of a data file to what the catalogue holds, with every complaint gathered."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from typing import Any, TypeVar

from evenrow.catalogue.data_file import DataFile
from evenrow.catalogue.forms import DEVICES, FITTINGS, PARTS, PIPES
from evenrow.catalogue.keys import MAX_TOLD, Entry, Form, read_entry
from evenrow.catalogue.types import AssemblyPart, Device, Fitting, PipeSize
from evenrow.errors import InputError, echo
from evenrow.hydraulics.emitter import Emitter

#: What a regulator needs before it beyond its setting: 5 psi. Common practice, no source. [m]
MARGIN = 5.0 * 0.70307

_Built = TypeVar("_Built")
Values = Mapping[str, Any]
#: A check of an entry: where it is broken, the key, what is wrong, and what is accepted.
Rule = tuple[bool, str, str, str]


def _device_rules(v: Values) -> list[Rule]:
    least = "compensates_from" if "compensates_from" in v else "pressure_min"
    return [
        (
            v["wall"] >= v["diameter"] / 2,
            "wall",
            "the wall is too thick",
            "less than half the diameter",
        ),
        (
            v["passage"] >= v["diameter"],
            "passage",
            "the passage is too wide",
            "less than the diameter",
        ),
        (
            v[least] >= v["pressure_max"],
            least,
            "the lowest pressure is not below the highest",
            "less than pressure_max",
        ),
        (
            not v[least] <= v["at"] <= v["pressure_max"],
            "at",
            "the flow is stated at a pressure that the line is not meant for",
            f"from {least} to pressure_max",
        ),
        (
            v["exponent"] == 0.0 and "compensates_from" not in v,
            "exponent",
            "an exponent of 0 is that of a pressure-compensating line",
            "more than 0, or compensates_from in place of pressure_min",
        ),
        _prices_rule(v),
    ]


def _prices_rule(v: Values) -> Rule:
    coils, prices = len(v["coil"]), len(v.get("price", ()))
    return (
        prices not in (0, coils),
        "price",
        f"there are {prices} prices for {coils} coils",
        "one price for each coil, or no price",
    )


def _part_rules(v: Values) -> list[Rule]:
    return [
        (
            v.get("flow_min", 0.0) >= v["flow_max"],
            "flow_min",
            "the least flow is not below the largest",
            "less than flow_max",
        ),
        (
            v["flow"] > v["flow_max"],
            "flow",
            "the loss is stated at more than the largest flow",
            "up to flow_max",
        ),
        (
            "margin" in v and v["kind"] != "regulator",
            "margin",
            "only a regulator has a margin above its setting",
            "margin for kind regulator only",
        ),
        (
            "pressure_min" in v and v["kind"] != "zone valve",
            "pressure_min",
            "the lowest pressure is looked at for zone valves alone",
            "pressure_min for kind zone valve only",
        ),
        (
            v.get("pressure_min", 0.0) >= v.get("pressure_max", math.inf),
            "pressure_min",
            "the lowest pressure is not below the highest",
            "less than pressure_max",
        ),
    ]


def _device(code: str, v: Values, source: str) -> Device:
    compensating = "compensates_from" in v
    return Device(
        code=code,
        label=v["label"],
        kind=v["kind"],
        diameter=v["diameter"],
        wall=v["wall"],
        emitter=Emitter(
            flow_nominal=v["flow"],
            head_nominal=v["at"],
            exponent=v["exponent"],
            cv=v["cv"],
            head_min=v["compensates_from" if compensating else "pressure_min"],
            head_max=v["pressure_max"],
            compensating=compensating,
        ),
        spacings=v["spacings"],
        passage=v["passage"],
        body_k=v.get("body_loss", 0.0),
        coils=v["coil"],
        prices=v.get("price", ()),
        mass=v.get("mass_per_metre"),
        source=source,
    )


def _pipe(code: str, v: Values, source: str) -> PipeSize:
    return PipeSize(
        code=code,
        label=v["label"],
        bore=v["bore"],
        head_max=v["pressure_max"],
        coils=v["coil"],
        clamped=v["clamped"],
        prices=v.get("price", ()),
        mass=v.get("mass_per_metre"),
        source=source,
    )


def _part(code: str, v: Values, source: str) -> AssemblyPart:
    return AssemblyPart(
        code=code,
        kind=v["kind"],
        label=v["label"],
        size=v["size"],
        flow=v["flow"],
        loss=v["loss"],
        flow_min=v.get("flow_min", 0.0),
        flow_max=v["flow_max"],
        dirty=v.get("dirty", 0.0),
        set_head=v.get("set"),
        margin=v.get("margin", MARGIN) if v["kind"] == "regulator" else 0.0,
        head_min=v.get("pressure_min", 0.0),
        head_max=v.get("pressure_max"),
        price=v.get("price"),
        mass=v.get("mass"),
        source=source,
    )


def _fitting(code: str, v: Values, source: str) -> Fitting:
    return Fitting(
        code=code,
        kind=v["kind"],
        label=v["label"],
        fits=v.get("fits", ""),
        to=v.get("to", ""),
        price=v.get("price"),
        mass=v.get("mass"),
        pack=v.get("pack", 1),
        unit=v.get("unit", "piece"),
        stations=v.get("stations"),
        source=source,
    )


def _built(
    data: DataFile,
    form: Form,
    rules: Callable[[Values], list[Rule]],
    make: Callable[[str, Values, str], _Built],
    complaints: list[InputError],
    source: str,
) -> dict[str, _Built]:
    """Return what the entries of a file make, in their order, without those that hide."""
    mark = _file_source(data, complaints) or source
    found = {}
    for code, entry in data.entries.items():
        if hides(entry) or len(complaints) > MAX_TOLD:
            continue
        values = read_entry(form, entry, complaints)
        if values is None:
            continue
        broken = [rule for rule in rules(values) if rule[0]]
        complaints.extend(_broken(entry, rule) for rule in broken)
        cited = values.get("source", mark)
        if not cited:
            complaints.append(_no_source(entry, form))
        elif not broken:
            found[code] = make(code, values, cited)
    return found


def hides(entry: Entry) -> bool:
    """Return whether an entry only says that its code is left out of the catalogue."""
    return dict(entry.values) == {"hide": True}


def _broken(entry: Entry, rule: Rule) -> InputError:
    _, key, message, accepted = rule
    return InputError(
        message,
        code="contradiction",
        field=entry.place(key),
        given=entry.values.get(key),
        accepted=accepted,
    )


def _no_source(entry: Entry, form: Form) -> InputError:
    return InputError(
        f"it is not told where the figures of this {form.what} come from",
        code="missing",
        field=entry.place("source"),
        accepted='source = "…" in the entry, or at the head of the file for all entries',
    )


def _file_source(data: DataFile, complaints: list[InputError]) -> str:
    """Return the source at the head of a file, or ""; nothing else may stand there."""
    for key, value in data.top.items():
        line = data.line_of(key)
        if key != "source" or not isinstance(value, str) or not value.strip():
            complaints.append(
                InputError(
                    "at the head of a file stands only its source",
                    code="unknown_key",
                    field=data.name + (f", line {line}" if line else "") + f", {echo(key)}",
                    accepted='source = "…", then entries, each a code in brackets',
                )
            )
    found = data.top.get("source", "")
    return found.strip() if isinstance(found, str) else ""


def build_devices(
    data: DataFile, complaints: list[InputError], source: str = ""
) -> dict[str, Device]:
    """Return the tapes and driplines of a file by code.

    Complaints are added to the list; `source` stands where the file names none.
    """
    return _built(data, DEVICES, _device_rules, _device, complaints, source)


def build_pipes(
    data: DataFile, complaints: list[InputError], source: str = ""
) -> dict[str, PipeSize]:
    """Return the pipes of a file by code.

    Complaints are added to the list; `source` stands where the file names none.
    """
    return _built(data, PIPES, lambda v: [_prices_rule(v)], _pipe, complaints, source)


def build_parts(
    data: DataFile, complaints: list[InputError], source: str = ""
) -> dict[str, AssemblyPart]:
    """Return the head assembly parts of a file by code.

    Complaints are added to the list; `source` stands where the file names none.
    """
    return _built(data, PARTS, _part_rules, _part, complaints, source)


def build_fittings(
    data: DataFile, complaints: list[InputError], source: str = ""
) -> dict[str, Fitting]:
    """Return the fittings of a file by code.

    Complaints are added to the list; `source` stands where the file names none.
    """
    return _built(data, FITTINGS, lambda _: [], _fitting, complaints, source)
