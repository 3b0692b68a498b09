"""The run-length table and the pocket card: three taps, scripts off, keyboard, gloves, paper."""

from __future__ import annotations

import gzip
import re

import pytest
from browser_helpers import SITE, shown_numbers, wait_live
from playwright.sync_api import expect

from evenrow.calculators.run_table import SLOPES, TARGET, TARGETS, run_tables, shown_length

pytestmark = pytest.mark.browser

PHONE = {"viewport": {"width": 390, "height": 844}, "is_mobile": True, "has_touch": True}
#: Heaviest page that still comes quickly over a poor connection. [bytes, gzipped]
HEAVIEST = 120_000
#: Width of the paper less the margins of the card's page. [px at 96 to the inch]
PAPER = {"A4": 1062, "Letter": 995}

#: What the card says in the folder of each language; the first two are its units.
SAID_ON_CARD = {
    "": ("in feet", "in metres", "put your own", "Rounded down"),
    "es/": ("en pies", "en metros", "ponga los suyos", "Redondeado hacia abajo"),
}

CODE, SPACING, SLOPE = "tape-22", "30 cm", "1 %"


def option(page, pick, value):
    """Return the label of one choice."""
    return page.locator(f'[data-pick="{pick}"] label:has(input[value="{value}"])')


def three_taps(page, code=CODE, spacing=SPACING, slope=SLOPE):
    for pick, value in (("device", code), ("spacing", spacing), ("slope", slope)):
        option(page, pick, value).tap()


def length(code=CODE, spacing=SPACING, slope=SLOPE, target=TARGET, pressure=None):
    """Return the package's length of one cell [m]; at the rated pressure where none is named."""
    table = next(table for table in run_tables() if table.device.code == code)
    h = next(
        i for i, p in enumerate(table.pressures) if (p.text == pressure if pressure else p.rated)
    )
    at = (table.spacings.index(spacing), SLOPES.index(slope), h, TARGETS.index(target))
    return float(table.length[at])


def big(page):
    return page.locator(".er-look-value strong")


def test_three_taps_lead_to_the_number_and_on_to_the_exact_one(shared_site, open_context):
    watched = open_context(**PHONE)
    page = watched.page(f"{shared_site.address}run-length-table/")
    assert "Tap your tape" in page.locator(".er-look-value").inner_text()
    three_taps(page)
    shown = shown_length(length(), "us")
    expect(big(page)).to_have_text(f"{shown}\u00a0ft")
    expect(big(page)).to_be_in_viewport()
    expect(page.locator(".er-look-limit")).to_contain_text("emission uniformity")
    assert float(big(page).evaluate("e => parseFloat(getComputedStyle(e).fontSize)")) > 50
    page.wait_for_selector('.er-look-exact[href*="#design="]')
    page.click(".er-look-exact")
    page.wait_for_url("**/run-length/**")
    wait_live(page)
    exact = shown_numbers(page)["run_length"]
    assert exact == pytest.approx(length(), abs=1e-9)
    assert float(shown) * 0.3048 <= exact
    assert all(url.startswith(shared_site.origin) for url in watched.requests)
    assert watched.errors == []


def test_uniformity_pressure_and_unit_change_the_number_at_once(shared_site, open_context):
    page = open_context(**PHONE).page(f"{shared_site.address}run-length-table/")
    three_taps(page)
    page.tap('[data-pick="eu"] summary')
    option(page, "eu", "90 %").tap()
    expect(big(page)).to_have_text(f"{shown_length(length(target='90 %'), 'us')}\u00a0ft")
    page.tap('[data-pick="pressure"] summary')
    option(page, "pressure", "10 psi").tap()
    metres = length(target="90 %", pressure="10 psi")
    expect(big(page)).to_have_text(f"{shown_length(metres, 'us')}\u00a0ft")
    page.tap('.er-switch-part:has([value="metric"])')
    expect(big(page)).to_have_text(f"{shown_length(metres, 'metric')}\u00a0m")
    # The same cell is marked in the table, and is the one in sight there.
    here = page.locator("td.er-here")
    assert here.count() == 1
    assert here.inner_text().split()[0] == shown_length(metres, "metric")
    page.reload()
    expect(big(page)).to_have_text(f"{shown_length(metres, 'metric')}\u00a0m")


def test_another_line_keeps_what_it_can(shared_site, open_context):
    page = open_context(**PHONE).page(f"{shared_site.address}run-length-table/")
    three_taps(page)
    page.tap('[data-pick="device"] summary')
    option(page, "device", "dripline-quarter").tap()
    # That line is not sold with this spacing, so it is asked again; the slope stays.
    assert "spacing" in page.locator(".er-look-value").inner_text()
    assert page.locator('[data-pick="spacing"]').get_attribute("open") is not None
    option(page, "spacing", "12 in").tap()
    metres = length("dripline-quarter", "12 in")
    expect(big(page)).to_have_text(f"{shown_length(metres, 'us')}\u00a0ft")


