"""The page under attack: requests that are none, work without end, senders without haste, other pages' scripts.

Every route that the app has is asked here without being named, so that a new one is covered when it comes.
"""

from __future__ import annotations

import errno
import io
import socket
import threading
import time
import urllib.request
import zipfile
from collections.abc import Callable, Iterator, Sequence
from contextlib import ExitStack, contextmanager, suppress
from dataclasses import dataclass, field, replace
from types import SimpleNamespace
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from waitress.adjustments import Adjustments

from strapwork.cli import main as cli
from strapwork.errors import InputError
from strapwork.files import values
from strapwork.job.job import Result
from strapwork.order.order import Job
from strapwork.web import app, bounds, documents, guard, server, tasks
from strapwork.web.bounds import Busy, Gate
from tests import hostile
from tests.helpers import STATIC, job_of

HOST = {"Host": "localhost"}
PIECE = {"pattern": "wristband", "measure": "172 mm"}
APP = app.create_app()
APP.logger.disabled = True
CLIENT = APP.test_client()
TOKEN = hostile.token_of(CLIENT)
GET_STYLE = f"GET {STATIC}/page.css HTTP/1.1\r\nHost: localhost\r\n\r\n".encode()
OURS = HOST | {"X-Strapwork-Token": TOKEN}


def post(path: str, body: Any = None, **more: Any) -> Any:
    return CLIENT.post(path, **({"json": body} | more if body is not None else more), headers=OURS)


# -- requests that are none --------------------------------------------------


@settings(max_examples=90, suppress_health_check=list(HealthCheck))
@given(hostile.requests(APP, TOKEN))
def test_no_request_breaks_any_route(asked: hostile.Asked) -> None:
    reply = asked.send(CLIENT)
    assert hostile.faults(reply) == []
    assert APP.extensions["strapwork-gate"].held == 0


def _json(raw: bytes | str) -> Callable[[], Any]:
    return lambda: post("/job/check", data=raw, content_type="application/json")


ATTACKS: dict[str, tuple[int, Callable[[], Any]]] = {
    "an Origin that is no address": (403, lambda: CLIENT.post("/job/check", headers=OURS | {"Origin": "http://[::1"})),
    "no Origin at all, said in words": (403, lambda: CLIENT.post("/job/check", headers=OURS | {"Origin": "null"})),
    "a token beyond ASCII": (403, lambda: CLIENT.post("/job/check", headers=HOST | {"X-Strapwork-Token": "é"})),
    "a host cut short": (400, lambda: CLIENT.get("/", headers={"Host": "[::1"})),
    "a host with a name before it": (400, lambda: CLIENT.get("/", headers={"Host": "evil.example@localhost"})),
    "a port of eight digits": (400, lambda: CLIENT.get("/", headers={"Host": "localhost:99999999"})),
    "JSON too deep for a stack": (400, _json("[" * 200_000)),
    "JSON too deep, in objects": (400, _json('{"a":' * 100_000)),
    "half a character": (400, _json('{"job":{"title":"\\ud800"},"pieces":[{"pattern":"wristband","measure":"1 mm"}]}')),
    "an integer of 5,000 digits": (400, _json('{"job":{},"pieces":[{"count":' + "9" * 5000 + "}]}")),
    "a number that is infinite": (400, _json('{"job":{},"pieces":[{"count":1e999}]}')),
    "bytes that are no text": (400, _json(b"\xff\xfe\x00")),
    "a list for a document": (400, _json("[]")),
    "a document of another kind": (415, lambda: post("/job/check", data="{}", content_type="text/plain")),
    "a list for a piece": (400, lambda: post("/job/fields", {"piece": [1]})),
    "a table of nothing in a piece": (200, lambda: post("/job/fields", {"piece": {"sizes": {"a": None, "b": [None]}}})),
    "a table that is a list": (400, lambda: post("/job/table", {"text": ["a"], "piece": {}})),
    "a NUL in an address": (400, lambda: CLIENT.get("/pattern/%00", headers=HOST)),
    "a NUL in a file's address": (400, lambda: CLIENT.get(f"{STATIC}/%00", headers=HOST)),
    "a path too long for a file": (414, lambda: CLIENT.get(f"{STATIC}/" + "x" * 5000, headers=HOST)),
    "a query of 300 kB": (414, lambda: CLIENT.get("/preview?measure=" + "9" * 300_000, headers=HOST)),
    "a query of a thousand fields": (400, lambda: CLIENT.get("/preview?" + "a=1&" * 1000, headers=HOST)),
    "a method that echoes": (405, lambda: CLIENT.open("/", method="TRACE", headers=OURS)),
    "a method to ask for methods": (405, lambda: CLIENT.open("/", method="OPTIONS", headers=OURS)),
    "an upload without end": (413, lambda: post("/job/read", data=b"x" * 1_100_000)),
    "a task that is none": (404, lambda: post("/job/task/none/cancel", {})),
}  # fmt: skip


