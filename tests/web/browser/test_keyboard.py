"""The whole job without a pointer: Tab, typing, arrow keys, Enter and Space, the focus always seen."""

from __future__ import annotations

import re
from datetime import date

import pytest

pytestmark = pytest.mark.usefixtures("built")
SEEN = """() => {
  const e = document.activeElement, s = getComputedStyle(e);
  if (e.matches('.pw-item')) // drawn things glow, or their knob grows thick
    return [...e.querySelectorAll('.pw-glow, .pw-knob, .pw-cut')].some(p => {
      const q = getComputedStyle(p);
      return q.stroke !== 'rgba(0, 0, 0, 0)' && parseFloat(q.strokeWidth) >= 5; });
  return s.outlineStyle !== 'none' && parseFloat(s.outlineWidth) >= 2;
}"""
STOPS = """() => {
  const all = 'a[href], button, input, select, textarea, summary, [tabindex]';
  return [...document.querySelectorAll(all)]
    .filter(e => e.tabIndex >= 0 && !e.disabled && e.type !== 'hidden' && !e.closest('[inert]')
      && e.checkVisibility({checkVisibilityCSS: true}))
    .filter(e => e.type !== 'radio' || e.checked
      || !document.querySelector(`[name="${CSS.escape(e.name)}"]:checked`)); }
"""
IN_SIGHT = """e => {
  const b = e.getBoundingClientRect(), y = b.y + Math.min(b.height / 2, 20);
  const own = top => top && (e.contains(top) || top.contains(e) || top.closest('label')?.contains(e));
  return e.matches('.pw-item, .pw-sheet') || b.width < 3
    || [b.x + 4, b.x + b.width / 2, b.right - 4].some(x => own(document.elementFromPoint(x, y))); }
"""
MET = f"""seen => {{
  const e = document.activeElement, at = stops.indexOf(e), last = met.at(-1) ?? -1;
  if (e === document.body || at < 0 || met.includes(at)) return null;
  met.push(at);
  const what = !seen ? 'not seen' : at < last ? 'out of order' : ({IN_SIGHT})(e) ? '' : 'hidden';
  return what ? [what, e.outerHTML.slice(0, 90)] : null; }}
"""


@pytest.fixture(scope="module")
def place(host):
    """A shop whose jobs are planned as they are asked for."""
    made = host()
    made.keep_working()
    return made


class Keys:
    """Hands on a keyboard."""

    def __init__(self, page):
        self.page, self.press = page, page.keyboard.press

    def to(self, selector, key="Tab", most=250):
        """Press Tab until the focus is on something that matches; it must be seen on the way."""
        for _ in range(most):
            if self.page.evaluate("s => document.activeElement.matches(s)", selector):
                assert self.page.evaluate(SEEN), f"the focus cannot be seen on {selector}"
                return
            self.press(key)
        raise AssertionError(f"the keyboard does not reach {selector} on {self.page.url}")

    def type_into(self, selector, text):
        """Replace what a field says."""
        self.to(selector)
        self.press("Control+a")
        self.page.keyboard.type(text)

    def enter(self, selector, key="Tab"):
        """Press Enter on a link or button and wait for the page that comes of it."""
        self.to(selector, key)
        with self.page.expect_navigation():
            self.press("Enter")


def test_a_job_from_the_list_to_the_floor_without_a_pointer(look, place, still):
    page = look("/", has_touch=False)
    keys = Keys(page)
    keys.enter("main a[href='/jobs/new']")
    keys.type_into("[name=name]", "Sill")
    keys.type_into("[name=length]", "600 mm")
    keys.type_into("[name=width]", "400 mm")
    first_day(keys, date.today())
    keys.enter("form[action='/jobs/new'] button.go")
    job = re.search("/jobs/([a-z0-9]+)/site", page.url)[1]
    draw(keys, place, job)
    name = place.document(job)["name"]
    assert name == "Sill"
    keys.enter("nav.work a[href$='/finish']")
    move_the_score(keys, place, job, still)
    keys.enter("nav.work a[href$='/mix']")
    still(page)
    keys.to("li.cup:not(.mixed) button[name=mixed]")
    key = page.evaluate("document.activeElement.closest('li.cup').dataset.cup")
    keys.press("Space")
    page.locator("li.cup.mixed").first.wait_for()
    place.until(lambda: f"cup:{key}" in place.store.happened.ticks(job), "the tick is kept")
    keys.enter("nav.work a[href$='/day']")
    still(page)
    keys.to("li.hold summary")
    keys.press("Enter")
    keys.enter("li.hold details[open] button[value=met]")
    assert page.locator("li.hold.met").count() == 1
    keys.enter("a[href$='/floor']")
    floor(keys, place, job)


def first_day(keys, day):
    """Type a date; in which order its parts stand is the browser's affair."""
    for order in ("%m%d%Y", "%d%m%Y", "%Y%m%d"):
        keys.to("[name=name]", "Shift+Tab")
        keys.to("[name=start]")
        keys.page.keyboard.type(day.strftime(order))
        if keys.page.input_value("[name=start]") == day.isoformat():
            return
    raise AssertionError(keys.page.input_value("[name=start]"))


