"""Data files: the line of every key, and files that are hostile or broken."""

import tomllib

import pytest
import tomli_w
from hypothesis import given
from hypothesis import strategies as st

from evenrow.catalogue.data_file import MAX_BYTES, key_lines, read_data_file
from evenrow.errors import InputError

TEXT = '''# [not-this] = 1
source = """two
[not-a-table]
lines"""

[plain]
flow = "2 L/h"  # [nor-this]
spacings = [
  "20 cm", # a comment ] in between
  "[30] cm",
]
cv = "3 %"

["quoted name"]
a.b = 'x = 1 # "no comment'
inline = { kind = "tee", list = [1, 2] }

[ spaced . name ]
last = """"quoted""""
'''


def test_every_key_has_its_line():
    tomllib.loads(TEXT)
    assert key_lines(TEXT) == {
        ("source",): 2,
        ("plain",): 6,
        ("plain", "flow"): 7,
        ("plain", "spacings"): 8,
        ("plain", "cv"): 12,
        ("quoted name",): 14,
        ("quoted name", "a", "b"): 15,
        ("quoted name", "inline"): 16,
        ("spaced", "name"): 18,
        ("spaced", "name", "last"): 19,
    }


WORDS = st.text(min_size=1, max_size=12)
VALUES = st.one_of(WORDS, st.integers(-9, 9), st.booleans(), st.lists(WORDS, max_size=3))


@given(
    st.dictionaries(WORDS, st.dictionaries(WORDS, VALUES, min_size=1, max_size=4), max_size=5),
    st.booleans(),
)
def test_lines_are_where_the_keys_are(document, multiline):
    text = tomli_w.dumps(document, multiline_strings=multiline)
    lines = text.split("\n")
    found = key_lines(text)
    assert set(found) == {
        path for table, keys in document.items() for path in [(table,), *((table, k) for k in keys)]
    }
    for path, line in found.items():
        empty = tomli_w.dumps({path[0]: {}} if len(path) == 1 else {path[1]: 0})
        assert lines[line - 1].startswith(empty.removesuffix("0\n").strip("\n"))


@pytest.mark.parametrize(
    ("content", "field", "code"),
    [
        (b"[a]\nflow = 2 L/h\n", "x.toml, line 2", "not_toml"),
        (b'[a]\nflow = "2 L/h\n', "x.toml, line 2", "not_toml"),
        (b"[a]\n[b]\n[a]\n", "x.toml, line 3", "not_toml"),
        (b"[a]\nflow = [1,", "x.toml, at its end", "not_toml"),
        ("[a]\nlabel = 'm²'\nwall = 'é'".encode("cp1252"), "x.toml, line 2", "not_text"),
        (b"x = " + b"[" * 100_000, "x.toml", "too_deep"),
        (b"a" + b".a" * 100_000 + b" = 1", "x.toml", "too_deep"),
        (b"#" * (MAX_BYTES + 1), "x.toml", "too_long"),
        (b"[a]\nb = 1\n\0", "x.toml, line 3", "not_toml"),
        (b"a = " + b"9" * 5000, "x.toml", "not_toml"),
    ],
    ids=lambda value: str(value)[:20],
)
def test_a_bad_file_is_told_with_its_line(content, field, code):
    with pytest.raises(InputError) as caught:
        read_data_file("x.toml", content)
    assert (caught.value.field, caught.value.code) == (field, code)


def test_mark_and_windows_line_ends_are_read():
    content = '\ufeffsource = "m²"\r\n\r\n[a]\r\nb = 1\r\n'.encode()
    data = read_data_file("x.toml", content)
    assert data.top == {"source": "m²"}
    assert data.entries["a"].place("b") == "x.toml, line 4, a.b"
    assert data.entries["a"].place("c") == "x.toml, line 3, a.c"