@pytest.mark.parametrize("what", ATTACKS)
def test_what_is_no_request_is_refused_in_one_sentence(what: str) -> None:
    status, ask = ATTACKS[what]
    reply = ask()
    assert reply.status_code == status
    assert hostile.faults(reply) == []
    if status != 200:
        text = reply.get_json()["error"]
        assert "\n" not in text
        assert text.endswith(".")
        assert len(text) < 400


@pytest.mark.parametrize("name", ["leathers", "strips"])
def test_a_key_of_thousands_of_parts_is_measured_before_it_is_parsed(name: str) -> None:
    dotted = "{" + ".".join("a" * 9000) + " = 1}"
    text = dotted if name == "leathers" else f"[{dotted}]"
    got = CLIENT.get("/preview", query_string={"pattern": "wristband", name: text}, headers=HOST).get_json()
    assert "9000 parts" in got["errors"][name]
    with pytest.raises(InputError, match="nested"):
        values.table("{a = " + "[" * 500 + "]" * 500 + "}")


def test_a_job_too_large_for_the_page_is_refused_before_any_piece_is_looked_at(monkeypatch: pytest.MonkeyPatch) -> None:
    def never(*_: object, **__: object) -> None:
        raise AssertionError("work began before the job was counted")

    monkeypatch.setattr(app.doors, "of_document", never)
    sizes = {f"s{k}": "172 mm" for k in range(200)}
    for body in (
        {"job": {}, "pieces": [PIECE] * 201},
        {"job": {}, "pieces": [{"pattern": "wristband", "sizes": sizes}] * 200},
        {"job": {}, "pieces": [{"pattern": "wristband", "sizes": "{" + "a = 1, " * 3000 + "}"}]},
    ):
        for path in ("/job/check", "/job/text", "/job/make"):
            reply = post(path, body)
            assert reply.status_code == 400
            assert "too many" in reply.get_json()["error"]
    toml = 'title = "x"\n' + '[[pieces]]\npattern = "wristband"\nmeasure = "17 cm"\n' * 201
    assert "201 rows are too many" in post("/job/read", data=toml.encode()).get_json()["error"]


def test_a_pasted_table_is_measured_first_and_read_in_one_go() -> None:
    with pytest.raises(InputError, match="too many"):
        documents.of_table("\t" * 900_000 + "a", {})
    # Blank cells by the hundred thousand: looking for a heading among them must not go over them again for each.
    with pytest.raises(InputError):
        documents.of_table("\t" * 190_000 + "a", {})
    assert documents.of_table(" Measure \t name\n1 cm\ta", {})[0]["measure"] == "1 cm"


