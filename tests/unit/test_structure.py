"""The walk that keeps bombs from a parser: exact on quotes and comments, linear in length."""

import tomllib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from evenrow.documents import MAX_BYTES, from_text
from evenrow.errors import InputError
from evenrow.structure import structure


@pytest.mark.parametrize(
    ("text", "most_open", "dots"),
    [
        ("a.b.c = 1", 0, 2),
        ("[[rows]]\n[a.b]", 2, 1),
        ('a = "[[[...]]]"', 0, 0),
        ("a = '[[[...'", 0, 0),
        ("a = 'ends with a backslash\\'\nb = [[1]]", 2, 0),
        ('a = "a quote \\" and [ inside"', 0, 0),
        ('a = """\n[[[ "quoted" ...\n"""\nb = [1]', 1, 0),
        ("a = '''\n[[['''\nb = [1]", 1, 0),
        ('# [[[ ... "\na.b = 1', 0, 1),
        ('"!"."!"."!" = 1', 0, 2),
        ("a = [1.5, 2.5, 3.5]", 1, 1),
        ("a = { b.c = 1, d.e.f = 2 }", 1, 2),
        ('a = ""\nb = [1]', 1, 0),
    ],
)
def test_toml(text, most_open, dots):
    found = structure(text, toml=True)
    assert (found.open, found.dots) == (most_open, dots)


@pytest.mark.parametrize(
    ("text", "most_open"),
    [
        ('{"a": [1, {"b": 2}]}', 3),
        ('{"a": "[[[["}', 1),
        ('{"a": "\\"[[["}', 1),
        ('{"it\'s": [1]}', 2),
        ('{"a": "", "b": "", "c": [1]}', 2),
        ('{"a": "# no comment", "b": [1]}', 2),
        ('{"a"""[[', 3),
        ('{"a\n[[', 3),
        ("]]]]{[", 2),
    ],
)
def test_json(text, most_open):
    assert structure(text, toml=False).open == most_open


@given(st.text(alphabet="[]{}\"'#\\\n.,=ab", max_size=60))
def test_what_a_parser_accepts_was_never_deeper_than_measured(text):
    try:
        parsed = tomllib.loads(text)
    except tomllib.TOMLDecodeError:
        return

    def depth(value):
        if isinstance(value, dict):
            return max((depth(v) for v in value.values()), default=0)
        return 1 + max((depth(v) for v in value), default=0) if isinstance(value, list) else 0

    assert structure(text, toml=True).open >= depth(parsed)


@pytest.mark.parametrize(
    "text",
    [
        '{"' + '\\"' * (MAX_BYTES // 2 - 4),
        '"' + '\\"' * (MAX_BYTES // 2 - 4),
        ".".join(['"!"'] * 60_000) + " = 1",
        "a." * 100_000 + "b = 1",
        "x = " + "[" * 200_000,
        "'" * 200_000,
    ],
    ids=["open text in JSON", "open text", "quoted dots", "dots", "brackets", "quotes"],
)
def test_bombs_are_refused_in_words(text):
    """Each of these once cost a parser minutes or gigabytes."""
    with pytest.raises(InputError):
        from_text(text)
