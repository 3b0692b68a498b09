"""A co-op's own site, built by the command and served as a guide says, in a real browser."""

from __future__ import annotations

import socket
import subprocess
import sys
import time
import zipfile
from pathlib import Path

import pytest
from browser_helpers import numbers_in, shown_numbers, wait_live, wait_offline_ready

from evenrow.calculators import html
from evenrow.calculators.reading import default_document, put
from evenrow.calculators.registry import CALCULATORS, answer
from evenrow.catalogue import using
from evenrow.catalogue.directory import load_directory

pytestmark = pytest.mark.browser

ROOT = Path(__file__).resolve().parents[2]
COOP = ROOT / "tests" / "fixtures" / "hill-coop"
CAUTION = "Our well house is locked"


@pytest.fixture(scope="module")
def built(tmp_path_factory):
    """The site of the made-up co-op."""
    out = tmp_path_factory.mktemp("own") / "hill"
    words = ["site", "--catalogue", str(COOP), "--out", str(out), "--language", "es"]
    done = subprocess.run(
        [sys.executable, "-m", "evenrow", *words], capture_output=True, text=True, cwd=ROOT
    )
    assert done.returncode == 0, done.stdout + done.stderr
    return out


@pytest.fixture(scope="module")
def address(built):
    """The site at the address that Python's own server gives it, as from a USB stick."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    words = ["--bind", "127.0.0.1", "--directory", str(built), str(port)]
    server = subprocess.Popen(
        [sys.executable, "-m", "http.server", *words],
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    for _ in range(100):
        with socket.socket() as asked:
            if asked.connect_ex(("127.0.0.1", port)) == 0:
                break
        time.sleep(0.1)
    yield f"http://127.0.0.1:{port}/"
    server.terminate()
    server.wait()


def test_the_site_is_the_coops(address, open_context):
    watched = open_context(locale="en-US")
    page = watched.page(f"{address}whole-field/")
    wait_live(page)
    assert "Hill Farm Co-op waters" in page.locator(".md-header").inner_text()
    footer = page.locator(".er-footer").inner_text()
    assert "Yard office, mornings" in footer
    assert CAUTION in footer
    # Its units, though the browser's region uses others.
    assert page.is_checked('[name="er-units"][value="metric"]')
    lines = page.eval_on_selector_all(
        '[name="line.device"] option', "all => all.map(each => each.value)"
    )
    assert "hill-dripline-17" in lines
    assert "tape-22-low" not in lines
    page.select_option('[name="line.device"]', "hill-dripline-17")
    wait_live(page)
    told = page.locator(".er-result").inner_text()
    assert "Hill Farm Co-op, version 2026-03, prices in EUR" in told
    assert CAUTION in told
    assert "USD" not in told
    whole = CALCULATORS["whole-field"]
    document = default_document(whole, "metric")
    put(document, "line.device", "hill-dripline-17")
    with using(load_directory(COOP)):
        _, result, system = answer(document)
        expected = numbers_in(html.result_html(whole, result, system))
    assert len(expected) > 10
    assert shown_numbers(page) == pytest.approx(expected, rel=1e-9, abs=1e-12)
    # Nothing came from anywhere else, and it goes on without its server.
    wait_offline_ready(page)
    watched.context.set_offline(True)
    page.reload()
    wait_live(page)
    assert CAUTION in page.locator(".er-result").inner_text()
    foreign = [
        each for each in watched.requests if not each.startswith((address, "blob:", "data:"))
    ]
    assert foreign == []
    assert watched.errors == []


def test_the_site_opens_in_the_coops_language_and_the_other_can_be_chosen(address, open_context):
    watched = open_context(locale="en-US")
    page = watched.page(address)
    page.wait_for_url(f"{address}es/")
    assert page.get_attribute("html", "lang") == "es"
    page.goto(f"{address}es/about/")
    page.evaluate("location.href = '../../'")
    page.wait_for_url(address)
    page.wait_for_selector(".er-footer")
    assert page.get_attribute("html", "lang") == "en"
    assert watched.errors == []


def test_the_zip_holds_the_same_site(built):
    with zipfile.ZipFile(built.with_name("hill.zip")) as archive:
        packed = {name.partition("/")[2]: archive.read(name) for name in archive.namelist()}
    files = {
        path.relative_to(built).as_posix(): path for path in built.rglob("*") if path.is_file()
    }
    assert packed.keys() == files.keys()
    assert all(packed[name] == path.read_bytes() for name, path in files.items())
    assert '"Hill Farm Co-op waters"' in packed["app.webmanifest"].decode()
