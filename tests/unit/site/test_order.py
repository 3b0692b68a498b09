"""What a co-op orders is checked before anything is built."""

import json
import os
import shutil
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

import evenrow
from evenrow.cli import BAD_INPUT, OK, main
from evenrow.errors import InputError, InputErrors
from evenrow.site.order import read_order, unanswered_examples, write_own
from evenrow.site.workshop import find_workshop

ROOT = Path(__file__).resolve().parents[3]
COOP = ROOT / "tests" / "fixtures" / "hill-coop"


@pytest.fixture
def coop(tmp_path):
    return Path(shutil.copytree(COOP, tmp_path / "hill"))


def told(folder, out, **words):
    with pytest.raises(InputErrors) as caught:
        read_order(folder, out, words)
    return {each.field: each.code for each in caught.value.errors}


def test_a_sound_order_is_read(coop, tmp_path):
    order = read_order(coop, tmp_path / "out", {"contact": "by the gate"})
    assert order.catalogue.label == "Hill Farm Co-op 2026-03"
    assert order.host.name == "Hill Farm Co-op waters"
    assert order.host.contact == "by the gate"


def test_mistakes_of_all_files_are_told_at_once_with_their_lines(coop, tmp_path):
    for name, old, new in (
        ("site.toml", '"metric"', '"yards"'),
        ("devices.toml", '"1.9 L/h"', '"1.9 L"'),
        ("prices.csv", "coil 50 m;21,50", "coil 50 m;2l,50"),
    ):
        path = coop / name
        text = path.read_text("utf-8")
        assert text.count(old) == 1
        path.write_text(text.replace(old, new), "utf-8")
    path = coop / "prices.csv"
    rows = path.read_text("utf-8").splitlines()
    line = next(n for n, row in enumerate(rows, start=1) if "2l,50" in row)
    found = told(coop, tmp_path / "out")
    assert found["site.toml, line 4, units"] == "not_a_choice"
    assert found["devices.toml, line 6, hill-dripline-17.flow"] == "wrong_dimension"
    # A row of an entry with complaints of its own is passed over.
    assert len(found) == 2
    (coop / "devices.toml").write_bytes((COOP / "devices.toml").read_bytes())
    assert set(told(coop, tmp_path / "out")) == {
        "site.toml, line 4, units",
        f"prices.csv, line {line}, column price",
    }


def test_a_folder_with_other_things_is_never_written_over(coop, tmp_path):
    out = tmp_path / "papers"
    out.mkdir()
    (out / "letter.txt").write_text("dear")
    assert told(coop, out) == {"--out": "wrong_folder"}
    assert told(coop, out / "letter.txt") == {"--out": "wrong_folder"}
    assert told(coop, coop / "site") == {"--out": "wrong_folder"}
    assert told(coop, coop.parent) == {"--out": "wrong_folder"}
    for name in ("index.html", "sw.js", "assets"):
        (out / name).write_text("")
    read_order(coop, out, {})


def test_a_page_that_would_open_without_an_answer_makes_no_site(coop, tmp_path):
    # The one pipe that is left bears less than every regulator holds.
    from evenrow.catalogue import builtin

    pipes = "".join(f"[{code}]\nhide = true\n\n" for code in builtin().pipes)
    thin = '[thin]\nlabel = "thin"\nbore = "4 mm"\npressure_max = "8 bar"\ncoil = ["50 m"]\n'
    (coop / "pipes.toml").write_text(f"{pipes}{thin}clamped = false\n", "utf-8")
    (coop / "prices.csv").unlink()
    found = told(coop, tmp_path / "out")
    assert set(found.values()) <= {"no_answer", "unknown_choice"}
    assert found


def test_examples_without_an_answer_are_named(coop, tmp_path):
    order = read_order(coop, tmp_path / "out", {})
    found = unanswered_examples(order)
    # It is laid with the tape that this co-op does not sell; the next one does not suit it.
    assert found == ["Whole field: Winter squash"]


def test_what_a_site_carries_is_the_order_itself(coop, tmp_path):
    (coop / "notes.txt").write_text("secret")
    order = read_order(coop, tmp_path / "out", {"name": "Other"})
    own = tmp_path / "own"
    own.mkdir()
    write_own(order, own)
    assert {path.name for path in own.iterdir()} == {
        "catalogue.toml",
        "devices.toml",
        "prices.csv",
        "site.toml",
    }
    again = read_order(own, tmp_path / "out", {})
    assert again.host == order.host
    assert again.catalogue.devices == order.catalogue.devices
    assert again.catalogue.parts == order.catalogue.parts


