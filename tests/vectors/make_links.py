"""Write links.json: good and damaged links that both the Python and the JS tests read.

Run with the package on the path: ``python tests/vectors/make_links.py``.
"""

from __future__ import annotations

import base64
import json
import zlib
from pathlib import Path

FILE = Path(__file__).with_name("links.json")

SMALL = {"evenrow": 1, "calculator": "run-length", "units": "us", "line": {"spacing": "12 in"}}
ROWS = {
    "evenrow": 1,
    "units": "metric",
    "name": "Größe & Äpfel 🌱 <b>bold</b>",
    "about": 'Quotes " and \\ and a\nline break',
    "rows": [{"crop": "tomato", "count": 6, "length": "30 m", "mulch": True}] * 3,
    "share": 0.5,
}


def packed(data: bytes) -> str:
    return base64.urlsafe_b64encode(zlib.compress(data, 9)).rstrip(b"=").decode()


def fragment(data: object, version: int = 1) -> str:
    raw = data if isinstance(data, bytes) else json.dumps(data, ensure_ascii=False).encode()
    return f"design={version}.{packed(raw)}"


def nested(depth: int) -> dict[str, object]:
    value: dict[str, object] = {}
    for _ in range(depth - 1):
        value = {"a": value}
    return value


def flipped(text: str, at: int) -> str:
    return text[:at] + ("A" if text[at] != "A" else "B") + text[at + 1 :]


def good() -> list[dict[str, object]]:
    long_text = {"evenrow": 1, "about": "x" * 40_000}
    key = {"evenrow": 1, "k" * 60: "60 characters"}
    brackets = {"evenrow": 1, "about": "[" * 200}
    documents = {
        "small": SMALL,
        "rows, umlauts, markup as text": ROWS,
        "empty table": {},
        "deepest": nested(6),
        "longest text": long_text,
        "longest key": key,
        "brackets in a text": brackets,
        "largest number": {"n": 2**53 - 1},
    }
    links = [{"name": n, "document": d, "fragment": fragment(d)} for n, d in documents.items()]
    after = f"{fragment(SMALL)} \n\t\r\f "
    return [*links, {"name": "white space after it", "document": SMALL, "fragment": after}]


