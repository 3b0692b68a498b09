"""The main job in three engines: Chromium, Firefox and WebKit, with the same numbers as CPython.

Whether a later start comes from what the device keeps is each engine's own affair: it falls back to
the plain start wherever that does not work, so only answers are compared.
"""

from __future__ import annotations

import pytest
from browser_helpers import numbers_in
from engines import Chromium, Engine, Firefox, WebKit

from evenrow import share
from evenrow.calculators import html
from evenrow.calculators.registry import answer

pytestmark = pytest.mark.browser

EXAMPLE = "Raspberries by the shed"
LENGTH = '[name="rows.0.length"]'
LIVE = '.er-result[data-live="true"]:not([aria-busy])'
SHOWN = """[...document.querySelectorAll(".er-result .er-value")]
  .filter(e => e.dataset.value).map(e => [e.dataset.name, e.dataset.value])"""
#: An answer that is there, for the values that stand in the form.
CURRENT = f".er-calc:not(.er-stale) {LIVE}"


@pytest.fixture(params=["chromium", "firefox", "webkit"])
def engine(request, tmp_path):
    """Each engine in turn, with a profile of its own that holds nothing yet."""
    if request.param == "chromium":
        made: Engine = Chromium(request.getfixturevalue("browser"))
    else:
        made = {"firefox": Firefox, "webkit": WebKit}[request.param](tmp_path)
    with made:
        yield made


def shown(engine):
    """Return every number of the answer by name, in SI."""
    return {name: float(value) for name, value in engine.ask(SHOWN)}


def from_cpython(link):
    """Return the same from this Python, for the design in a link."""
    return numbers_in(html.result_html(*answer(share.decode(link))))


def typed(engine):
    return engine.ask(f"document.querySelector({LENGTH!r}).value")


def test_the_main_job(engine, own_site):
    engine.go(f"{own_site.address}whole-field/")
    assert engine.name in engine.ask("navigator.userAgent")
    engine.wait(CURRENT)
    engine.choose(".er-example", EXAMPLE)
    engine.wait(CURRENT)
    engine.fill(LENGTH, "57.5")
    engine.wait(CURRENT)
    engine.click(".er-share")
    link = engine.ask('document.querySelector(".er-link").value')
    expected = from_cpython(link)
    assert len(expected) > 10
    engine.wait(CURRENT)
    assert shown(engine) == pytest.approx(expected, rel=1e-9, abs=1e-12)

    # A reload keeps what was typed; the second start may come from what the device kept.
    engine.wait(".er-offline", "Ready offline")
    engine.reload()
    engine.wait(CURRENT)
    assert typed(engine) == "57.5"
    assert shown(engine) == pytest.approx(expected, rel=1e-9, abs=1e-12)

    # No network from here on: the link in a page of its own, and another page.
    own_site.stop()
    engine.fresh(link)
    engine.wait(CURRENT)
    assert typed(engine) == "57.5"
    assert shown(engine) == pytest.approx(expected, rel=1e-9, abs=1e-12)
    engine.fill(LENGTH, "41")
    engine.wait('.er-calc[data-phase="current"]')
    engine.click(".er-share")
    other = from_cpython(engine.ask('document.querySelector(".er-link").value'))
    engine.wait(CURRENT)
    assert other != expected
    assert shown(engine) == pytest.approx(other, rel=1e-9, abs=1e-12)
    engine.go(f"{own_site.address}about/")
    engine.wait("h1", "About")
    assert engine.errors == []
