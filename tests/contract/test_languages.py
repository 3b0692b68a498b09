"""Every text that goes through `tr` has a translation with the same places, and no other has."""

import ast
import json
import string
from collections import Counter
from pathlib import Path

import pytest

import evenrow
from evenrow.words import LANGUAGES, translations

ROOT = Path(evenrow.__file__).parent
MODULES = sorted(ROOT.rglob("*.py"))
OTHERS = [code for code in LANGUAGES if code != "en"]
#: Which arguments of which function are texts.
TEXTS = {"tr": (0,), "said": (0,), "tr_count": (1, 2)}


def literals(tree):
    """Yield the line and text of every literal given to a function of `TEXTS`; None for others."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in TEXTS:
            for place in TEXTS[node.func.id]:
                arguments = [node.args[place]] if place < len(node.args) else []
                for argument in arguments:
                    yield from _leaves(argument, node.lineno)


def _leaves(node, line):
    if isinstance(node, ast.IfExp):
        yield from _leaves(node.body, line)
        yield from _leaves(node.orelse, line)
    elif isinstance(node, ast.Constant) and isinstance(node.value, str):
        yield line, node.value
    elif isinstance(node, ast.JoinedStr):
        yield line, None


def places(text):
    """Return how often each place is named in a template."""
    return Counter(name for _, name, _, _ in string.Formatter().parse(text) if name is not None)


def collected():
    """Return every text of the code, with where it stands."""
    texts = {}
    for path in MODULES:
        for line, text in literals(ast.parse(path.read_text(encoding="utf-8"))):
            where = f"{path.relative_to(ROOT)}:{line}"
            assert text is not None, f"{where}: a text with values in it cannot be looked up"
            texts.setdefault(text, where)
    return texts


@pytest.mark.parametrize("code", OTHERS)
def test_every_text_is_translated(code):
    table = translations(code)
    missing = [f"{where}: {text}" for text, where in collected().items() if text not in table]
    assert missing == []


@pytest.mark.parametrize("code", OTHERS)
def test_translations_have_the_places_of_their_text(code):
    wrong = [
        text
        for text, other in translations(code).items()
        if set(places(text)) != set(places(other))
    ]
    assert wrong == []


@pytest.mark.parametrize("code", OTHERS)
def test_no_text_is_translated_twice_or_to_nothing(code):
    seen = Counter()
    for file in sorted((ROOT / "languages" / code).glob("*.json")):
        pairs = json.loads(file.read_text(encoding="utf-8"), object_pairs_hook=list)
        seen.update(text for text, _ in pairs)
        assert [text for text, other in pairs if not other.strip()] == []
    assert [text for text, count in seen.items() if count > 1] == []


def test_a_text_put_together_is_seen():
    assert list(literals(ast.parse("tr(f'{rows} rows')"))) == [(1, None)]
    assert list(literals(ast.parse("tr('one' if n == 1 else 'many')"))) == [(1, "one"), (1, "many")]
    assert list(literals(ast.parse("tr_count(n, 'one', 'many')"))) == [(1, "one"), (1, "many")]
    assert list(literals(ast.parse("tr(field.label)"))) == []
