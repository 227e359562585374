"""The page, in a real browser and at its edges."""

from __future__ import annotations

import io
import json
import re
import socket
import time
import tomllib
import urllib.error
import urllib.request
import zipfile
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import pypdfium2
import pytest
from pypdf import PdfReader

from strapwork.cli import main as cli
from strapwork.job import job
from strapwork.order import doors
from strapwork.web import app, assets, documents, guard
from strapwork.web.form import Places
from tests.conftest import COLOURS, axe, resized, settled, until
from tests.helpers import STATIC, job_of, pages_read, read_job

SAMPLES = Path(__file__).resolve().parents[1] / "samples"
HOST = {"Host": "localhost"}
Q = "pattern=wristband&measure=172&leather=4-5+oz"


@pytest.fixture(scope="module")
def client(tmp_path_factory: pytest.TempPathFactory) -> Any:
    folder = tmp_path_factory.mktemp("places")
    return app.create_app(Places(None, SAMPLES / "leathers.toml", folder / "printers.toml")).test_client()


@pytest.fixture(scope="module")
def token(client: Any) -> str:
    page = client.get("/", headers=HOST).get_data(as_text=True)
    return str(page.split('name="strapwork-token" content="')[1].split('"')[0])


def preview(client: Any, query: str) -> dict[str, Any]:
    reply = client.get(f"/preview?{query}", headers=HOST)
    assert reply.status_code == 200
    return dict(reply.get_json())


def test_a_measurement_gives_what_the_command_line_says(client: Any, capsys: pytest.CaptureFixture[str]) -> None:
    for pattern, measure, leather in (
        ("wristband", "17.2 cm", "4-5 oz"),
        ("belt", "34 in", "3.4 mm"),
        ("key-fob", "90 mm", "harbour-tan"),
    ):
        args = [
            "draft",
            pattern,
            "--measure",
            measure,
            "--leather",
            leather,
            "--shelf",
            str(SAMPLES / "leathers.toml"),
            "--json",
        ]
        assert cli.main(args) == 0
        fit = json.loads(capsys.readouterr().out)["pieces"][0]["fit"]
        got = preview(
            client, f"pattern={pattern}&measure={measure.replace(' ', '+')}&leather={leather.replace(' ', '+')}"
        )
        assert got["rows"][-1]["mm"] == f"{fit['cut_length_mm']:.1f} mm"


def test_fields_say_how_they_were_understood_and_what_is_wrong(client: Any) -> None:
    got = preview(client, "pattern=wristband&measure=6+3/4&units=in&leather=4-5+oz&width=19,05+mm")
    assert got["ok"]
    assert got["notes"]["measure"] == "= 171.45 mm (6 3/4 in)"
    assert got["notes"]["leather"] == "= 1.59 mm to 1.98 mm, medium"
    got = preview(client, "pattern=wristband&measure=172&leather=rind&strands=4")
    assert not got["ok"]
    assert "no leather is called" in got["errors"]["leather"].lower()
    got = preview(client, f"{Q}&ends=pointed&hardware=snap-20&backing=0.5")
    assert got["ok"]
    assert "hardware" in preview(client, f"{Q}&hardware=buckle-38")["errors"]
    assert "out of range" in preview(client, "pattern=wristband&measure=3+m")["errors"]["measure"]
    assert "both ends joined" in preview(client, "pattern=wristband&measure=172&strands=4")["errors"]["strands"]
    assert "ask for" in preview(client, "pattern=wristband&measure=172&sets=60")["errors"]["sets"]
    assert "Type what you measured" in preview(client, "pattern=belt")["notes"]["measure"]


def test_a_page_is_shown_and_never_offered_as_a_file(client: Any) -> None:
    for path in ("/", "/job", "/braid", f"{STATIC}/page.css", "/no-such-page"):
        shown = client.get(path, headers=HOST).headers.get("Content-Disposition", "")
        assert "attachment" not in shown, path


