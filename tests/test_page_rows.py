"""A row of a job that is edited on the page of one piece goes back to where it came from, whatever another tab does meanwhile."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from tests.conftest import until, watched

ROWS = "() => JSON.parse(localStorage.getItem('job')).pieces.map((p) => p.label + ' ' + (p.count || 1))"
NAMES = "() => [...document.querySelectorAll('#pieces [data-key=label]')].map((box) => box.value)"


@pytest.mark.browser
def test_another_tab_takes_rows_out_while_one_is_edited(page: Any, server: str) -> None:
    page.goto(f"{server}/job")
    page.fill("#table", "name,measure,person\nAda,16 cm,Ines\nBo,17 cm,Ines\nCem,18 cm,")
    page.click("#add-table")
    until(page, f"() => ({NAMES})().length === 4")
    assert page.input_value("#pieces tr:first-child [data-key=person]") == "Ines"
    page.click("button[aria-label='Open Bo']")
    page.wait_for_selector("#rows tr")

    other = page.context.new_page()
    faults = watched(other)
    other.goto(f"{server}/job")
    other.click("button[aria-label='Take out Ada']")
    until(other, f"() => ({NAMES})().length === 3")

    page.click("#fields summary")
    page.fill("#f-count", "4")
    page.click("#to-job")
    page.wait_for_selector("#added:text-is('Put back; 2 in the job.')")
    assert page.evaluate(ROWS) == ["Bo 4", "Cem 1"]  # by its number in the list it would have been Cem
    until(other, f"() => ({NAMES})().join() === 'Bo,Cem,'")

    # What the other tab changed in the same row is not lost without a word, nor a row that it took out.
    other.fill("#pieces tr:first-child [data-key=person]", "Jo")
    other.press("#pieces tr:first-child [data-key=person]", "Enter")
    until(other, "() => JSON.parse(localStorage.getItem('job')).pieces[0].person === 'Jo'")
    page.click("#to-job")
    page.wait_for_selector("#added:has-text('It had been changed in the job meanwhile')")
    until(other, "() => document.querySelector('#pieces [data-key=person]').value === 'Ines'")
    other.click("#undo")
    until(other, "() => document.querySelector('#pieces [data-key=person]').value === 'Jo'")
    other.click("button[aria-label='Take out Bo']")
    until(other, f"() => ({NAMES})().join() === 'Cem,'")
    page.click("#to-job")
    page.wait_for_selector("#added:has-text('It had been taken out of the job meanwhile')")
    assert page.evaluate(ROWS) == ["Cem 1", "Bo 4"]
    assert faults == []
    other.close()


@pytest.mark.browser
def test_who_stands_in_the_empty_row_still_stands_there_when_another_tab_changed_the_job(
    page: Any, server: str
) -> None:
    page.goto(f"{server}/job")
    page.fill("#table", "name,measure\nAda,16 cm")
    page.click("#add-table")
    until(page, f"() => ({NAMES})().length === 2")
    page.click("#pieces tr:last-child [data-key=label]")

    other = page.context.new_page()
    faults = watched(other)
    other.goto(f"{server}/job")
    other.fill("#pieces tr:first-child [data-key=label]", "Ines")
    other.press("#pieces tr:first-child [data-key=label]", "Enter")
    until(page, f"() => ({NAMES})()[0] === 'Ines'")
    page.keyboard.type("Bo")
    assert page.evaluate(NAMES) == ["Ines", "Bo"]
    page.keyboard.press("Enter")
    until(page, f"() => ({NAMES})().join() === 'Ines,Bo,'")
    assert faults == []
    other.close()


@pytest.mark.browser
def test_the_identity_of_a_row_stays_in_the_browser(page: Any, server: str) -> None:
    sent: list[str] = []
    page.on("request", lambda q: sent.append(q.post_data or "") if q.method == "POST" else None)
    page.goto(f"{server}/job")
    page.fill("#pieces [data-key=label]", "Ada")
    page.press("#pieces [data-key=label]", "Enter")
    page.fill("#pieces [data-key=measure]", "16 cm")
    page.press("#pieces [data-key=measure]", "Enter")
    until(page, "() => document.querySelector('#order-state').textContent.startsWith('As on')")
    assert page.evaluate("() => JSON.parse(localStorage.getItem('job')).pieces.every((p) => p['row id'])")
    with page.expect_download() as got:
        page.click("summary:has-text('Job file')")
        page.click("#save")
    assert "row id" not in Path(got.value.path()).read_text(encoding="utf-8")
    assert sent
    assert not any("row id" in text for text in sent)
