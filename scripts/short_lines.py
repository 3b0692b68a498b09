"""Compiled files without their line tables, a third of their size in archives.

Runs in the building Python's tests and inside Pyodide: standard library only. Every line of a
function is then told as the function's first, which is what a traceback shows; answers and error
messages to people never name lines. The form of the table is that of CPython 3.11 and later
(``InternalDocs/code_objects.md`` in CPython's sources: entries of up to eight code units, kind 13
is a line without columns, here always no further than the one before).
"""

from __future__ import annotations

import marshal
from pathlib import Path
from types import CodeType

#: Bytes before the code: magic number, flags, and hash or time and size of the source.
HEADER = 16
_UNIT = 2  # bytes of a code unit
_MOST = 8  # code units of one entry
_FIRST_BIT, _LINE_ONLY, _NO_FURTHER = 0x80, 13 << 3, 0


def one_line(code: CodeType) -> CodeType:
    """Return the code, and all code inside it, with every line told as its first."""
    table = bytearray()
    left = len(code.co_code) // _UNIT
    while left:
        units = min(left, _MOST)
        table += bytes((_FIRST_BIT | _LINE_ONLY | units - 1, _NO_FURTHER))
        left -= units
    inner = (one_line(each) if isinstance(each, CodeType) else each for each in code.co_consts)
    return code.replace(co_linetable=bytes(table), co_consts=tuple(inner))


def shorten(path: Path) -> None:
    """Rewrite a compiled file with one line for each function."""
    whole = path.read_bytes()
    code = marshal.loads(whole[HEADER:])
    path.write_bytes(whole[:HEADER] + marshal.dumps(one_line(code)))
