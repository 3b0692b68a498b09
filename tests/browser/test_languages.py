"""Spanish pages in a browser: links, answers, the way to the other language, without a network."""

from __future__ import annotations

import re

import pytest
from access_helpers import PAGES
from browser_helpers import LIVE_MS, SITE, form_values, shown_numbers, wait_live
from playwright.sync_api import expect

from evenrow import share
from evenrow.calculators.registry import CALCULATORS

pytestmark = pytest.mark.browser

PHONE = {"viewport": {"width": 390, "height": 844}, "is_mobile": True, "has_touch": True}
SPACING = '[name="line.spacing"]'
SWITCH = "a.er-language"
DOCUMENT = {
    "evenrow": 1,
    "calculator": "run-length",
    "units": "metric",
    "line": {"device": "tape-22", "spacing": "40 cm"},
}
#: Pages that are kept in English, with the way to the Spanish start: for those who write programs
#: or run a site. Calculators, guides and formulas have their twins by other tests.
ENGLISH_ONLY = {
    f"{page}/"
    for page in PAGES
    if not f"{page}/".startswith("es/") and f"es/{page}".rstrip("/") not in PAGES
}


def test_a_spanish_link_opens_in_spanish_and_the_switch_keeps_the_design(shared_site, open_context):
    watched = open_context(**PHONE)
    fragment = share.encode(DOCUMENT)
    page = watched.page(f"{shared_site.address}es/run-length/#{fragment}")
    wait_live(page)
    expect(page.locator(SPACING)).to_have_value("40")
    expect(page.locator(".er-headline-label")).to_have_text("Largo máximo")
    expect(page.locator(".er-status")).to_contain_text("En vivo")
    expect(page.locator('[data-bar="link"]')).to_contain_text("Este es un diseño de un enlace.")
    spanish = shown_numbers(page)
    page.tap(".er-share")
    expect(page.locator(".er-link").first).to_have_value(re.compile(r"/es/run-length/#design=1\."))

    page.tap(SWITCH)
    page.wait_for_url(f"{shared_site.address}run-length/#{fragment}")
    wait_live(page)
    expect(page.locator(SPACING)).to_have_value("40")
    expect(page.locator(".er-headline-label")).to_have_text("Longest run")
    assert shown_numbers(page) == spanish
    assert watched.errors == []


def test_what_is_typed_goes_along_to_the_other_language_and_back(shared_site, open_context):
    watched = open_context()
    page = watched.page(f"{shared_site.address}es/run-length/")
    page.fill(SPACING, "17.5")
    page.click(SWITCH)
    page.wait_for_url(f"{shared_site.address}run-length/")
    expect(page.locator(SPACING)).to_have_value("17.5")
    wait_live(page)
    english, typed = shown_numbers(page), form_values(page)
    page.click(SWITCH)
    page.wait_for_url(f"{shared_site.address}es/run-length/")
    wait_live(page)
    assert (shown_numbers(page), form_values(page)) == (english, typed)
    assert watched.errors == []


def test_an_example_left_as_it_came_is_the_example_of_the_other_language(shared_site, open_context):
    watched = open_context()
    page = watched.page(f"{shared_site.address}es/whole-field/#demo=market-garden")
    expect(page.locator('[name="rows.0.crop"]')).to_have_value("lechuga")
    expect(page.locator('[data-bar="link"]')).to_contain_text("«Huerta de mercado» es un ejemplo")
    page.click(SWITCH)
    expect(page.locator('[name="rows.0.crop"]')).to_have_value("lettuce")
    expect(page.locator('[data-bar="link"]')).not_to_contain_text("but for what you changed")
    page.fill('[name="rows.0.crop"]', "chard")
    page.click(SWITCH)
    expect(page.locator('[name="rows.0.crop"]')).to_have_value("chard")
    expect(page.locator('[data-bar="link"]')).to_contain_text("menos lo que usted cambió")
    assert watched.errors == []


