"""Links, files and kept designs that hold what no form can show."""

from __future__ import annotations

import json

import pytest
from browser_helpers import form_values, problem, wait_live
from playwright.sync_api import expect

from evenrow import documents, share

pytestmark = pytest.mark.browser

HEAD = {"evenrow": 1, "calculator": "whole-field", "units": "us"}
ROW = {"crop": "kale", "length": "57.5 ft"}
#: What the document holds, and the name that the page must say it left out.
SHAPES = {
    "an empty table as a name": ({"name": {}, "rows": [ROW]}, "name"),
    "a list as a note": ({"about": [{}], "rows": [ROW]}, "about"),
    "a table as a choice": ({"source": {"kind": {}}, "rows": [ROW]}, "source.kind"),
    "a table in a row": ({"rows": [ROW, {"crop": {}}]}, "rows.1.crop"),
    "a name of every object": ({"name": {"toString": 1}, "rows": [ROW]}, "name.toString"),
    "a list as a row": ({"rows": [ROW, [1]]}, "rows.1"),
    "a text as rows": ({"rows": "many"}, "rows"),
}
LENGTH = '[name="rows.0.length"]'


@pytest.mark.parametrize("name", SHAPES)
def test_a_table_where_a_text_belongs_is_left_out_by_name(shared_site, open_context, name):
    document, unknown = SHAPES[name]
    watched = open_context()
    page = watched.page(f"{shared_site.address}whole-field/#{share.encode({**HEAD, **document})}")
    page.wait_for_selector('[data-bar="link"] >> text=This is a design from a link')
    said = page.locator('[data-bar="unknown"]').inner_text()
    assert said.startswith("Left out")
    assert unknown in said
    if isinstance(document["rows"], list):
        assert page.input_value(LENGTH) == "57.5"
    assert watched.errors == []


@pytest.mark.parametrize(
    ("head", "words"),
    [
        ({"evenrow": 2}, "made by a newer Evenrow than this one"),
        ({"evenrow": "1"}, "no version"),
        ({"units": "imperial"}, "neither us nor metric"),
        ({"calculator": {}}, "does not have"),
    ],
)
def test_a_link_of_another_version_or_unit_system_is_refused(
    shared_site, open_context, head, words
):
    fragment = share.encode({**HEAD, "rows": [ROW], **head})
    page = open_context().page(f"{shared_site.address}whole-field/#{fragment}")
    expect(page.locator('[data-bar="link"] p')).to_contain_text(words)
    assert page.input_value(LENGTH) != "57.5"
    assert "#" not in page.url


def test_a_number_without_a_unit_gets_none_by_itself(shared_site, open_context):
    fragment = share.encode({**HEAD, "rows": [{"crop": "kale", "length": "57.5"}]})
    page = open_context().page(f"{shared_site.address}whole-field/#{fragment}")
    wait_live(page)
    unit = page.locator('[data-unit-of="rows.0.length"]')
    assert page.input_value(LENGTH) == "57.5"
    assert unit.input_value() == ""
    assert unit.is_enabled()
    assert "unit" in problem(page, "rows.0.length")
    # A reload chooses none either, and choosing one mends it.
    page.reload()
    wait_live(page)
    assert unit.input_value() == ""
    unit.select_option("ft")
    wait_live(page)
    assert problem(page, "rows.0.length") == ""


def test_what_was_changed_in_a_link_is_said_and_can_go(shared_site, open_context):
    fragment = share.encode({**HEAD, "rows": [ROW]})
    page = open_context().page(f"{shared_site.address}whole-field/#{fragment}")
    bar = page.locator('[data-bar="link"]')
    expect(bar).to_contain_text("This is a design from a link.")
    page.reload()
    wait_live(page)
    expect(bar).to_contain_text("This is a design from a link.")
    page.fill(LENGTH, "61")
    page.reload()
    expect(bar).to_contain_text("with what you changed in it here")
    assert page.input_value(LENGTH) == "61"
    bar.get_by_text("Show as sent").click()
    expect(page.locator(LENGTH)).to_have_value("57.5")
    expect(bar).to_contain_text("This is a design from a link.")
    page.click("text=Put back what I had")
    expect(page.locator(LENGTH)).to_have_value("61")


