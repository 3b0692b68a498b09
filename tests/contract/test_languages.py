"""Every text that goes through `tr` has a translation with the same places, and no other has."""

import ast
import json
from collections import Counter

import pytest
from language_texts import (
    OTHERS,
    ROOT,
    answers_not_looked_up,
    collected,
    declared,
    documents_of,
    literals,
    not_looked_up,
    places,
    same_in_both,
)

from evenrow.calculators.registry import CALCULATORS
from evenrow.words import translations

#: Calculators that are asked so fast that every choice can be tried.
QUICK = (
    "source-flow",
    "line-choice",
    "run-length",
    "watering-time",
    "water-filter",
    "field-check",
    "upkeep",
    "zones",
    "parts-list",
)
ASKED = [
    pytest.param(make_document, id=f"{name}, {asked}")
    for name in CALCULATORS
    for asked, make_document in documents_of(CALCULATORS[name])
]


@pytest.mark.parametrize("code", OTHERS)
def test_every_text_is_translated(code):
    table = translations(code)
    missing = [f"{where}: {text}" for text, where in collected().items() if text not in table]
    assert missing == []


@pytest.mark.parametrize("code", OTHERS)
def test_every_declared_text_is_translated(code):
    table = translations(code)
    texts = declared()
    assert [f"{where}: {text}" for text, where in texts.items() if text not in table] == []


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


@pytest.mark.parametrize("make_document", ASKED)
def test_every_text_of_an_answer_goes_through_tr(make_document):
    assert list(not_looked_up(make_document)) == []


@pytest.mark.parametrize("name", QUICK)
def test_every_text_goes_through_tr_whatever_is_chosen_or_wrong(name):
    assert list(answers_not_looked_up(CALCULATORS[name])) == []


@pytest.mark.parametrize("code", OTHERS)
@pytest.mark.parametrize("make_document", ASKED)
def test_answers_have_one_shape_and_no_sentence_in_common(make_document, code):
    assert list(same_in_both(make_document, code)) == []


def test_a_text_put_together_is_seen():
    assert list(literals(ast.parse("tr(f'{rows} rows')"))) == [(1, None)]
    assert list(literals(ast.parse("tr('one' if n == 1 else 'many')"))) == [(1, "one"), (1, "many")]
    assert list(literals(ast.parse("tr_count(n, 'one', 'many')"))) == [(1, "one"), (1, "many")]
    assert list(literals(ast.parse("tr(field.label)"))) == []
