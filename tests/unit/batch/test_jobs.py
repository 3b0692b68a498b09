"""Files, folders and tables of variants as the designs of a batch."""

import pytest

from evenrow import documents
from evenrow.batch.jobs import find_jobs
from evenrow.design.demos import demo
from evenrow.errors import InputError


def test_folders_are_searched_and_nothing_comes_twice(tmp_path):
    for name in ("b.toml", "a.json", "deep/c.toml", "note.txt"):
        path = tmp_path / name
        path.parent.mkdir(exist_ok=True)
        path.write_text("x", "utf-8")
    jobs = find_jobs([tmp_path, tmp_path / "b.toml", "missing.toml"])
    names = [job.name.removeprefix(f"{tmp_path}/") for job in jobs]
    assert names == ["a.json", "b.toml", "deep/c.toml", "missing.toml"]


def variants(tmp_path, text):
    path = tmp_path / "v.csv"
    path.write_text(text, "utf-8")
    return find_jobs([path], demo("raspberries"))


def document(job):
    return documents.from_text(job.read())


def test_a_row_changes_what_it_names_and_nothing_else(tmp_path):
    text = 'design,rows.0.length,source.readings.1.volume,line.device\nlong,"70 ft",5 gal,\n,,,x\n'
    first, second = variants(tmp_path, text)
    base = demo("raspberries")
    assert first.name.endswith("v.csv:long")
    assert second.name.endswith("v.csv:2")
    changed = document(first)
    assert changed["rows"][0]["length"] == "70 ft"
    assert changed["source"]["readings"][1] == {"volume": "5 gal"}
    changed["rows"][0]["length"] = base["rows"][0]["length"]
    del changed["source"]["readings"][1]
    assert changed == base
    assert document(second)["line"]["device"] == "x"
    assert demo("raspberries") == base


@pytest.mark.parametrize("name", ["rows.7.length", "rows.x.length", "name.inner", "rows.-1.count"])
def test_a_place_that_is_not_there_is_named(tmp_path, name):
    (job,) = variants(tmp_path, f"{name}\n5\n")
    with pytest.raises(InputError) as caught:
        job.read()
    assert caught.value.field == name


def test_what_cannot_be_a_batch_is_refused(tmp_path):
    for given in ([], [tmp_path], [tmp_path / "v.csv"]):
        with pytest.raises(InputError) as caught:
            find_jobs(given)
        assert caught.value.field == "designs"
