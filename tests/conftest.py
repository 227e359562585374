"""Shared helpers: pieces of the workshop's own scenario, drafted once."""

from __future__ import annotations

import os
import shutil
import sys
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import settings

from strapwork import units
from strapwork.piece import piece
from strapwork.stock import patterns as pattern_files
from strapwork.stock.leather import Leather

ROOT = Path(__file__).resolve().parents[1]
SAMPLES = ROOT / "samples"

settings.register_profile("suite", deadline=None, max_examples=60, derandomize=True)
settings.load_profile("suite")


@pytest.fixture(scope="session")
def draft() -> Callable[..., piece.Piece]:
    """Draft one piece from texts, as the command line does."""

    def make(
        pattern: str, measure: str, leather: str | None = None, temper: str = "medium", **more: object
    ) -> piece.Piece:
        r = pattern_files.find(pattern, "test")
        hide = Leather(units.parse_thickness(leather, place="test"), temper) if leather else None
        value = units.parse_length(measure, place="test")
        return piece.work_out(piece.Order(label=r.title, pattern=r, value=value, leather=hide, place="test", **more))  # type: ignore[arg-type]

    return make


@pytest.fixture(scope="session")
def chromium() -> str:
    """Path of a Chromium; its absence is loud, and in CI a failure."""
    for name in ("chromium", "chromium-browser", "google-chrome"):
        path = shutil.which(name)
        if path:
            return path
    if os.environ.get("CI"):
        pytest.fail("CI must have a Chromium; .ci/run installs it")
    print("WARNING: no Chromium on this machine, browser checks are skipped", file=sys.stderr)
    pytest.skip("no Chromium on this machine")