@pytest.mark.parametrize("kind", ["pdf", "svg", "card", "dxf", "all", "job"])
def test_every_download_is_what_it_says(client: Any, kind: str) -> None:
    reply = client.get(f"/file/{kind}?{Q}&machine=laser&label=Quay", headers=HOST)
    assert reply.status_code == 200
    assert reply.headers["Content-Disposition"].startswith("attachment; filename=")
    data = reply.data
    if kind in ("pdf", "card"):
        assert len(PdfReader(io.BytesIO(data)).pages) >= 2
        assert data.startswith(b"%PDF")
    elif kind == "job":
        raw = tomllib.loads(data.decode())
        made = job.work_out(job_of(raw))
        assert made[0].value == 172.0
        assert raw["pieces"][0]["measure"] == "172 mm"
    else:
        names = zipfile.ZipFile(io.BytesIO(data)).namelist()
        if kind == "dxf":
            assert sorted(n.rpartition(".")[2] for n in names) == ["dxf", "svg"]
        elif kind == "svg":
            assert all(n.endswith(".svg") for n in names)
        else:
            assert {n.rpartition(".")[2] for n in names} == {"pdf", "svg", "dxf", "json"}


def test_the_pdf_is_true_to_scale(client: Any) -> None:
    data = client.get(f"/file/pdf?{Q}", headers=HOST).data
    page = pypdfium2.PdfDocument(data)[0]
    assert [round(v * 25.4 / 72, 2) for v in page.get_size()] == [297.0, 210.0]
    assert "50 mm × 50 mm" in page.get_textpage().get_text_range()


def test_downloads_of_what_cannot_be_made_say_why(client: Any) -> None:
    reply = client.get("/file/pdf?pattern=wristband&measure=3+m", headers=HOST)
    assert reply.status_code == 400
    assert "out of range" in reply.get_json()["error"]
    assert client.get(f"/file/dxf?{Q}", headers=HOST).status_code == 400
    many = client.get(f"/file/all?{Q}&machine=laser&count=999", headers=HOST)
    assert many.status_code == 400
    assert "too many to lay on a bed" in many.get_json()["error"]
    assert client.get(f"/file/exe?{Q}", headers=HOST).status_code == 404
    assert client.get("/file/../../etc/passwd", headers=HOST).status_code == 404
    assert client.get(f"{STATIC}/../job.toml", headers=HOST).status_code == 404


HOSTILE = [
    "../../../etc/passwd<script>alert(1)</script>\"'><img src=x onerror=alert(1)>",
    "\u202eevil\u2066 🐕🐕 lead",
    "x" * 10_000,
    "a\r\nSet-Cookie: b=1",
]


FREE = ("label", "title", "person", "leather", "measure")


@pytest.mark.parametrize("label", HOSTILE)
def test_hostile_labels_in_every_place(client: Any, token: str, label: str) -> None:
    from urllib.parse import quote

    for name in doors.ONE_PIECE_KEYS:
        query = "&".join(f"{k}={quote(v)}" for k, v in {"pattern": "wristband", "measure": "172", name: label}.items())
        if label == HOSTILE[0] or name in FREE:  # what could break out of the page is tried in every field of it
            page = client.get(f"/?{query}", headers=HOST)
            assert page.status_code == 200
            assert "<script>alert" not in page.get_data(as_text=True)
            assert "<img src=x" not in page.get_data(as_text=True)
        got = client.get(f"/preview?{query}", headers=HOST)
        assert got.status_code == 200
        for part in got.get_json()["parts"].values():
            assert "<script>" not in part
            assert "<img" not in part
    query = f"pattern=wristband&measure=172&label={quote(label[:80])}"
    for kind in ("pdf", "svg", "all", "job"):
        reply = client.get(f"/file/{kind}?{query}", headers=HOST)
        assert reply.status_code == 200
        name = reply.headers["Content-Disposition"].split('"')[1]
        assert all(c.isalnum() or c in "-." for c in name)
        assert "Set-Cookie" not in reply.headers
        if kind == "svg":
            z = zipfile.ZipFile(io.BytesIO(reply.data))
            for n in z.namelist():
                assert "/" not in n
                assert b"<script>" not in z.read(n)
                assert "\u202e" not in z.read(n).decode()
    own = {"label": label[:80], "pattern": "wristband", "measure": "172 mm"}
    body = {"job": {"title": label[:120]}, "pieces": [own]}
    text = client.post("/job/text", json=body, headers=HOST | {"X-Strapwork-Token": token}).get_json()["toml"]
    assert tomllib.loads(text)["pieces"][0]["pattern"] == "wristband"


