"""The parts list as files and tables: readable, safe in a spreadsheet, the same in any units."""

import csv
import io
import re
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from evenrow.calculators.data import to_data
from evenrow.calculators.html import result_html
from evenrow.calculators.parts_list import CALCULATOR
from evenrow.calculators.parts_section import _names, parts_sections
from evenrow.calculators.parts_text import amount, order_text, parts_csv, total_text
from evenrow.calculators.reading import default_document, read
from evenrow.calculators.result import Document, Table
from evenrow.calculators.text import to_text
from evenrow.catalogue import device, pipe
from evenrow.design.assembly import head_assembly, smallest
from evenrow.design.choices import BuildChoices
from evenrow.design.parts import (
    CutFor,
    Part,
    PartsList,
    PipePiece,
    Product,
    RunPiece,
    ZoneFeed,
    parts_list,
)
from evenrow.errors import InputError, InputErrors


def made(lengths=(20.0, 20.0, 31.0), zones=1, choices=None):
    tube = pipe("tube-21")
    return parts_list(
        runs=[
            RunPiece(row=n, zone=1 + n % zones, length=length)
            for n, length in enumerate(lengths, start=1)
        ],
        headers={z: ((PipePiece(size=tube, length=6.0),),) for z in range(1, zones + 1)},
        mains=[PipePiece(size=tube, length=12.0)],
        zones=[ZoneFeed(number=z, tee=False, takeoffs=1) for z in range(1, zones + 1)],
        main=tube,
        elbows={},
        assembly=head_assembly("hose-tap", 2e-4, timer=True, regulator=None, standing=False).parts,
        valve=smallest("zone valve", 2e-4) if zones > 1 else None,
        device=device("dripline-16"),
        choices=choices or BuildChoices(),
    )


def of_label(label, price=1.0):
    part = Part(
        number=1,
        group="Line",
        product=Product(code="x", kind="x", label=label, price=price),
        needed=1,
        element="rows",
        rule="One.",
        source="test",
    )
    return PartsList(parts=(part,), cuts=made().cuts, currency="USD", catalogue="test")


def lines_of(text):
    return list(csv.reader(io.StringIO(text, newline="")))


def test_csv_has_a_line_for_each_part_and_adds_up():
    parts = made(zones=2)
    head, *lines = lines_of(parts_csv(parts, "metric"))
    assert len(lines) == len(parts.parts)
    assert all(len(line) == len(head) for line in lines)
    price, buy = head.index("price"), head.index("buy")
    assert sum(float(line[price]) for line in lines) == pytest.approx(
        parts.total, abs=0.01 * len(lines)
    )
    assert [int(line[buy]) for line in lines] == [part.count for part in parts.parts]


def test_csv_lines_end_as_rfc_4180_has_it():
    text = parts_csv(made(), "us")
    assert text.endswith("\r\n")
    assert not re.search(r"(?<!\r)\n", text)


@settings(max_examples=80, deadline=None)
@given(st.text(st.characters(codec="utf-8", exclude_characters="\r\n"), min_size=1, max_size=30))
def test_any_label_comes_back_from_the_csv_and_none_is_a_formula(label):
    (line,) = lines_of(parts_csv(of_label(label), "us"))[1:]
    cell = line[4]
    assert cell[0] not in "=+-@\t\r"
    assert cell.removeprefix("'") == label.removeprefix("'") or cell == label


@pytest.mark.parametrize("label", ["=1+1", "+1", "-1", "@x", "\tx"])
def test_formulas_stand_behind_an_apostrophe(label):
    assert lines_of(parts_csv(of_label(label), "us"))[1][4] == "'" + label


def test_unknown_prices_are_empty_cells_and_counted():
    parts = of_label("a thing", price=None)
    head, line = lines_of(parts_csv(parts, "us"))
    assert line[head.index("price")] == ""
    assert total_text(parts) == "no part has a price"
    both = replace(parts, parts=(*parts.parts, replace(of_label("b").parts[0], number=2)))
    assert total_text(both) == "USD 1.00, and 1 line without a price"


def test_units_change_lengths_and_nothing_else():
    parts = made(zones=2)
    us, metric = (lines_of(parts_csv(parts, system)) for system in ("us", "metric"))
    each = us[0].index("each")
    for a, b in zip(us, metric, strict=True):
        assert a[:each] + a[each + 1 :] == b[:each] + b[each + 1 :]
    assert {line[each] for line in us} != {line[each] for line in metric}
    figures = [re.sub(r" of [\d.,]+\s(ft|m)\b", "", order_text(parts, s)) for s in ("us", "metric")]
    assert figures[0] == figures[1]


def test_the_order_names_every_part_by_its_number():
    parts = made(zones=2)
    text = order_text(parts, "us")
    for part in parts.parts:
        assert re.search(rf"^{part.number}\. {part.count}\b.*{re.escape(part.label)}", text, re.M)
    assert f"Total: USD {parts.total:.2f}." in text


