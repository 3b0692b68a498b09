"""The field sheet: what stands on it, what is left out and said so, and that names stay text."""

import json
import re
from dataclasses import replace
from html import unescape
from pathlib import Path

import numpy as np
import pytest
import zxingcpp
from hypothesis import given, settings
from hypothesis import strategies as st

from evenrow import cli, documents, share
from evenrow.calculators import field_sheet, web
from evenrow.calculators.reading import default_document, read
from evenrow.calculators.registry import CALCULATORS
from evenrow.calculators.sheet import code, paper
from evenrow.calculators.sheet.back import _cut, clock
from evenrow.calculators.sheet.front import fitted, heading, limits, warnings
from evenrow.calculators.whole_field import CALCULATOR
from evenrow.design.demos import NAMES, demo
from evenrow.design.expected import Expected
from evenrow.design.field import Watering, field_of
from evenrow.design.hours import watering_times
from evenrow.design.instructions.holes import hole_positions
from evenrow.design.solve import design
from evenrow.design.steps import cautions
from evenrow.errors import InputError, InputErrors
from evenrow.words import LANGUAGES, use_language

ROOT = Path(__file__).parents[3]
LINK = "https://coop.example.org/drip/whole-field/#design=1.eNq"
SHEETS = ROOT / "pycore" / "evenrow" / "calculators" / "sheet"


def sixty_rows():
    document = demo("winter-squash")
    document["rows"] = [dict(document["rows"][0], count=60)]
    return document


DOCUMENTS = {
    **{name: lambda name=name: demo(name) for name in NAMES},
    "sixty rows": sixty_rows,
    "garden in US units": lambda: {**demo("market-garden"), "units": "us"},
}


@pytest.fixture(scope="module")
def designs():
    found = {}
    for name, made in DOCUMENTS.items():
        inputs, system = read(CALCULATOR, made())
        found[name] = design(field_of(inputs, system))
    return found


@pytest.fixture(scope="module")
def sheets(designs):
    return {
        name: field_sheet.field_sheet(found, name=name, link=LINK, date="25 November 2026")
        for name, found in designs.items()
    }


def text_of(html):
    """Return what a person reads, each piece by itself."""
    return [unescape(piece).strip() for piece in re.split(r"<[^>]*>", html) if piece.strip()]


@pytest.mark.parametrize("name", DOCUMENTS)
def test_both_sides_fit_both_papers_by_the_estimate(name, sheets):
    assert len(re.findall('<article class="page">', sheets[name].html)) == 2
    assert max(sheets[name].heights) <= paper.HEIGHT


@pytest.mark.parametrize("code", [code for code in LANGUAGES if code != "en"])
@pytest.mark.parametrize("name", DOCUMENTS)
def test_it_fits_in_every_language_with_all_its_cautions(name, code):
    with use_language(code):
        sheet = field_sheet.sheet_of(DOCUMENTS[name](), link=LINK, date="2026-11-25")
        written = field_sheet.standalone(sheet)
        shown = text_of(sheet.html)
        inputs, _ = read(CALCULATOR, DOCUMENTS[name]())
        for caution in cautions(inputs["source"]["kind"]):
            assert caution in shown
    assert max(sheet.heights) <= paper.HEIGHT
    assert f'<html lang="{code}">' in written


@pytest.mark.parametrize("name", DOCUMENTS)
def test_everything_that_was_asked_for_has_its_place(name, sheets):
    headings = re.findall("<h2>([^<]*)</h2>", sheets[name].html)
    for word in ("Take care", "Head", "Cut the", "Punch", "Flush", "Timer", "measure", "Parts"):
        assert sum(word in heading for heading in headings) == 1, word
    assert sheets[name].html.count('class="er-plan"') == 1
    assert sheets[name].html.count('class="code"') == 1
    assert text_of(sheets[name].html).count("25 November 2026") == 2


@pytest.mark.parametrize("name", DOCUMENTS)
def test_every_hole_is_listed_or_counted_as_left_out(name, sheets, designs):
    listed = len(re.findall('<td class="far">[^<]', sheets[name].html))
    said = re.search(r"and (\d+) more holes", sheets[name].html)
    left_out = int(said[1]) if said else 0
    assert listed + left_out == len(hole_positions(Expected(designs[name])))
    assert listed > 0


@pytest.mark.parametrize("name", DOCUMENTS)
def test_every_part_is_listed_or_counted_as_left_out(name, sheets, designs):
    after = sheets[name].html.partition("<h2>Parts</h2>")[2].partition("</section>")[0]
    listed = after.count("<tr>") - 1
    more = sum(int(count) for count in re.findall(r"(\d+) (?:more lines|lines of spares)", after))
    assert listed + more == len(designs[name].parts.parts)


@pytest.mark.parametrize("injection", [False, True])
@pytest.mark.parametrize("name", NAMES)
def test_no_caution_and_no_limit_is_ever_left_out(name, injection, designs):
    found = designs[name]
    # The narrowest sheet that there can be: everything else gives way.
    found = replace(
        found,
        field=replace(found.field, injection=injection, watering=Watering(window=30 * 3600.0)),
    )
    said = text_of(field_sheet.field_sheet(found).html)
    wanted = cautions(found.field.source_kind, injection=injection)
    assert len(wanted) > 2
    assert [text for text in wanted if text not in said] == []
    assert limits(found) in said
    assert "never more" in limits(found)
    assert "30" in limits(found)
    assert warnings(found, 90.0).html.count("<li>") >= len(wanted)


