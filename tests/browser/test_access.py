"""Everyone: the rules of WCAG 2.2 (A and AA) that a program can check, on every page.

In light and dark, with everything unfolded, with an answer and with errors shown. The checker is
axe-core, pinned in ``scripts/package-lock.json``.
"""

from __future__ import annotations

import json

import pytest
from access_helpers import LOOKED_AT, SCHEMES, open_unfolded
from browser_helpers import LIVE_MS, ROOT

pytestmark = pytest.mark.browser

AXE = ROOT / ".cache" / "checkers" / "node_modules" / "axe-core" / "axe.min.js"
RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]
BROKEN = """rules => axe.run({ runOnly: rules, resultTypes: ["violations"] }).then(found => ({
  looked: found.passes.length,
  broken: found.violations.flatMap(rule => rule.nodes.map(node =>
    [rule.id, node.target.join(" "), node.failureSummary].join(" | "))),
}))"""
#: Nothing that a field of any kind would take.
SPOIL = """all => all.forEach(field => {
  field.value = "a few";
  field.dispatchEvent(new Event("input", { bubbles: true }));
})"""


@pytest.fixture
def checked_context(open_context):
    """A context whose pages hold the checker."""
    if not AXE.is_file():
        pytest.fail("the accessibility checker is missing: ./scripts/test site fetches it")
    watched = open_context(reduced_motion="reduce")
    watched.context.add_init_script(path=AXE)
    return watched


def broken_rules(page):
    """Return every broken rule with its place, in both colour schemes."""
    broken = []
    for number, scheme in enumerate(SCHEMES):
        # The switch itself: a page that is open does not follow the system.
        page.eval_on_selector(f"#__palette_{number}", "choice => choice.click()")
        page.wait_for_selector(f"body[data-md-color-scheme={scheme}]")
        found = page.evaluate(BROKEN, RULES)
        assert found["looked"] > 10
        broken += [f"{scheme}: {each}" for each in found["broken"]]
    return broken


@pytest.mark.parametrize("path", LOOKED_AT)
def test_no_rule_is_broken(shared_site, checked_context, path):
    page = open_unfolded(checked_context, shared_site, path)
    assert broken_rules(page) == []
    if not page.locator(".er-calc").count():
        return
    page.eval_on_selector_all('.er-form input[type="text"]', SPOIL)
    page.wait_for_selector(".er-problem", timeout=LIVE_MS)
    assert page.locator(".er-error:visible").count()
    assert broken_rules(page) == []


def test_the_checker_finds_what_is_wrong(shared_site, checked_context):
    page = open_unfolded(checked_context, shared_site, "run-length")
    page.eval_on_selector(".er-form", 'form => form.append(document.createElement("input"))')
    said = json.dumps(broken_rules(page))
    assert said.count('"default: label | ') == said.count('"slate: label | ') == 1