def test_the_host_header_is_checked_against_rebinding(client: Any) -> None:
    for host, good in (
        ("localhost:8470", True),
        ("127.0.0.1:9", True),
        ("[::1]:80", True),
        ("evil.example", False),
        ("127.0.0.1.evil.example", False),
        ("10.0.0.1", False),
    ):
        assert (client.get("/", headers={"Host": host}).status_code == 200) == good
    assert guard.host_allowed("192.168.1.5:8470", "0.0.0.0")
    assert not guard.host_allowed("evil.example", "0.0.0.0")
    assert guard.is_loopback("::1")
    assert not guard.is_loopback("0.0.0.0")


def test_changing_requests_need_the_pages_token_and_origin(client: Any, token: str) -> None:
    body = {"job": {"title": "t"}, "pieces": [{"pattern": "wristband", "measure": "172 mm"}]}
    assert client.post("/job/make", json=body, headers=HOST).status_code == 403
    assert client.post("/job/make", json=body, headers=HOST | {"X-Strapwork-Token": "wrong"}).status_code == 403
    other = HOST | {"X-Strapwork-Token": token, "Origin": "http://evil.example"}
    assert client.post("/job/make", json=body, headers=other).status_code == 403
    same = HOST | {"X-Strapwork-Token": token, "Origin": "http://localhost"}
    assert client.post("/job/text", json=body, headers=same).status_code == 200


def test_headers_leave_nothing_to_be_loaded_from_elsewhere(client: Any) -> None:
    for path in ("/", "/job", "/braid", f"{STATIC}/piece.js", "/nowhere"):
        policy = client.get(path, headers=HOST).headers["Content-Security-Policy"]
        assert "default-src 'none'" in policy
        assert "unsafe" not in policy
    page = client.get("/", headers=HOST).get_data(as_text=True)
    assert "http://" not in page.replace("http://www.w3.org", "")
    assert "https://" not in page
    assert " style=" not in page
    assert "onclick" not in page


def test_a_script_is_fetched_once_and_again_only_where_any_was_changed(client: Any, tmp_path: Path) -> None:
    """Freshness: RFC 9111, section 4.2.  Modules name the ones they take in beside themselves, so that one mark is for all."""
    for path in ("/", "/job", "/braid"):
        page = client.get(path, headers=HOST)
        assert page.headers["Cache-Control"] == "no-store"
        asked = re.findall(r'(?:src|href)="(/static/[^"]+)"', page.get_data(as_text=True))
        assert len(asked) > 3
        for address in asked:
            assert address.startswith(f"{STATIC}/")
            kept = client.get(address, headers=HOST).headers["Cache-Control"]
            assert sorted(kept.split(", ")) == [f"max-age={365 * 24 * 3600}", "public"]
    for address in ("/static/piece.js", f"{STATIC}/there-is-none.js"):
        reply = client.get(address, headers=HOST)
        assert (reply.status_code, reply.headers["Cache-Control"]) == (404, "no-store")

    (tmp_path / "a.js").write_text("1")
    (tmp_path / "b.js").write_text("2")
    marks = [assets.address(tmp_path), assets.address(tmp_path)]
    (tmp_path / "b.js").write_text("3")
    marks.append(assets.address(tmp_path))
    (tmp_path / "b.js").rename(tmp_path / "c.js")
    marks.append(assets.address(tmp_path))
    assert marks[0] == marks[1]
    assert len(set(marks)) == 3


