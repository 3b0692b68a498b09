"""Evenrow: drip irrigation systems that water the last plant as well as the first.

The public surface is small: `design_of` and `answer_of` take a document, the nested dict of texts
that a design file holds; `read_document`, `write_document` and `demo` get one and keep one.  Every
error is an `EvenrowError`.  `evenrow.batch` works out many, `evenrow.hydraulics` and
`evenrow.agronomy` are the physics in SI units, `evenrow.catalogue` holds lines, pipes and parts.
Names that are not listed in an ``__all__`` may change in any version.
"""

from importlib import import_module as _import_module
from typing import TYPE_CHECKING as _TYPE_CHECKING

if _TYPE_CHECKING:
    from evenrow.errors import EvenrowError, ImpossibleError, InputError, InputErrors
    from evenrow.library import (
        Answer,
        DesignAnswer,
        answer_of,
        demo,
        demo_names,
        design_of,
        read_document,
        write_document,
    )
    from evenrow.words import use_language

__version__ = "0.1.0"

__all__ = [
    "Answer",
    "DesignAnswer",
    "EvenrowError",
    "ImpossibleError",
    "InputError",
    "InputErrors",
    "__version__",
    "answer_of",
    "demo",
    "demo_names",
    "design_of",
    "read_document",
    "use_language",
    "write_document",
]

#: Loaded when first asked for: whoever needs one part need not wait for the others.
_LATER = {
    "errors": ("EvenrowError", "ImpossibleError", "InputError", "InputErrors"),
    "library": (
        "Answer",
        "DesignAnswer",
        "answer_of",
        "demo",
        "demo_names",
        "design_of",
        "read_document",
        "write_document",
    ),
    "words": ("use_language",),
}


def __getattr__(name: str) -> object:
    """Load a name of `_LATER` from its module."""
    for module, names in _LATER.items():
        if name in names:
            found: object = getattr(_import_module(f"{__name__}.{module}"), name)
            globals()[name] = found
            return found
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})
