import time

import pytest

from evenrow import documents
from evenrow.errors import InputError

FILE = """
evenrow = 1
name = "Raspberries"

[source]
static_pressure = "52 psi"

[[rows]]
length = "62 ft"
count = 5
"""


def refused(text, code):
    with pytest.raises(InputError) as caught:
        documents.from_text(text)
    assert caught.value.code == code, str(caught.value)
    return caught.value


def test_toml_and_json_give_the_same_document():
    document = {
        "evenrow": 1,
        "name": "Raspberries",
        "source": {"static_pressure": "52 psi"},
        "rows": [{"length": "62 ft", "count": 5}],
    }
    assert documents.from_text(FILE) == document
    assert documents.from_text(FILE.encode()) == document
    assert documents.from_text("\ufeff" + FILE) == document
    import json

    assert documents.from_text(json.dumps(document)) == document


def test_writing_puts_the_head_first_and_reads_back_the_same():
    document = {"rows": [{"length": "62 ft"}], "name": "A “name”\nin two lines", "evenrow": 1}
    text = documents.to_toml(document)
    assert text.startswith("evenrow = 1\nname = ")
    assert documents.from_text(text) == document
    assert documents.to_toml(documents.from_text(text)) == text


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("", "missing"),
        ("   \n", "missing"),
        (b'name = "\xff"', "not_text"),
        ("name = ", "not_toml"),
        ("<html></html>", "not_toml"),
        ("\x00", "not_toml"),
        ('{"a": 1', "not_json"),
        ('{"a": NaN}', "not_finite"),
        ('{"a": 1, "a": 2}', "duplicate_key"),
        ('{"a": null}', "wrong_type"),
        ('{"a": 1' + "0" * 5000 + "}", "not_json"),
        ("day = 2024-05-01", "wrong_type"),
        ("a = inf", "not_finite"),
        ("a = 9007199254740992", "not_finite"),
        ('"a b" = 1', "bad_key"),
        ("__proto__ = 1", "bad_key"),
        (f'a = "{"x" * 40_001}"', "text_too_long"),
        ("a = [" + "1," * 5000 + "]", "too_many"),
        ("a = " + "[" * 7 + "]" * 7, "too_deep"),
        ("a = " + "[" * 100_000, "too_deep"),
        ("a." * 100_000 + "a = 1", "too_deep"),
        ("x" * 300_000, "too_long"),
        ("x" * 250_000, "not_toml"),
        ('{"a":' * 40_000, "too_deep"),
    ],
    ids=lambda value: str(value)[:20],
)
def test_what_is_no_design_file_is_refused_quickly(text, code):
    start = time.perf_counter()
    refused(text, code)
    assert time.perf_counter() - start < 2


def test_the_line_of_the_fault_is_named():
    assert "line 3" in refused('evenrow = 1\nname = "x"\nunits us\n', "not_toml").message
    twice = refused('evenrow = 1\nname = "x"\nname = "y"\n', "not_toml")
    assert "line 3" in twice.message
    assert "twice" in twice.message
    assert "line 2" in refused('{"a": 1,\n b}', "not_json").message


def test_brackets_in_a_text_are_no_nesting():
    assert documents.from_text('{"about": "' + "[" * 100 + '"}') == {"about": "[" * 100}


def test_the_version_is_asked_for_and_checked():
    for document, code in (
        ({}, "missing"),
        ({"evenrow": "1"}, "wrong_version"),
        ({"evenrow": True}, "wrong_version"),
        ({"evenrow": 0}, "wrong_version"),
        ({"evenrow": 2}, "newer_version"),
    ):
        with pytest.raises(InputError) as caught:
            documents.upgrade(document)
        assert caught.value.code == code
        assert caught.value.field == "evenrow"
    assert documents.upgrade({"evenrow": 1, "a": "b"}) == {"evenrow": 1, "a": "b"}


def test_an_older_document_is_brought_up_step_by_step(monkeypatch):
    def rename(document):
        document["new"] = document.pop("old")

    def double(document):
        document["new"]["x"] *= 2

    monkeypatch.setattr(documents, "VERSION", 3)
    monkeypatch.setattr(documents, "MIGRATIONS", {1: rename, 2: double})
    old = {"evenrow": 1, "old": {"x": 2}}
    assert documents.upgrade(old) == {"evenrow": 3, "new": {"x": 4}}
    assert old == {"evenrow": 1, "old": {"x": 2}}


def test_every_older_version_has_its_step():
    assert set(documents.MIGRATIONS) == set(range(1, documents.VERSION))
