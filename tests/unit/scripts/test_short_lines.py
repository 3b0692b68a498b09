"""Code does the same without its line table, and still fails in words."""

from __future__ import annotations

import importlib.util
import py_compile
import traceback

import pytest

from short_lines import one_line, shorten

SOURCE = '''
def halves(values):
    """Yield halves."""
    for value in values:
        try:
            yield value / 2
        except TypeError:
            yield None


async def wait():
    return [each async for each in source()]


class Shelf:
    size = 3

    def broken(self):
        text = "a"

        def inner():
            return (
                text
                / self.size
            )

        return inner()
'''


def codes(code):
    """Yield a code object and all inside it."""
    yield code
    for each in code.co_consts:
        if hasattr(each, "co_code"):
            yield from codes(each)


def test_every_line_is_the_first_of_its_function():
    before = compile(SOURCE, "shelf.py", "exec")
    after = one_line(before)
    for long, short in zip(codes(before), codes(after), strict=True):
        assert short.co_code == long.co_code
        assert {line for _, _, line in short.co_lines()} == {long.co_firstlineno}
        places = list(short.co_positions())
        assert len(places) == len(long.co_code) // 2
        assert set(places) == {(long.co_firstlineno, long.co_firstlineno, None, None)}
    assert sum(len(c.co_linetable) for c in codes(after)) < sum(
        len(c.co_linetable) for c in codes(before)
    )


def test_a_shortened_file_works_and_fails_in_words(tmp_path):
    source = tmp_path / "shelf.py"
    source.write_text(SOURCE, encoding="utf-8")
    compiled = tmp_path / "shelf.pyc"
    py_compile.compile(str(source), cfile=str(compiled), dfile="shelf.py", doraise=True)
    source.unlink()
    size = compiled.stat().st_size
    shorten(compiled)
    assert compiled.stat().st_size < size
    spec = importlib.util.spec_from_file_location("shelf", compiled)
    shelf = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(shelf)
    assert list(shelf.halves([1, "a", 4])) == [0.5, None, 2.0]
    with pytest.raises(TypeError) as caught:
        shelf.Shelf().broken()
    told = "".join(traceback.format_exception(caught.value))
    for number, line in enumerate(SOURCE.splitlines(), start=1):
        for name in ("inner", "broken"):
            if f"def {name}(" in line:
                assert f'File "shelf.py", line {number}, in {name}' in told
