"""Everyone: keyboard alone, narrow screens, large letters, what the system asks for, fingers."""

from __future__ import annotations

import pytest
from access_helpers import LOOKED_AT, PAGES, open_unfolded
from browser_helpers import shown_numbers, wait_live
from playwright.sync_api import expect

pytestmark = pytest.mark.browser

DESK = {"width": 1280, "height": 800}
PHONE = {"width": 390, "height": 844}
#: A screen of 1280 pixels at 400 % (WCAG 2.2, 1.4.10).
NARROW = {"width": 320, "height": 640}
LENGTH = '[name="rows.0.length"]'

# --- by keyboard ---------------------------------------------------------------------------------

#: Notes each element that gets the focus, and whether that shows.
WATCH = """() => {
  window.reached = [];
  const marked = style => style.outlineStyle !== "none" && parseFloat(style.outlineWidth) >= 1;
  const edged = style => style.stroke !== "none" && parseFloat(style.strokeWidth) >= 3;
  const shows = element => {
    const near = [element, element.nextElementSibling, ...element.querySelectorAll("*")];
    return near.some(each => each && (marked(getComputedStyle(each)) ||
      (each instanceof SVGElement && edged(getComputedStyle(each)))));
  };
  document.addEventListener("focusin", ({ target }) => {
    window.reached.push([target, shows(target)]);
  });
}"""
#: The control of the page that has the focus, if a bar hides all of it; drawings are large enough.
HIDDEN = """() => new Promise(done => requestAnimationFrame(() => {
  const element = document.activeElement;
  if (!element.closest(".md-content") || element.closest("svg")) return done("");
  const box = element.getBoundingClientRect();
  const seen = [0.1, 0.5, 0.9].some(part => {
    const found = document.elementFromPoint(
      box.left + box.width / 2, box.top + box.height * part);
    return found && (found.parentElement.contains(element) || element.contains(found));
  });
  done(seen ? "" : `${element.tagName} ${element.name || element.textContent}`);
}))"""
#: Everything that a pointer could use, in the order of the page; of radio buttons the chosen one.
WANTED = """[...document.querySelectorAll(
  "a[href], button, input, select, textarea, summary, [tabindex]")].filter(element =>
    element.tabIndex >= 0 && !element.disabled
    && element.checkVisibility({ visibilityProperty: true })
    && !(element.type === "radio" && !element.checked)
    && !element.closest("[inert], [aria-hidden=true]"))"""
NAME = """(e => `${e.tagName.toLowerCase()}.${e.className.baseVal ?? e.className}` +
  ` ${e.name || e.textContent.trim().slice(0, 30)}`)"""


def press_through(page, key="Tab"):
    """Press a key until every control could have been reached; return how many those are."""
    page.evaluate(WATCH)
    count = page.evaluate(f"{WANTED}.length")
    for _ in range(count + 3):
        page.keyboard.press(key)
    return count


@pytest.mark.parametrize("path", LOOKED_AT)
def test_the_keyboard_reaches_everything_and_shows_where_it_is(shared_site, open_context, path):
    page = open_unfolded(open_context(viewport=DESK), shared_site, path)
    assert press_through(page) > 10
    missed, unseen = page.evaluate(
        f"""() => {{
          const all = new Set(reached.map(([element]) => element));
          const names = list => list.map({NAME});
          return [
            names({WANTED}.filter(element => !all.has(element))),
            names(reached.filter(([, shows]) => !shows).map(([element]) => element)),
          ];
        }}"""
    )
    assert missed == []
    assert unseen == []


@pytest.mark.parametrize("key", ["Tab", "Shift+Tab"])
def test_on_a_phone_no_bar_hides_what_the_keyboard_is_at(shared_site, open_context, key):
    watched = open_context(viewport=PHONE, reduced_motion="reduce")
    page = open_unfolded(watched, shared_site, "zones")
    count = page.evaluate(f"{WANTED}.length")
    assert count > 40
    hidden = []
    for _ in range(count):
        page.keyboard.press(key)
        hidden.append(page.evaluate(HIDDEN))
    assert [each for each in hidden if each] == []


