"""Two fingers on the drawing make it larger, and one moves along it: real touches, as the browser gets them from a screen."""

from __future__ import annotations

from typing import Any

import pytest

from tests.conftest import settled, until, watched_page

BOX = "() => document.querySelector('#strap svg.strap').getAttribute('viewBox').split(' ').map(Number)"


@pytest.mark.browser
def test_a_pinch_makes_the_drawing_larger_where_the_fingers_are(browser: Any, server: str) -> None:
    with watched_page(browser, viewport={"width": 390, "height": 844}, has_touch=True, is_mobile=True) as page:
        page.goto(f"{server}/?pattern=wristband&measure=172")
        settled(page)
        finger = page.context.new_cdp_session(page)
        stage = page.locator("#strap").bounding_box()
        x, y = stage["x"] + stage["width"] / 2, stage["y"] + stage["height"] / 2

        def touch(kind: str, *apart: float) -> None:
            points = [{"x": x + dx, "y": y, "id": k} for k, dx in enumerate(apart)]
            finger.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})

        whole = page.evaluate(BOX)
        touch("touchStart", -20, 20)
        for half in range(30, 90, 15):
            touch("touchMove", -half, half)
        touch("touchEnd")
        until(page, f"whole => ({BOX})()[2] < whole[2] / 2", arg=whole)
        near = page.evaluate(BOX)
        # What lay between the fingers stays there, and the page around is not zoomed.
        assert near[0] + near[2] / 2 == pytest.approx(whole[2] / 2, abs=whole[2] * 0.03)
        assert near[1] + near[3] / 2 == pytest.approx(whole[3] / 2, abs=whole[3] * 0.03)
        assert page.evaluate("visualViewport.scale") == pytest.approx(1.0, abs=0.01)
        assert page.evaluate("scrollY") == 0

        # One finger moves along it.
        touch("touchStart", 40)
        for dx in range(20, -60, -20):
            touch("touchMove", dx)
        touch("touchEnd")
        # As far as the finger went, 80 px.
        until(page, f"to => Math.abs(({BOX})()[0] - to) < 0.1", arg=near[0] + 80 * near[2] / whole[2])
        assert page.evaluate(BOX)[2] == pytest.approx(near[2])

        # And back to the whole.
        touch("touchStart", -80, 80)
        for half in range(60, 5, -18):
            touch("touchMove", -half, half)
        touch("touchEnd")
        until(page, f"whole => ({BOX})()[2] > whole[2] * 0.99", arg=whole)