def test_by_keyboard_the_folds_stay_and_the_number_is_spoken(shared_site, open_context):
    page = open_context().page(f"{shared_site.address}run-length-table/")
    page.focus('[name="er-d"][value="all"]')
    page.keyboard.press("ArrowUp")
    assert page.locator('[data-pick="device"]').get_attribute("open") is not None
    for pick in ("spacing", "slope"):
        page.focus(f'[data-pick="{pick}"] summary')
        if page.locator(f'[data-pick="{pick}"]').get_attribute("open") is None:
            page.keyboard.press("Enter")
        page.keyboard.press("Tab")
        page.keyboard.press("Space")
    last = run_tables()[-1]
    metres = length(last.device.code, last.spacings[0], SLOPES[0])
    expect(big(page)).to_have_text(f"{shown_length(metres, 'us')}\u00a0ft")
    assert page.locator('[aria-live="polite"] .er-look-value').count() == 1


def test_with_scripts_off_the_table_reads_and_filters(shared_site, open_context):
    watched = open_context(java_script_enabled=False, **PHONE)
    page = watched.page(f"{shared_site.address}run-length-table/")
    assert page.locator(".er-kind:visible").count() == len(run_tables())
    assert page.locator(".er-js:visible").count() == 0
    option(page, "device", CODE).tap()
    assert page.locator(".er-kind:visible").get_attribute("data-device") == CODE
    rows = page.locator(f".er-kind:visible tbody:visible tr:has([data-spacing='{SPACING}'])")
    assert rows.count() == 1
    cell = rows.locator("td").nth(SLOPES.index(SLOPE))
    assert cell.inner_text().split()[0] == shown_length(length(), "metric")
    page.tap('.er-switch-part:has([value="us"])')
    assert cell.inner_text().split()[0] == shown_length(length(), "us")
    page.tap('[data-pick="eu"] summary')
    option(page, "eu", "95 %").tap()
    assert page.locator(".er-kind:visible tbody:visible").get_attribute("data-eu") == "95 %"
    option(page, "eu", "all").tap()
    assert page.locator(".er-kind:visible tbody:visible").count() == len(TARGETS)


def test_the_built_table_is_the_packages(shared_site, open_context):
    page = open_context(java_script_enabled=False).page(f"{shared_site.address}run-length-table/")
    found = page.eval_on_selector_all(
        ".er-run td",
        """all => all.map(td => [
            td.closest(".er-kind").dataset.device, td.closest(".er-at").dataset.pressure,
            td.closest("tbody").dataset.eu, td.parentElement.firstChild.dataset.spacing,
            td.closest("table").querySelectorAll("[data-slope]")[td.cellIndex - 1].dataset.slope,
            td.querySelector("b").textContent, td.querySelector("i").textContent])""",
    )
    assert len(found) == sum(table.length.size for table in run_tables())
    for code, pressure, target, spacing, slope, us, metric in found:
        metres = length(code, spacing, slope, target, pressure)
        assert (us, metric) == (shown_length(metres, "us"), shown_length(metres, "metric"))


def test_the_page_is_light():
    html = (SITE / "run-length-table" / "index.html").read_bytes()
    assert len(gzip.compress(html, mtime=0)) < HEAVIEST


@pytest.mark.parametrize("name", ["run-length-table", "pocket-card"])
@pytest.mark.parametrize("text", ["100%", "200%"])
def test_large_targets_and_nothing_beside_the_screen(name, text, shared_site, open_context):
    page = open_context(**PHONE).page(f"{shared_site.address}{name}/")
    if name == "run-length-table":
        three_taps(page)
        page.eval_on_selector_all(".er-pick", "all => all.forEach(e => (e.open = true))")
    # 125 % is what the theme sets.
    page.evaluate(f"document.documentElement.style.fontSize = 'calc({text} * 1.25)'")
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    boxes = page.evaluate(
        """[...document.querySelectorAll(
             ".er-look :is(summary, label, .er-look-exact, .er-switch-part)")]
           .filter(e => e.checkVisibility())
           .map(e => [e.textContent, Math.min(e.getBoundingClientRect().height,
                                              e.getBoundingClientRect().width)])"""
    )
    assert len(boxes) > 1
    assert [box for box in boxes if box[1] < 44] == []


def pages_in(pdf):
    return len(re.findall(rb"/Type\s*/Page\b(?!s)", pdf))


@pytest.mark.parametrize("units", ["us", "metric"])
@pytest.mark.parametrize("paper", PAPER)
@pytest.mark.parametrize("folder", SAID_ON_CARD)
def test_the_card_is_one_sheet(folder, paper, units, shared_site, open_context):
    page = open_context().page(f"{shared_site.address}{folder}pocket-card/")
    page.check(f'[name="er-units"][value="{units}"]', force=True)
    for landscape in (True, False):
        assert pages_in(page.pdf(format=paper, landscape=landscape)) == 1
    page.emulate_media(media="print")
    page.set_viewport_size({"width": PAPER[paper], "height": 760})
    cut = page.evaluate(
        """[...document.querySelectorAll(".er-half, .er-half .er-run-scroll")].filter(e =>
             e.scrollHeight > e.clientHeight + 1 || e.scrollWidth > e.clientWidth + 1).length"""
    )
    assert cut == 0
    text = page.locator(".er-pocket").inner_text()
    us, metric, *others = SAID_ON_CARD[folder]
    assert (us if units == "us" else metric) in text
    for words in ("85\u00a0%", "15\u00a0°C", *others):
        assert words in text


def test_pages_of_a_print_are_counted(shared_site, open_context):
    page = open_context().page(f"{shared_site.address}run-length-table/")
    assert pages_in(page.pdf(format="A4")) > 1
