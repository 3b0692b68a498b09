"""The parts list: every line traced to what asked for it and to the rule that counted it."""

from evenrow.design.parts.build import HEADERS_AND_MAIN, LINE_ALLOWANCE, parts_list
from evenrow.design.parts.check import faults, plan_elements
from evenrow.design.parts.model import (
    ALL_ZONES,
    Arms,
    CutFor,
    CutList,
    Part,
    PartsList,
    PipePiece,
    Product,
    RunPiece,
    Use,
    ZoneFeed,
)
from evenrow.design.parts.of_layout import (
    header_arms,
    parts_of,
    price_of,
    run_lengths,
    run_pieces,
)

__all__ = [
    "ALL_ZONES",
    "HEADERS_AND_MAIN",
    "LINE_ALLOWANCE",
    "Arms",
    "CutFor",
    "CutList",
    "Part",
    "PartsList",
    "PipePiece",
    "Product",
    "RunPiece",
    "Use",
    "ZoneFeed",
    "faults",
    "header_arms",
    "parts_list",
    "parts_of",
    "plan_elements",
    "price_of",
    "run_lengths",
    "run_pieces",
]