def test_where_nothing_is_kept_the_switch_takes_the_design_in_its_address(
    shared_site, open_context
):
    watched = open_context()
    watched.context.add_init_script(
        "for (const name of ['localStorage', 'sessionStorage'])"
        " Object.defineProperty(window, name, { get() { throw new Error('refused'); } });"
    )
    page = watched.page(f"{shared_site.address}es/run-length/")
    page.fill(SPACING, "17.5")
    page.click(SWITCH)
    page.wait_for_url(f"{shared_site.address}run-length/#design=*")
    expect(page.locator(SPACING)).to_have_value("17.5")


def test_faults_are_told_in_spanish_at_their_field(shared_site, open_context):
    page = open_context().page(f"{shared_site.address}es/run-length/")
    wait_live(page)
    page.fill(SPACING, "3 chain")
    slot = page.locator('[data-field="line.spacing"] > .er-error')
    expect(slot).to_contain_text("La unidad «chain» no se conoce.", timeout=LIVE_MS)
    expect(slot).to_contain_text("Se acepta: una separación, como 12 in o 30 cm.")
    expect(page.locator(".er-problem-title")).to_contain_text("Un dato necesita otra mirada.")
    page.click("text=Deshacer")
    expect(slot).to_be_hidden()


def test_most_pages_are_in_both_languages():
    assert "speed/" in ENGLISH_ONLY
    assert len(ENGLISH_ONLY) < len(PAGES) / 4


@pytest.mark.parametrize("scripts", [True, False])
def test_every_page_has_the_way_to_the_other_language(shared_site, open_context, scripts):
    watched = open_context(java_script_enabled=scripts, service_workers="block", **PHONE)
    for path in [f"{page}/" if page else "" for page in PAGES]:
        page = watched.page(shared_site.address + path)
        link = page.locator(SWITCH)
        expect(link).to_be_visible()
        box = link.bounding_box()
        assert min(box["width"], box["height"]) >= 24, path
        code = "es" if path.startswith("es/") else "en"
        assert page.get_attribute("html", "lang") == code, path
        assert link.get_attribute("lang") == ("en" if code == "es" else "es"), path
        link.tap()
        other = path.removeprefix("es/") if code == "es" else f"es/{path}"
        if path in ENGLISH_ONLY:
            other = "es/"
        page.wait_for_url(f"{shared_site.address}{other}")
        page.close()


def test_without_scripts_a_spanish_page_reads_from_question_to_answer(shared_site, open_context):
    page = open_context(java_script_enabled=False).page(f"{shared_site.address}es/zones/")
    expect(page.locator("h1")).to_have_text("Zonas")
    expect(page.locator(".er-answer .er-headline-value")).not_to_be_empty()
    expect(page.locator(".er-form .er-notice").first).to_contain_text("scripts apagados")
    expect(page.locator(".er-answer-title")).to_have_text("Respuesta")
    expect(page.locator(".er-field label").first).to_contain_text("Caudal utilizable de la fuente")


def test_offline_both_languages_are_there(own_site, open_context):
    watched = open_context()
    page = watched.page(f"{own_site.address}es/run-length/")
    ready = page.locator(".er-offline:has-text('Listo sin red')")
    ready.wait_for(timeout=LIVE_MS)
    own_site.stop()
    page.goto(f"{own_site.address}es/zones/")
    wait_live(page)
    expect(page.locator(".er-status")).to_contain_text("En vivo")
    page.click(SWITCH)
    expect(page.locator("h1")).to_have_text("Zones")
    wait_live(page)
    page.fill('[name="rows.0.length"]', "77")
    expect(page.locator(".er-result")).to_have_attribute("data-live", "true")
    page.click(SWITCH)
    expect(page.locator('[name="rows.0.length"]')).to_have_value("77")


def test_spanish_search_finds_spanish_pages(shared_site, open_context):
    watched = open_context()
    page = watched.page(f"{shared_site.address}es/about/")
    page.click(".md-search__input")
    page.keyboard.type("reflujo")
    first = page.locator(".md-search-result__link").first
    expect(first).to_be_visible()
    assert "/es/" in first.evaluate("link => link.href")
    assert watched.errors == []


def test_every_calculator_has_its_spanish_page():
    for name in CALCULATORS:
        assert (SITE / "es" / name / "index.html").is_file()
