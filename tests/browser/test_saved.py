"""Saved designs: kept by name on the device, in every tab, through crashes and full stores."""

from __future__ import annotations

import json
import re
import tomllib

import pytest
from browser_helpers import LIVE_MS, form_values, shown_numbers, wait_live
from playwright.sync_api import Error as PlaywrightError
from playwright.sync_api import expect

from evenrow import share

pytestmark = pytest.mark.browser

FLOW = '[name="flow"]'
ENTRIES = ".er-saved-entry"


def type_name(page, name):
    page.eval_on_selector('[name="name"]', "box => (box.closest('details').open = true)")
    page.fill('[name="name"]', name)


def save_as(page, name):
    """Save what stands in the form under a name."""
    type_name(page, name)
    page.click(".er-keep")
    expect(page.locator(".er-keep-said")).to_contain_text(name)


def names(page):
    return page.locator(".er-saved-name").all_inner_texts()


def test_a_design_is_saved_listed_opened_and_saved_again(shared_site, open_context):
    watched = open_context()
    page = watched.page(f"{shared_site.address}zones/")
    wait_live(page)
    page.fill(FLOW, "3")
    save_as(page, "Upper field")
    wait_live(page)
    numbers = shown_numbers(page)
    typed = form_values(page)
    assert "#saved=" in page.url

    page.goto(f"{shared_site.address}saved/")
    entry = page.locator(ENTRIES)
    expect(entry).to_have_count(1)
    expect(entry).to_contain_text("Zones")
    expect(entry).to_contain_text("catalogue: ")
    entry.get_by_role("link", name="Upper field").click()
    expect(page.locator(FLOW)).to_have_value("3")
    wait_live(page)
    assert form_values(page) == typed
    assert shown_numbers(page) == pytest.approx(numbers, rel=1e-12)

    # A change stays with the page, also after a reload, and is not yet in the saved design.
    page.fill(FLOW, "2")
    expect(page.locator(".er-open-design")).to_contain_text("changed since it was saved")
    page.reload()
    expect(page.locator(FLOW)).to_have_value("2")
    page.click("text=Show as saved")
    expect(page.locator(FLOW)).to_have_value("3")
    page.click("text=Put back what I had")
    expect(page.locator(FLOW)).to_have_value("2")
    page.click("text=Save changes")
    expect(page.locator(".er-open-design")).to_contain_text("is saved on this device")
    # The page shows it again without its address.
    page.goto(f"{shared_site.address}zones/")
    expect(page.locator(FLOW)).to_have_value("2")
    page.click("text=Start my own")
    expect(page.locator(FLOW)).to_have_value(re.compile("4.8|0.9"))
    assert watched.errors == []


def test_rename_duplicate_delete_and_put_back(shared_site, open_context):
    watched = open_context()
    page = watched.page(f"{shared_site.address}zones/")
    wait_live(page)
    save_as(page, "<b>Beds</b>")
    page.goto(f"{shared_site.address}saved/")
    expect(page.locator(ENTRIES)).to_have_count(1)
    assert page.locator(".er-saved-name b").count() == 0
    page.click("text=Duplicate")
    expect(page.locator(ENTRIES)).to_have_count(2)
    assert sorted(names(page)) == ["<b>Beds</b>", "<b>Beds</b> (2)"]

    page.get_by_role("button", name="Rename: <b>Beds</b> (2)").click()
    box = page.get_by_label("New name")
    expect(box).to_be_focused()
    box.fill("<b>Beds</b>")
    box.press("Enter")
    # A name that is taken gets a number, and the focus comes back.
    renamed = page.get_by_role("button", name="Rename: <b>Beds</b> (2)")
    expect(renamed).to_be_focused()
    renamed.click()
    page.get_by_label("New name").fill("Lower")
    page.click("text=Keep this name")
    expect(page.get_by_role("link", name="Lower")).to_be_visible()

    page.get_by_role("button", name="Delete: Lower").click()
    expect(page.locator(ENTRIES)).to_have_count(1)
    back = page.get_by_role("button", name="Put it back")
    expect(back).to_be_focused()
    back.press("Enter")
    expect(page.locator(ENTRIES)).to_have_count(2)
    page.reload()
    expect(page.locator(ENTRIES)).to_have_count(2)
    assert watched.errors == []


