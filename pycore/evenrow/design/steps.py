"""What to do, in order: put the head together, flush, close the ends; and the cautions.

The instructions themselves are in `evenrow.design.instructions`.
"""

from __future__ import annotations

from evenrow.design.instructions.assembly import (
    assembly_names,
    assembly_steps,
    cautions,
    fineness_note,
)
from evenrow.design.instructions.flushing_steps import flushing_steps

__all__ = ["assembly_names", "assembly_steps", "cautions", "fineness_note", "flushing_steps"]