def bad() -> list[dict[str, str]]:
    whole = fragment(ROWS)
    checksum = zlib.compress(json.dumps(SMALL).encode(), 9)
    wrong_sum = base64.urlsafe_b64encode(checksum[:-1] + bytes([checksum[-1] ^ 1]))
    trailing = base64.urlsafe_b64encode(checksum + b"more")
    twice = checksum + b"more" + checksum[-4:]
    cases = {
        "empty": ("", "link_missing"),
        "no design": ("settings=1", "link_missing"),
        "nothing after the name": ("design=", "link_damaged"),
        "no payload": ("design=1.", "link_damaged"),
        "no version": ("design=" + packed(b"{}"), "link_damaged"),
        "version zero": (fragment(SMALL, 0), "link_damaged"),
        "version two": (fragment(SMALL, 2), "link_version"),
        "far future version": (fragment(SMALL, 999999999), "link_version"),
        "future version, unknown payload": ("design=2.AAAA", "link_version"),
        "truncated by one": (whole[:-1], "link_damaged"),
        "truncated by half": (whole[: len(whole) // 2], "link_damaged"),
        "altered in the middle": (flipped(whole, len(whole) // 2), "link_damaged"),
        "altered at the start": (flipped(whole, 10), "link_damaged"),
        "wrong check sum": ("design=1." + wrong_sum.rstrip(b"=").decode(), "link_damaged"),
        "bytes after the end": ("design=1." + trailing.rstrip(b"=").decode(), "link_damaged"),
        "foreign letters": (whole[:20] + "%+/" + whole[20:], "link_damaged"),
        "markup in the payload": ("design=1.<script>alert(1)</script>", "link_damaged"),
        "emoji in the payload": ("design=1.🌱", "link_damaged"),
        "not deflated": ("design=1.eyJhIjoxfQ", "link_damaged"),
        "bytes after the end, then the check sum": (
            "design=1." + base64.urlsafe_b64encode(twice).rstrip(b"=").decode(),
            "link_damaged",
        ),
        "a byte order mark before it": ("\ufeff" + whole, "link_missing"),
        "a byte order mark in the payload": (fragment(b"\xef\xbb\xbf{}"), "link_damaged"),
        "a no-break space before it": ("\u00a0" + whole, "link_missing"),
        "a file separator after it": (whole + "\x1c", "link_damaged"),
        "a next line mark after it": (whole + "\x85", "link_damaged"),
        "a vertical tab after it": (whole + "\v", "link_damaged"),
        "white space behind the mark": ("# " + whole, "link_missing"),
        "two marks": ("##" + whole, "link_missing"),
        "over-long address": ("https://farm.example/" + "a" * 1980 + "#" + whole, "link_too_long"),
        "over-long address, not English": ("🌱" * 2001 + "#" + whole, "link_too_long"),
        "9000 plants": ("design=1." + "🌱" * 9000, "link_damaged"),
        "over-long": ("design=1." + "A" * 16_000, "link_too_long"),
        "zip bomb": (fragment(b" " * 4_000_000), "link_too_large"),
        "one byte too large": (
            fragment(b'{"a":"' + b" " * (131_073 - 8) + b'"}'),
            "link_too_large",
        ),
        "not UTF-8": (fragment(b'{"a":"\xff\xfe"}'), "link_damaged"),
        "not JSON": (fragment(b"name = 1"), "link_damaged"),
        "NaN": (fragment(b'{"a":NaN}'), "link_damaged"),
        "infinite by size": (fragment(b'{"a":1e999}'), "link_bad_value"),
        "number too large": (fragment({"a": 2**53}), "link_bad_value"),
        "null": (fragment({"a": None}), "link_bad_value"),
        "half a surrogate pair": (fragment(b'{"a":"\\ud83c"}'), "link_bad_value"),
        "a list": (fragment([1, 2]), "link_bad_value"),
        "a text": (fragment("design"), "link_bad_value"),
        "seven deep": (fragment(nested(7)), "link_too_deep"),
        "very deep": (fragment(b'{"a":' + b"[" * 60_000 + b"]" * 60_000 + b"}"), "link_too_deep"),
        "a text that never closes": (
            fragment(b'{"' + b'\\"' * 65_500),
            "link_damaged",
        ),
        "brackets in a text that never closes": (fragment(b'{"' + b"[" * 60), "link_damaged"),
        "brackets on the line after a text that never closes": (
            fragment(b'{"a\n' + b"[" * 60),
            "link_too_deep",
        ),
        "brackets after three quotes": (fragment(b'{"a"""' + b"[" * 60), "link_too_deep"),
        "brackets after brackets that close nothing": (
            fragment(b"]" * 60 + b"[" * 60),
            "link_too_deep",
        ),
        "too many values": (fragment({"a": [1] * 4000}), "link_too_many"),
        "text too long": (fragment({"a": "x" * 40_001}), "link_text_too_long"),
        "key too long": (fragment({"k" * 61: 1}), "link_bad_key"),
        "key with a space": (fragment({"a b": 1}), "link_bad_key"),
        "key with markup": (fragment({"<img>": 1}), "link_bad_key"),
        "empty key": (fragment({"": 1}), "link_bad_key"),
        "__proto__ as key": (fragment(b'{"__proto__":{"polluted":true}}'), "link_bad_key"),
        "constructor as key": (fragment({"rows": [{"constructor": 1}]}), "link_bad_key"),
    }
    return [{"name": n, "fragment": f, "code": code} for n, (f, code) in cases.items()]


if __name__ == "__main__":
    text = json.dumps({"good": good(), "bad": bad()}, ensure_ascii=True, indent=1)
    FILE.write_text(text + "\n", encoding="utf-8")
