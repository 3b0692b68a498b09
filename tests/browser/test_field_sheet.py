"""The field sheet: made in the browser, printed on both papers, its code read back."""

from __future__ import annotations

import base64
import re

import numpy as np
import pytest
import zxingcpp
from browser_helpers import LIVE_MS, wait_live
from playwright.sync_api import Page

from evenrow import share
from evenrow.calculators import field_sheet
from evenrow.design.demos import NAMES, demo
from evenrow.words import LANGUAGES, use_language

pytestmark = pytest.mark.browser

MM = 96 / 25.4
#: Height between the margins of Letter, the lower of the two papers. [mm]
LETTER = 279.4 - 26.0
#: Smallest letters on paper. [mm]
SMALLEST = 8.5 * 25.4 / 72
ADDRESS = "https://coop.example.org/drip/whole-field/"


def sixty_rows():
    """Return the squash on sixty rows instead of twenty-four."""
    document = demo("winter-squash")
    document["rows"] = [dict(document["rows"][0], count=60)]
    return document


def hostile():
    """Return the garden with names that would be markup, and too wide for any column."""
    document = demo("market-garden")
    document["name"] = '</h1><script>alert("x")</script>' + "W" * 40
    for row in document["rows"]:
        row["crop"] = "<img src=x onerror=alert(1)>" + "M" * 10
    return document


DOCUMENTS = {
    **{name: lambda name=name: demo(name) for name in NAMES},
    "sixty rows": sixty_rows,
    "hostile names": hostile,
    "garden in US units": lambda: {**demo("market-garden"), "units": "us"},
}


def in_language(name, code):
    """Return how a document is called in a language."""
    return name if code == "en" else f"{name}, {code}"


NAMED = [in_language(name, code) for name in DOCUMENTS for code in LANGUAGES]


@pytest.fixture(scope="module")
def sheets():
    """The sheet of every document, in every language."""
    found = {}
    for name, made in DOCUMENTS.items():
        link = f"{ADDRESS}#{share.encode(made())}"
        for code in LANGUAGES:
            with use_language(code):
                sheet = field_sheet.sheet_of(made(), link=link, date="25 November 2026")
            found[in_language(name, code)] = sheet
    return found


def pages_of(pdf: bytes) -> int:
    """Return how many pages a PDF says that it has."""
    counts = [int(count) for count in re.findall(rb"/Count (\d+)", pdf)]
    assert counts, "no PDF"
    return max(counts)


@pytest.mark.parametrize("name", NAMED)
def test_two_sides_on_both_papers_with_nothing_cut_off(name, sheets, open_context):
    watched = open_context()
    page = watched.context.new_page()
    page.set_content(field_sheet.standalone(sheets[name]))
    page.emulate_media(media="print")
    heights = page.eval_on_selector_all(
        ".page", "all => all.map(e => e.getBoundingClientRect().height)"
    )
    assert len(heights) == 2
    assert max(heights) / MM <= LETTER
    # The estimate by which things are left out is never too low.
    assert all(
        real / MM <= thought for real, thought in zip(heights, sheets[name].heights, strict=True)
    )
    # Nothing is wider than the place that it has, and nothing leaves its side.
    wide = page.eval_on_selector_all(
        ".page, .page *:not(svg):not(svg *)",
        "all => all.filter(e => e.scrollWidth > e.clientWidth + 1 && e.clientWidth).length",
    )
    assert wide == 0
    outside = page.eval_on_selector_all(
        ".page",
        """all => all.flatMap(side => {
            const edge = side.getBoundingClientRect();
            return [...side.querySelectorAll("*:not(svg *)")].map(e => e.getBoundingClientRect())
                .filter(box => box.width && (box.left < edge.left - 1 || box.right > edge.right + 1
                    || box.bottom > edge.bottom + 1));
        }).length""",
    )
    assert outside == 0
    for paper in ("A4", "Letter"):
        assert pages_of(page.pdf(format=paper, prefer_css_page_size=True)) == 2
        margin = {"top": "13mm", "bottom": "13mm", "left": "12mm", "right": "12mm"}
        assert pages_of(page.pdf(format=paper, margin=margin)) == 2
    assert watched.errors == []