def draw(keys, place, job):
    """A corner shape put on the sheet with the arrow keys, then one of its edges made free."""
    page = keys.page
    page.locator(".pw-state", has_text="Saved").wait_for()
    before = len(place.document(job)["surfaces"])
    keys.to("[data-key=add]")
    keys.press("Enter")
    page.locator("[data-key=new-name]:focus").wait_for()
    keys.type_into("[data-key=new-name]", "nook")
    keys.to("[data-key=new-hand]")
    keys.press("Enter")
    page.locator(".pw-sheet:focus").wait_for()
    keys.press("Enter")
    for way, times in (("Right", 8), ("Up", 3), ("Left", 4), ("Up", 3), ("Left", 4)):
        for _ in range(times):
            keys.press(f"Shift+Arrow{way}")
        keys.press("Enter")
    keys.to("[data-key=pen-close]", "Shift+Tab")
    keys.press("Enter")
    place.becomes(job, lambda d: len(d["surfaces"]) == before + 1)
    made = place.document(job)["surfaces"][-1]
    assert made["outline"] == [
        ["0 mm", "0 mm"], ["800 mm", "0 mm"], ["800 mm", "300 mm"],
        ["400 mm", "300 mm"], ["400 mm", "600 mm"], ["0 mm", "600 mm"],
    ]  # fmt: skip
    keys.to(".pw-item[data-item='edge-0-0']")
    keys.press("Enter")
    page.locator(".pw-side input:focus").wait_for()
    keys.to("[data-key=kind-wall]:checked")
    keys.press("ArrowUp")
    place.becomes(job, lambda d: "free" in str(d["surfaces"][-1].get("edges", "")))
    page.locator(".pw-state", has_text="Saved").wait_for()


def move_the_score(keys, place, job, still):
    """The score as moves of one's own, one of them put later."""
    page = keys.page
    still(page)  # no more comes by itself
    keys.enter("form[action$='/finish/score'] button[value=text]")
    still(page)
    titles = page.locator("#f-moves details[id] summary b")
    was = titles.all_inner_texts()
    at = next(k for k in range(len(was) - 1) if was[k] != was[k + 1])
    keys.to(f"#f-move-{at} summary")
    keys.press("Enter")
    keys.enter(f"button[value='down.{at}']")
    now = titles.all_inner_texts()
    assert now == [*was[:at], was[at + 1], was[at], *was[at + 2 :]]


def floor(keys, place, job):
    """Start, a timer, a note, done: on the first day of the job."""
    page = keys.page
    page.locator(".pw-step h1").wait_for()
    title = page.locator(".pw-step h1").inner_text()
    keys.to(".pw-acts-now button:not(.go)")
    keys.press("Enter")
    page.locator(".pw-acts-now button:not(.go)[disabled]").wait_for()
    keys.to(".pw-presets button")
    keys.press("Space")
    page.locator(".pw-timer").first.wait_for()
    keys.to(".pw-timer-form .pw-wide input")
    page.keyboard.type("By keys alone")
    keys.press("Enter")
    place.until(lambda: any("By keys alone" in x.text for x in place.log(job)), "it is noted")
    keys.to(".pw-acts-now button.go", "Shift+Tab")
    keys.press("Enter")
    page.locator(".pw-step h1", has_not_text=title).wait_for()
    place.until(lambda: place.store.happened.done(job), "the step is kept")
    assert page.evaluate("document.activeElement.matches('.pw-step h1')"), "the next step is read"


def comes_in_sight(page):
    """Whether what has the focus is seen once the page has scrolled; a fault takes a minute to say."""
    from playwright.sync_api import TimeoutError as TooLong

    try:
        page.wait_for_function(f"() => ({IN_SIGHT})(document.activeElement)", timeout=60_000)
    except TooLong:
        return False
    return True


@pytest.mark.parametrize("view", [(1180, 820), (390, 844)], ids=["tablet", "phone"])
def test_tab_goes_through_every_screen_in_order_and_is_seen(look, place, view, still):
    """WCAG 2.2: 2.1.1 and 2.1.2 (all is reached, nothing holds the focus), 2.4.3 (in the order of
    the page), 2.4.7 and 2.4.11 (seen, and not hidden behind what sticks to the edge)."""
    job = place.job(date.today())
    page = look(f"/jobs/{job}/mix", view, has_touch=False)
    page.locator("li.cup").first.wait_for()
    wrong = []
    screens = ("site", "finish", "build", "mix", "day", "floor", "papers", "record", "history")
    for path in [*(f"/jobs/{job}/{s}" for s in screens), "/", "/settings"]:
        page.goto(f"{place.url}{path}")
        still(page)
        page.evaluate(f"window.stops = ({STOPS})(); window.met = []")
        for _ in range(4 * page.evaluate("stops.length") + 20):  # a date has stops of its own
            page.keyboard.press("Tab")
            fault = page.evaluate(MET, page.evaluate(SEEN))
            if fault and fault[0] == "hidden":  # it may still be scrolling into sight
                fault = None if comes_in_sight(page) else fault
            if fault:
                wrong.append((path, *fault))
            if page.evaluate("stops.every((e, k) => met.includes(k) || !e.isConnected)"):
                break
        missed = page.evaluate(
            "stops.filter((e, k) => !met.includes(k) && e.isConnected).map(e => e.outerHTML.slice(0, 90))"
        )
        wrong += [(path, "not reached", m) for m in missed]
    assert wrong == [], "\n".join(map(str, wrong))
