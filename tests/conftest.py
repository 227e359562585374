"""Shared helpers: pieces of the workshop's own scenario, drafted once."""

from __future__ import annotations

import os
import shutil
import sys
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import settings

from strapwork.files.folders import Places
from strapwork.order import doors
from strapwork.piece import piece
from tests.helpers import HERE

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
        asked = {k: v for k, v in more.items() if v is not None}
        if leather is not None:
            asked |= {"leather": leather, "temper": temper}
        texts = {"pattern": pattern, "measure": measure, "units": "mm", **asked}
        return piece.work_out(doors.of_texts(texts, HERE, Places()).orders[0])

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
