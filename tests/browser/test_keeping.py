"""Nothing typed is lost: reload, back, a closed tab, a link, a stopped run, no storage."""

from __future__ import annotations

import pytest
from browser_helpers import LIVE_MS, form_values, shown_numbers, wait_live
from playwright.sync_api import expect

from evenrow import share

pytestmark = pytest.mark.browser

SPACING = '[name="line.spacing"]'


def test_reload_back_and_a_closed_tab_keep_the_form(shared_site, open_context):
    watched = open_context()
    page = watched.page(f"{shared_site.address}run-length/")
    wait_live(page)
    page.fill('[name="line.spacing"]', "17.5")
    page.fill('[name="limits.eu"]', "not yet sure")
    typed = form_values(page)

    page.reload()
    expect(page.locator(SPACING)).to_have_value("17.5")
    assert form_values(page) == typed

    page.goto(f"{shared_site.address}about/")
    page.go_back()
    expect(page.locator(SPACING)).to_have_value("17.5")
    assert form_values(page) == typed

    page.close()
    again = watched.page(f"{shared_site.address}run-length/")
    expect(again.locator(SPACING)).to_have_value("17.5")
    assert form_values(again) == typed
    assert watched.errors == []


def test_a_second_tab_does_not_change_the_first(shared_site, open_context):
    watched = open_context()
    first = watched.page(f"{shared_site.address}run-length/")
    wait_live(first)
    first.fill('[name="line.spacing"]', "17.5")
    second = watched.page(f"{shared_site.address}run-length/")
    wait_live(second)
    assert second.input_value('[name="line.spacing"]') == "17.5"
    second.fill('[name="line.spacing"]', "23")
    first.reload()
    wait_live(first)
    assert first.input_value('[name="line.spacing"]') == "17.5"


def test_a_link_never_overwrites_what_was_typed(shared_site, open_context):
    watched = open_context()
    page = watched.page(f"{shared_site.address}run-length/")
    wait_live(page)
    page.fill('[name="line.spacing"]', "17.5")
    wait_live(page)
    document = {
        "evenrow": 1,
        "calculator": "run-length",
        "units": "metric",
        "line": {"spacing": "40 cm"},
    }
    page.goto(f"{shared_site.address}about/")
    page.goto(f"{shared_site.address}run-length/#{share.encode(document)}")
    expect(page.locator(SPACING)).to_have_value("40")
    # What is changed on the link's design survives a reload of that link …
    page.fill('[name="line.spacing"]', "41")
    page.reload()
    expect(page.locator(SPACING)).to_have_value("41")
    # … and the way back to one's own stands open.
    page.click('[data-bar="link"] button')
    expect(page.locator(SPACING)).to_have_value("17.5")
    assert "#design" not in page.url


def test_ones_own_start_after_a_link_holds_nothing_of_the_link(shared_site, open_context):
    page = open_context().page(f"{shared_site.address}run-length/")
    first = form_values(page)
    document = {
        "evenrow": 1,
        "calculator": "run-length",
        "units": "metric",
        "line": {"spacing": "41 cm"},
    }
    page.goto(f"{shared_site.address}about/")
    page.goto(f"{shared_site.address}run-length/#{share.encode(document)}")
    expect(page.locator(SPACING)).to_have_value("41")
    page.click("text=Start my own")
    assert form_values(page) == first
    page.reload()
    expect(page.locator(SPACING)).to_have_value(first["line.spacing"])
    assert form_values(page) == first


def test_start_over_can_be_taken_back(shared_site, open_context):
    watched = open_context()
    page = watched.page(f"{shared_site.address}whole-field/")
    wait_live(page)
    page.fill('[name="rows.0.length"]', "77")
    wait_live(page)
    typed = form_values(page)
    page.click(".er-reset")
    wait_live(page)
    assert page.input_value('[name="rows.0.length"]') != "77"
    page.click("text=Put back what I had")
    wait_live(page)
    assert form_values(page) == typed


def answered(page):
    """Return the figures of the answer but for the bucket to check with: its size is a unit's."""
    return {k: v for k, v in shown_numbers(page).items() if not k.endswith(".bucket")}


def test_the_unit_switch_changes_the_answer_and_no_value(shared_site, open_context):
    watched = open_context(locale="en-US")
    page = watched.page(f"{shared_site.address}whole-field/")
    wait_live(page)
    assert page.is_checked('input[name="er-units"][value="us"]')
    page.fill('[name="rows.0.length"]', "57.5")
    wait_live(page)
    numbers = answered(page)
    # Also what nobody touched: half of a field in other values would be another field.
    stood = {name: text for name, text in form_values(page).items() if text}
    page.check('input[name="er-units"][value="metric"]', force=True)
    wait_live(page)
    now = form_values(page)
    filled = [name for name in stood if not name.endswith(":unit") or now[name[:-5]]]
    assert {name: now[name] for name in filled} == {name: stood[name] for name in filled}
    # A bucket and a gauge are those of the system: 5 gal or 10 L, psi or bar.
    own = [n for n in numbers if n.endswith((".fill", ".tolerance"))]
    assert own
    metric = answered(page)
    assert metric.keys() == numbers.keys()
    same = {name: value for name, value in numbers.items() if name not in own}
    assert {name: metric[name] for name in same} == pytest.approx(same, rel=1e-12)
    shown = " ".join(page.locator(".er-result .er-value").all_text_contents())
    assert "bar" in shown
    assert "psi" not in shown
    # A form that nobody touched starts from round values of the chosen units instead.
    page.click(".er-reset")
    wait_live(page)
    assert page.input_value('[data-unit-of="rows.0.length"]') == "m"
    page.check('input[name="er-units"][value="us"]', force=True)
    assert page.input_value('[data-unit-of="rows.0.length"]') == "ft"
    page.check('input[name="er-units"][value="metric"]', force=True)
    # Remembered on other pages and after a restart.
    other = watched.page(f"{shared_site.address}zones/")
    wait_live(other)
    assert other.is_checked('input[name="er-units"][value="metric"]')
    assert watched.errors == []