def test_an_oversize_upload_and_broken_files_get_a_sentence(client: Any, token: str) -> None:
    head = HOST | {"X-Strapwork-Token": token}
    big = client.post("/job/read", data=b"x" * 1_100_000, headers=head)
    assert big.status_code == 413
    assert "limit is 1 MB" in big.get_json()["error"]
    for raw, words in (
        (b"title = ", "not valid TOML"),
        (b"\xff\xfe", "not UTF-8"),
        (b'title = "x"', "pieces: this key is missing"),
        (b"a = " + b"[" * 3000, ""),
    ):
        reply = client.post("/job/read", data=raw, headers=head)
        assert reply.status_code == 400
        assert words in reply.get_json()["error"]
        assert "Traceback" not in reply.get_data(as_text=True)


def test_a_job_file_goes_in_and_comes_out_the_same(client: Any, token: str) -> None:
    head = HOST | {"X-Strapwork-Token": token}
    raw = (SAMPLES / "market-kit.toml").read_bytes()
    page = client.post("/job/read", data=raw, headers=head).get_json()
    assert len(page["pieces"]) == 8
    text = client.post("/job/text", json=page, headers=head).get_json()["toml"]
    before = job.work_out(read_job(SAMPLES / "market-kit.toml"))
    after = job.work_out(job_of(tomllib.loads(text)))
    assert [(p.label, p.count) for p in before] == [(p.label, p.count) for p in after]
    assert [p.fit.cut_length for p in before] == pytest.approx([p.fit.cut_length for p in after])


def test_a_pasted_table_becomes_rows(client: Any, token: str) -> None:
    head = HOST | {"X-Strapwork-Token": token}
    reply = client.post(
        "/job/table",
        json={
            "text": "Ines\t16 cm\t2\nBruno\t18,5 cm\n\nZoë;6 3/4 in",
            "piece": {"pattern": "wristband", "leather": "2 mm"},
        },
        headers=head,
    )
    rows = reply.get_json()["pieces"]
    assert [(r["label"], r["measure"], r.get("count")) for r in rows] == [
        ("Ines", "16 cm", 2),
        ("Bruno", "18,5 cm", None),
        ("Zoë", "6 3/4 in", None),
    ]
    bad = client.post("/job/table", json={"text": "Ines", "piece": {}}, headers=head)
    assert "row 1" in bad.get_json()["error"]
    assert documents.of_table("a\t1 cm", {})[0]["label"] == "a"


def wait(client: Any, key: str) -> dict[str, Any]:
    for _ in range(400):
        state = dict(client.get(f"/job/task/{key}", headers=HOST).get_json())
        if state["state"] != "working":
            return state
        time.sleep(0.05)
    raise AssertionError("the job never ended")


def test_a_job_is_made_with_progress_and_can_be_cancelled(client: Any, token: str) -> None:
    head = HOST | {"X-Strapwork-Token": token}
    few = {
        "job": {"title": "Class", "machine": "laser"},
        "pieces": [{"label": f"n{k}", "pattern": "wristband", "measure": "172 mm"} for k in range(3)],
    }
    for kind in ("pdf", "dxf"):
        key = client.post("/job/make", json={**few, "kind": kind}, headers=head).get_json()["task"]
        assert wait(client, key) == {"state": "done", "done": 3, "total": 3, "error": ""}
        assert client.get(f"/job/task/{key}/{kind}", headers=HOST).status_code == 200
    many = {
        "job": {"title": "Many"},
        "pieces": [{"label": f"n{k}", "pattern": "belt", "measure": f"{800 + k} mm"} for k in range(150)],
    }
    key = client.post("/job/make", json={**many, "kind": "pdf"}, headers=head).get_json()["task"]
    client.post(f"/job/task/{key}/cancel", json={}, headers=head)
    assert wait(client, key)["state"] == "cancelled"
    assert client.get(f"/job/task/{key}/pdf", headers=HOST).status_code == 404
    bad = {"job": {"title": "Bad"}, "pieces": [{"label": "x", "pattern": "wristband", "measure": "3 m"}], "kind": "pdf"}
    key = client.post("/job/make", json=bad, headers=head).get_json()["task"]
    assert "out of range" in wait(client, key)["error"]
    assert client.get("/job/task/none", headers=HOST).status_code == 404


