"""Every task with the keyboard alone, on a window of 1280 px at 200 %: 640 px by 450 (WCAG 2.2: 1.4.4, 2.1.1, 2.4.7, 2.4.11).

Nothing here uses a mouse.  On every stop of the Tab key what has the focus is in sight, marked, and not under a bar.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.conftest import settled, until, watched_page

CLASS = "\n".join(f"{name}\t{150 + 3 * k} mm" for k, name in enumerate(
    ("Ada", "Bo", "Cem", "Dora", "Eli", "Finn", "Gro", "Hal", "Ines", "Jo", "Kai", "Lena")
))  # fmt: skip
# What has the focus: whether some of it is on top where it stands, and whether it is marked as having it.
FOCUS = """(wanted) => {
  const e = document.activeElement, b = e.getClientRects()[0] || e.getBoundingClientRect();
  const own = (t) => t && (e.contains(t) || t.contains(e) && t.closest('label, .good') || [...(e.labels || [])].some((l) => l.contains(t)));
  const seen = [[.5, .5], [.1, .2], [.9, .2], [.1, .8], [.9, .8]].some(([x, y]) => own(document.elementFromPoint(b.left + b.width * x, b.top + b.height * y)));
  const s = getComputedStyle(e.matches('.good input') ? e.closest('.good') : e);
  return { what: e.tagName + '#' + e.id + ' ' + (e.getAttribute('aria-label') || e.textContent).trim().slice(0, 40),
    seen: seen || Boolean(e.closest('svg')), marked: s.outlineStyle !== 'none' || Boolean(e.closest('svg')), nothing: e === document.body, there: e.matches(wanted) };
}"""


class Keys:
    """A person at the keyboard."""

    def __init__(self, page: Any) -> None:
        self.page = page

    def to(self, selector: str, most: int = 90, key: str = "Tab") -> None:
        """Press Tab until a thing has the focus; all that has it on the way can be seen to have it."""
        for _ in range(most):
            self.page.keyboard.press(key)
            at = self.page.evaluate(FOCUS, selector)
            assert at["nothing"] or (at["seen"] and at["marked"]), at
            if at["there"]:
                return
        raise AssertionError(f"no way to {selector} by {key}")

    def press(self, *keys: str) -> None:
        for key in keys:
            self.page.keyboard.press(key)

    def type(self, text: str) -> None:
        self.page.keyboard.type(text)

    def at(self) -> str:
        """The name of what has the focus."""
        words = "() => document.activeElement.getAttribute('aria-label') || document.activeElement.textContent"
        return str(self.page.evaluate(words))

    def kept(self) -> None:
        """The focus was not lost with what had it."""
        until(self.page, "() => document.activeElement !== document.body")


@pytest.fixture
def keys(browser: Any, server: str) -> Iterator[Keys]:
    with watched_page(
        browser,
        accept_downloads=True,
        viewport={"width": 640, "height": 450},
        device_scale_factor=2,
        permissions=["clipboard-read", "clipboard-write"],
    ) as opened:
        yield Keys(opened)


@pytest.mark.browser
def test_a_class_is_pasted_and_made(keys: Keys, server: str) -> None:
    page = keys.page
    page.goto(f"{server}/job")
    page.evaluate("text => navigator.clipboard.writeText(text)", CLASS)
    keys.to("#pieces [data-key=label]")
    keys.press("Control+v")
    until(page, "() => document.querySelector('#many').textContent === '12 rows'")
    until(page, "() => document.querySelector('#order-state').textContent.startsWith('As on')")
    # Ninety cells are no way to the files: links before the list lead past it.
    keys.to(".past a[href='#h-make']", key="Shift+Tab")
    keys.press("Enter")
    keys.to("[data-make=pdf]", 20)
    with page.expect_download() as got:
        keys.press("Enter")
    assert Path(got.value.path()).read_bytes().startswith(b"%PDF")
    page.wait_for_selector("#state:text-is('Done.')")
    # And an order with sizes, from the other end of the page.
    keys.to("#sizes-part summary", key="Shift+Tab")
    keys.press("Enter")
    keys.to("#s-of")
    keys.press("Control+a")
    keys.type("3")
    keys.to("#add-sizes")
    keys.press("Enter")
    until(page, "() => document.querySelector('#many').textContent === '13 rows'")
    # A row taken out leaves the focus in the list.
    keys.to("#pieces tr:nth-child(12) .o-acts button:nth-child(2)", key="Shift+Tab")
    keys.press("Enter")
    until(page, "() => document.querySelector('#many').textContent === '12 rows'")
    keys.kept()
    until(page, "() => document.querySelector('#order-state').textContent.startsWith('As on')")


@pytest.mark.browser
def test_a_tangle_is_mended(keys: Keys, server: str) -> None:
    page = keys.page
    page.goto(f"{server}/braid?strands=3")
    # A choice made by arrow keys goes nowhere before it is meant.
    keys.to("#strands")
    keys.press("ArrowDown", "ArrowDown", "ArrowUp", "ArrowUp")
    keys.to("#player .wrong")
    keys.press("Enter")
    keys.to("[data-part=done] [aria-label='One turn more']")
    keys.press("Enter", "Enter")
    keys.to("#wrong-go")
    keys.press("Enter")
    page.wait_for_selector("#wrong-answer:not([hidden])")
    until(page, "() => document.activeElement.id === 'mend-headline'")
    keys.to("#mend-ask")
    keys.press("Enter")
    until(page, "() => document.activeElement.dataset.way === 'done'")
    keys.press("Escape")
    until(page, "() => document.activeElement.matches('.wrong')")
    keys.to("#next")
    keys.press("Enter")
    page.wait_for_selector("#where:text('Step 2 of')")


@pytest.mark.browser
def test_a_kept_piece_is_taken_out_and_put_back(keys: Keys, server: str) -> None:
    page = keys.page
    page.goto(f"{server}/?pattern=wristband&measure=172")
    settled(page)
    # Two more, as another tab keeps them.
    page.evaluate("""() => { for (const at of [1, 2]) write(OWN + at, { name: 'Band ' + at, title: 'A wristband', query: 'measure=17' + at, at });
      dispatchEvent(new StorageEvent('storage', { key: OWN + 2 })); }""")
    keys.to("#pieces summary")
    keys.press("Enter")
    keys.to("[aria-label='Take out Band 1']")  # the last
    # A list that is filled anew leaves a hand at its piece.
    page.evaluate(
        "() => { write(OWN + 0, { name: 'Band 0', title: 'A wristband', query: 'measure=170', at: 3 }); dispatchEvent(new StorageEvent('storage', { key: OWN + 0 })); }"
    )
    assert keys.at() == "Take out Band 1"
    keys.press("Enter")
    assert keys.at() == "Take out Band 2"  # the last that is left
    keys.to("[aria-label='Take out Band 0']", key="Shift+Tab")
    keys.press("Enter")
    assert keys.at() == "Take out Band 2"  # what stands there now
    keys.press("Enter")
    assert keys.at() == "Take out Wristband with a snap, wrist 172 mm"
    keys.press("Enter")
    assert keys.at() == "Kept pieces"  # none is left
    assert page.is_visible("#none-kept")
    keys.to("#say button")
    keys.press("Enter")
    page.wait_for_selector("#kept-pieces li")
    until(page, "() => document.activeElement.id === 'say'")
    keys.to("[data-file=pdf]")


TARGETS = """() => [...document.querySelectorAll('a[href], button, input:not([type=hidden]), select, textarea, summary')]
  .filter((e) => e.checkVisibility() && !e.closest('.away, .past, .skip, .good')).filter((e) => {
    const b = e.getBoundingClientRect();
    // A link in a sentence is as high as its line (2.5.8, inline).
    const inline = e.tagName === 'A' && getComputedStyle(e).display === 'inline' && e.parentElement.textContent.trim() !== e.textContent.trim();
    return !inline && b.width > 0 && (b.width < 24 || b.height < 24);
  }).map((e) => e.outerHTML.slice(0, 80))"""


@pytest.mark.browser
def test_nothing_is_lost_at_320_px_and_every_target_can_be_hit(browser: Any, server: str) -> None:
    # WCAG 2.2: 1.4.10 reflow (1280 px at 400 %), 2.5.8 target size.
    with watched_page(browser, viewport={"width": 320, "height": 512}) as page:
        for address in (
            "/?pattern=wristband&measure=172",
            "/job",
            "/leathers",
            "/sizes?of=5",
            "/printers",
            "/prices",
            "/braid",
        ):
            page.goto(server + address)
            assert page.evaluate("document.documentElement.scrollWidth") <= 320, address
            assert page.evaluate(TARGETS) == [], address
