"""The whole job once: a demo, a live answer, a link, no network, the same numbers."""

from __future__ import annotations

import pytest
from browser_helpers import LIVE_MS, numbers_in, shown_numbers, wait_live, wait_offline_ready

from evenrow import share
from evenrow.calculators import html
from evenrow.calculators.registry import CALCULATORS, answer

pytestmark = pytest.mark.browser

DEMO = "Raspberries by the shed"


def test_a_shared_design_gives_the_same_numbers_offline(own_site, open_context):
    watched = open_context()
    page = watched.page(f"{own_site.address}whole-field/")
    wait_live(page)
    page.select_option(".er-example", DEMO)
    wait_live(page)
    # Something typed, so that the link carries more than the demo.
    page.fill('[name="rows.0.length"]', "57.5")
    wait_live(page)
    before = shown_numbers(page)
    assert len(before) > 10

    page.click(".er-share")
    link = page.input_value(".er-link")
    assert link.startswith(f"{own_site.address}whole-field/#design=1.")
    wait_offline_ready(page)
    page.close()

    watched.context.set_offline(True)
    own_site.stop()
    reopened = watched.page(link)
    wait_live(reopened)
    assert reopened.input_value('[name="rows.0.length"]') == "57.5"

    calculator, result, system = answer(share.decode(link))
    expected = numbers_in(html.result_html(calculator, result, system))
    assert expected.keys() == shown_numbers(reopened).keys()
    assert shown_numbers(reopened) == pytest.approx(expected, rel=1e-9, abs=1e-12)
    assert before == pytest.approx(expected, rel=1e-9, abs=1e-12)
    assert watched.errors == []


@pytest.mark.parametrize("name", CALCULATORS)
def test_the_default_answer_is_the_same_in_page_browser_and_cpython(
    name, shared_site, open_context
):
    watched = open_context(locale="de-DE")
    page = watched.page(f"{shared_site.address}{name}/")
    built = numbers_in(
        page.context.request.get(f"{shared_site.address}{name}/")
        .text()
        .split('<template class="er-result-us"')[0]
    )
    wait_live(page)
    assert built
    assert shown_numbers(page) == pytest.approx(built, rel=1e-9, abs=1e-12)
    assert watched.errors == []


def test_another_page_works_offline_too(own_site, open_context):
    watched = open_context()
    page = watched.page(own_site.address)
    wait_offline_ready(page)
    own_site.stop()
    for path in ("", "about/", "formulas/", "run-length/", "run-length/?from=somewhere"):
        page.goto(own_site.address + path)
        assert page.locator("h1").inner_text()
    page.wait_for_selector('.er-result[data-live="true"]', timeout=LIVE_MS)
