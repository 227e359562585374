"""Hostile requests over every route that the page has, as strategies: the suite draws some, the bench ten thousand."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any
from urllib.parse import quote, urlencode

from flask import Flask
from hypothesis import strategies as st
from werkzeug.routing import Rule

from strapwork.order import doors
from strapwork.web import guard

# As WSGI has them: header texts are Latin-1, and may hold no line end.
HEADER_NAMES = (
    "Origin", "Host", "X-Strapwork-Token", "Content-Type", "Accept", "Sec-Fetch-Site", "Range", "If-Modified-Since",
    "If-None-Match", "Cookie", "Referer", "Accept-Language", "X-Forwarded-For", "Content-Length", "Accept-Encoding",
)  # fmt: skip
BARBS = (
    "", "0", "-1", "009999999", "9" * 5000, "1e999", "NaN", "inf", "\0", "a\0b", "\u202e", "\ud800", "x" * 3000, "../../etc/passwd",
    "<script>alert(1)</script>", "{{7*7}}", "%s%n", "{a={a={a=1}}}", "{" + ".".join("a" * 300) + "=1}", "[" * 300, "{", "[{}]",
    "null", "[]", "http://[::1", "null,null", "\t" * 300, "a;b;c", "1/0 in", "19999 mm", "0x10", "٣", "½", "mm", "'", '"', "\\", "true",
    "bytes=99999-1", "bytes=-,", "W/\"", "text/html;q=x", "application/json", "multipart/form-data", "cross-site", "localhost:99999999",
    "3", "13", "25", "wristband", "belt", "172 mm", "17.2 cm", "right", "left", "over", "under", "two", "laser", "A4", "in16",
)  # fmt: skip
EXTRA_FIELDS = (
    "step",
    "learners",
    "done",
    "below",
    "twisted",
    "after",
    "slip",
    "kind",
    "row",
    "text",
    "piece",
    "pieces",
    "job",
)
# Work that is honest and long is left to its own tests: a braid of many strands, all the files of a job.
LONG = {"strands": {"13", "25"}, "sets": {"25", "13"}, "count": {"13", "25"}}
GOOD_PIECE = {"pattern": "wristband", "measure": "172 mm"}


@dataclass(frozen=True)
class Asked:
    """One request."""

    method: str
    path: str
    query: str
    headers: Mapping[str, str]
    body: bytes

    def send(self, client: Any) -> Any:
        headers = {"Host": "localhost"} | dict(self.headers)
        return client.open(
            self.path,
            method=self.method,
            query_string=self.query,
            headers=headers,
            data=self.body,
            environ_overrides={"CONTENT_LENGTH": str(len(self.body))},
        )


def _header(text: str) -> str:
    return "".join(ch for ch in text if ch not in "\r\n\0").encode("latin-1", "replace").decode("latin-1")


barbs = st.sampled_from(BARBS) | st.text(max_size=12)
values = st.recursive(
    barbs | st.none() | st.booleans() | st.integers() | st.floats() | st.just(10**400),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(barbs, inner, max_size=3),
    max_leaves=6,
)
fields = st.sampled_from((*doors.ONE_PIECE_KEYS, *EXTRA_FIELDS))
pieces = st.builds(
    lambda good, odd: (GOOD_PIECE if good else {}) | odd, st.booleans(), st.dictionaries(fields, values, max_size=3)
)
documents = st.builds(
    lambda job, rows, odd: {"job": job, "pieces": rows, "piece": rows[0] if rows else None} | odd,
    st.dictionaries(fields, values, max_size=2),
    st.lists(pieces, max_size=2),
    st.dictionaries(st.sampled_from(("kind", "text", "piece", "pieces", "job")), values, max_size=2),
)


def _json(value: Any) -> bytes:
    if sum(len(v) if isinstance(v, list) else 0 for v in value.values()) > 50:
        return b"{}"
    return json.dumps(value).encode("utf-8", "surrogatepass")


bodies = st.one_of(
    documents.map(_json),
    values.map(lambda v: json.dumps(v).encode("utf-8", "surrogatepass")),
    barbs.map(lambda t: t.encode("utf-8", "surrogatepass")),
    st.binary(max_size=40),
    st.sampled_from(
        (
            b"",
            b"[" * 100_000,
            b'{"a":' * 2000,
            b"title = 1\n[[pieces]]\n",
            b"a." * 5000 + b"=1",
            b"\xff\xfe",
            b"\0" * 99,
        )
    ),
)
headers = st.dictionaries(st.sampled_from(HEADER_NAMES), barbs.map(_header), min_size=1, max_size=2)
GOOD_QUERIES = (
    {},
    {"pattern": "wristband", "measure": "172"},
    {"strands": "3", "hand": "right", "weave": "over", "done": "2 turns"},
)


def _query(good: Mapping[str, str], odd: Mapping[str, str]) -> str:
    return urlencode({k: v for k, v in (good | odd).items() if v not in LONG.get(k, ())}, errors="surrogatepass")


queries = st.builds(_query, st.sampled_from(GOOD_QUERIES), st.dictionaries(fields, barbs, max_size=3)) | st.text(
    max_size=20
).map(lambda t: quote(t, safe="&=%+;", errors="surrogatepass"))


@st.composite
def requests(draw: st.DrawFn, app: Flask, token: str) -> Asked:
    """A request of any route of ``app``, its parts drawn apart; most carry the page's token and a fitting method."""
    rule: Rule = draw(st.sampled_from(sorted(app.url_map.iter_rules(), key=str)))
    parts = {name: draw(barbs | st.sampled_from(("pdf", "job", "belt", "page.css"))) for name in sorted(rule.arguments)}
    path = "".join(quote(parts[text], errors="surrogatepass") if dynamic else text for dynamic, text in _trace(rule))
    own = "POST" if "POST" in (rule.methods or ()) else "GET"
    method = draw(st.sampled_from((own,) * 12 + ("GET", "HEAD", "POST", "OPTIONS", "DELETE", "TRACE", "XYZZY")))
    sent = {"X-Strapwork-Token": token, "Content-Type": "application/json"} if draw(st.integers(0, 7)) else {}
    if not draw(st.integers(0, 3)):
        sent |= draw(headers)
    return Asked(method, path, draw(queries), sent, draw(bodies) if method == "POST" else b"")


def _trace(rule: Rule) -> list[tuple[bool, str]]:
    """A rule's address in parts: (whether it is a variable, its name or the text as it stands)."""
    out: list[tuple[bool, str]] = []
    for part in rule.rule.replace(">", "<").split("<"):
        name = part.rpartition(":")[2]
        out.append((True, name) if len(out) % 2 else (False, part))
    return out


def faults(reply: Any) -> list[str]:
    """What is wrong with an answer, whatever was asked."""
    out = [f"status {reply.status_code}"] if reply.status_code >= 500 else []
    out += [f"no {name}" for name, value in guard.HEADERS.items() if reply.headers.get(name) != value]
    if "Cache-Control" not in reply.headers:
        out.append("no Cache-Control")
    if reply.status_code != 304 and reply.data and not reply.content_type:
        out.append("no Content-Type")
    if b"Traceback" in reply.data or b"site-packages" in reply.data:
        out.append("it tells of our insides")
    return out


def token_of(client: Any) -> str:
    """The token that the page hands to its own scripts."""
    page = client.get("/job", headers={"Host": "localhost"}).get_data(as_text=True)
    return str(page.split('name="strapwork-token" content="')[1].split('"')[0])
