import io
import json
import subprocess
import sys
from pathlib import Path

import pytest

import evenrow
from evenrow import cli, documents, share
from evenrow.catalogue import builtin
from evenrow.cli import main

DESIGN = """
evenrow = 1
calculator = "source-flow"
name = "By the shed"
units = "us"
required_pressure = "20 psi"

[source]
static_pressure = "52 psi"
readings = [{ volume = "5 gal", time = "41 s" }, { volume = "5 gal", time = "40 s" }]
"""


@pytest.fixture
def file(tmp_path):
    path = tmp_path / "field.toml"
    path.write_text(DESIGN, encoding="utf-8")
    return str(path)


def run(capsys, *words):
    status = main(words)
    return status, *capsys.readouterr()


def test_a_design_file_is_worked_out(capsys, file):
    status, out, err = run(capsys, "design", file)
    assert (status, err) == (0, "")
    assert out.startswith("By the shed\n\nUsable flow")
    assert "gal/min" in out
    assert "Caution:" in out


def test_standard_input_is_a_design_file_too(capsys, monkeypatch):
    stdin = io.TextIOWrapper(io.BytesIO(DESIGN.encode()))
    monkeypatch.setattr(sys, "stdin", stdin)
    status, out, _ = run(capsys, "design", "-")
    assert status == 0
    assert "Usable flow" in out


def test_json_and_units(capsys, file):
    _, out, _ = run(capsys, "design", file, "--json")
    _, metric, _ = run(capsys, "design", file, "--json", "--units", "metric")
    us, metric = json.loads(out)["headline"], json.loads(metric)["headline"]
    assert us["value"] == metric["value"]
    assert us["text"].endswith("gal/min")
    assert metric["text"].endswith("m³/h")


def test_explain_adds_sources(capsys, file):
    assert "Source: " not in run(capsys, "design", file)[1]
    assert "Source: " in run(capsys, "design", file, "--explain")[1]


def test_a_link_opens_to_the_same_design(capsys, file):
    _, link, _ = run(capsys, "design", file, "--link")
    assert link.startswith("design=1.")
    status, text, _ = run(capsys, "open", f"https://farm.example/#{link.strip()}")
    assert status == 0
    mark = {"catalogue": builtin().label}
    assert documents.from_text(text) == documents.from_text(DESIGN) | mark


def test_every_calculator_is_a_command(capsys):
    for name in cli.CALCULATORS:
        status, out, err = run(capsys, name, "--units", "us")
        assert (status, err) == (0, ""), name
        assert out
        with pytest.raises(SystemExit) as caught:
            main([name, "--help"])
        assert caught.value.code == 0
        assert "--units" in capsys.readouterr().out


def test_options_override_the_file_and_rows_replace_its_rows(capsys, file):
    words = ["source-flow", "--file", file, "--link"]
    _, link, _ = run(
        capsys,
        *words,
        "--required-pressure",
        "1 bar",
        "--source-readings",
        "2,5 L, 12 s",
        "--source-readings=2,5 L; 12,5 s",
    )
    document = share.decode(link.strip())
    assert document["required_pressure"] == "1 bar"
    assert document["source"]["static_pressure"] == "52 psi"
    assert document["source"]["readings"] == [
        {"volume": "2,5 L", "time": "12 s"},
        {"volume": "2,5 L", "time": "12,5 s"},
    ]


def test_a_negative_value_is_no_option(capsys):
    status, out, err = run(capsys, "run-length", "--ground-row-slope", "-0.6%", "--link")
    if status != 0:
        pytest.fail(err)
    assert share.decode(out.strip())["ground"]["row_slope"] == "-0.6%"


@pytest.mark.parametrize(
    ("words", "parts"),
    [
        (["--required-pressure", "5 gal"], ["required_pressure", "measures a volume", "15 psi"]),
        (["--required-pressure", "-5 psi"], ["required_pressure", "too small", "Given: -5 psi"]),
        (["--required-pressure", "nan"], ["required_pressure", "not a number"]),
        (["--required-pressure", "<script>"], ["required_pressure", "no number"]),
        (["--required-pressure", "9" * 1_000_00], ["required_pressure", "too long"]),
        (["--source-readings", "5 gal, 41 s, 3"], ["source.readings", "volume, time"]),
        (["--source-readings", "5 gal"], ["source.readings.0.time", "missing"]),
        (["--file", "no/such/file.toml"], ["No such file"]),
        (["--file", "."], ["cannot be opened"]),
    ],
    ids=lambda value: str(value)[:40],
)
def test_bad_input_ends_with_status_2_and_says_why(capsys, words, parts):
    status, out, err = run(capsys, "source-flow", *words)
    assert (status, out) == (2, "")
    for part in parts:
        assert part in err
    assert "Traceback" not in err
    assert len(err) < 1500


