import json

import pytest

from evenrow.calculators import web
from evenrow.calculators.reading import default_document


def call(**request):
    text = web.call(json.dumps({"v": 1, **request}))
    assert "NaN" not in text
    assert "Infinity" not in text
    return json.loads(text)


@pytest.fixture
def document(registered):
    return default_document(registered, "us")


def test_an_answer_holds_numbers_and_html(document):
    reply = call(op="calc", document=document)
    assert reply["ok"] is True
    assert reply["headline"] == "total"
    total = reply["numbers"]["total"]
    assert total["value"] == pytest.approx(94.488)
    assert (total["kind"], total["unit"], total["text"]) == ("length", "m", "310\u00a0ft")
    assert reply["numbers"]["slope"]["value"] is None
    assert "<b>ends</b>" not in reply["html"]
    assert "&lt;b&gt;ends&lt;/b&gt;" in reply["html"]


def test_bad_input_is_told_at_each_field(document):
    document["rows"][0]["length"] = "<script>alert(1)</script>"
    document["slope"] = "9"
    error = call(op="calc", document=document)["error"]
    assert error["kind"] == "input"
    assert {each["field"] for each in error["errors"]} == {"rows.0.length", "slope"}
    assert set(error["errors"][0]) == {"field", "code", "message", "given", "accepted", "hint"}
    assert error["message"] == "2 values cannot be used"


def test_values_that_clash_are_input_errors_too(document):
    error = call(op="calc", document={**document, "note": "clash"})["error"]
    assert (error["kind"], error["errors"][0]["field"]) == ("input", "slope")


def test_an_impossible_design_says_what_would_work(document):
    error = call(op="calc", document={**document, "note": "impossible"})["error"]
    assert error["kind"] == "impossible"
    assert error["message"] == "it starves"
    assert error["changes"] == ["fewer rows"]
    assert error["errors"] == []


def test_a_fault_of_the_program_says_so(document):
    error = call(op="calc", document={**document, "note": "fault"})["error"]
    assert error["kind"] == "internal"
    assert "ZeroDivisionError" in error["detail"]


def test_a_number_that_did_not_come_out_is_never_shown(document):
    error = call(op="calc", document={**document, "note": "nan"})["error"]
    assert error["kind"] == "internal"


def test_info_names_the_calculators(registered):
    reply = call(op="info")
    assert reply["calculators"] == [{"id": "small", "title": "Small"}]
    assert reply["version"]


def test_a_document_becomes_a_file_and_comes_back(document):
    text = call(op="to-toml", document=document)["text"]
    assert text.startswith("evenrow = 1\n")
    assert call(op="from-toml", text=text)["document"] == document


@pytest.mark.parametrize(
    "request_text",
    [
        "",
        "{",
        "[]",
        "null",
        "NaN",
        '{"v": 2, "op": "info"}',
        '{"v": 1}',
        '{"v": 1, "op": ["calc"]}',
        '{"v": 1, "op": "calc"}',
        '{"v": 1, "op": "calc", "document": []}',
        '{"v": 1, "op": "calc", "document": {"evenrow": 1, "calculator": "none"}}',
        '{"v": 1, "op": "calc", "document": {"evenrow": 1, "calculator": ["small"]}}',
        '{"v": 1, "op": "calc", "document": {"evenrow": 9}}',
        '{"v": 1, "op": "calc", "document": {"evenrow": 1, "__proto__": {}}}',
        '{"v": 1, "op": "calc", "document": {"a": 1e999}}',
        '{"v": 1, "op": "from-toml"}',
        '{"v": 1, "op": "from-toml", "text": "a = "}',
        "[" * 100_000,
        "x" * 1_000_000,
    ],
    ids=lambda text: text[:50],
)
def test_a_bad_request_gets_an_input_error(registered, request_text):
    reply = json.loads(web.call(request_text))
    assert reply["ok"] is False
    assert reply["error"]["kind"] == "input", reply
    assert reply["error"]["message"]


def test_the_language_comes_with_each_request(document):
    document["slope"] = "9"
    spanish = call(op="calc", document=document, language="es")["error"]
    assert "falta" in spanish["message"]
    assert spanish["errors"][0]["field"] == "slope"
    for language in ("en", "xx", 3, None, ["es"]):
        error = call(op="calc", document=document, language=language)["error"]
        assert "missing" in error["message"]
    error = call(op="nothing", language="es")["error"]
    assert error["message"] == "la petición no pide nada conocido"


def test_titles_are_told_in_the_language_of_the_request():
    titles = {each["id"]: each["title"] for each in call(op="info", language="es")["calculators"]}
    assert titles["run-length"] == "Largo de la línea"