@pytest.mark.parametrize("name", NAMES)
def test_the_timer_card_gives_the_times_of_the_design_rounded_up(name, designs, sheets):
    found = designs[name]
    times = watering_times(found.field, found.zones)
    said = text_of(sheets[name].html.partition("<h2>Timer")[2])
    for zone, time in zip(found.zones, times, strict=True):
        place = said.index(f"Zone {zone.layout.number}")
        shown = said[place + 1].replace("\u00a0", " ")
        hours = re.fullmatch(r"(\d+) h (\d\d)|(\d+) min", shown)
        minutes = int(hours[3]) if hours[3] else 60 * int(hours[1]) + int(hours[2])
        assert 0 <= minutes * 60 - time < 60.001


def test_a_clock_never_waters_too_short():
    assert [clock(t).replace("\u00a0", " ") for t in (1, 60, 61, 3599, 3600, 5461)] == [
        "1 min", "1 min", "2 min", "1 h 00", "1 h 00", "1 h 32",
    ]  # fmt: skip


# --- the code ------------------------------------------------------------------------------


def read_back(modules):
    """Return the text of a code by a reader that is not ours."""
    pixels = np.pad(1 - np.array(modules, dtype=np.uint8), code.QUIET, constant_values=1)
    picture = np.ascontiguousarray(np.kron(pixels * 255, np.ones((4, 4))).astype(np.uint8))
    (found,) = zxingcpp.read_barcodes(picture)
    return found


@pytest.mark.parametrize("length", [60, 500, 1000, code.MOST])
def test_the_code_is_the_link(length):
    rng = np.random.default_rng(length)
    letters = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_"
    link = LINK + "".join(rng.choice(list(letters), length - len(LINK)))
    found = read_back(code.matrix(link))
    assert found.text == link
    assert found.ec_level in ("M", "Q", "H")
    svg, side = code.drawn(code.matrix(link))
    size = len(code.matrix(link)) + 2 * code.QUIET
    assert side >= 30.0
    assert side / size >= 0.4
    # What is drawn is what was worked out.
    drawn = np.zeros((size, size), dtype=int)
    for x, y, wide in re.findall(r"M(\d+) (\d+)h(\d+)v1h", svg):
        drawn[int(y), int(x) : int(x) + int(wide)] = 1
    assert (drawn[4:-4, 4:-4] == np.array(code.matrix(link))).all()
    assert drawn.sum() == np.array(code.matrix(link)).sum()


def test_the_link_opens_the_same_design():
    document = demo("raspberries")
    link = f"https://coop.example.org/whole-field/#{share.encode(document)}"
    assert share.decode(read_back(code.matrix(link)).text) == document


def test_a_link_that_is_too_long_has_no_code_and_says_why():
    block = code.code_block(LINK + "a" * code.MOST, 70.0)
    assert "<svg" not in block.html
    assert "too long for a code" in block.html
    assert "https://coop.example.org/drip/whole-field/" in block.html
    assert "<svg" in code.code_block(LINK + "a" * (code.MOST - len(LINK)), 70.0).html


def test_without_a_link_the_sheet_says_so():
    assert code.NO_LINK in text_of(code.code_block("", 70.0).html)


@pytest.mark.parametrize(
    "link", ["javascript:alert(1)", "#design=1.abc", "https://a b", "https://ä.example/", "x"]
)
def test_what_is_no_address_is_refused(link):
    with pytest.raises(InputError) as error:
        code.checked(link)
    assert error.value.field == "link"
    with pytest.raises(InputError):
        code.checked("https://a.example/" + "a" * code.LONGEST)


# --- names from links ----------------------------------------------------------------------


def test_names_are_text_and_bounded():
    document = demo("market-garden")
    document["name"] = '"><script>alert(1)</script>' + "W" * 50
    for row in document["rows"]:
        row["crop"] = "<img src=x onerror=alert(1)>"
    sheet = field_sheet.sheet_of(document, link=LINK, date="<b>today</b>")
    for tag in ("<script", "<img", "<b>"):
        assert tag not in sheet.html
        assert tag not in field_sheet.standalone(sheet)
    assert "&lt;script&gt;" in sheet.html
    assert max(sheet.heights) <= paper.HEIGHT


@given(st.text(max_size=3000))
def test_any_name_is_one_short_line_of_text(name):
    block = paper.noted(paper.shortened(name), 100.0)
    assert len(paper.shortened(name)) <= paper.NAME_MOST
    assert "\n" not in paper.shortened(name)
    assert "<script" not in block.html
    assert block.html.count("<") in (0, 2)


def test_the_file_runs_nothing_and_loads_nothing(sheets):
    text = field_sheet.standalone(sheets["raspberries"])
    assert text.startswith("<!DOCTYPE html>")
    assert text.count("<script") == text.count("<link") == text.count("@import") == 0
    assert re.findall(r'(?:src|href)="|url\((?!#)', text) == []
    assert "default-src 'none'" in text