def tab_to(page, selector):
    """Press Tab until the focus is on an element."""
    for _ in range(400):
        page.keyboard.press("Tab")
        if page.evaluate("s => document.activeElement.matches(s)", selector):
            return
    pytest.fail(f"the keyboard does not reach {selector}")


def test_the_main_job_by_keyboard_alone(shared_site, open_context):
    watched = open_context(viewport=DESK)
    page = watched.page(shared_site.address)
    tab_to(page, "a.er-card-main")
    page.keyboard.press("Enter")
    page.wait_for_url("**/whole-field/")
    wait_live(page)
    before = shown_numbers(page)
    tab_to(page, ".er-example")
    page.keyboard.type("Raspberries")
    wait_live(page)
    tab_to(page, LENGTH)
    page.keyboard.press("Control+a")
    page.keyboard.type("57.5")
    expect(page.locator(LENGTH)).to_have_value("57.5")
    wait_live(page)
    assert shown_numbers(page) != before
    tab_to(page, ".er-share")
    page.keyboard.press("Enter")
    link = page.input_value(".er-link")
    assert link.startswith(f"{shared_site.address}whole-field/#design=1.")
    assert watched.errors == []


# --- narrow screens and large letters ------------------------------------------------------------

#: What sticks out of the page at its sides, and what is cut off; what scrolls in a box of its own
#: may be wider.  The theme's title in the header and the line at the foot are short copies.
LOST = """() => {
  const wide = document.documentElement.clientWidth;
  const lost = [];
  for (const element of document.querySelectorAll("body *")) {
    if (element.closest("svg *, .md-search, .md-sidebar, .md-header__title, .er-sticky")) continue;
    const box = element.getBoundingClientRect();
    const style = getComputedStyle(element);
    if (box.width < 2 || box.height < 2 || style.visibility === "hidden") continue;
    let scrolls = false;
    for (let up = element.parentElement; up && !scrolls; up = up.parentElement)
      scrolls = ["auto", "scroll"].includes(getComputedStyle(up).overflowX);
    const name = `${element.tagName}.${element.className}`;
    if (!scrolls && (box.left < -1 || box.right > wide + 1)) lost.push(`${name} sticks out`);
    const cuts = side => ["hidden", "clip"].includes(style[`overflow${side}`]);
    const over = [element.scrollWidth - element.clientWidth,
      element.scrollHeight - element.clientHeight];
    if ((cuts("X") && over[0] > 4) || (cuts("Y") && over[1] > 4)) lost.push(`${name} is cut`);
  }
  if (document.documentElement.scrollWidth > wide) lost.push("the page scrolls sideways");
  return lost;
}"""
DOUBLE = """() => {
  const root = document.documentElement;
  root.style.fontSize = `${2 * parseFloat(getComputedStyle(root).fontSize)}px`;
}"""


@pytest.mark.parametrize(
    ("size", "doubled"), [(NARROW, False), (DESK, True)], ids=["320 px", "letters 200 %"]
)
def test_nothing_is_lost(shared_site, open_context, size, doubled):
    watched = open_context(viewport=size)
    for path in PAGES:
        page = open_unfolded(watched, shared_site, path)
        if doubled:
            before = page.locator("h1").first.evaluate(
                "e => parseFloat(getComputedStyle(e).fontSize)"
            )
            page.evaluate(DOUBLE)
            after = page.locator("h1").first.evaluate(
                "e => parseFloat(getComputedStyle(e).fontSize)"
            )
            assert after >= 1.9 * before
        assert page.evaluate(LOST) == [], path
        page.close()


def test_what_is_lost_is_found(shared_site, open_context):
    page = open_unfolded(open_context(viewport=NARROW), shared_site, "about")
    page.eval_on_selector("h1", 'e => (e.style.width = "400px")')
    assert any("sticks out" in each for each in page.evaluate(LOST))