def test_files_go_out_and_come_in_again_and_bad_ones_say_why(shared_site, open_context, tmp_path):
    watched = open_context()
    page = watched.page(f"{shared_site.address}zones/")
    wait_live(page)
    page.fill(FLOW, "3")
    save_as(page, "Möhren am Hang")
    page.goto(f"{shared_site.address}saved/")
    files = []
    for kind, read in (("toml", tomllib.loads), ("json", json.loads)):
        with page.expect_download(timeout=LIVE_MS) as download:
            page.click(f"text=File ({kind.upper()})")
        assert download.value.suggested_filename == f"möhren-am-hang.{kind}"
        path = tmp_path / f"out.{kind}"
        download.value.save_as(path)
        document = read(path.read_text(encoding="utf-8"))
        assert document["name"] == "Möhren am Hang"
        assert document["flow"].startswith("3 ")
        files.append(path)
    bad = {
        "cut.toml": b"evenrow = 1\nrows = 5 5",
        "deep.json": b'{"evenrow": 1, "a": ' + b"[" * 500 + b"]" * 500 + b"}",
        "long.toml": b"#" * (256 * 1024 + 1),
        "bytes.toml": b"\xff\xfe\x00",
        "newer.json": b'{"evenrow": 2}',
        "other.json": b'{"evenrow": 1, "calculator": "tea"}',
        "proto.json": b'{"evenrow": 1, "__proto__": {"a": 1}}',
        "<img src=x>.toml": b"",
    }
    for name, text in bad.items():
        (tmp_path / name).write_bytes(text)
        files.append(tmp_path / name)
    page.set_input_files('.er-saved input[type="file"]', files)
    said = page.locator(".er-import-said li")
    expect(said).to_have_count(len(files), timeout=LIVE_MS)
    assert page.locator(".er-import-said .er-error").count() == len(bad)
    assert page.locator(".er-import-said img").count() == 0
    for text in said.all_inner_texts():
        assert text.endswith(".")
        assert "Error" not in text
    expect(page.locator(ENTRIES)).to_have_count(3)
    assert sorted(names(page)) == [
        "Möhren am Hang",
        "Möhren am Hang (2)",
        "Möhren am Hang (3)",
    ]
    assert watched.errors == []


def test_what_one_tab_saves_shows_in_the_other_and_nothing_is_overwritten(
    shared_site, open_context
):
    watched = open_context()
    first = watched.page(f"{shared_site.address}zones/")
    wait_live(first)
    first.fill(FLOW, "3")
    save_as(first, "Beds")
    listed = watched.page(f"{shared_site.address}saved/")
    expect(listed.locator(ENTRIES)).to_have_count(1)
    second = watched.page(first.url)
    expect(second.locator(FLOW)).to_have_value("3")
    wait_live(second)

    second.fill(FLOW, "4")
    second.click("text=Save changes")
    expect(second.locator(".er-open-design")).to_contain_text("is saved on this device")
    expect(first.locator('[data-bar="elsewhere"]')).to_contain_text("Another tab saved")
    first.fill(FLOW, "2")
    first.click("text=Save changes")
    expect(first.locator('[data-bar="saved"]')).to_contain_text("Both are kept")
    expect(listed.locator(ENTRIES)).to_have_count(2)
    assert sorted(names(listed)) == ["Beds", "Beds (from the other tab)"]
    for name, flow in (("Beds", "4"), ("Beds (from the other tab)", "2")):
        link = listed.get_by_role("link", name=name, exact=True)
        page = watched.page(link.evaluate("a => a.href"))
        expect(page.locator(FLOW)).to_have_value(flow)
        page.close()
    # Deleted here, saved again there.
    listed.get_by_role("button", name="Delete: Beds", exact=True).click()
    expect(second.locator('[data-bar="elsewhere"]')).to_contain_text("deleted in another tab")
    second.click(".er-keep")
    expect(listed.locator(ENTRIES)).to_have_count(2)
    assert watched.errors == []


def test_a_killed_page_loses_nothing_typed_or_saved(shared_site, open_context, tmp_path):
    watched = open_context(profile=tmp_path)
    page = watched.page(f"{shared_site.address}zones/")
    wait_live(page)
    page.fill(FLOW, "3")
    save_as(page, "Beds")
    page.fill(FLOW, "2.5")
    address = page.url
    after = watched.context.new_page()
    # The page's process ends at once: no farewell, no unload.
    with pytest.raises(PlaywrightError, match="crash"):
        page.goto("chrome://crash")
    after.goto(f"{shared_site.address}saved/")
    expect(after.locator(ENTRIES)).to_have_count(1)
    after.goto(address)
    expect(after.locator(FLOW)).to_have_value("2.5")
    expect(after.locator(".er-open-design")).to_contain_text("changed since it was saved")