def test_the_braid_player_answers_for_anything(client: Any) -> None:
    for query, words in (
        ("strands=3", "Step 1 of 8"),
        ("strands=5&step=7&hand=left", "Step 7 of 12"),
        ("strands=4", "Choose an odd number"),
        ("strands=x&step=-1", "Step 1 of 8"),
        ("strands=3&step=99999", "Step 8 of 8"),
    ):
        assert words in client.get(f"/braid?{query}", headers=HOST).get_data(as_text=True)


# -- in a real browser ------------------------------------------------------


def test_fifty_requests_at_once(server: str) -> None:
    def ask(k: int) -> int:
        with urllib.request.urlopen(f"{server}/preview?pattern=wristband&measure={150 + k}", timeout=30) as reply:
            return int(reply.status)

    with ThreadPoolExecutor(50) as pool:
        assert set(pool.map(ask, range(50))) == {200}


def test_a_silly_request_does_not_hang_the_page(server: str) -> None:
    import contextlib

    address, port = server.removeprefix("http://").split(":")
    with socket.create_connection((address, int(port))) as s:
        s.sendall(b"POST /job/read HTTP/1.1\r\nHost: localhost\r\nContent-Length: 99999999999\r\n\r\n")
        for query in (
            "measure=" + "9" * 3000,
            "sets=199&measure=290",
            "strands=13&measure=290&width=150",
            "pattern=" + "%00" * 50,
        ):
            with contextlib.suppress(urllib.error.HTTPError):
                urllib.request.urlopen(f"{server}/preview?{query}", timeout=30).read()


@pytest.mark.browser
def test_typing_a_measure_changes_the_length(page: Any, server: str) -> None:
    page.goto(server)
    page.wait_for_selector("text=Type what you measured")
    page.fill("#f-measure", "17,2 cm")
    page.fill("#f-leather", "4-5 oz")
    page.wait_for_selector("#lengths:has-text('252 mm')")
    assert page.locator("#strap svg").count() == 1
    assert "double" not in page.inner_text("#hardware")
    assert "size 20 snap" in page.inner_text("#hardware")
    page.fill("#f-measure", "18 cm")
    page.wait_for_selector("#lengths:has-text('259.')")
    page.fill("#f-measure", "3 m")
    page.press("#f-measure", "Tab")  # while it is typed it may become 3 mm
    page.wait_for_selector("#n-measure.wrong")
    assert page.get_attribute("#f-measure", "aria-invalid") == "true"


@pytest.mark.browser
def test_the_address_holds_the_state_and_back_undoes(page: Any, server: str) -> None:
    page.goto(f"{server}/?pattern=wristband&measure=172")
    page.wait_for_selector("#rows tr")
    page.fill("#f-measure", "185")
    page.press("#f-measure", "Tab")
    page.click("#goods summary")
    page.check("input[value=belt]", force=True)
    page.wait_for_selector("#what:text-is('belt size')")
    assert "pattern=belt" in page.url
    page.press("#f-measure", "Enter")  # nothing was changed since, so it is no step back
    page.go_back()
    page.wait_for_selector("#what:text-is('wrist')")
    assert page.input_value("#f-measure") == "185"
    page.go_back()
    page.wait_for_selector("#lengths:has-text('252 mm')")
    assert page.input_value("#f-measure") == "172"
    page.fill("#f-measure", "176")  # typed and never left
    settled(page)
    page.reload()
    settled(page)
    assert page.input_value("#f-measure") == "172"
    # It is still one piece, and nobody else's.
    assert page.inner_text("#say") == ""
    assert page.evaluate("() => every().map((p) => p.title)") == ["Wristband with a snap, wrist 172 mm"]