@pytest.mark.parametrize("name", NAMED)
def test_every_letter_is_large_enough(name, sheets, open_context):
    page = open_context().context.new_page()
    page.set_content(field_sheet.standalone(sheets[name]))
    page.emulate_media(media="print")
    sizes = page.eval_on_selector_all(
        ".page *",
        """all => all.filter(e => [...e.childNodes].some(n => n.nodeType === 3 && n.data.trim())
                && !e.closest("title, desc, defs"))
            .map(e => {
                const svg = e.closest("svg");
                const wide = svg && svg.getBoundingClientRect().width;
                const scale = svg ? wide / svg.viewBox.baseVal.width : 1;
                return parseFloat(getComputedStyle(e).fontSize) * scale;
            })""",
    )
    assert len(sizes) > 100
    assert min(sizes) / MM >= SMALLEST


#: From a picture to its red values, in a page of its own: the tests need no library for that.
PIXELS = """async data => {
    const blob = await (await fetch("data:image/png;base64," + data)).blob();
    const map = await createImageBitmap(blob);
    const canvas = new OffscreenCanvas(map.width, map.height);
    const brush = canvas.getContext("2d");
    brush.drawImage(map, 0, 0);
    const all = brush.getImageData(0, 0, map.width, map.height).data;
    let text = "";
    for (let i = 0; i < all.length; i += 4) text += String.fromCharCode(all[i]);
    return [map.height, map.width, btoa(text)];
}"""


def read_code(page: Page, selector: str) -> str:
    """Return the text of the code at a place on the page, as a phone would read it."""
    picture = base64.b64encode(page.locator(selector).screenshot()).decode()
    blank = page.context.new_page()
    high, wide, values = blank.evaluate(PIXELS, picture)
    blank.close()
    grey = np.frombuffer(base64.b64decode(values), np.uint8).reshape(high, wide)
    (found,) = zxingcpp.read_barcodes(np.ascontiguousarray(grey))
    return str(found.text)


def test_names_from_a_link_are_text(sheets, open_context):
    watched = open_context()
    page = watched.context.new_page()
    page.set_content(field_sheet.standalone(sheets["hostile names"]))
    assert page.locator("script, img, iframe, a").count() == 0
    assert page.inner_text("h1 >> nth=0").startswith('</h1><script>alert("x")</script>')
    assert watched.errors == []


def test_the_page_makes_the_sheet_and_its_code_opens_the_same_design(shared_site, open_context):
    watched = open_context(device_scale_factor=3)
    page = watched.page(f"{shared_site.address}whole-field/")
    wait_live(page)
    page.select_option(".er-example", "Raspberries by the shed")
    wait_live(page)
    page.fill('[name="rows.0.length"]', "57.5")
    wait_live(page)
    page.click(".er-share")
    link = page.input_value(".er-link")
    address = page.url
    page.click(".er-quick .er-sheet-button")
    page.wait_for_selector(".er-sheet-view .page", timeout=LIVE_MS)

    assert read_code(page, ".er-sheet-view .code") == link
    opened = watched.page(link)
    wait_live(opened)
    opened.click(".er-share")
    assert opened.input_value(".er-link") == link

    # On paper there is the sheet and nothing else.
    assert pages_of(page.pdf(format="Letter", prefer_css_page_size=True)) == 2
    page.emulate_media(media="print")
    assert not page.is_visible(".er-sheet-bar")
    assert not page.is_visible(".er-calc")
    page.emulate_media(media="screen")
    page.keyboard.press("Escape")
    page.wait_for_selector(".er-sheet-view", state="detached")
    assert page.is_visible(".er-calc")
    assert "er-sheet-button" in page.evaluate("document.activeElement.className")
    assert page.url == address
    assert watched.errors == []


def test_a_phone_sees_a_whole_side_and_going_back_closes_it(shared_site, open_context):
    watched = open_context(viewport={"width": 360, "height": 700})
    page = watched.page(f"{shared_site.address}whole-field/")
    wait_live(page)
    page.click(".er-quick .er-sheet-button")
    page.wait_for_selector(".er-sheet-view .page", timeout=LIVE_MS)
    assert page.evaluate("document.documentElement.scrollWidth") <= 360
    page.go_back()
    page.wait_for_selector(".er-sheet-view", state="detached")
    assert page.is_visible(".er-calc")
    assert watched.errors == []


def test_only_a_whole_field_has_a_sheet(shared_site, open_context):
    page = open_context().page(f"{shared_site.address}run-length/")
    wait_live(page)
    assert page.locator(".er-quick button").count() > 0
    assert page.locator(".er-sheet-button").count() == 0