def test_a_package_with_its_own_folder_designs_from_it(coop, tmp_path):
    package = tmp_path / "modules" / "evenrow"
    skip = shutil.ignore_patterns("__pycache__")
    shutil.copytree(Path(evenrow.__file__).parent, package, ignore=skip)
    order = read_order(coop, tmp_path / "out", {})
    (package / "own").mkdir()
    write_own(order, package / "own")
    code = (
        "import json; from evenrow.catalogue import current; "
        "from evenrow.catalogue.host import host; "
        "from evenrow.calculators import field_sheet, html, reading, registry; "
        "c = registry.CALCULATORS['whole-field']; "
        "d = reading.example_document(c, 'Raspberries by the shed'); "
        "c, r, s = registry.answer(d); "
        "print(json.dumps([current().mark, host().name, html.result_html(c, r, s), "
        "field_sheet.standalone(field_sheet.sheet_of(d))]))"
    )
    done = subprocess.run(
        [sys.executable, "-c", code],
        env={**os.environ, "PYTHONPATH": str(package.parent)},
        capture_output=True,
        text=True,
        check=True,
    )
    mark, name, answer, sheet = json.loads(done.stdout)
    assert mark == "Hill Farm Co-op, version 2026-03, prices in EUR"
    assert name == "Hill Farm Co-op waters"
    for text in (answer, sheet):
        assert "Our well house is locked" in text
        assert "EUR" in text
        assert "USD" not in text
    assert "Yard office" in sheet


def test_the_command_checks_without_building(capsys, coop, tmp_path):
    out = tmp_path / "out"
    words = ["site", "--catalogue", str(coop), "--out", str(out), "--check"]
    assert main(words) == OK
    said = capsys.readouterr().out
    assert said.startswith("Hill Farm Co-op waters: Hill Farm Co-op, version 2026-03")
    assert not out.exists()
    assert main([*words, "--name", "x" * 61]) == BAD_INPUT
    assert "--name" in capsys.readouterr().err


def test_the_build_is_found_in_a_clone_and_in_an_installed_package(tmp_path, monkeypatch):
    monkeypatch.delenv("EVENROW_WORK", raising=False)
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    clone = find_workshop(ROOT / "pycore" / "evenrow")
    assert (clone.source, clone.work) == (ROOT, ROOT)
    package = tmp_path / "lib" / "evenrow"
    scripts = package / "site_files" / "scripts"
    scripts.mkdir(parents=True)
    (scripts / "build_own_site.py").write_text("")
    inside = find_workshop(package)
    assert inside.source == package / "site_files"
    assert inside.work == tmp_path / "cache" / "evenrow" / evenrow.__version__
    with pytest.raises(InputError) as caught:
        find_workshop(tmp_path / "bare" / "deep" / "evenrow")
    assert caught.value.code == "no_site_files"


def test_the_wheel_carries_what_a_site_is_built_from(tmp_path):
    """Built as pip does it, from a copy, so that nothing is left in the clone."""
    source = tmp_path / "source"
    source.mkdir()
    for name in (
        "pyproject.toml",
        "setup.py",
        "README.md",
        "LICENSE",
        "CHANGELOG.md",
        "mkdocs.yml",
    ):
        shutil.copy(ROOT / name, source)
    for name in ("pycore", "site_src", "scripts"):
        skip = shutil.ignore_patterns("__pycache__", "*.egg-info")
        shutil.copytree(ROOT / name, source / name, ignore=skip)
    build = "import setuptools.build_meta as b; print(b.build_wheel('.'))"
    done = subprocess.run(
        [sys.executable, "-c", build], cwd=source, capture_output=True, text=True, check=True
    )
    wheel = source / done.stdout.split()[-1]
    with zipfile.ZipFile(wheel) as archive:
        inside = set(archive.namelist())
        archive.extractall(tmp_path / "lib")
    files = [path for name in ("site_src", "scripts") for path in (ROOT / name).rglob("*.*")]
    wanted = {
        f"evenrow/site_files/{path.relative_to(ROOT).as_posix()}"
        for path in [ROOT / "mkdocs.yml", *files]
        if path.is_file() and path.suffix not in (".pyc", ".in") and "benchmarks" not in path.parts
    }
    assert wanted - inside == set()
    assert not any("__pycache__" in name or "/benchmarks/" in name for name in inside)
    workshop = find_workshop(tmp_path / "lib" / "evenrow")
    assert workshop.source == tmp_path / "lib" / "evenrow" / "site_files"
