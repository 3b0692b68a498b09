"""A co-op's own site: its catalogue checked, its folder made, and the build called."""

from evenrow.site.order import Order, read_order
from evenrow.site.workshop import build_site

__all__ = ["Order", "build_site", "read_order"]
