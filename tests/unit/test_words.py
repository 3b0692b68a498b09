"""The language in use, and texts with places."""

import threading

import pytest

from evenrow import words
from evenrow.words import language, said, tr, tr_count, translations, use_language


@pytest.fixture
def spanish(monkeypatch):
    table = {
        "{rows} rows of {length}": "{length} por hilera, {rows} hileras",
        "{count} row": "{count} hilera",
        "{count} rows": "{count} hileras",
        "The tap": "La llave",
    }
    monkeypatch.setattr(words, "translations", lambda code: table if code == "es" else {})


def test_english_is_its_own_translation():
    assert language() == "en"
    assert tr("{rows} rows of {length}", rows=3, length="5 m") == "3 rows of 5 m"
    assert tr("a literal {brace}") == "a literal {brace}"
    assert said("The tap") == "The tap"


def test_places_move_with_the_language(spanish):
    with use_language("es"):
        assert tr("{rows} rows of {length}", rows=3, length="5 m") == "5 m por hilera, 3 hileras"
        assert tr(said("The tap")) == "La llave"
    assert tr("The tap") == "The tap"


@pytest.mark.parametrize(("count", "text"), [(0, "0 hileras"), (1, "1 hilera"), (2, "2 hileras")])
def test_one_or_several(spanish, count, text):
    with use_language("es"):
        assert tr_count(count, "{count} row", "{count} rows") == text


def test_what_has_no_translation_is_shown_in_english(spanish):
    with use_language("es"):
        assert tr("Nobody has translated {what}", what="this") == "Nobody has translated this"


@pytest.mark.parametrize("code", ["", "EN", "de", "../es", "es\n", "x" * 10_000])
def test_an_unknown_language_means_english(code):
    with use_language("es"):
        with use_language(code):
            assert language() == "en"
        assert language() == "es"
    with pytest.raises(KeyError):
        translations(code)


def test_the_language_is_put_back_after_an_error():
    with pytest.raises(ValueError, match="stop"), use_language("es"):
        raise ValueError("stop")
    assert language() == "en"


def test_another_thread_has_its_own_language():
    seen = []
    with use_language("es"):
        thread = threading.Thread(target=lambda: seen.append(language()))
        thread.start()
        thread.join()
    assert seen == ["en"]
