"""Answers go out compressed where the browser takes it: the page is mostly words and drawings."""

from __future__ import annotations

import gzip

from flask import Flask, Response, request

LEAST = 1200
KINDS = ("text/", "application/json", "image/svg+xml", "application/javascript")


def install(app: Flask) -> None:
    """Compress what is text and worth it."""

    @app.after_request
    def shrink(response: Response) -> Response:
        response.vary.add("Accept-Encoding")
        if (
            response.status_code != 200
            or request.accept_encodings.quality("gzip") <= 0
            or not (response.mimetype or "").startswith(KINDS)
            or "Content-Encoding" in response.headers
        ):
            return response
        response.direct_passthrough = False
        raw = response.get_data()
        if len(raw) < LEAST:
            return response
        response.set_data(gzip.compress(raw, 5))
        response.headers["Content-Encoding"] = "gzip"
        return response