def test_packs_are_told_as_needed_and_bought():
    told = {amount(part) for part in made(lengths=(20.0,) * 12).parts}
    assert "12 needed, 1 spare: 2 packs of 10" in told
    assert "1 needed" in told
    # What is bought in packs says so on the list itself, not only where it explains.
    (table,) = (
        item
        for section in run({})[0].sections
        for item in section.items
        if item.name == "parts_line"
    )
    labels = [row[3] for row in table.rows]
    assert any(label.endswith("(5 needed, 1 spare: 1 pack of 10)") for label in labels)


def test_names_of_rows_are_put_in_short():
    rows = [CutFor(what="row", number=number) for number in (1, 2, 3, 7)]
    header, main = CutFor(what="header", number=1), CutFor(what="main")
    assert _names(rows) == "rows 1–3, 7"
    assert _names([rows[3]] * 2) == "row 7"
    assert _names([main, header, header]) == "main; 2 × header, zone 1"


def test_each_coil_says_what_to_cut_for_which_rows_and_what_is_left():
    (table,) = [
        item
        for item in parts_sections(made(lengths=(20.0,) * 3), "metric")[1].items
        if item.name == "cuts_line"
    ]
    rows = [dict(zip((c.name for c in table.columns), row, strict=True)) for row in table.rows]
    assert sum(row["coils"] for row in rows) == len(made(lengths=(20.0,) * 3).line_plan.coils)
    (row,) = rows
    assert row["cuts"] == "3 × 20.3\N{NO-BREAK SPACE}m"
    assert row["rows"] == "rows 1–3"
    # 250 ft, three cuts of 20 m with a foot more.
    assert (row["length"], row["left"]) == pytest.approx((76.2, 15.2856))


def run(build, system="us", **more):
    document = default_document(CALCULATOR, system) | more
    document["build"] = document.get("build", {}) | build
    inputs, system = read(CALCULATOR, document)
    return CALCULATOR.run(inputs, system), system


def test_documents_are_data_and_html_and_no_text():
    result, system = run({})
    found = [i for s in result.sections for i in s.items if isinstance(i, Document)]
    assert [item.filename for item in found] == ["parts.txt", "parts.csv"]
    items = [i for s in to_data(result, system)["sections"] for i in s["items"]]
    assert [i["text"] for i in items if i["type"] == "document"] == [i.text for i in found]
    page = result_html(CALCULATOR, result, system)
    assert page.count('class="er-document"') == 2
    assert 'data-filename="parts.csv" data-media-type="text/csv"' in page
    assert "price each" not in to_text(result, system)


def test_documents_are_escaped():
    result, system = run({})
    evil = Document(
        name='"><b>', title="<i>", text="</pre><script>", filename='"x', media_type="text/plain"
    )
    section = replace(result.sections[0], items=(evil,))
    page = result_html(CALCULATOR, replace(result, sections=(section,)), system)
    assert "<script" not in page
    assert "<i>" not in page
    assert '"><b>' not in page


def test_every_line_has_its_box_to_tick_and_its_number():
    result, _ = run({})
    tables = [
        i
        for s in result.sections
        for i in s.items
        if isinstance(i, Table) and i.name[:6] == "parts_"
    ]
    rows = [row for table in tables for row in table.rows]
    assert [row[0] for row in rows] == ["☐"] * len(rows)
    # What explains a line stands with its part, not with its box.
    page = result_html(CALCULATOR, run({})[0], "us")
    assert not re.search(r"☐<details", page)
    assert page.count("☐</td>") == len(rows)
    assert [row[1] for row in rows] == list(range(1, len(rows) + 1))


def test_choices_of_the_form_reach_the_list():
    text = to_text(
        run({"takeoff_valves": "yes", "flush_valves": "yes", "tap_height": "8 in"})[0], "us"
    )
    for words in ("take-off with small valve", "flush valve", "elbow thread adapter"):
        assert words in text


@pytest.mark.parametrize(
    ("build", "field"),
    [
        ({"spare_share": "80 %"}, "build.spare_share"),
        ({"spare_share": "some"}, "build.spare_share"),
        ({"tap_height": "-1 ft"}, "build.tap_height"),
        ({"adapter": "bent"}, "build.adapter"),
        ({"couplings": "perhaps"}, "build.couplings"),
    ],
)
def test_bad_choices_are_told_at_their_field(build, field):
    with pytest.raises((InputError, InputErrors)) as caught:
        run(build)
    errors = getattr(caught.value, "errors", [caught.value])
    assert [error.field for error in errors] == [field]


def test_a_run_that_no_coil_holds_is_told_where_none_may_be_joined():
    rows = [{"crop": "", "count": "2", "length": "1100 ft", "spacing": "9 ft", "lines": "1"}]
    with pytest.raises(InputError) as caught:
        run({"couplings": "no"}, rows=rows)
    assert caught.value.field == "build.couplings"
    assert caught.value.hint