@pytest.mark.parametrize("why", ["full", "refused"])
def test_a_store_that_takes_nothing_says_so_once_and_goes_on(why, shared_site, open_context):
    watched = open_context()
    error = "QuotaExceededError" if why == "full" else "SecurityError"
    watched.context.add_init_script(
        f"""
        const refuse = () => {{ throw new DOMException("no", "{error}"); }};
        IDBObjectStore.prototype.put = refuse;
        const plain = Storage.prototype.setItem;
        Storage.prototype.setItem = function (key, text) {{
          if (key.includes(":design:")) refuse();
          plain.call(this, key, text);
        }};
        """
    )
    page = watched.page(f"{shared_site.address}zones/")
    wait_live(page)
    page.fill(FLOW, "3")
    save_as(page, "Beds")
    bar = page.locator('[data-bar="lost"]')
    expect(bar).to_have_count(1)
    expect(bar).to_contain_text("no room left" if why == "full" else "keeps no designs")
    expect(page.locator(".er-open-design")).to_contain_text("goes with this page")
    bar.get_by_role("button", name="Close").click()
    page.fill(FLOW, "2")
    page.click("text=Save changes")
    expect(page.locator(".er-open-design")).to_contain_text("goes with this page")
    expect(bar).to_have_count(0)
    wait_live(page)
    assert watched.errors == []


def test_a_full_database_is_helped_by_the_plain_store(shared_site, open_context):
    watched = open_context()
    watched.context.add_init_script(
        "IDBObjectStore.prototype.put = () => "
        "{ throw new DOMException('no', 'QuotaExceededError'); };"
    )
    page = watched.page(f"{shared_site.address}zones/")
    wait_live(page)
    page.fill(FLOW, "3")
    save_as(page, "Beds")
    expect(page.locator(".er-open-design")).to_contain_text("is saved on this device")
    page.goto(f"{shared_site.address}saved/")
    expect(page.locator(ENTRIES)).to_have_count(1)
    assert watched.errors == []


def test_a_link_and_an_example_leave_a_saved_design_alone(shared_site, open_context):
    watched = open_context()
    page = watched.page(f"{shared_site.address}whole-field/")
    wait_live(page)
    page.fill('[name="rows.0.length"]', "57.5")
    save_as(page, "Mine")
    wait_live(page)
    document = {"evenrow": 1, "calculator": "whole-field", "units": "us", "name": "Mine"}
    page.goto(f"{shared_site.address}about/")
    page.goto(f"{shared_site.address}whole-field/#{share.encode(document)}")
    expect(page.locator('[data-bar="link"]')).to_contain_text("design from a link")
    page.fill('[name="main.length"]', "31")
    page.select_option(".er-example", "Market garden")
    expect(page.locator('[data-bar="link"]')).to_contain_text("is an example")
    page.fill('[name="main.length"]', "32")
    page.goto(f"{shared_site.address}saved/")
    expect(page.locator(ENTRIES)).to_have_count(1)
    page.get_by_role("link", name="Mine").click()
    expect(page.locator('[name="rows.0.length"]')).to_have_value("57.5")
    expect(page.locator(".er-open-design")).to_contain_text("is saved on this device")
    assert watched.errors == []


def test_an_address_of_a_design_that_is_not_here_says_so(shared_site, open_context):
    watched = open_context()
    page = watched.page(f"{shared_site.address}zones/#saved=nothing")
    expect(page.locator('[data-bar="own"]')).to_contain_text("not on this device")
    assert "#" not in page.url
    assert watched.errors == []


def test_what_others_wrote_into_the_store_is_not_shown(shared_site, open_context):
    watched = open_context()
    page = watched.page(f"{shared_site.address}saved/")
    expect(page.locator(".er-saved-empty")).to_be_visible()
    page.evaluate(
        """() => {
          const base = new URL("../", location.href).pathname;
          const put = (id, rest) =>
            localStorage.setItem(`evenrow:${base}:design:${id}`, JSON.stringify(rest));
          const good = {
            revision: 1, at: 1, calculator: "zones", catalogue: "<i>x</i>",
            document: { evenrow: 1 },
          };
          put("a", { ...good, id: "a", name: "<img src=x onerror=alert(1)>" });
          put("b", { ...good, id: "b", name: "B", document: { evenrow: 1, rows: null } });
          put("c", { ...good, id: "c", name: "C", calculator: "javascript:alert(1)" });
        }"""
    )
    page.reload()
    expect(page.locator(ENTRIES)).to_have_count(1)
    expect(page.locator('[data-bar="unreadable"]')).to_contain_text("2 of the saved designs")
    assert page.locator(f"{ENTRIES} :is(img, i)").count() == 0
    assert watched.errors == []
