"""The command with a catalogue of one's own."""

import json

import pytest

from evenrow.catalogue import builtin, current
from evenrow.catalogue.schema import schemas
from evenrow.cli import main

ABOUT = 'name = "Hill shop"\nversion = "2026-03"\ncurrency = "USD"\nsource = "measured here"\n'
LINE = """
[our-line]
kind = "dripline"
label = "our own line"
diameter = "13.8 mm"
wall = "1.0 mm"
flow = "1.0 L/h"
at = "1 bar"
exponent = 0.5
cv = "3 %"
pressure_min = "0.5 bar"
pressure_max = "3 bar"
spacings = ["20 cm", "30 cm"]
passage = "0.9 mm"
coil = ["100 m"]
"""


@pytest.fixture
def folder(tmp_path):
    tmp_path.joinpath("catalogue.toml").write_text(ABOUT)
    tmp_path.joinpath("devices.toml").write_text(LINE + "[dripline-16]\nhide = true\n")
    return tmp_path


def run(capsys, *words):
    status = main([str(word) for word in words])
    return status, *capsys.readouterr()


def length(out):
    return json.loads(out)["headline"]["value"]


def test_a_design_is_made_from_the_catalogue_named(capsys, folder):
    words = ["run-length", "--line-device", "our-line", "--json"]
    status, _, err = run(capsys, *words)
    assert status == 2
    assert "our-line" in err
    status, out, err = run(capsys, "--catalogue", folder, *words)
    assert (status, err) == (0, "")
    # Half the flow of the generic line, so it may run farther.
    assert length(out) > length(run(capsys, "run-length", "--json")[1])
    assert run(capsys, f"--catalogue={folder}", *words)[1] == out
    assert current() is builtin()


def test_the_help_names_what_the_catalogue_has(capsys, folder):
    with pytest.raises(SystemExit):
        main(["--catalogue", str(folder), "run-length", "--help"])
    shown = capsys.readouterr().out
    assert "our-line" in shown
    assert "|dripline-16|" not in shown


def test_a_default_that_is_hidden_gives_way(capsys, folder):
    status, out, _ = run(capsys, "--catalogue", folder, "whole-field")
    assert status == 0
    assert out


def test_a_catalogue_is_checked(capsys, folder):
    status, out, err = run(capsys, "catalogue", "check", folder)
    assert (status, err) == (0, "")
    assert out.startswith("Hill shop, version 2026-03, prices in USD\n  8 lines, 7 with a price\n")
    folder.joinpath("prices.csv").write_text("code;unit;price;shelf\nour-line;coil 100 m;49,90\n")
    status, out, _ = run(capsys, "catalogue", "check", folder)
    assert status == 0
    assert "8 lines, 1 with a price" in out
    assert "Note: prices.csv, line 1: the column shelf is not used." in out


def test_every_complaint_about_a_catalogue_is_told(capsys, folder):
    folder.joinpath("prices.csv").write_text("code;unit;price\nour-lime;coil 100 m;12.Mai\n")
    folder.joinpath("pipes.toml").write_text('[our-pipe]\nbore = "3 psi"\n')
    for words in (["catalogue", "check", folder], ["--catalogue", folder, "zones"]):
        status, out, err = run(capsys, *words)
        assert (status, out) == (2, "")
        assert "prices.csv, line 2, column code: the catalogue has no such code" in err
        assert "Try: our-line." in err
        assert "pipes.toml, line 2, our-pipe.bore: " in err
        assert "pipes.toml, line 1, our-pipe.label: " in err


def test_a_folder_that_is_not_there_ends_with_status_2(capsys, tmp_path):
    status, out, err = run(capsys, "--catalogue", tmp_path / "gone", "zones")
    assert (status, out) == (2, "")
    assert "cannot be opened" in err


@pytest.mark.parametrize("words", [["--catalogue"], ["--catalogue", ""], ["catalogue"]])
def test_a_catalogue_without_its_folder_is_a_wrong_word(capsys, words):
    with pytest.raises(SystemExit) as caught:
        main(words)
    assert caught.value.code == 2


def test_the_price_list_goes_out_and_comes_back(capsys, folder):
    status, out, _ = run(capsys, "--catalogue", folder, "catalogue", "prices")
    assert status == 0
    assert "our-line,our own line,coil 100 m,,yes,\n" in out
    assert "\ndripline-16," not in out
    folder.joinpath("prices.csv").write_text(out)
    assert run(capsys, "--catalogue", folder, "catalogue", "prices")[1] == out


def test_nothing_in_a_catalogue_steers_the_terminal(capsys, folder):
    folder.joinpath("pipes.toml").write_text('["\\u001b[2J"]\n"\\u001b]0;x" = "\\u202e"\n')
    folder.joinpath("prices.csv").write_text("code,unit,price,\x1b[2J\n\x1b[2J,\x9b2J,1\n")
    folder.joinpath("\x1b[2J.toml").write_text("")
    status, out, err = run(capsys, "catalogue", "check", folder)
    assert status == 2
    assert not set("\x1b\x07\x9b\u202e") & set(out + err)


def test_the_schema_of_a_file_is_printed(capsys):
    status, out, _ = run(capsys, "catalogue", "schema", "pipes.toml")
    assert status == 0
    assert json.loads(out) == schemas()["pipes.toml"]


def test_a_link_names_its_catalogue_and_another_one_says_so(capsys, folder):
    words = ["run-length", "--line-device", "our-line"]
    status, link, _ = run(capsys, "--catalogue", folder, *words, "--link")
    assert status == 0
    status, text, _ = run(capsys, "open", link.strip())
    assert 'catalogue = "Hill shop 2026-03"' in text
    design = folder / "designs" / "one.toml"
    design.parent.mkdir()
    design.write_text(text.replace("our-line", "tape-22"), "utf-8")
    told = "This was made with the catalogue “Hill shop 2026-03”"
    status, out, _ = run(capsys, "design", design)
    assert status == 0
    assert told in " ".join(out.split())
    status, out, _ = run(capsys, "--catalogue", folder, "design", design)
    assert status == 0
    assert told not in " ".join(out.split())
