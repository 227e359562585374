"""The page under attack, as 'strapwork serve' runs it:  python tests/bench/attack.py [REQUESTS]

Four campaigns against a server of its own: hostile requests over every route
(those of tests/hostile.py), connections that trickle, jobs started as fast as
they are taken, and requests that cost the most the page allows.  Prints what
came back, how long the slowest took, and the server's memory.
"""

from __future__ import annotations

import http.client
import json
import os
import re
import socket
import subprocess
import sys
import threading
import time
import urllib.error
import urllib.request
from collections import Counter
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from pathlib import Path
from typing import Any

from hypothesis import HealthCheck, Phase, given, settings

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from tests import hostile  # noqa: E402
from tests.helpers import STATIC  # noqa: E402

from strapwork.web import app, guard  # noqa: E402

EACH = 5  # times that a request is sent: drawing one costs more than answering it


class Served:
    """A running page."""

    def __init__(self) -> None:
        with socket.socket() as s:
            s.bind(("127.0.0.1", 0))
            self.port = s.getsockname()[1]
        # Its own log would say of every refusal what was refused.
        command = [sys.executable, "-m", "strapwork", "serve", "--no-browser", "--port", str(self.port)]
        self.process = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, env={**os.environ})
        for _ in range(300):
            with suppress(OSError), socket.create_connection(("127.0.0.1", self.port)):
                break
            time.sleep(0.1)
        time.sleep(5)  # the usual braids are worked out in the background
        page = self.get("/")[1].decode()
        self.token = page.split('name="strapwork-token" content="')[1].split('"')[0]

    def get(self, path: str, timeout: float = 120) -> tuple[int, bytes]:
        try:
            with urllib.request.urlopen(f"http://127.0.0.1:{self.port}{path}", timeout=timeout) as reply:
                return reply.status, reply.read()
        except urllib.error.HTTPError as e:
            return e.code, e.read()

    def post(self, path: str, body: Any) -> tuple[int, Any]:
        asked = urllib.request.Request(f"http://127.0.0.1:{self.port}{path}", json.dumps(body).encode())
        asked.add_header("Content-Type", "application/json")
        asked.add_header("X-Strapwork-Token", self.token)
        try:
            with urllib.request.urlopen(asked, timeout=120) as reply:
                return reply.status, json.load(reply)
        except urllib.error.HTTPError as e:
            return e.code, json.load(e)

    def memory(self) -> float:
        """MB that the server holds now; not a number where the system does not say."""
        with suppress(OSError):
            found = re.search(r"VmRSS:\s+(\d+)", Path(f"/proc/{self.process.pid}/status").read_text())
            return int(found.group(1)) / 1024 if found else float("nan")
        return float("nan")

    def close(self) -> None:
        self.process.terminate()
        self.process.wait(30)


def send(s: Served, asked: hostile.Asked) -> tuple[int, list[str]]:
    """(status, what is wrong with the answer) of a request sent as it stands; status 0 for a closed connection."""
    query = f"?{asked.query}" if asked.query else ""
    lines = [f"{asked.method} {asked.path}{query} HTTP/1.1"]
    headers = {"Host": f"127.0.0.1:{s.port}", "Connection": "close", **asked.headers}
    headers["Content-Length"] = str(len(asked.body))
    lines += [f"{k}: {s.token if v == 'TOKEN' else v}" for k, v in headers.items()]
    with socket.create_connection(("127.0.0.1", s.port), timeout=120) as c:
        with suppress(OSError):
            c.sendall("\r\n".join(lines).encode("latin-1") + b"\r\n\r\n" + asked.body)
        reply = http.client.HTTPResponse(c, method=asked.method)
        try:
            reply.begin()
            data = reply.read()
        except (OSError, http.client.HTTPException):
            return 0, ["no answer"]
    wrong = [f"status {reply.status}"] if reply.status >= 500 and reply.status != 501 else []
    wrong += [f"no {n}" for n, v in guard.HEADERS.items() if reply.headers.get(n) != v]
    if b"Traceback" in data or b"site-packages" in data:
        wrong.append("it tells of our insides")
    return reply.status, wrong