# --- pieces --------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["W" * 80, "\u6f22" * 80, "a b " * 20, "Hill"])
def test_a_title_keeps_to_its_lines(name):
    whole, line = heading(name, "", "front"), heading(name, "", "back", most_lines=1)
    assert line.height <= whole.height <= 4.6 + 3 * 6.6
    assert line.height == heading("Hill", "", "back").height
    assert name[:5] in line.html


def test_a_long_order_of_ends_is_cut_between_two_ends():
    step = "Close: " + ", ".join(f"row {row}" for row in range(1, 200)) + "."
    cut = _cut(step, 220)
    kept = cut.partition(" … ")[0]
    assert step.startswith(kept + ",")
    assert "Flush and close" in cut
    assert _cut(step, len(step)) == step


@given(
    st.lists(st.floats(0.5, 9.0), min_size=1, max_size=60), st.floats(0.0, 300.0), st.integers(1, 5)
)
@settings(deadline=None)
def test_as_many_entries_as_fit_and_not_one_more(heights, room, least):
    def made(count):
        return paper.Block(html="x" * count, height=sum(heights[:count]))

    count = len(fitted(made, len(heights), room, least=least).html)
    least = min(least, len(heights))
    assert count >= least
    assert made(count).height <= room or count == least
    assert count == len(heights) or made(count + 1).height > room


@given(st.text(alphabet=st.characters(codec="latin-1"), max_size=200), st.floats(20.0, 180.0))
def test_more_room_never_takes_more_lines(text, width):
    assert paper.lines_of(text, width) >= paper.lines_of(text, width + 5.0) >= 1
    assert paper.lines_of(text + "x", width) >= paper.lines_of(text, width)


def classes_in(text):
    return {name for found in re.findall(r'class="([a-z -]+)"', text) for name in found.split()}


def test_every_class_has_a_rule_in_the_style_sheet(sheets):
    css = field_sheet.style()
    used = set().union(*(classes_in(sheet.html) for sheet in sheets.values()))
    # Names for scripts and for places whose look is that of what they are in.
    bare = {"er-part", "er-soft", "er-hatched", "far", "page"}
    assert len(used) > 30
    numbered = {re.sub(r"-\d+$", "", name) for name in used - bare}
    assert [name for name in sorted(numbered) if not re.search(rf"\.{name}(?![a-z])", css)] == []


def test_the_style_sheet_and_the_estimate_have_the_same_sizes():
    css = field_sheet.style()
    assert f"font: {paper.LETTER}mm / {paper.LINE}mm" in css
    assert f"width: {paper.WIDTH:.0f}mm" in css
    assert f"height: {paper.WRITING}mm" in css
    assert f"gap: {paper.GUTTER:.0f}mm" in css


# --- from outside --------------------------------------------------------------------------


def asked(**request):
    return json.loads(web.call(json.dumps({"v": web.VERSION, "op": "sheet", **request})))


def test_the_page_gets_html_and_style():
    reply = asked(document=demo("raspberries"), link=LINK, date="today")
    assert reply["ok"]
    assert reply["title"] == "Field sheet: Raspberries by the shed"
    assert reply["html"].startswith('<main class="sheet">')
    assert reply["css"] == field_sheet.style()


def test_the_page_hears_what_is_wrong():
    assert asked(document=demo("raspberries"), link=7)["error"]["errors"][0]["field"] == "link"
    assert asked(document=demo("raspberries"), link="ftp://x")["error"]["kind"] == "input"
    other = default_document(CALCULATORS["run-length"], "metric")
    assert asked(document=other)["error"]["errors"][0]["field"] == "calculator"
    assert asked(document=[])["error"]["kind"] == "input"
    broken = demo("raspberries")
    broken["rows"][0]["length"] = "nonsense"
    assert asked(document=broken)["error"]["errors"][0]["field"] == "rows.0.length"
    with pytest.raises(InputErrors):
        field_sheet.sheet_of(broken)


def test_the_command_writes_the_file(tmp_path, capsys):
    given_, out = tmp_path / "design.toml", tmp_path / "sheet.html"
    given_.write_text(documents.to_toml(demo("raspberries")), encoding="utf-8")
    address = "https://coop.example.org/whole-field/#old"
    assert cli.main(["sheet", str(given_), "--out", str(out), "--address", address]) == 0
    text = out.read_text(encoding="utf-8")
    assert "Raspberries by the shed" in text
    assert 'class="code"' in text
    assert "https://coop.example.org/whole-field/#design=1." in text
    assert "#old" not in text

    assert cli.main(["sheet", str(given_)]) == 0
    shown = capsys.readouterr().out
    assert shown.startswith("<!DOCTYPE html>")
    assert code.NO_LINK in text_of(shown)

    assert cli.main(["sheet", str(given_), "--out", str(tmp_path / "no" / "x.html")]) == 2
    assert "cannot be" in capsys.readouterr().err
    assert cli.main(["sheet", str(given_), "--address", "ftp://x"]) == 2
