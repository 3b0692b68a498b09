"""Join a module of ours with those it imports, so that the browser fetches one file, not a chain.

For our own plain modules only: named imports and exports, each on lines of their own, every name
at the top of a module told apart from all others. Anything else stops the build.
"""

from __future__ import annotations

import re
from pathlib import Path

from common import StopError

IMPORT = re.compile(r'^import \{(?P<names>[^}]*)\} from "\./(?P<file>[\w.-]+)";\n', re.MULTILINE)
EXPORT = re.compile(r"^export (?=(?:async )?(?:function|const|let|class) )", re.MULTILINE)
#: What the two patterns above do not take away.
LEFT = re.compile(r"^(?:import\s*[{*\"']|import \w+ from|export\b).*", re.MULTILINE)
TOP_NAME = re.compile(r"^(?:async )?(?:function|const|let|class) (\w+)", re.MULTILINE)


def in_order(top: Path) -> list[Path]:
    """Return a module and all that it imports, each after what it imports itself."""
    found: list[Path] = []

    def visit(module: Path) -> None:
        for match in IMPORT.finditer(module.read_text(encoding="utf-8")):
            visit(module.parent / match["file"])
        if module not in found:
            found.append(module)

    visit(top)
    return found


def joined(top: Path) -> str:
    """Return the text of a module with the texts of all that it imports before it.

    Raises
    ------
    StopError
        When two modules use one name at their top, or import or export in another form.
    """
    owners: dict[str, str] = {}
    texts = []
    for module in in_order(top):
        text = EXPORT.sub("", IMPORT.sub("", module.read_text(encoding="utf-8")))
        if other := LEFT.search(text):
            raise StopError(f"{module.name} cannot be joined to another module: {other[0]!r}")
        for name in TOP_NAME.findall(text):
            if owners.setdefault(name, module.name) != module.name:
                raise StopError(f"{owners[name]} and {module.name} both have a {name} at the top.")
        texts.append(text)
    return "\n".join(texts)


def join(top: Path) -> None:
    """Replace a module's file by the joined text; what it imported is removed."""
    text = joined(top)
    for module in in_order(top)[:-1]:
        module.unlink()
    top.write_text(text, encoding="utf-8")
