"""What keeps the page safe: which Host may ask, which requests may change something, what a page may load."""

from __future__ import annotations

import hmac
import ipaddress
import secrets
import socket
from urllib.parse import urlsplit

from flask import Flask, Request, Response, abort, request

MOST_UPLOAD = 1_000_000
POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; connect-src 'self'; font-src 'self'; "
    "form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)


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
    name = urlsplit(f"//{header}").hostname or ""
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

    @app.before_request
    def check() -> None:
        if not host_allowed(request.host, bound):
            abort(
                421, "This address is not served here; open the page under the address that 'strapwork serve' printed."
            )
        if request.method not in ("GET", "HEAD"):
            _check_change(request, token)

    @app.after_request
    def seal(response: Response) -> Response:
        response.headers["Content-Security-Policy"] = POLICY
        response.headers["X-Content-Type-Options"] = "nosniff"
        response.headers["Referrer-Policy"] = "no-referrer"
        response.headers["Cross-Origin-Opener-Policy"] = "same-origin"
        response.headers["Cross-Origin-Resource-Policy"] = "same-origin"
        response.headers.setdefault("Cache-Control", "no-store")
        return response

    return token


def _check_change(r: Request, token: str) -> None:
    origin = r.headers.get("Origin")
    if origin is not None and urlsplit(origin).netloc != r.host:
        abort(403, "This request comes from another page.")
    if not hmac.compare_digest(r.headers.get("X-Strapwork-Token", ""), token):
        abort(403, "This request did not come from the page; reload it.")
