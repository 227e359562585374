"""What keeps the page safe: which Host may ask, which requests may change something, what a page may load."""

from __future__ import annotations

import hmac
import ipaddress
import re
import secrets
import socket
from urllib.parse import urlsplit

from flask import Flask, Request, Response, abort, g, request

from strapwork.catalogue import tr
from strapwork.web import bodies
from strapwork.web.bounds import Gate

MOST_UPLOAD = 1_000_000
METHODS = ("GET", "HEAD", "POST")
POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; connect-src 'self'; font-src 'self'; "
    "form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)
HEADERS = {
    "Content-Security-Policy": POLICY,
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "no-referrer",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
}
# What answers at once, whatever is asked; every other route, and every new one, waits for a place.
QUICK = frozenset({"static", "piece", "preview", "pattern", "job_page", "job_state", "job_cancel"})
_HOST = re.compile(r"(?:[A-Za-z0-9._-]{1,253}|\[[0-9A-Fa-f:.]{2,45}\])(?::[0-9]{1,5})?")


def is_loopback(host: str) -> bool:
    """Whether a bind address is reached from this machine only."""
    if host == "localhost":
        return True
    try:
        return ipaddress.ip_address(host.strip("[]")).is_loopback
    except ValueError:
        return False


def host_allowed(header: str, bound: str) -> bool:
    """Whether a Host header is one that a page of ours can have been opened under.

    A name that an attacker's own server resolves to this machine (rebinding) is
    never an address and never this machine's name.
    """
    try:
        name = urlsplit(f"//{header}").hostname or ""
    except ValueError:
        return False
    if name == "localhost":
        return True
    try:
        address = ipaddress.ip_address(name)
    except ValueError:
        return not is_loopback(bound) and name.lower() == socket.gethostname().lower()
    return address.is_loopback or not is_loopback(bound)


def protect(app: Flask, bound: str) -> str:
    """Install all guards on an app; returns the token that changing requests must carry."""
    token = secrets.token_urlsafe(24)
    app.config["MAX_CONTENT_LENGTH"] = MOST_UPLOAD
    gate = app.extensions["strapwork-gate"] = Gate()

    @app.before_request
    def check() -> None:
        if not _HOST.fullmatch(request.host):
            abort(400, tr("The request names no host that there can be."))
        if not host_allowed(request.host, bound):
            abort(
                421,
                tr("This address is not served here; open the page under the address that 'strapwork serve' printed."),
            )
        if request.method not in METHODS:
            abort(405)
        bodies.refuse_overlong(request)
        if _from_another_page(request):
            abort(403, tr("This request comes from another page."))
        if request.method == "POST":
            _check_change(request, token)

    @app.before_request
    def take_a_place() -> None:
        if request.endpoint is not None and request.endpoint not in QUICK:
            asker = request.remote_addr or ""
            gate.enter(asker)
            g.asker = asker

    @app.teardown_request
    def give_it_back(_: BaseException | None) -> None:
        asker = g.pop("asker", None)
        if asker is not None:
            gate.leave(asker)

    @app.after_request
    def seal(response: Response) -> Response:
        response.headers.update(HEADERS)
        response.headers.setdefault("Cache-Control", "no-store")
        if response.status_code == 405:
            known = getattr(request.routing_exception, "valid_methods", None) or METHODS
            response.headers["Allow"] = ", ".join(m for m in METHODS if m in known)
        if response.mimetype == "application/json" and response.status_code == 200:
            # Data are for scripts of the page; opened by hand they are a file to keep, never a page.
            response.headers.setdefault("Content-Disposition", 'attachment; filename="answer.json"')
        return response

    return token


def _from_another_page(r: Request) -> bool:
    """Whether a page of another origin asks for more than to be left for one of ours (Fetch Metadata).

    Browsers say so themselves, and no script can change what they say.
    """
    site = r.headers.get("Sec-Fetch-Site", "none")
    if site in ("same-origin", "none"):
        return False
    follows_a_link = r.headers.get("Sec-Fetch-Mode") == "navigate" and r.headers.get("Sec-Fetch-Dest") == "document"
    return not (r.method == "GET" and follows_a_link)


def _check_change(r: Request, token: str) -> None:
    origin = r.headers.get("Origin")
    if origin is not None and _netloc(origin) != r.host:
        abort(403, tr("This request comes from another page."))
    # Bytes: compare_digest takes no text beyond ASCII.
    given = r.headers.get("X-Strapwork-Token", "").encode("utf-8", "replace")
    if not hmac.compare_digest(given, token.encode()):
        abort(403, tr("This request did not come from the page; reload it."))


def _netloc(origin: str) -> str:
    """The host and port that an Origin names; empty where it names none."""
    try:
        return urlsplit(origin).netloc
    except ValueError:
        return ""
