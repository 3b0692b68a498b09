"""Whole batches: a table whatever happens, gone on with after a stop, the same in any number."""

import csv
import json
import pickle
from collections import Counter
from contextlib import ExitStack
from dataclasses import replace
from importlib import import_module
from typing import ClassVar

import pytest

from evenrow.batch.columns import FAULT, empty_row
from evenrow.batch.journal import journal_of
from evenrow.batch.pool import Lost, Pool
from evenrow.batch.run import run
from evenrow.batch.table import read_table
from evenrow.batch.work import Work, row_of
from evenrow.catalogue import builtin, using
from evenrow.cli import main
from evenrow.design.demos import demo, demo_text
from evenrow.errors import InputError
from evenrow.words import use_language


class InProcess(Pool):
    """The pool without processes: the work is done here."""

    asked: ClassVar = []

    def map(self, jobs):
        with ExitStack() as stack:
            self._task.begin(stack)
            for number, job in enumerate(jobs):
                InProcess.asked.append(job.name.rpartition("/")[2])
                yield number, self._task(job)


@pytest.fixture
def here(monkeypatch):
    InProcess.asked = []
    monkeypatch.setattr(import_module("evenrow.batch.run"), "Pool", InProcess)
    return InProcess.asked


@pytest.fixture
def folder(tmp_path):
    made = tmp_path / "designs"
    made.mkdir()
    for name in ("raspberries", "school-garden"):
        (made / f"{name}.toml").write_text(demo_text(name), "utf-8")
    (made / "broken.toml").write_text("evenrow = 1\n[rows", "utf-8")
    (made / "other.toml").write_text('evenrow = 1\ncalculator = "zones"\n', "utf-8")
    text = (made / "raspberries.toml").read_text("utf-8").replace('"62 ft"', '"1300 ft"')
    (made / "too-long.toml").write_text(text, "utf-8")
    return made


def statuses(table):
    return [(row["design"].rpartition("/")[2], row["status"]) for row in read_table(table)]


ALL = [
    ("broken.toml", "bad input"),
    ("other.toml", "bad input"),
    ("raspberries.toml", "designed"),
    ("school-garden.toml", "designed"),
    ("too-long.toml", "impossible"),
]


def test_processes_give_every_design_its_row_in_order(tmp_path, folder):
    table = tmp_path / "t.csv"
    told = []
    outcome = run([folder], table, processes=2, progress=lambda *state: told.append(state))
    assert statuses(table) == ALL
    assert outcome.counts == Counter(status for _, status in ALL)
    assert outcome.failed == 2
    assert told[-1] == (5, 5, 2)
    rows = read_table(table)
    assert rows[2]["zones"] == 1
    assert rows[4]["changes"]
    assert "TOML" in rows[0]["message"]
    assert not journal_of(table).exists()


def test_a_row_is_that_of_the_design_alone(tmp_path, folder):
    table = tmp_path / "t.csv"
    run([folder / "raspberries.toml"], table, processes=1)
    (row,) = read_table(table)
    alone = row_of(folder / "raspberries.toml")
    assert row == {k: pytest.approx(v) if isinstance(v, float) else v for k, v in alone.items()}
    assert row_of(demo("raspberries"))["zones"] == row["zones"]


def test_a_second_run_works_out_only_what_changed(tmp_path, folder, here):
    table = tmp_path / "t.csv"
    run([folder], table)
    first = read_table(table)
    here.clear()
    (folder / "broken.toml").write_text((folder / "raspberries.toml").read_text("utf-8"), "utf-8")
    outcome = run([folder], table)
    assert here == ["broken.toml"]
    assert outcome.kept == 4
    assert read_table(table)[1:] == first[1:]
    here.clear()
    run([folder], table, again=True)
    assert len(here) == 5
    here.clear()
    run([folder], table, work=Work(language="es"))
    assert len(here) == 5  # messages are in the language
    here.clear()
    run([folder], table, work=Work(language="es"))
    assert here == []