def test_what_others_kept_here_does_not_break_the_page(shared_site, open_context):
    watched = open_context()
    poison = json.dumps({"at": 1, "document": {**HEAD, "name": {"toString": 1}, "rows": [ROW]}})
    watched.context.add_init_script(
        f"""if (location.protocol === "http:") {{
              const base = location.pathname.replace(/whole-field.*/, "");
              localStorage.setItem(`evenrow:${{base}}:whole-field:own`, {json.dumps(poison)});
            }}"""
    )
    page = watched.page(f"{shared_site.address}whole-field/")
    expect(page.locator(LENGTH)).to_have_value("57.5")
    wait_live(page)
    assert watched.errors == []


def test_a_fill_that_fails_says_so_and_leaves_no_half_form(shared_site, open_context):
    watched = open_context(service_workers="block")

    def failing(route):
        response = route.fetch()
        start = "  showRelevant(form);\n  return [...unusable"
        body = response.text()
        assert body.count(start) == 1
        fault = 'if (source.name === "boom") throw new Error("boom");\n'
        route.fulfill(response=response, body=body.replace(start, fault + start))

    watched.context.route("**/form-data.js", failing)
    page = watched.page(f"{shared_site.address}whole-field/")
    wait_live(page)
    example = form_values(page)
    boom = {**HEAD, "name": "boom", "rows": [ROW]}
    page.evaluate("fragment => { location.hash = fragment; }", share.encode(boom))
    expect(page.locator('[data-bar="link"] p')).to_contain_text("cannot be shown")
    assert form_values(page) == example
    assert page.evaluate("Object.keys(localStorage).filter(key => key.includes(':link-'))") == []

    # The same from a file: what stood there can be put back.
    page.fill(LENGTH, "61")
    wait_live(page)
    typed = form_values(page)
    file = {"name": "b.toml", "mimeType": "", "buffer": documents.to_toml(boom).encode()}
    page.set_input_files('.er-actions input[type="file"]', file)
    page.wait_for_selector("[data-bar=replaced]:has-text('Not all of this')")
    page.click("text=Put back what I had")
    assert form_values(page) == typed

    # And from what is kept here.
    page.locator('[name="name"]').evaluate(
        "e => { e.value = 'boom'; e.dispatchEvent(new Event('input', { bubbles: true })); }"
    )
    page.reload()
    expect(page.locator('[data-bar="own"] p')).to_contain_text("cannot be shown")
    assert form_values(page) == example


def test_files_have_the_limits_of_the_package(shared_site, open_context):
    page = open_context().page(f"{shared_site.address}whole-field/")
    wait_live(page)
    text = documents.to_toml({**HEAD, "rows": [ROW]}).encode()

    def opened(name: str, body: bytes) -> None:
        file = {"name": name, "mimeType": "", "buffer": body}
        page.set_input_files('.er-actions input[type="file"]', file)

    room = documents.MAX_BYTES - len(text)
    opened("long.toml", text + b"#" * (room + 1))
    page.wait_for_selector("[data-bar=file]:has-text('long.toml is too long')")
    opened("latin.toml", b'name = "Gr\xf6\xdfe"\n' + text)
    page.wait_for_selector("[data-bar=file]:has-text('latin.toml cannot be used: it is not text')")
    assert page.input_value(LENGTH) != "57.5"
    opened("marked.toml", b"\xef\xbb\xbf" + text)
    page.wait_for_selector("[data-bar=replaced]:has-text('marked.toml is open')")
    opened("full.toml", text + b"#" * room)
    page.wait_for_selector("[data-bar=replaced]:has-text('full.toml is open')")
    assert page.input_value(LENGTH) == "57.5"
