"""Ask the packed Python everything; runs inside Pyodide, for `check_python.mjs`.

The last expression is the text of all answers. A module that is missing raises here, and so does
any answer that says that the program itself is at fault.
"""

import importlib
import json
from zipfile import ZipFile

from evenrow.calculators import web
from evenrow.calculators.field_sheet import WHOLE_FIELD
from evenrow.calculators.reading import default_document
from evenrow.calculators.registry import CALCULATORS
from evenrow.words import LANGUAGES

OTHERS = tuple(code for code in LANGUAGES if code != "en")
BAD = ("", "nonsense", "-1 ft", "1e400 m", "\u0663 furlong", "3 chain")


def walk(value, path=()):
    """Yield the path of every text in a document."""
    if isinstance(value, dict):
        for key, inner in value.items():
            yield from walk(inner, (*path, key))
    elif isinstance(value, list):
        for index, inner in enumerate(value):
            yield from walk(inner, (*path, index))
    else:
        yield path


def changed(document, path, text):
    """Return the document with another text at one place."""
    copy = json.loads(json.dumps(document))
    inner = copy
    for key in path[:-1]:
        inner = inner[key]
    inner[path[-1]] = text
    return copy


def ask(operation, **more):
    """Return the reply; a fault of the program itself is raised."""
    reply = web.call(json.dumps({"v": web.VERSION, "op": operation, **more}))
    told = json.loads(reply)
    if not told["ok"] and told["error"]["kind"] == "internal":
        raise AssertionError(f"{told['error']['detail']}: {operation} {more}")
    return reply


def package_modules():
    """Return the names of all modules of our package."""
    with ZipFile("/lib/core.zip") as archive:
        names = [name for name in archive.namelist() if name.startswith("evenrow/")]
    return [
        name.removesuffix(".pyc").replace("/", ".").removesuffix(".__init__")
        for name in names
        if name.endswith(".pyc")
    ]


def answers():
    """Yield every answer."""
    for name in package_modules():
        importlib.import_module(name)
    for calculator in CALCULATORS.values():
        for system in ("us", "metric"):
            document = default_document(calculator, system)
            reply = ask("calc", document=document)
            if not json.loads(reply)["ok"]:
                raise AssertionError(f"{calculator.id} has no answer for its example: {reply}")
            yield reply
            for code in OTHERS:
                told = ask("calc", document=document, language=code)
                if json.loads(told)["html"] == json.loads(reply)["html"]:
                    raise AssertionError(f"{calculator.id} says the same in {code} as in English")
                yield told
            toml = json.loads(ask("to-toml", document=document))["text"]
            yield ask("from-toml", text=toml)
            if calculator.id == WHOLE_FIELD:
                yield ask("poster", document=document, link="https://a.example/#design=1.", date="")
                yield ask("sheet", document=document, link="https://a.example/#design=1.", date="")
        # Bad texts stop before anything is solved, or are answered like the example.
        for number, path in enumerate(walk(document)):
            yield ask("calc", document=changed(document, path, BAD[number % len(BAD)]))


"\n".join(answers())