# --- what the system asks for --------------------------------------------------------------------

MOVING = """[...document.querySelectorAll("*")].flatMap(element =>
  [null, "::before", "::after"].map(part => {
    const style = getComputedStyle(element, part);
    const lasts = times => times.split(",").some(time => parseFloat(time) > 0.001);
    const moves = style.transitionProperty !== "none" && lasts(style.transitionDuration)
      || style.animationName !== "none" && lasts(style.animationDuration)
        && !style.animationTimingFunction.startsWith("steps")
      || style.scrollBehavior === "smooth";
    return moves ? `${element.tagName}.${element.className.baseVal ?? element.className}` : "";
  })).filter(Boolean)"""


def test_nothing_moves_for_those_who_ask_for_that(shared_site, open_context):
    page = open_unfolded(open_context(), shared_site, "whole-field")
    assert page.evaluate(MOVING)  # the check sees what moves otherwise
    page.emulate_media(reduced_motion="reduce")
    assert page.evaluate(MOVING) == []
    # While an answer is on its way, too.
    page.fill(LENGTH, "a few")
    page.wait_for_selector(".er-problem")
    assert page.evaluate(MOVING) == []


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_the_systems_own_colours_reach_drawings_and_choices(shared_site, open_context, scheme):
    watched = open_context(forced_colors="active", color_scheme=scheme)
    page = open_unfolded(watched, shared_site, "run-length")
    page.wait_for_selector(".er-figure svg", state="attached")
    colours = page.evaluate(
        """() => {
          const probe = document.body.appendChild(document.createElement("p"));
          const of = name => ((probe.style.color = name), getComputedStyle(probe).color);
          const part = (selector, name) => [...document.querySelectorAll(selector)].map(
            element => getComputedStyle(element)[name]);
          const all = list => [...new Set(list)];
          return {
            text: of("CanvasText"), canvas: of("Canvas"), highlight: of("Highlight"),
            letters: all(part(".er-figure svg text", "fill")),
            chosen: part(".er-switch-part input:checked + span", "backgroundColor"),
            other: part(".er-switch-part input:not(:checked) + span", "backgroundColor"),
            edges: all(part(".er-button", "borderTopStyle")),
          };
        }"""
    )
    assert set(colours["letters"]) <= {colours["text"]}
    assert colours["letters"]
    assert colours["text"] != colours["canvas"]
    assert colours["chosen"] != colours["other"]
    assert set(colours["edges"]) <= {"solid", "dashed"}
    assert colours["edges"]


# --- what is tapped ------------------------------------------------------------------------------

#: Words within a sentence may be as low as their line (WCAG 2.2, 2.5.8).
SMALL = """([selector, least]) => [...document.querySelectorAll(selector)].filter(element => {
  const style = getComputedStyle(element);
  if (!element.checkVisibility({ visibilityProperty: true }) || style.pointerEvents === "none")
    return false;
  if (style.display === "inline" && element.closest("p, li, dd, td")) return false;
  const { width, height } = element.getBoundingClientRect();
  return width > 1 && height > 1 && (width < least || height < least);
}).map(e => `${e.tagName}.${e.className} ${e.textContent.trim().slice(0, 30)}`)"""
ANY = "a[href], button, input, select, textarea, summary, label[for][tabindex]"
MAIN = (
    ".er-button, .er-calc :is(input, select, textarea, summary), .er-option input, .md-tabs__link"
)


@pytest.mark.parametrize("size", [PHONE, DESK], ids=["phone", "desk"])
def test_what_is_tapped_is_large_enough(shared_site, open_context, size):
    watched = open_context(viewport=size)
    for path in PAGES:
        page = open_unfolded(watched, shared_site, path)
        assert page.evaluate(SMALL, [ANY, 24]) == [], path
        main = [each for each in page.evaluate(SMALL, [MAIN, 44]) if "tabs" not in each]
        assert main == [], path
        page.close()