@pytest.mark.browser
def test_a_belt_with_seven_holes_and_every_file(page: Any, server: str, tmp_path: Path) -> None:
    page.goto(f"{server}/?pattern=belt&measure=34+in&machine=oscillating-knife")
    page.wait_for_selector("#rows tr")
    page.click("summary:has-text('More fields')")
    page.fill("#f-holes", "7")
    page.press("#f-holes", "Tab")
    page.wait_for_selector("#strap:has-text('7 holes')")
    for kind, start in (
        ("pdf", b"%PDF"),
        ("svg", b"PK"),
        ("card", b"%PDF"),
        ("dxf", b"PK"),
        ("all", b"PK"),
        ("job", b"title"),
    ):
        with page.expect_download() as wait_for:
            page.click(f"[data-file={kind}]")
        path = tmp_path / kind
        wait_for.value.save_as(path)
        assert path.read_bytes().startswith(start)
    text = " ".join(pages_read(tmp_path / "pdf"))
    assert "863.6 mm" in text


@pytest.mark.browser
def test_keyboard_alone_from_start_to_pdf(page: Any, server: str) -> None:
    page.goto(server)
    page.wait_for_selector("text=Type what you measured")

    def tab_to(selector: str) -> None:
        for _ in range(60):
            page.keyboard.press("Tab")
            if page.evaluate("s => document.activeElement.matches(s)", selector):
                return
        raise AssertionError(f"no way to {selector} by Tab")

    tab_to("#goods summary")
    page.keyboard.press("Enter")
    tab_to("input[name=pattern]")
    page.keyboard.press("ArrowRight")
    page.wait_for_selector("#what:text-is('belt size')")
    assert page.is_visible(".shelf")  # the arrow keys look along it, Enter takes
    page.keyboard.press("Enter")
    assert page.is_hidden(".shelf")
    assert page.evaluate("() => document.activeElement.matches('#goods summary')")
    assert "belt" in page.inner_text("#goods summary").lower()
    tab_to("#f-measure")
    page.keyboard.type("900 mm")
    page.wait_for_selector("#rows tr")
    tab_to("[data-file=pdf]")
    with page.expect_download() as wait_for:
        page.keyboard.press("Enter")
    assert Path(wait_for.value.path()).read_bytes().startswith(b"%PDF")


@pytest.mark.browser
def test_the_player_by_keys_and_its_place_on_reload(page: Any, server: str) -> None:
    page.goto(f"{server}/braid?strands=3")
    for _ in range(4):
        page.keyboard.press("ArrowRight")
    assert page.inner_text("#where") == "Step 5 of 8"
    assert "Pass the tab" in page.inner_text("#player")
    page.reload()
    assert page.inner_text("#where") == "Step 5 of 8"
    page.click("#next")
    page.click("#back")
    assert page.inner_text("#where") == "Step 5 of 8"
    page.select_option("#hand", "left")
    page.wait_for_url("**hand=left**")


@pytest.mark.browser
def test_a_job_is_put_together_on_the_page(page: Any, server: str, tmp_path: Path) -> None:
    page.goto(f"{server}/?{Q}&label=Quay&machine=laser")
    page.wait_for_selector("#rows tr")
    page.evaluate(
        "localStorage.setItem('job', JSON.stringify({ job: { title: 'Market', machine: 'pen-plotter' }, pieces: [] }))"
    )
    page.click("#to-job")
    page.wait_for_selector("#added:text-is('Added; 1 in the job.')")
    # An empty job takes the first piece's machine; once there are pieces their job stays what it is, and says so.
    page.click("#fields summary")
    page.select_option("#f-machine", "drag-knife")
    page.click("#to-job")
    page.wait_for_selector("#added:text-is('Added; 2 in the job. The job keeps its own machine.')")
    page.goto(f"{server}/job")
    assert page.input_value("#f-machine") == "laser"
    assert page.input_value("#f-title") == "Market"
    page.click("#pieces tr:nth-child(2) .o-acts button:nth-child(2)")
    names = "[...document.querySelectorAll('#pieces [data-key=label]')].map(box => box.value)"
    assert page.evaluate(names)[0] == "Quay"
    page.fill("#table", "Ines\t16 cm\t2\nBruno\t18,5 cm")
    page.click("#add-table")
    until(page, f"() => {names}.includes('Bruno')")
    page.click("summary:has-text('Job file')")
    with page.expect_download() as wait_for:
        page.click("#save")
    saved = tmp_path / "job.toml"
    wait_for.value.save_as(saved)
    assert [p["measure"] for p in tomllib.loads(saved.read_text(encoding="utf-8"))["pieces"]] == [
        "172 mm",
        "16 cm",
        "18,5 cm",
    ]
    with page.expect_download() as wait_for:
        page.click("[data-make=pdf]")
    assert Path(wait_for.value.path()).read_bytes().startswith(b"%PDF")
    page.click("#clear")
    page.set_input_files("#open", str(SAMPLES / "market-kit.toml"))
    until(page, f"() => {names}.includes('Harbour belt')")
    assert page.input_value("#f-title").startswith("Tern & Tackle")


