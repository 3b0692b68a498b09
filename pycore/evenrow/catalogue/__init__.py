"""Generic tapes, driplines, pipes and parts as data files, their loader and their checks.

What only whoever keeps a catalogue needs is not loaded here: `evenrow.catalogue.directory`
reads a folder of one's own, `evenrow.catalogue.price_file` writes its price list.
"""

from evenrow.catalogue.types import AssemblyPart, Device, Fitting, PipeSize
from evenrow.catalogue.use import (
    assembly_parts,
    controller,
    current,
    device,
    devices,
    fitting,
    fittings,
    pipe,
    pipes,
    use,
    using,
)
from evenrow.catalogue.whole import Catalogue, builtin

__all__ = [
    "AssemblyPart",
    "Catalogue",
    "Device",
    "Fitting",
    "PipeSize",
    "assembly_parts",
    "builtin",
    "controller",
    "current",
    "device",
    "devices",
    "fitting",
    "fittings",
    "pipe",
    "pipes",
    "use",
    "using",
]
