"""The one door between the page and the calculators: JSON text in, JSON text out.

`call` never raises.  Requests come from the page's own worker, but the document inside
may have come with a link from anybody.
"""

from __future__ import annotations

import json
from typing import Any

import evenrow
from evenrow import documents
from evenrow.calculators import data, field_sheet, html, poster
from evenrow.calculators.comparing import compare
from evenrow.calculators.reading import in_order, unit_system
from evenrow.calculators.registry import CALCULATORS, answer, calculator_of
from evenrow.errors import EvenrowError, ImpossibleError, InputError, InputErrors
from evenrow.words import tr, use_language

#: Version of the requests and replies.
VERSION = 1
#: Longest request. [characters]
MAX_REQUEST = 2 * documents.MAX_BYTES


def call(text: str) -> str:
    """Answer one request of the page.

    Parameters
    ----------
    text : str
        JSON ``{"v": 1, "op": …}``, with a ``language`` of `evenrow.words` if not English.
        Operations: ``"calc"`` (with ``document``), ``"info"``,
        ``"to-toml"`` (with ``document``), ``"from-toml"`` (with ``text``), ``"compare"``
        (with ``left``, ``right`` and ``units``; see `comparing.compare`), ``"sheet"`` (with
        ``document`` of a whole field, and ``link`` and ``date`` as they shall stand on it),
        ``"poster"`` (with the same, of any calculator).

    Returns
    -------
    str
        JSON with ``"ok": true`` and what was asked for, or ``"ok": false`` and an ``error``
        with ``kind`` (``input``, ``impossible`` or ``internal``), ``message``, ``errors``,
        ``changes`` and ``detail``. It holds no NaN and no infinity.
    """
    # The page must hear of every fault in words: an exception here would leave it waiting.
    try:
        request = _request(text)
    except Exception as error:
        return _told(error)
    wanted = request.get("language")
    with use_language(wanted if isinstance(wanted, str) else ""):
        try:
            reply = {"v": VERSION, "ok": True, **_answer(request)}
            return json.dumps(reply, ensure_ascii=False, allow_nan=False)
        except Exception as error:
            return _told(error)


def _told(error: Exception) -> str:
    return _failure(error) if isinstance(error, EvenrowError) else _internal(error)


def _request(text: str) -> dict[str, Any]:
    if len(text) > MAX_REQUEST:
        raise InputError(tr("the request is too long"), code="too_long", field="")
    try:
        request = json.loads(text, parse_constant=_no_constant)
    except (ValueError, RecursionError):
        raise InputError(tr("the request is not valid JSON"), code="not_json") from None
    if not isinstance(request, dict) or request.get("v") != VERSION:
        raise InputError(
            tr("the request is of another version"),
            code="wrong_version",
            hint=tr("reloading the page"),
        )
    return request


def _no_constant(word: str) -> None:
    raise ValueError(word)


def _answer(request: dict[str, Any]) -> dict[str, Any]:
    match request.get("op"):
        case "calc":
            return _calc(_document(request))
        case "compare":
            pair = (_document(request, side) for side in ("left", "right"))
            left, right = map(documents.upgrade, pair)
            return compare(left, right, unit_system(request))
        case "info":
            calculators = [{"id": c.id, "title": tr(c.title)} for c in CALCULATORS.values()]
            return {"version": evenrow.__version__, "calculators": calculators}
        case "to-toml":
            document = documents.upgrade(_document(request))
            return {"text": documents.to_toml(in_order(calculator_of(document), document))}
        case "from-toml":
            given = request.get("text")
            if not isinstance(given, str):
                raise InputError(tr("there is no text to read"), code="missing", field="file")
            return {"document": documents.upgrade(documents.from_text(given))}
        case "sheet":
            return _sheet(request)
        case "poster":
            return _poster(request)
        case _:
            raise InputError(tr("the request asks for nothing known"), code="unknown_operation")


def _document(request: dict[str, Any], name: str = "document") -> dict[str, Any]:
    document = request.get(name)
    documents.check_shape(document)
    assert isinstance(document, dict)  # check_shape has said so
    return document


def _calc(document: dict[str, Any]) -> dict[str, Any]:
    calculator, result, system = answer(document)
    return {
        "numbers": data.numbers(result, system),
        "headline": result.headline.name,
        "html": html.result_html(calculator, result, system),
    }


def _poster(request: dict[str, Any]) -> dict[str, Any]:
    made = poster.poster_of(_document(request), **_texts(request))
    return {"title": made.title, "html": made.html, "code": made.code, "css": poster.style()}


def _sheet(request: dict[str, Any]) -> dict[str, Any]:
    sheet = field_sheet.sheet_of(_document(request), **_texts(request))
    return {"title": sheet.title, "html": sheet.html, "css": field_sheet.style()}


def _texts(request: dict[str, Any]) -> dict[str, str]:
    """Return link and date as they shall stand on paper."""
    texts = {key: request.get(key, "") for key in ("link", "date")}
    for key, text in texts.items():
        if not isinstance(text, str):
            raise InputError(tr("this is not text"), code="wrong_type", field=key)
    return texts


def _failure(error: EvenrowError) -> str:
    """Return the reply for an error that was meant for people."""
    plain = error.to_dict()
    if isinstance(error, InputErrors):
        found = plain["errors"]
    else:
        found = [plain] if isinstance(error, InputError) else []
    message = found[0]["message"] if len(found) == 1 else error.message
    if len(found) > 1:
        message = tr("{count} values cannot be used", count=len(found))
    changes = list(error.changes) if isinstance(error, ImpossibleError) else []
    detail = error.limit if isinstance(error, ImpossibleError) else error.code
    return _error(error.kind, message, found, changes, detail)


def _internal(error: Exception) -> str:
    message = tr("Evenrow made a mistake here: this is a fault of the program, not of your numbers")
    return _error("internal", message, [], [], f"{type(error).__name__}: {str(error)[:500]}")


def _error(
    kind: str, message: str, errors: list[dict[str, Any]], changes: list[str], detail: str
) -> str:
    keys = ("field", "code", "message", "given", "accepted", "hint")
    reply = {
        "kind": kind,
        "message": message,
        "errors": [{key: error[key] for key in keys} for error in errors],
        "changes": changes,
        "detail": detail,
    }
    return json.dumps({"v": VERSION, "ok": False, "error": reply}, ensure_ascii=False)
