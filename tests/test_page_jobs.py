"""Jobs saved by name: renamed and taken out on the page, and nothing of anybody's is lost by it."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from strapwork.errors import InputError
from strapwork.files import update
from strapwork.files.folders import Places
from strapwork.order import kept
from strapwork.web import app, documents
from strapwork.web import server as servers
from tests.conftest import told, told_page, until

BODY = {"job": {"title": "Class"}, "pieces": [{"pattern": "wristband", "measure": "172 mm", "label": "Ada"}]}


@pytest.fixture
def places(tmp_path: Path) -> Places:
    return Places(None, tmp_path / "leathers.toml")


@pytest.fixture
def ask(places: Places) -> Callable[..., Any]:
    client = app.create_app(places).test_client()
    page = client.get("/", headers={"Host": "localhost"}).get_data(as_text=True)
    head = {"Host": "localhost", "X-Strapwork-Token": page.split('name="strapwork-token" content="')[1].split('"')[0]}

    def one(address: str, body: Any = None) -> Any:
        reply = client.get(address, headers=head) if body is None else client.post(address, json=body, headers=head)
        return reply.get_json()

    return one


def test_a_job_is_renamed_taken_out_and_put_back_with_every_byte(ask: Callable[..., Any], tmp_path: Path) -> None:
    mark = ask("/jobs/Class", BODY)["mark"]
    file = tmp_path / "jobs" / "Class.toml"
    content = file.read_bytes()
    assert ask("/jobs/Class/rename", {"to": "Class in May", "mark": mark}) == {"name": "Class in May"}
    assert not file.exists()
    assert file.with_name("Class in May.toml").read_bytes() == content

    assert ask("/jobs/Class in May/take-out", {"mark": mark}) == {"called": "Class in May"}
    assert ask("/jobs")["jobs"] == []
    assert ask("/jobs")["out"] == ["Class in May"]
    # Another one of that name, taken out as well, does not push the first out.
    again = ask("/jobs/Class in May", BODY)["mark"]
    assert ask("/jobs/Class in May/take-out", {"mark": again})["called"] == "Class in May~2"
    assert ask("/jobs/Class in May/put-back", {})["name"] == "Class in May"
    assert "again" in ask("/jobs/Class in May~2/put-back", {})["error"]  # the name is taken by now
    assert file.with_name("Class in May.toml").read_bytes() == content
    assert [p.name for p in (tmp_path / "jobs").iterdir() if p.name.startswith(".")] == []


def test_a_job_that_someone_changed_or_whose_name_is_taken_stays_as_it_is(
    ask: Callable[..., Any], tmp_path: Path
) -> None:
    mark = ask("/jobs/Class", BODY)["mark"]
    ask("/jobs/Market", BODY)
    file = tmp_path / "jobs" / "Class.toml"
    other = file.with_name("Market.toml").read_bytes()
    assert "already" in ask("/jobs/Class/rename", {"to": "Market", "mark": mark})["error"]
    assert file.with_name("Market.toml").read_bytes() == other
    file.write_text("# mine\n" + file.read_text(encoding="utf-8"), encoding="utf-8")
    for what in ("rename", "take-out"):
        assert "changed since it was seen" in ask(f"/jobs/Class/{what}", {"to": "New", "mark": mark})["error"]
    assert file.read_text(encoding="utf-8").startswith("# mine\n")
    for name in ("../evil", "a/b", ".hidden", "con", "Class~2"):
        assert "no name for a job" in ask("/jobs/Class/rename", {"to": name, "mark": mark})["error"]
    for called in ("Class~x", "..~2", "None such"):
        assert "error" in ask(f"/jobs/{called}/put-back", {})
    assert sorted(p.name for p in file.parent.glob("*.toml")) == ["Class.toml", "Market.toml"]


def test_what_is_written_at_the_last_moment_is_not_taken_along(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    where = tmp_path / "jobs"
    mark = kept.save(where, "Class", {"pieces": BODY["pieces"]})
    plain = update.move

    def late(here: Path, there: Path) -> None:
        if here.name == "Class.toml":
            here.write_text("# written between the look and the move\n", encoding="utf-8")
        plain(here, there)

    monkeypatch.setattr(update, "move", late)
    with pytest.raises(InputError, match="changed since it was seen"):
        kept.take_out(where, "Class", mark)
    assert (where / "Class.toml").read_text(encoding="utf-8") == "# written between the look and the move\n"
    assert kept.taken_out(where) == []


@pytest.fixture
def shop(places: Places) -> Iterator[str]:
    made = servers.create(app.create_app(places), "127.0.0.1", 0)
    threading.Thread(target=made.run, daemon=True).start()
    yield f"http://127.0.0.1:{made.effective_port}"
    made.close()


SAYS = "() => document.querySelector('#file-said').textContent"
LABELS = "() => [...document.querySelectorAll('#pieces [data-key=label]')].map(e => e.value)"
LISTED = "id => [...document.querySelectorAll(id + ' span')].map(e => e.textContent)"
FOCUSED = "() => [document.activeElement.id, document.activeElement.getAttribute('aria-label') || document.activeElement.textContent]"


@pytest.mark.browser
def test_the_list_of_saved_jobs_renames_takes_out_and_undoes(browser: Any, shop: str, places: Places) -> None:
    """With what is said of it, where the keys go on, and what the job that is open is called then."""
    where = kept.folder(places.shelf or Path())
    kept.take_out(where, "Class", kept.save(where, "Class", {"title": "of last year", "pieces": BODY["pieces"]}))
    kept.save(where, "Class", {"pieces": BODY["pieces"]})
    with told_page(browser) as page:

        def said(words: str) -> None:
            until(page, f"words => ({SAYS})() === words", arg=words)

        def called(name: str, where: str) -> None:
            assert (page.input_value("#job-name"), page.inner_text("#where")) == (name, where)

        def listed_again() -> None:
            """Closed and opened; the answer has come when it says once more which folder it is of."""
            page.evaluate("() => { document.querySelector('#job-folder').textContent = ''; }")
            page.click("#jobs summary")
            page.click("#jobs summary")
            page.wait_for_selector(f"#job-folder:text-is('In {where}.')")

        page.goto(f"{shop}/job?kept=Class")
        page.wait_for_selector("#where:text-is(\"Saved as 'Class'.\")")
        assert page.input_value("#pieces [data-key=label]") == "Ada"
        page.click("#clear")
        page.click("#jobs summary")
        page.wait_for_selector("#file-list li")
        kept.save(where, "Market", {"pieces": BODY["pieces"] * 2})
        (where / "Quay.toml").write_text("title = ", encoding="utf-8")
        listed_again()
        of_class, of_market, of_quay = kept.listed(where)
        lines = [
            f"Class, 1 row, {of_class.changed}",
            f"Market, 2 rows, {of_market.changed}",
            f"Quay: {of_quay.damaged}",
        ]
        assert page.evaluate(LISTED, "#file-list") == lines
        assert page.locator("#file-list li").nth(2).locator("button").all_inner_texts() == ["Rename", "Take out"]

        page.click("#file-list li:has-text('Class') button:text-is('Open')")
        page.wait_for_selector("#where:text-is(\"Saved as 'Class'.\")")
        assert page.input_value("#pieces [data-key=label]") == "Ada"
        rename = f"Rename {lines[0]}"
        for leave in ("Escape", "Leave it", "Enter"):  # the name as it was is none that is there already
            page.click(f"button[aria-label='{rename}']")
            box = page.get_by_label("New name of Class", exact=True)
            assert box.evaluate(
                "e => [e === document.activeElement, e.value.slice(e.selectionStart, e.selectionEnd)]"
            ) == [
                True,
                "Class",
            ]
            page.click("text=Leave it") if leave == "Leave it" else page.keyboard.press(leave)
            assert page.evaluate(FOCUSED) == ["", rename]
        page.keyboard.press("Enter")
        page.keyboard.type("Market")
        page.keyboard.press("Enter")
        told(page, "lists", "the new name: there is a job called 'Market' already; take another name.")
        listed_again()  # and what is being typed is there
        assert box.input_value() == "Market"
        box.fill("x" * 70)
        assert box.input_value() == "x" * 60  # a longer one is refused
        box.fill(" Class in May ")
        page.keyboard.press("Enter")
        said("Renamed: Class in May. Undo")
        told(page, "lists", "")
        assert page.evaluate(FOCUSED) == ["", "Undo"]
        assert page.evaluate(LISTED, "#file-list")[0] == f"Class in May, 1 row, {of_class.changed}"
        called("Class in May", "Saved as 'Class in May'.")
        page.keyboard.press("Enter")
        said("Called Class again. ")
        assert page.evaluate(FOCUSED)[0] == "file-said"
        assert page.evaluate(LISTED, "#file-list") == lines
        called("Class", "Saved as 'Class'.")

        page.click("#file-list li:has-text('Class') button:text-is('Take out')")
        said("Taken out: Class. Put it back")
        assert page.evaluate(FOCUSED) == ["", "Put it back"]
        called("Class", "Kept in this browser.")
        assert page.evaluate(LISTED, "#out-list") == ["Class", "Class"]
        assert sorted(p.name for p in where.glob("*.toml")) == ["Market.toml", "Quay.toml"]
        page.keyboard.press("Enter")
        said("Put back: Class. ")
        assert page.evaluate(LISTED, "#file-list") == lines
        assert page.evaluate(LISTED, "#out-list") == ["Class"]
        called("Class", "Saved as 'Class'.")  # as it was, and what is done to it can be saved again
        page.click("#keep")
        told(page, "job", "")
        assert page.evaluate(LISTED, "#file-list") == lines
        page.click("#out summary")
        page.click("#out-list button")
        told(page, "lists", "the name: there is a job called 'Class' again; rename that one first.")
        page.click("#file-list li:has-text('Class') button:text-is('Rename')")
        page.keyboard.type("Class in May")
        page.keyboard.press("Enter")
        said("Renamed: Class in May. Undo")
        page.click("#out-list button")
        said("Put back: Class. ")
        page.wait_for_selector("#out", state="hidden")
        assert kept.read(where, "Class")[0]["title"] == "of last year"
        for file in where.glob("*.toml"):
            file.unlink()
        page.click("#jobs summary")
        page.click("#jobs summary")
        page.wait_for_selector(f"#job-folder:text-is(\"None yet; 'Save by name' puts one into {where}.\")")
        page.wait_for_selector("#file-list li", state="detached")


@pytest.mark.browser
def test_the_page_comes_back_with_the_job_that_was_open(browser: Any, shop: str, places: Places) -> None:
    """After a job was saved, another begun, one renamed, taken out and put back: each time the page is loaded anew."""
    where = kept.folder(places.shelf or Path())
    with told_page(browser) as page:

        def comes_back(name: str, words: str, labels: list[str]) -> None:
            for _ in range(2):
                until(page, "() => document.querySelectorAll('#pieces tr').length > 0")
                assert (page.input_value("#job-name"), page.inner_text("#where")) == (name, words)
                assert page.evaluate(LABELS) == [*labels, ""]
                told(page, "job", "")
                page.reload()

        page.goto(f"{shop}/job")
        page.fill("#pieces [data-key=label]", "Ada")
        page.press("#pieces [data-key=label]", "Enter")
        page.fill("#job-name", "Class")
        page.click("#keep")
        page.wait_for_selector("#where:text-is(\"Saved as 'Class'.\")")
        comes_back("Class", "Saved as 'Class'.", ["Ada"])
        page.click("#jobs summary")
        page.click("#begin")
        page.fill("#pieces [data-key=label]", "Cleo")
        page.press("#pieces [data-key=label]", "Enter")
        comes_back("", "Kept in this browser.", ["Cleo"])
        page.click("#jobs summary")
        page.click("#file-list button:text-is('Open')")
        page.wait_for_selector("#where:text-is(\"Saved as 'Class'.\")")
        assert page.evaluate(LISTED, "#job-list") == ["Without a name, 1 row", "Class, 1 row, open here"]  # not twice
        page.click("#file-list button:text-is('Rename')")
        page.keyboard.type("Class in May")
        page.keyboard.press("Enter")
        page.wait_for_selector("#where:text-is(\"Saved as 'Class in May'.\")")
        comes_back("Class in May", "Saved as 'Class in May'.", ["Ada"])
        page.click("#jobs summary")
        page.click("#file-list button:text-is('Take out')")
        until(page, f"() => ({SAYS})() === 'Taken out: Class in May. Put it back'")
        comes_back("Class in May", "Kept in this browser.", ["Ada"])
        page.fill("#pieces [data-key=count]", "8")
        page.press("#pieces [data-key=count]", "Enter")
        page.click("#jobs summary")
        page.click("#out summary")
        page.click("#out-list button")
        page.wait_for_selector("#where:text-is(\"Changed since it was saved as 'Class in May'.\")")
        page.click("#keep")
        page.wait_for_selector("#where:text-is(\"Saved as 'Class in May'.\")")
        comes_back("Class in May", "Saved as 'Class in May'.", ["Ada"])
        assert kept.read(where, "Class in May")[0]["pieces"][0]["count"] == 8

        page.goto(f"{shop}/job?kept=Quay")
        told(page, "job", "the job 'Quay': there is none of that name; open one that is listed.")
        page.reload()
        comes_back("Class in May", "Saved as 'Class in May'.", ["Ada"])


def test_a_jobs_files_have_its_name_as_those_of_its_own_file_would(ask: Callable[..., Any]) -> None:
    for body, stem in (
        ({**BODY, "name": "Harbour Class"}, "harbour-class"),
        ({**BODY, "name": ""}, "class"),
        ({"job": {}, "pieces": BODY["pieces"], "name": "Zoë's"}, "zoe-s"),
        ({"job": {}, "pieces": BODY["pieces"]}, "job"),
    ):
        assert ask("/job/text", body)["name"] == f"{stem}.toml"
        assert documents.stem(body) == stem
