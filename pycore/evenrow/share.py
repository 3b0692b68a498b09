"""A design in a link: ``design=1.<payload>`` behind the ``#``, which no server ever sees.

The payload is the compact JSON of the document, deflated in zlib format, in the alphabet
of base64url without padding.  A link can come from anybody, so reading one is bounded in
length, in unpacked size, in depth and in count, and every fault is an `InputError` at the
field ``link``.
"""

from __future__ import annotations

import base64
import binascii
import json
import re
import zlib
from collections.abc import Mapping
from typing import Any, NoReturn

from evenrow import documents
from evenrow.errors import InputError
from evenrow.structure import structure
from evenrow.words import tr

#: Version of the link that this program writes.
VERSION = 1
#: Longest fragment, ``design=`` included. [characters]
MAX_FRAGMENT = 16_000
#: Longest address in front of the fragment. [characters]
MAX_ADDRESS = 2_000
#: Unpacking stops here. [bytes]
MAX_EXPANDED = 131_072

#: White space of ASCII alone: what else counts as white differs between languages.
_WHITE = " \t\n\f\r"
_FRAGMENT = re.compile(r"design=([0-9]{1,9})\.([A-Za-z0-9_-]*)", re.ASCII)

#: Faults of the document inside the link, in the codes of the link.
_CODES = {
    "too_deep": "link_too_deep",
    "too_many": "link_too_many",
    "bad_key": "link_bad_key",
    "text_too_long": "link_text_too_long",
}


def encode(document: Mapping[str, Any]) -> str:
    """Return the link fragment of a document.

    Parameters
    ----------
    document : mapping
        A document within the limits of `evenrow.documents`.

    Returns
    -------
    str
        ``design=1.…`` to stand behind the ``#`` of any page of the site.

    Raises
    ------
    InputError
        When the document is not within the limits, or too long for a link.
    """
    documents.check_shape(document)
    text = json.dumps(document, ensure_ascii=False, separators=(",", ":"), allow_nan=False)
    data = text.encode("utf-8")
    payload = base64.urlsafe_b64encode(zlib.compress(data, 9)).rstrip(b"=").decode("ascii")
    fragment = f"design={VERSION}.{payload}"
    if len(fragment) > MAX_FRAGMENT or len(data) > MAX_EXPANDED:
        raise InputError(
            tr("the design is too long for a link"),
            code="link_too_long",
            field="link",
            hint=tr("saving the design file and sending that"),
        )
    return fragment


def decode(link: str) -> dict[str, Any]:
    """Return the document that a link carries.

    Parameters
    ----------
    link : str
        A fragment, or a whole address with one.

    Returns
    -------
    dict
        The document, within the limits of `evenrow.documents`; the version of the design
        file inside is not looked at.

    Raises
    ------
    InputError
        Field ``link``; code ``link_missing``, ``link_too_long``, ``link_version``,
        ``link_damaged``, ``link_too_large``, ``link_too_deep``, ``link_too_many``,
        ``link_text_too_long``, ``link_bad_key`` or ``link_bad_value``.
    """
    if len(link) > MAX_FRAGMENT + MAX_ADDRESS:
        _fail(tr("the link is too long"), "link_too_long")
    address, mark, fragment = link.strip(_WHITE).partition("#")
    if not mark:
        address, fragment = "", address
    if len(fragment) > MAX_FRAGMENT or len(address) > MAX_ADDRESS:
        _fail(tr("the link is too long"), "link_too_long")
    if not fragment.startswith("design="):
        _fail(tr("there is no design in this link"), "link_missing")
    parts = _FRAGMENT.fullmatch(fragment)
    if parts is None:
        _fail_damaged()
    version = int(parts.group(1))
    if version > VERSION:
        _fail(tr("this link was made by a newer Evenrow than this one"), "link_version")
    if version < VERSION:
        _fail_damaged()
    document = _from_json(_inflate(parts.group(2)))
    try:
        documents.check_shape(document, field="link")
    except InputError as error:
        code = _CODES.get(error.code, "link_bad_value")
        _fail(tr("the design in this link cannot be used: {reason}", reason=error.message), code)
    return dict(document)


def _inflate(payload: str) -> bytes:
    """Return the unpacked bytes of a payload; never more than `MAX_EXPANDED`."""
    try:
        packed = base64.urlsafe_b64decode(payload + "=" * (-len(payload) % 4))
        inflater = zlib.decompressobj()
        data = inflater.decompress(packed, MAX_EXPANDED + 1)
    except (binascii.Error, ValueError, zlib.error):
        _fail_damaged()
    if len(data) > MAX_EXPANDED:
        _fail(tr("the design in this link is too large"), "link_too_large")
    if not inflater.eof or inflater.unused_data:
        _fail_damaged()
    return data


def _from_json(data: bytes) -> dict[str, Any]:
    """Return the JSON object in `data`; nesting is bounded before it is parsed."""
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError:
        _fail_damaged()
    if structure(text, toml=False).open > documents.MAX_OPEN:
        _fail(tr("the design in this link is nested too deeply"), "link_too_deep")
    try:
        document = json.loads(text, parse_constant=_no_constant)
    except (ValueError, RecursionError):
        _fail_damaged()
    if not isinstance(document, dict):
        _fail(tr("the design in this link cannot be used"), "link_bad_value")
    return document


def _no_constant(word: str) -> NoReturn:
    raise ValueError(word)


def _fail(message: str, code: str) -> NoReturn:
    hint = tr("the newest Evenrow" if code == "link_version" else "asking for the link again")
    raise InputError(message, code=code, field="link", hint=hint) from None


def _fail_damaged() -> NoReturn:
    _fail(tr("the link is damaged or cut short"), "link_damaged")