def test_an_example_keeps_its_values_and_the_readers_units(shared_site, open_context):
    page = open_context(locale="de-DE").page(f"{shared_site.address}whole-field/")
    wait_live(page)
    page.select_option(".er-example", "Raspberries by the shed")
    wait_live(page)
    assert page.input_value('[data-unit-of="rows.0.length"]') == "ft"
    assert page.is_checked('input[name="er-units"][value="metric"]')
    shown = " ".join(page.locator(".er-result .er-value").all_text_contents())
    assert "bar" in shown
    assert "psi" not in shown


def test_saved_file_opens_again(shared_site, open_context, tmp_path):
    watched = open_context()
    page = watched.page(f"{shared_site.address}whole-field/")
    wait_live(page)
    page.select_option(".er-example", "Market garden")
    wait_live(page)
    numbers = shown_numbers(page)
    with page.expect_download() as download:
        page.click(".er-save")
    path = tmp_path / "garden.toml"
    download.value.save_as(path)
    assert path.read_text(encoding="utf-8").startswith(("evenrow", "#", "name", "units"))
    page.click(".er-reset")
    wait_live(page)
    assert shown_numbers(page) != numbers
    page.set_input_files('.er-actions input[type="file"]', path)
    page.wait_for_selector("[data-bar=replaced]:has-text('garden.toml')")
    wait_live(page)
    assert shown_numbers(page) == pytest.approx(numbers, rel=1e-12)

    path.write_text("evenrow = 1\nrows = 5 5", encoding="utf-8")
    page.set_input_files('.er-actions input[type="file"]', path)
    page.wait_for_selector('[data-bar="file"]')
    assert shown_numbers(page) == pytest.approx(numbers, rel=1e-12)
    assert watched.errors == []


def test_a_stuck_run_can_be_stopped_and_what_was_typed_stays(shared_site, open_context):
    watched = open_context(service_workers="block")
    started = []

    def stuck_first(route):
        response = route.fetch()
        started.append(1)
        body = response.text()
        if len(started) == 1:
            # The first worker never comes back from its first calculation.
            body = body.replace("postMessage({ id, reply: call(request) });", "for (;;);")
            assert "for (;;);" in body
        route.fulfill(response=response, body=body)

    watched.context.route("**/core-worker.js", stuck_first)
    page = watched.page(f"{shared_site.address}run-length/")
    page.fill('[name="line.spacing"]', "17.5")
    page.wait_for_selector(".er-stop", timeout=LIVE_MS)
    # The page itself is not blocked.
    page.fill('[name="limits.eu"]', "88")
    # Past the pause after typing: stopping then drops this newer request too.
    page.wait_for_timeout(600)
    page.click(".er-stop")
    page.wait_for_selector("text=Work it out again", timeout=LIVE_MS)
    assert page.input_value('[name="line.spacing"]') == "17.5"
    assert page.input_value('[name="limits.eu"]') == "88"
    page.click("text=Work it out again")
    wait_live(page)
    assert len(started) == 2
    assert shown_numbers(page)


def test_a_failed_start_is_told_and_can_be_tried_again(shared_site, open_context):
    watched = open_context(service_workers="block")
    broken = [True]
    watched.context.route(
        "**/core.pack", lambda route: route.abort() if broken[0] else route.continue_()
    )
    page = watched.page(f"{shared_site.address}run-length/")
    page.wait_for_selector("text=The live calculator did not start", timeout=LIVE_MS)
    assert shown_numbers(page)
    broken[0] = False
    page.click("text=Try again")
    wait_live(page)


def test_without_service_worker_and_storage_it_still_answers(shared_site, open_context):
    watched = open_context(service_workers="block")
    watched.context.add_init_script(
        """for (const name of ["localStorage", "sessionStorage"])
             Object.defineProperty(window, name, { get() { throw new Error("refused"); } });"""
    )
    page = watched.page(f"{shared_site.address}run-length/")
    wait_live(page)
    assert shown_numbers(page)
    assert page.locator('[data-bar="storage"]').count() == 1
    page.fill('[name="line.spacing"]', "17.5")
    wait_live(page)
    assert page.locator('[data-bar="storage"]').count() == 1