def test_a_stopped_batch_goes_on(tmp_path, folder, here, monkeypatch):
    table = tmp_path / "t.csv"

    def stop(done, total, failed):
        if done == 3:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        run([folder], table, progress=stop)
    assert not table.exists()
    with journal_of(table).open("a", encoding="utf-8") as file:
        file.write('{"design": "cut sho')  # as a power cut leaves it
    here.clear()
    outcome = run([folder], table)
    assert here == ["school-garden.toml", "too-long.toml"]
    assert outcome.kept == 3
    assert statuses(table) == ALL


def test_faults_are_tried_again(tmp_path, folder, monkeypatch, here):
    table = tmp_path / "t.csv"
    monkeypatch.setattr(
        InProcess, "map", lambda self, jobs: ((n, Lost("it died")) for n, _ in enumerate(jobs))
    )
    outcome = run([folder], table)
    assert outcome.counts == {FAULT: 5}
    assert {row["message"] for row in read_table(table)} == {"it died"}
    monkeypatch.undo()
    assert run([folder], table, processes=2).kept == 0


def test_a_file_that_is_no_table_is_not_written_over(tmp_path, folder):
    mine = tmp_path / "mine.csv"
    mine.write_text("my,own\n1,2\n", "utf-8")
    with pytest.raises(InputError):
        run([folder], mine)
    assert mine.read_text("utf-8") == "my,own\n1,2\n"


def test_what_is_wrong_inside_the_program_is_a_row_too(monkeypatch):
    def broken(*_):
        raise ZeroDivisionError("by nought")

    monkeypatch.setattr("evenrow.batch.work.design", broken)
    row = row_of(demo("raspberries"))
    assert (row["status"], row["message"]) == (FAULT, "ZeroDivisionError: by nought")


def test_the_function_travels_and_its_rows_are_plain():
    assert pickle.loads(pickle.dumps(row_of)) is row_of
    row = row_of(demo("raspberries"))
    assert json.loads(json.dumps(row)) == row
    assert list(row) == list(empty_row())


def test_the_mark_follows_catalogue_and_language(tmp_path, folder):
    path = folder / "raspberries.toml"
    marks = [row_of(path)["digest"]]
    with use_language("es"):
        marks.append(row_of(path)["digest"])
    other = replace(builtin(), pipes=dict(list(builtin().pipes.items())[1:]))
    with using(other):
        marks.append(row_of(path)["digest"])
    assert len(set(marks)) == 3
    assert row_of(path)["digest"] == marks[0]


def test_the_command_tells_what_became_of_all(tmp_path, folder, capsys):
    table = tmp_path / "t.csv"
    status = main(["batch", str(folder), "--out", str(table), "--units", "us", "--processes", "2"])
    assert status == 2
    out = capsys.readouterr().out
    assert "2 designed, 1 without a design that works, 2 that cannot be used." in out
    with table.open(encoding="utf-8-sig", newline="") as file:
        assert "line_length [ft]" in next(csv.reader(file))
    assert main(["batch", str(folder / "raspberries.toml"), "--out", str(tmp_path / "u.csv")]) == 0
    assert main(["batch", str(folder), "--out", str(tmp_path / "t.txt")]) == 2
    assert main(["batch", str(folder), "--out", str(table), "--processes", "0"]) == 2


def test_variants_of_one_design(tmp_path, folder):
    (tmp_path / "v.csv").write_text("design,rows.0.length\nshort,40 ft\nbad,far\n", "utf-8")
    base = str(folder / "raspberries.toml")
    table = tmp_path / "out.csv"
    words = ["batch", str(tmp_path / "v.csv"), "--base", base, "--out", str(table)]
    assert main(words) == 2
    assert statuses(table) == [("v.csv:short", "designed"), ("v.csv:bad", "bad input")]
