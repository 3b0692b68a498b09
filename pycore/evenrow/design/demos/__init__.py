"""The demonstration fields, as design files. All of them are invented."""

from __future__ import annotations

import tomllib
from importlib.resources import files
from typing import Any

#: File names without their ending, in the order in which they are offered.
NAMES = ("raspberries", "market-garden", "winter-squash", "school-garden")


def demo_text(name: str) -> str:
    """Return the design file of a demonstration field as TOML text."""
    return files("evenrow.design.demos").joinpath(f"{name}.toml").read_text("utf-8")


def demo(name: str) -> dict[str, Any]:
    """Return the document of a demonstration field; `name` is one of `NAMES`."""
    return tomllib.loads(demo_text(name))