@pytest.mark.browser
def test_the_judge_of_contrast_knows_4_5_to_1_whatever_a_style_sheet_puts_beside_the_words(browser: Any) -> None:
    """WCAG 2.2, 1.4.3; #767676 on white is 4.54 : 1 and #777777 4.48 : 1 (WCAG's formula of relative luminance)."""
    page = browser.new_page()
    for beside in ("", "p::before { content: ''; position: absolute; width: 900px; height: 900px; background: #000 }"):
        for colour, enough in (("#767676", True), ("#777777", False)):
            style = f"p {{ color: {colour}; background: #fff }} {beside}"
            page.set_content(f"<!doctype html><html lang=en><title>t</title><style>{style}</style><p>Words to read</p>")
            assert ("contrast" not in axe(page, COLOURS)) is enough, (colour, beside)
    page.close()


@pytest.mark.browser
def test_axe_finds_nothing(browser: Any, server: str) -> None:
    """At a desk by all rules, on a phone in the other colours."""
    context = browser.new_context(reduced_motion="reduce", bypass_csp=True)
    page = context.new_page()
    for path in (
        f"/?{Q}&pattern=carrier-handle&measure=460&width=25&strands=3",
        "/?measure=3+m",
        "/job",
        "/nowhere",
    ):
        page.set_viewport_size({"width": 1280, "height": 900})
        page.emulate_media(color_scheme="light")
        page.goto(server + path)
        for scheme, size, rules in (("light", (1280, 900), None), ("dark", (390, 844), COLOURS)):
            page.emulate_media(color_scheme=scheme)
            resized(page, *size)
            if path.startswith("/?"):
                settled(page)
            assert axe(page, rules) == "", path
            assert page.evaluate("document.documentElement.scrollWidth <= innerWidth"), f"{path} runs off the side"
    context.close()


@pytest.mark.browser
def test_a_hostile_label_does_nothing_in_the_browser(page: Any, server: str) -> None:
    from urllib.parse import quote

    for label in HOSTILE[:2]:  # the others are refused before they are shown
        page.goto(f"{server}/?{Q}&label={quote(label)}")
        page.wait_for_selector("#rows tr")
        assert page.locator("img").count() == 0
        page.click("#to-job")
        page.wait_for_selector("#added:has-text('Added')")
        page.goto(f"{server}/job")
        assert page.locator("img").count() == 0


def test_serve_says_where_it_is_and_warns_when_others_can_reach_it(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    served: list[Any] = []
    monkeypatch.setattr(app, "serve", lambda *a: served.append(a))
    assert cli.main(["serve", "--no-browser", "--port", "18470"]) == 0
    out = capsys.readouterr()
    assert "http://127.0.0.1:18470/" in out.out
    assert out.err == ""
    assert cli.main(["serve", "--no-browser", "--port", "18470", "--host", "0.0.0.0"]) == 0
    assert "can be reached from other machines" in capsys.readouterr().err
    assert cli.main(["serve", "--no-browser", "--port", "99999"]) == 2
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        assert cli.main(["serve", "--no-browser", "--port", str(taken.getsockname()[1])]) == 2
        assert "cannot be used" in capsys.readouterr().err
