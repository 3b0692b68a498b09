"""The bar of a batch, in a terminal and elsewhere."""

import io

from evenrow.batch import command


class Terminal(io.StringIO):
    def isatty(self):
        return True


def shown(stream, monkeypatch, states, step):
    clock = iter(step * n for n in range(1000))
    monkeypatch.setattr(command.time, "monotonic", lambda: next(clock))
    show = command.bar(stream)
    for state in states:
        show(*state)
    return stream.getvalue()


def test_a_terminal_gets_a_bar_that_ends(monkeypatch):
    text = shown(Terminal(), monkeypatch, [(1, 2, 0), (2, 2, 1)], 1.0)
    first, second = text.split("\r")[1:]
    assert "[###############...............] 1 of 2, about 1 s left" in first
    assert second.endswith("[##############################] 2 of 2, about 0 s left, 1 failed\n")


def test_a_file_gets_a_line_now_and_then(monkeypatch):
    states = [(n, 100, 0) for n in range(1, 101)]
    lines = shown(io.StringIO(), monkeypatch, states, 1.0).splitlines()
    assert len(lines) == 10
    assert lines[0] == "10 of 100, about 90 s left"


def test_what_was_there_from_before_counts_for_no_time(monkeypatch):
    lines = shown(io.StringIO(), monkeypatch, [(91, 100, 0)], 10.0)
    assert lines == "91 of 100, about 90 s left\n"