def test_a_download_of_many_sizes_is_left_to_the_job_page(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(app.jobs, "make", None)
    many = {"pattern": "wristband", "sizes": "{ of = 26, bodies = 'adults' }", "count": "500"}
    reply = CLIENT.get("/file/pdf", query_string=many, headers=HOST)
    assert reply.status_code == 400
    assert "more than 25 are too many for one download; make them as a job" in reply.get_json()["error"]


def test_no_file_of_this_machine_is_named_by_a_request() -> None:
    for body in (
        {"job": {}, "pieces": [{"from": "/etc/passwd"}]},
        {"job": {"prices": "../../secret"}, "pieces": [PIECE]},
        {"job": {"machine": "../../laser"}, "pieces": [PIECE]},
        {"job": {"printer": "/dev/zero"}, "pieces": [PIECE]},
        {"job": {}, "pieces": [{"pattern": "../../etc/passwd", "measure": "1 mm"}]},
        {"job": {}, "pieces": [PIECE | {"leather": "http://evil.example/x"}]},
    ):
        reply = post("/job/check", body)
        assert reply.status_code == 400
        assert "root:" not in reply.get_data(as_text=True)
    for path in (
        f"{STATIC}/../app.py",
        f"{STATIC}/%2e%2e/%2e%2e/pyproject.toml",
        f"{STATIC}/",
        "/.git/config",
        f"{STATIC}/.git",
    ):
        assert CLIENT.get(path, headers=HOST).status_code == 404


def test_a_method_that_is_not_used_is_told_which_are() -> None:
    assert CLIENT.post("/preview", headers=OURS).headers["Allow"] == "GET, HEAD"
    assert CLIENT.get("/job/check", headers=HOST).headers["Allow"] == "POST"
    assert CLIENT.open("/", method="OPTIONS", headers=HOST).headers["Allow"] == "GET, HEAD, POST"


def test_the_token_is_long_new_every_time_and_in_no_address() -> None:
    other = hostile.token_of(app.create_app().test_client())
    assert other != TOKEN
    assert len(TOKEN) >= 32  # 24 random bytes
    for path in ("/", "/job", "/braid"):
        page = CLIENT.get(path, headers=HOST)
        assert f"={TOKEN}" not in page.get_data(as_text=True).replace('content="', "")
        assert "Set-Cookie" not in page.headers


# -- other pages -------------------------------------------------------------


@pytest.mark.parametrize("site", ["cross-site", "same-site", "nonsense"])
def test_scripts_and_pictures_of_other_pages_get_nothing(site: str) -> None:
    there = HOST | {"Sec-Fetch-Site": site}
    for path in ("/preview?pattern=wristband&measure=172", "/braid?strands=25", f"{STATIC}/page.css", "/job"):
        for mode, dest in (("no-cors", "image"), ("cors", "empty"), ("navigate", "iframe"), ("", "")):
            reply = CLIENT.get(path, headers=there | {"Sec-Fetch-Mode": mode, "Sec-Fetch-Dest": dest})
            assert reply.status_code == 403
            assert "Access-Control-Allow-Origin" not in reply.headers
    link = there | {"Sec-Fetch-Mode": "navigate", "Sec-Fetch-Dest": "document"}
    assert CLIENT.get("/", headers=link).status_code == 200
    assert CLIENT.post("/job/check", json={}, headers=link | OURS).status_code == 403
    for own in ("same-origin", "none"):
        assert CLIENT.get("/preview", headers=HOST | {"Sec-Fetch-Site": own}).status_code == 200


def test_data_opened_by_hand_are_a_file_and_never_a_page() -> None:
    reply = CLIENT.get("/preview?pattern=wristband&measure=%3Cscript%3E", headers=HOST)
    assert reply.mimetype == "application/json"
    assert reply.headers["Content-Disposition"] == 'attachment; filename="answer.json"'
    assert reply.headers["Cache-Control"] == "no-store"


def test_a_fault_of_ours_tells_nothing_of_our_insides(monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(*_: object) -> None:
        raise RuntimeError("secret detail")

    monkeypatch.setattr(app.piece_page.show, "preview", broken)
    reply = CLIENT.get("/preview", headers=HOST)
    assert reply.status_code == 500
    assert "secret" not in reply.get_data(as_text=True)
    assert "went wrong on our side" in reply.get_json()["error"]


def test_one_field_said_twice_counts_once_and_unknown_ones_not_at_all() -> None:
    got = CLIENT.get("/preview?pattern=wristband&measure=172&measure=3+m&debug=1&__class__=x", headers=HOST).get_json()
    assert got["ok"]
    assert got["notes"]["measure"].startswith("= 172 mm")


def test_the_cutters_files_of_a_belt_and_its_loop_of_another_leather_are_in_the_download() -> None:
    asked = {"pattern": "belt", "measure": "34 in", "machine": "oscillating-knife"}
    reply = CLIENT.get("/file/dxf", query_string=asked, headers=HOST)
    names = zipfile.ZipFile(io.BytesIO(reply.data)).namelist()
    assert sorted(n.rpartition(".")[2] for n in names) == ["dxf", "dxf", "svg", "svg"]
    assert all("bed-1" in n for n in names)


# -- work without end --------------------------------------------------------


def test_costly_requests_wait_for_a_place_and_too_many_are_told_so(monkeypatch: pytest.MonkeyPatch) -> None:
    gate = APP.extensions["strapwork-gate"]
    monkeypatch.setattr(gate, "at_once", 1)
    monkeypatch.setattr(gate, "waiting", 0)
    gate.enter("elsewhere")
    try:
        for rule in APP.url_map.iter_rules():
            path = rule.rule
            for part, good in (
                ("<path:filename>", "page.css"),
                ("<name>", "belt"),
                ("<kind>", "pdf"),
                ("<key>", "none"),
            ):
                path = path.replace(part, good)
            ask = CLIENT.post if "POST" in (rule.methods or ()) else CLIENT.get
            reply = ask(path, headers=OURS)
            if rule.endpoint in guard.QUICK:
                assert reply.status_code in (200, 404)
            else:
                assert reply.status_code == 503
                assert reply.headers["Retry-After"] == "2"
                assert reply.get_json()["error"].endswith("ask again in a moment.")
                assert hostile.faults(reply) == ["status 503"]
    finally:
        gate.leave("elsewhere")
    assert gate.held == 0


def test_the_gate_lets_few_in_queues_some_and_gives_every_place_back() -> None:
    gate = Gate(at_once=2, waiting=3, of_one=4, patience=30.0)
    inside, most, order = [0], [0], []
    lock = threading.Lock()
    go = threading.Event()

    def work(k: int) -> None:
        gate.enter(f"asker {k % 2}")
        with lock:
            order.append(k)
            inside[0] += 1
            most[0] = max(most[0], inside[0])
        go.wait(30)
        with lock:
            inside[0] -= 1
        gate.leave(f"asker {k % 2}")

    threads = []
    for k in range(5):
        threads.append(threading.Thread(target=work, args=(k,)))
        threads[-1].start()
        while gate.held < k + 1:
            time.sleep(0.001)
    with pytest.raises(Busy, match="too much is asked at once") as full:
        gate.enter("a third")
    assert full.value.status == 503
    go.set()
    for t in threads:
        t.join()
    assert most[0] == 2
    assert order[2:] == [2, 3, 4]  # first come, first served
    assert gate.held == 0
    gate = Gate(at_once=4, waiting=0, of_one=1, patience=0.01)
    gate.enter("one")
    with pytest.raises(Busy, match="from here") as own:
        gate.enter("one")
    assert own.value.status == 429
    gate.enter("another")
    gate = Gate(at_once=1, waiting=1, of_one=9, patience=0.01)
    gate.enter("one")
    with pytest.raises(Busy, match="not come to an end"):
        gate.enter("one")
    gate.leave("one")
    assert gate.held == 0


def test_a_browser_gets_eight_places_and_everybody_sixteen() -> None:
    """Six connections, as a browser opens them, and a preview or two beside them; all of it as the page is served."""
    gate, threads = Gate(), []

    def hold(asker: str) -> None:
        before = gate.held
        threads.append(threading.Thread(target=gate.enter, args=(asker,), daemon=True))
        threads[-1].start()
        _until(lambda: gate.held == before + 1)

    for _ in range(8):
        hold("bench")
    with pytest.raises(Busy, match="the page: too much is asked at once from here; ask again in a moment") as own:
        gate.enter("bench")
    assert own.value.status == 429
    for k in range(8):
        hold(f"phone {k}")
    with pytest.raises(Busy, match="the page: too much is asked at once; ask again in a moment") as full:
        gate.enter("late")
    assert full.value.status == 503
    _until(lambda: sum(not t.is_alive() for t in threads) == 3)  # at work; the rest waits
    for k in range(16):  # in the order they came
        gate.leave("bench" if k < 8 else f"phone {k - 8}")
        _until(lambda k=k: sum(not t.is_alive() for t in threads) == min(16, k + 4))  # type: ignore[misc]
    assert gate.held == 0


def test_who_waits_twenty_seconds_for_a_place_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    """A clock that goes on as long as is waited, or half as long where something has moved meanwhile."""
    now = [1000.0]
    gate = Gate(at_once=1)
    monkeypatch.setattr(bounds, "time", SimpleNamespace(monotonic=lambda: now[0]))

    def wait(seconds: float) -> None:
        now[0] += max(seconds / 2, 0.5)

    monkeypatch.setattr(gate._moved, "wait", wait)
    gate.enter("bench")
    with pytest.raises(Busy, match="the page: other work has not come to an end; ask again in a moment") as late:
        gate.enter("bench")
    assert 1020.0 <= now[0] <= 1020.5
    assert late.value.status == 503
    assert gate.held == 1


@dataclass
class Bench:
    """Stands in for the making of jobs: each waits until it is let go."""

    go: threading.Event = field(default_factory=threading.Event)
    at_work: int = 0
    most: int = 0
    made: int = 0
    lock: threading.Lock = field(default_factory=threading.Lock)

    def make(self, job: Job, step: Callable[[int], None], *, keep_sheets: bool) -> Result:
        with self.lock:
            self.at_work += 1
            self.most = max(self.most, self.at_work)
            self.made += 1
        try:
            self.go.wait(30)
            step(1)
            return Result(job, ("a piece",), (), {"x.pdf": b"x" * 1000}, "a")  # type: ignore[arg-type]
        finally:
            with self.lock:
                self.at_work -= 1


@pytest.fixture
def bench(monkeypatch: pytest.MonkeyPatch) -> Iterator[Bench]:
    made = Bench()
    monkeypatch.setattr(tasks, "jobs", SimpleNamespace(make=made.make))
    yield made
    made.go.set()


@pytest.fixture(scope="module")
def one() -> Job:
    return job_of({"title": "One", "pieces": [PIECE]})


def _until(so: Callable[[], bool]) -> None:
    for _ in range(3000):
        if so():
            return
        time.sleep(0.01)
    raise AssertionError("it never came to that")


def test_jobs_are_queued_and_one_asker_gets_a_few(bench: Bench, one: Job) -> None:
    queue = tasks.Tasks()
    keys = [queue.start(one, "a") for _ in range(tasks.MOST_OF_ONE)]
    with pytest.raises(Busy, match="3 jobs are being made already; wait for one or cancel it") as own:
        queue.start(one, "a")
    assert own.value.status == 429
    keys += [queue.start(one, "b") for _ in range(tasks.MOST_OF_ONE)]
    with pytest.raises(Busy, match="6 jobs are being made already") as full:
        queue.start(one, "c")
    assert full.value.status == 503
    _until(lambda: bench.at_work == tasks.MOST_AT_ONCE)
    assert queue.cancel(keys[-1])  # it had not begun: its place is free at once
    keys[-1] = queue.start(one, "b")
    bench.go.set()
    _until(lambda: all((t := queue.get(k)) is not None and t.state == "done" for k in keys))
    assert bench.most == tasks.MOST_AT_ONCE
    last = queue.start(one, "a")
    _until(lambda: (t := queue.get(last)) is not None and t.ended)  # it would go on in the next test's workshop


def test_a_job_that_has_not_begun_has_nothing_done_and_holds_up_no_end_of_the_program(bench: Bench, one: Job) -> None:
    queue, threads = tasks.Tasks(), set(threading.enumerate())
    keys = [queue.start(one, "a") for _ in range(3)]
    _until(lambda: bench.at_work == 2)
    third = queue.get(keys[2])
    assert third is not None
    assert (third.state, third.done, third.total, third.error, third.bytes) == ("working", 0, 1, "", 0)
    # Who stops the page with Ctrl-C does not wait for jobs: Python waits for every thread that is no daemon.
    assert [t.daemon for t in threading.enumerate() if t not in threads] == [True, True]
    assert queue.cancel(keys[2])
    assert (third.state, third.ended) == ("cancelled", True)
    bench.go.set()
    _until(lambda: all((t := queue.get(k)) is not None and t.ended for k in keys))
    first = queue.get(keys[0])
    assert first is not None
    assert (first.state, first.done, first.bytes) == ("done", 1, 1000)
    assert bench.made == 2  # what was cancelled in the queue was never begun
    _until(lambda: queue._workers == 0)


def test_a_job_of_more_pieces_than_the_page_makes_is_refused(bench: Bench, one: Job) -> None:
    bench.go.set()
    queue = tasks.Tasks()
    key = queue.start(replace(one, orders=one.orders * 200))
    _until(lambda: (t := queue.get(key)) is not None and t.state == "done")
    with pytest.raises(
        InputError, match="job: 201 pieces are too many for the page; keep it to 200 or use the command"
    ):
        queue.start(replace(one, orders=one.orders * 201))


@pytest.mark.parametrize(("seconds", "state"), [(90.0, "done"), (90.5, "failed")])
def test_a_job_may_take_ninety_seconds(one: Job, monkeypatch: pytest.MonkeyPatch, seconds: float, state: str) -> None:
    """From when work on it began, however long it waited; a clock is set on while it is worked at."""
    now = [5000.0]
    monkeypatch.setattr(tasks, "time", SimpleNamespace(monotonic=lambda: now[0]))
    task = tasks.Task(1)
    now[0] += 400.0
    task.began = now[0]

    def make(job: Job, step: Callable[[int], None], *, keep_sheets: bool) -> Result:
        now[0] += seconds
        step(1)
        return Result(job, (), (), {"x.pdf": b"x"}, "a")

    monkeypatch.setattr(tasks, "jobs", SimpleNamespace(make=make))
    tasks._make(one, task)
    assert (task.state, task.done) == (state, 1)
    assert task.error == (
        "" if state == "done" else "job: the job takes longer than 90 seconds; split it, or use the command line."
    )


@pytest.mark.parametrize(
    ("sizes", "ages", "kept"),
    [
        ([1] * 9, [0] * 9, range(1, 9)),  # eight jobs, the newest
        ([40, 40, 30], [2, 1, 0], (1, 2)),  # a hundred megabytes of them
        ([40, 40, 20], [2, 1, 0], (0, 1, 2)),
        ([40, 120], [1, 0], (1,)),  # the last one is kept however large
        ([101], [0], (0,)),
        ([120, 1], [1, 0], (1,)),
        ([1, 1, 1], [901, 900, 0], (1, 2)),  # a quarter of an hour
        ([101, 1], [901, 0], (1,)),
    ],
)
def test_files_are_kept_for_a_while_and_the_newest_longest(
    one: Job, monkeypatch: pytest.MonkeyPatch, sizes: list[int], ages: list[float], kept: Sequence[int]
) -> None:
    """Sizes in megabytes, ages in seconds."""
    monkeypatch.setattr(tasks, "time", SimpleNamespace(monotonic=lambda: 10_000.0))
    queue = tasks.Tasks()
    for k, (size, age) in enumerate(zip(sizes, ages, strict=True)):
        made = Result(one, (), (), {"x.pdf": _Large(size * 1_000_000)}, "a")  # type: ignore[dict-item]
        queue._tasks[str(k)] = tasks.Task(1, began=10_000.0 - age, result=made, ended=True)
    queue._tasks["at work"] = tasks.Task(1, began=0.0)
    assert queue.get("none") is None
    assert set(queue._tasks) == {*map(str, kept), "at work"}


class _Large:
    """A file of a size, without taking it up."""

    def __init__(self, size: int) -> None:
        self.size = size

    def __len__(self) -> int:
        return self.size


def test_a_cancelled_job_holds_its_place_until_it_has_really_stopped(bench: Bench, one: Job) -> None:
    queue = tasks.Tasks()
    for _ in range(tasks.MOST_OF_ONE):
        queue.start(one, "a")
    _until(lambda: bench.at_work == tasks.MOST_AT_ONCE)
    for _ in range(50):  # started and cancelled as fast as it goes
        for known in list(queue._tasks):
            queue.cancel(known)
        queue.start(one, "a")
    assert bench.most == tasks.MOST_AT_ONCE
    with pytest.raises(Busy):
        queue.start(one, "a")
    for known in list(queue._tasks):
        queue.cancel(known)
    bench.go.set()
    _until(lambda: bench.at_work == 0)
    assert all(t.state == "cancelled" and t.result is None for t in queue._tasks.values())


def test_what_was_made_is_kept_small_for_a_while_and_then_forgotten(
    bench: Bench, one: Job, monkeypatch: pytest.MonkeyPatch
) -> None:
    bench.go.set()
    queue = tasks.Tasks()
    keys = []
    for _ in range(20):
        keys.append(queue.start(one, "a"))
        _until(lambda: (t := queue.get(keys[-1])) is not None and t.ended)
    assert len(queue._tasks) == tasks.MOST_KEPT
    kept = queue.get(keys[-1])
    assert kept is not None
    assert kept.result is not None
    assert kept.result.files == {"x.pdf": b"x" * 1000}
    assert kept.result.pieces == ()
    assert kept.result.numbers == {}
    assert queue.cancel(keys[-1])
    assert kept.result is None
    assert not queue.cancel("no such job")
    monkeypatch.setattr(tasks, "MOST_BYTES", 2500)
    queue.start(one, "a")
    _until(lambda: all(t.ended for t in queue._tasks.values()) and queue.get("x") is None)
    assert sum(t.bytes for t in queue._tasks.values()) <= 2500
    monkeypatch.setattr(tasks, "KEEP", -1.0)
    assert queue.get(keys[-1]) is None
    assert not queue._tasks


def test_too_many_jobs_get_429_and_a_file_that_was_not_made_is_not_found(bench: Bench) -> None:
    body = {"job": {"title": "Quay"}, "pieces": [PIECE], "kind": "pdf"}
    made = [post("/job/make", body) for _ in range(tasks.MOST_OF_ONE + 1)]
    assert [r.status_code for r in made] == [200] * tasks.MOST_OF_ONE + [429]
    assert made[-1].get_json()["error"] == "job: 3 jobs are being made already; wait for one or cancel it."
    bench.go.set()
    key = made[0].get_json()["task"]
    _until(lambda: CLIENT.get(f"/job/task/{key}", headers=HOST).get_json()["state"] == "done")
    for kind in ("card", "pdf", "svg", "dxf"):
        assert CLIENT.get(f"/job/task/{key}/{kind}", headers=HOST).status_code == 404
    assert post(f"/job/task/{key}/cancel", {}).status_code == 200
    assert CLIENT.get(f"/job/task/{key}/all", headers=HOST).status_code == 404


# -- senders and takers without haste ----------------------------------------


@contextmanager
def served(**changed: Any) -> Iterator[server.Server]:
    made = server.create(APP, "127.0.0.1", 0, **changed)
    threading.Thread(target=made.run, daemon=True).start()
    try:
        yield made
    finally:
        made.close()


def _connected(made: server.Server) -> socket.socket:
    return socket.create_connection(("127.0.0.1", int(made.effective_port)), timeout=30)


def _asks(made: server.Server, path: str = f"{STATIC}/page.css") -> int:
    with urllib.request.urlopen(f"http://127.0.0.1:{made.effective_port}{path}", timeout=30) as reply:
        return int(reply.status)


def test_two_hundred_that_trickle_do_not_keep_others_out() -> None:
    with served() as made:
        slow = []
        try:
            for k in range(200):
                slow.append(_connected(made))
                # Some dawdle in the head, some in the body, some say nothing at all.
                slow[-1].sendall(
                    (b"GET / HT", b"POST /job/read HTTP/1.1\r\nHost: x\r\nContent-Length: 9000\r\n\r\nx", b"")[k % 3]
                )
            for _ in range(3):
                assert _asks(made) == 200
                for s in slow:
                    with suppress(OSError):
                        s.sendall(b"x")
        finally:
            for s in slow:
                s.close()


def test_who_is_slow_is_let_be_while_there_is_room() -> None:
    with served() as made, ExitStack() as together:
        for _ in range(100):
            together.enter_context(_connected(made)).sendall(b"GET / HT")
        assert _asks(made) == 200
        _until(lambda: len(made.active_channels) == 100)
        for _ in range(3):
            assert _asks(made) == 200
        assert len(made.active_channels) >= 100


def test_a_request_that_does_not_come_to_its_end_is_cut_off(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(server, "LONGEST_REQUEST", 0.5)
    with served() as made, _connected(made) as slow, _connected(made) as patient:
        patient.sendall(GET_STYLE)
        assert patient.recv(100).startswith(b"HTTP/1.1 200")
        slow.sendall(b"GET / HTTP/1.1\r\n")
        slow.settimeout(0.1)
        for _ in range(300):
            try:
                slow.sendall(b"a")  # a byte now and then no longer keeps it open
                if slow.recv(10) == b"":
                    break
            except TimeoutError:
                continue
            except OSError:
                break
        else:
            raise AssertionError("it was never cut off")
        # One that waits between two requests owes nothing.
        patient.sendall(GET_STYLE)
        assert patient.recv(100)


def test_an_answer_that_nobody_takes_blocks_no_one_else(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(server, "LONGEST_ANSWER", 0.5)
    with served(threads=1, outbuf_high_watermark=10_000) as made, _connected(made) as deaf:
        deaf.sendall(GET_STYLE * 2000)
        assert _asks(made) == 200


def test_a_request_has_twenty_seconds_and_an_answer_a_hundred_and_twenty(monkeypatch: pytest.MonkeyPatch) -> None:
    """By a clock of the test's own; who owes nothing may stay as long as the server lets anyone idle, 30 s."""
    now = [1000.0]
    monkeypatch.setattr(server, "time", SimpleNamespace(monotonic=lambda: now[0]))
    here, there = socket.socketpair()
    adj = Adjustments(**server.SETTINGS)
    keeper = SimpleNamespace(active_channels={}, adj=adj, add_task=lambda _: None)
    channel = server._Channel(keeper, here, ("", 0), adj, map={})
    with there:
        assert not channel.overdue(5000.0)  # nothing was asked yet
        channel.received(b"GET / HT")
        now[0] = 1019.0
        channel.received(b"TP/1.1\r\n")  # a byte now and then gives no more time
        assert not channel.overdue(1020.0)
        assert channel.overdue(1020.5)
        channel.received(b"Host: localhost\r\n\r\n")
        assert len(channel.requests) == 1
        assert not channel.overdue(1500.0)  # the answer is ours to give
        channel.requests.clear()
        channel.total_outbufs_len = 10
        assert not channel.overdue(1600.0)
        assert not channel.overdue(1720.0)
        assert channel.overdue(1720.5)
        channel.total_outbufs_len = 0
        assert not channel.overdue(1721.0)
        channel.total_outbufs_len = 10  # the next answer has its own time
        assert not channel.overdue(1800.0)
        assert not channel.overdue(1920.0)
        assert channel.overdue(1920.5)
        channel.total_outbufs_len = 0
        now[0] = 2000.0
        channel.received(b"GET / HT")
        assert not channel.overdue(2020.0)
        channel.handle_close()
        assert not channel.overdue(2021.0)  # it is gone already


def test_a_connection_may_be_idle_for_thirty_seconds() -> None:
    with served() as made, _connected(made) as s:
        s.sendall(GET_STYLE)
        assert s.recv(100).startswith(b"HTTP/1.1 200")
        _until(lambda: all(c.waits for c in made.active_channels.values()))
        [channel] = made.active_channels.values()
        made.maintenance(channel.last_activity + 29.9)
        assert not channel.will_close
        made.maintenance(channel.last_activity + 30.1)
        assert channel.will_close


def test_a_megabyte_reaches_the_page_and_a_lost_connection_writes_nothing_on_the_terminal(
    monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    with served() as made, _connected(made) as s, _connected(made) as lost:
        head = f"POST /job/read HTTP/1.1\r\nHost: localhost\r\nContent-Length: {guard.MOST_UPLOAD}\r\n\r\n"
        s.sendall(head.encode() + b"x" * guard.MOST_UPLOAD)
        assert s.recv(100).startswith(b"HTTP/1.1 403")  # it has no token, but it is not too large

        def gone(*_: object) -> bytes:
            raise OSError(errno.ETIMEDOUT, "the phone has left the house")

        monkeypatch.setattr(server._Channel, "recv", gone)
        lost.sendall(b"GET /")
        _until(lambda: len(made.active_channels) == 1)  # it is let go of
    assert caplog.records == []


def test_what_is_no_http_gets_the_same_headers() -> None:
    with served() as made:
        for raw, status in (
            (b"\0\xff\r\n\r\n", b"400"),
            (b"GET / HTTP/1.1\r\nContent-Length: -1\r\n\r\n", b"400"),
            (b"GET / HTTP/1.1\r\nTransfer-Encoding: gzip\r\n\r\n", b"501"),
            (b"GET / HTTP/1.1\r\nX: " + b"x" * 300_000 + b"\r\n\r\n", b"431"),
            (b"POST /job/read HTTP/1.1\r\nContent-Length: 99999999999\r\n\r\n", b"413"),
        ):
            with _connected(made) as s:
                with suppress(OSError):
                    s.sendall(raw)
                told = b""
                with suppress(OSError):
                    while part := s.recv(10_000):
                        told += part
            assert told.startswith(b"HTTP/1."), raw[:40]
            assert told[9:12] == status
            for name, value in guard.HEADERS.items():
                assert f"{name}: {value}".encode() in told
            assert b"waitress" not in told.partition(b"\r\n\r\n")[0]


def test_requests_that_wait_write_nothing_on_the_terminal(
    capsys: pytest.CaptureFixture[str], caplog: pytest.LogCaptureFixture
) -> None:
    """One thread and ten requests at once: nine are in the queue, and waitress would say so of each."""
    with served(threads=1) as made, ExitStack() as together:
        waiting = [together.enter_context(_connected(made)) for _ in range(10)]
        for s in waiting:
            s.sendall(b"GET / HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n\r\n")
        assert [s.recv(12) for s in waiting] == [b"HTTP/1.1 200"] * 10
    assert caplog.records == []
    assert capsys.readouterr().err == ""


def test_every_costly_request_has_a_thread_and_some_are_left_for_the_rest() -> None:
    costly = bounds.AT_ONCE + bounds.WAITING
    assert server.SETTINGS["threads"] >= costly + 6
    assert costly > bounds.OF_ONE


# -- the command -------------------------------------------------------------


@pytest.mark.parametrize("host", ["", " ", "a\0b", "x" * 300, "no such place"])
def test_serve_refuses_what_is_no_address(host: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["serve", "--no-browser", "--host", host]) == 2
    told = capsys.readouterr().err
    assert told.count("\n") == 1
    assert "Traceback" not in told