def requests(s: Served, many: int) -> None:
    made = app.create_app()
    told, faults = Counter[int](), list[tuple[hostile.Asked, list[str]]]()
    slowest = [(0.0, "")]
    memory = {0: s.memory()}
    sent = 0

    @settings(
        max_examples=many,
        deadline=None,
        database=None,
        phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )
    @given(hostile.requests(made, "TOKEN"))
    def go(asked: hostile.Asked) -> None:
        nonlocal sent
        for _ in range(EACH):
            began = time.perf_counter()
            status, wrong = send(s, asked)
            taken = time.perf_counter() - began
            if taken > slowest[0][0]:
                slowest[0] = (taken, f"{asked.method} {asked.path}?{asked.query[:80]}")
            told[status] += 1
            sent += 1
            if wrong:
                faults.append((asked, wrong))
            if sent in (many // 5, many // 2, many):
                memory[sent] = s.memory()

    go()
    print(
        f"requests   {sent}, {sent // EACH} of them different, over {len(list(made.url_map.iter_rules()))} routes: {dict(sorted(told.items()))}"
    )
    print(f"  faults   {len(faults)}")
    for asked, wrong in faults[:5]:
        print(f"    {wrong} {asked}"[:400])
    print(f"  slowest  {slowest[0][0]:.2f} s  {slowest[0][1]}")
    print("  memory   " + ", ".join(f"{v:.0f} MB after {k}" for k, v in memory.items()), flush=True)


def repeated(s: Served, many: int) -> None:
    """The same few honest requests over and over, every one a little different: what grows now is a leak."""
    memory = {}
    for k in range(many):
        s.get(f"/preview?pattern=wristband&measure={150 + k % 97}.{k % 1000:03}&label=n{k}&leather=4-5+oz")
        if k + 1 in (many // 5, many // 2, many):
            memory[k + 1] = s.memory()
    print("previews   " + ", ".join(f"{v:.0f} MB after {k}" for k, v in memory.items()), flush=True)


def trickle(s: Served, connections: int = 200, seconds: float = 40.0) -> None:
    slow = []
    cut = 0
    for k in range(connections):
        c = socket.create_connection(("127.0.0.1", s.port))
        c.sendall(b"POST /job/read HTTP/1.1\r\nHost: x\r\nContent-Length: 9000\r\n\r\n" if k % 2 else b"GET /?x=")
        slow.append(c)
    times, began = [], time.perf_counter()
    while time.perf_counter() - began < seconds:
        asked = time.perf_counter()
        for path in (f"{STATIC}/page.css", "/preview?pattern=wristband&measure=172"):
            status = s.get(path)[0]
            assert status == 200
        times.append(time.perf_counter() - asked)
        for c in list(slow):
            try:
                c.sendall(b"x")
            except OSError:
                slow.remove(c)
                cut += 1
        time.sleep(max(0.0, 1.0 - (time.perf_counter() - asked)))
    print(
        f"trickle    {connections} connections, a byte a second each, for {seconds:.0f} s: a file and a preview meanwhile"
    )
    print(f"  took     {1000 * max(times):.0f} ms at the most; {cut} of the connections were cut off", flush=True)
    for c in slow:
        c.close()


def jobs(s: Served, many: int = 200) -> None:
    pieces = [{"label": f"n{k}", "pattern": "belt", "measure": f"{800 + k} mm"} for k in range(60)]
    body = {"job": {"title": "Flood"}, "pieces": pieces, "kind": "pdf"}
    keys, told, quick, most = [], Counter[int](), [], 0.0
    with ThreadPoolExecutor(20) as pool:
        waiting = [pool.submit(s.post, "/job/make", body) for _ in range(many)]
        while not all(w.done() for w in waiting):
            began = time.perf_counter()
            s.get(f"{STATIC}/page.css")
            quick.append(time.perf_counter() - began)
            most = max(most, s.memory())
            time.sleep(0.05)
        for w in waiting:
            status, answer = w.result()
            told[status] += 1
            if status == 200:
                keys.append(answer["task"])
    for key in keys:
        with suppress(urllib.error.HTTPError):
            s.post(f"/job/task/{key}/cancel", {})
    print(f"jobs       {many} of 60 pieces asked for by 20 at once: {dict(sorted(told.items()))}")
    print(
        f"  a file meanwhile took {1000 * max(quick):.0f} ms at the most; memory at the most {most:.0f} MB", flush=True
    )


def costly(s: Served) -> None:
    sizes = "{" + ",".join(f"{chr(97 + k)}={900 + k}" for k in range(24)) + "}"
    queries = {
        "24 sizes, 192 copies on beds": f"/file/all?pattern=belt&machine=laser&count=8&sizes={sizes}",
        "the braid of 25 strands, both hands": "/braid?strands=25&learners=two",
        "the slips of 13 strands": "/braid/slips?strands=13&hand=right&weave=over",
        "the atlas of 7 strands": "/braid/atlas?strands=7",
        "200 rows checked": "",
    }
    rows = [{"pattern": "wristband", "measure": f"{150 + k / 10} mm"} for k in range(200)]
    print("costliest")
    for name, path in queries.items():
        took, quick = [0.0], []

        def ask(path: str = path, took: list[float] = took) -> None:
            began = time.perf_counter()
            if path:
                s.get(path, 300)
            else:
                s.post("/job/check", {"job": {}, "pieces": rows})
            took[0] = time.perf_counter() - began

        thread = threading.Thread(target=ask)
        thread.start()
        while thread.is_alive():
            began = time.perf_counter()
            s.get(f"{STATIC}/page.css")
            quick.append(time.perf_counter() - began)
            time.sleep(0.02)
        print(f"  {took[0]:6.2f} s  {name}; a file meanwhile {1000 * max(quick):.0f} ms at the most", flush=True)


def main() -> None:
    many = int(sys.argv[1]) if len(sys.argv) > 1 else 10_000
    s = Served()
    try:
        requests(s, many)
        repeated(s, many // 2)
        trickle(s)
        jobs(s)
        costly(s)
        print(f"memory at the end {s.memory():.0f} MB")
    finally:
        s.close()


if __name__ == "__main__":
    main()
