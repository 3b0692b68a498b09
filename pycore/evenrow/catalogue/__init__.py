"""Generic tapes, driplines, pipes and parts as data files, their loader and their checks."""

from evenrow.catalogue.load import assembly_parts, device, devices, pipe, pipes
from evenrow.catalogue.types import AssemblyPart, Device, PipeSize

__all__ = [
    "AssemblyPart",
    "Device",
    "PipeSize",
    "assembly_parts",
    "device",
    "devices",
    "pipe",
    "pipes",
]