@pytest.mark.parametrize(
    ("text", "part"),
    [
        ("evenrow = 2\n", "newer Evenrow"),
        ("name = 'x'\n", "version of the design file is missing"),
        ("evenrow = 1\ncalculator = 'zonse'\n", "Try: zones"),
        ("evenrow = 1\nevenrow = 1\n", "line 2"),
        (DESIGN + "colour = 'green'\n", "colour"),
        ("", "empty"),
    ],
)
def test_a_bad_file_ends_with_status_2(capsys, tmp_path, text, part):
    path = tmp_path / "bad.toml"
    path.write_text(text, encoding="utf-8")
    status, out, err = run(capsys, "design", str(path))
    assert (status, out) == (2, "")
    assert part in err


@pytest.mark.parametrize(
    ("link", "part"),
    [
        ("design=2.AAAA", "newer Evenrow"),
        ("design=1.AAAA", "damaged"),
        ("hello", "no design in this link"),
        ("design=1." + "A" * 20_000, "too long"),
    ],
)
def test_a_bad_link_ends_with_status_2(capsys, link, part):
    status, out, err = run(capsys, "open", link)
    assert (status, out) == (2, "")
    assert part in err


def test_an_impossible_design_ends_with_status_3(capsys, monkeypatch):
    from evenrow.errors import ImpossibleError

    def impossible(document):
        raise ImpossibleError("the row is too long", limit="eu", changes=("40 m rows",))

    monkeypatch.setattr(cli, "answer", impossible)
    status, out, err = run(capsys, "zones")
    assert (status, out) == (3, "")
    assert "No design is possible, because" in err
    assert "the row is too long" in err
    assert "40 m rows" in err


def test_demos_are_listed_and_printed(capsys):
    status, out, _ = run(capsys, "demos")
    assert status == 0
    names = [line.split()[0] for line in out.splitlines()]
    assert len(names) >= 4
    for name in names:
        status, text, _ = run(capsys, "demo", name)
        assert status == 0
        assert documents.from_text(text)["evenrow"] == 1
    status, _, err = run(capsys, "demo", "no-such-demo")
    assert status == 2
    assert names[0] in err


def command(words, **options):
    root = str(Path(evenrow.__file__).parent.parent)
    return subprocess.run(
        words, capture_output=True, text=True, env={"PYTHONPATH": root}, check=False, **options
    )


def test_the_module_runs_and_knows_its_version():
    done = command([sys.executable, "-m", "evenrow", "--version"])
    assert done.returncode == 0
    assert done.stdout == f"evenrow {evenrow.__version__}\n"


def test_a_reader_that_goes_away_is_no_fault():
    shell = f"{sys.executable} -m evenrow whole-field --json | true; echo ${{PIPESTATUS[0]}}"
    done = command(["bash", "-c", shell])
    assert done.stdout.strip() == "0", done.stdout
    assert done.stderr == ""


def test_a_wrong_word_ends_with_status_2(capsys):
    for words in (["no-such-command"], [], ["zones", "--no-such-option", "1"]):
        with pytest.raises(SystemExit) as caught:
            main(words)
        assert caught.value.code == 2
        assert "usage" in capsys.readouterr().err


def test_nothing_in_a_design_steers_the_terminal(tmp_path, capsys):
    hostile = 'evenrow = 1\ncalculator = "zones"\nname = "\\u001b]0;x\\u0007\\u009b2J\\u202eevil"\n'
    path = tmp_path / "hostile.toml"
    path.write_text(hostile, "utf-8")
    assert main(["design", str(path)]) == 2
    assert main(["open", share.encode(documents.from_text(hostile))]) == 0
    printed = "".join(capsys.readouterr())
    assert not set("\x1b\x07\x9b\u202e") & set(printed)
    assert "evil" in printed


def test_the_language_stands_before_the_command(capsys, tmp_path):
    status, out, _ = run(capsys, "--language", "es", "run-length")
    assert (status, out.partition("  ")[0]) == (0, "Largo máximo")
    status, out, _ = run(capsys, "run-length")
    assert out.startswith("Longest run")
    status, _, err = run(capsys, "--language=es", "run-length", "--pressure", "nada")
    assert (status, err.partition("\n")[0]) == (2, "Esto no se puede usar:")
    status, out, _ = run(capsys, "--language", "es", "demo", "school-garden")
    assert 'name = "Huerta escolar"' in out
    with pytest.raises(SystemExit):
        run(capsys, "--language", "xx", "demos")
