"""A picture of the calibration sheet is measured on the page as ``strapwork scale --picture`` measures it, in the same words."""

from __future__ import annotations

import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import cv2
import numpy as np
import pytest

from strapwork.cli import main as cli
from strapwork.files.folders import Places
from strapwork.printer import picture_file
from strapwork.web import app, pictures, printers_page
from strapwork.web.bounds import Busy
from strapwork.web.pictures import Pictures
from tests.conftest import until
from tests.simulated_pictures import Camera, Truth, kept, photograph

A4 = (210.0, 297.0)
HOST = {"Host": "localhost"}


@pytest.fixture(scope="module")
def photo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A sheet from a printer that is 0.6 % short across, from above."""
    file = tmp_path_factory.mktemp("pictures") / "attic.jpg"
    file.write_bytes(kept(photograph(Truth(0.994, 1.001), Camera(tilt=(2, -1), blur=0.8), A4, 5)))
    return file


@pytest.fixture
def ask(tmp_path: Path) -> Callable[..., Any]:
    client = app.create_app(Places(None, None, tmp_path / "printers.toml")).test_client()
    page = client.get("/", headers=HOST).get_data(as_text=True)
    head = HOST | {"X-Strapwork-Token": page.split('name="strapwork-token" content="')[1].split('"')[0]}

    def send(raw: bytes, said: dict[str, str], file: str = "attic.jpg") -> Any:
        begun = client.post("/printers/picture", json={"size": len(raw)}, headers=head).get_json()
        if "key" not in begun:
            return begun
        for at in range(0, len(raw), 900_000):
            client.post(f"/printers/picture/{begun['key']}", data=raw[at : at + 900_000], headers=head)
        return client.post(
            f"/printers/picture/{begun['key']}/read", json={"file": file, **said}, headers=head
        ).get_json()

    return send


def terminal(capsys: pytest.CaptureFixture[str], *more: str) -> tuple[str, str]:
    capsys.readouterr()
    cli.main(["scale", *more])
    said = capsys.readouterr()
    return said.out, said.err


def test_the_page_says_what_the_terminal_says(
    ask: Callable[..., Any], photo: Path, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    drawn = [
        f"{share * mm:.2f} mm" for share, mm in zip((0.994, 1.001), printers_page.calibration.bars(A4), strict=True)
    ]
    own = tmp_path / "of-the-terminal.toml"
    out, _ = terminal(capsys, "--picture", str(photo), "--bar", *drawn, "--printer", "attic", "--printers", str(own))
    fields = {"printer": "attic", "across": drawn[0], "along": drawn[1]}
    said = ask(photo.read_bytes(), fields)["said"]
    assert said.splitlines()[0] == out.splitlines()[0]
    assert "±" in said
    assert (tmp_path / "printers.toml").read_text(encoding="utf-8") == own.read_text(encoding="utf-8")
    assert sorted(p.name for p in tmp_path.iterdir()) == [
        "of-the-terminal.toml",
        "printers.toml",
    ]  # the picture is nowhere

    # A photograph alone is refused, in the terminal's words with the page's names.
    _, err = terminal(capsys, "--picture", str(photo))
    got = ask(photo.read_bytes(), {"printer": "attic"})["error"]
    assert got == printers_page.on_the_page(err.strip().removeprefix("strapwork: "))
    assert "--" not in got
    assert "paper is not cut more exactly" in got


def test_what_is_no_whole_picture_is_refused_with_its_name_and_costs_little(
    ask: Callable[..., Any], photo: Path
) -> None:
    assert "'notes.txt' is no picture" in ask(b"x" * 2000, {}, "notes.txt")["error"]
    assert "is damaged" in ask(photo.read_bytes()[:-20_000], {})["error"]
    assert "Dots per inch: 'many' is no number" in ask(photo.read_bytes(), {"dpi": "many"})["error"]
    assert "the bar across is missing" in ask(photo.read_bytes(), {"along": "139 mm"})["error"]
    # A small file that would be a very large picture is refused before it is unpacked.
    bomb = cv2.imencode(".png", np.zeros((9000, 9000), np.uint8))[1].tobytes()
    assert len(bomb) < 200_000
    began = time.process_time()
    assert "81 million pixels; give one of 40 million" in ask(bomb, {})["error"]
    assert time.process_time() - began < 1.0


def test_pictures_come_in_parts_few_at_a_time_and_are_forgotten(monkeypatch: pytest.MonkeyPatch) -> None:
    coming = Pictures()
    with pytest.raises(pictures.InputError, match="cannot be read here"):
        coming.begin(pictures.LARGEST + 1)
    one, two = coming.begin(10), coming.begin(10)
    with pytest.raises(Busy):
        coming.begin(10)
    assert coming.add(one, b"12345") == 5
    with pytest.raises(pictures.InputError, match="whole"), coming.whole(one):
        pass
    with pytest.raises(pictures.InputError, match="whole"):
        coming.add(two, b"x" * 11)  # more than was said
    third = coming.begin(3)
    coming.add(third, b"abc")
    with coming.whole(third) as raw:
        assert raw == b"abc"
    with pytest.raises(pictures.InputError, match="whole"), coming.whole(third):
        pass
    coming.begin(3), coming.begin(3)
    monkeypatch.setattr(pictures, "LIFE", -1.0)
    assert coming.begin(3)  # those before it were given up


def test_without_the_extra_the_page_says_so(monkeypatch: pytest.MonkeyPatch, ask: Callable[..., Any]) -> None:
    def missing(place: str) -> Any:
        raise pictures.InputError(place, "reading pictures needs OpenCV and Pillow", "install them")

    monkeypatch.setattr(picture_file, "libraries", missing)
    page = app.create_app(Places()).test_client().get("/printers", headers=HOST).get_data(as_text=True)
    assert "Reading pictures needs OpenCV and Pillow here; install them." in page
    assert 'id="c-file"' not in page
    assert "needs OpenCV" in ask(b"x", {})["error"]


@pytest.mark.browser
def test_a_photograph_is_given_on_the_page(page: Any, server: str, photo: Path) -> None:
    page.goto(f"{server}/printers")
    page.set_input_files("#c-file", photo)
    for name, text in zip(("across", "along"), printers_page.calibration.bars(A4), strict=True):
        page.fill(f"#c-{name}", f"{text * (0.994 if name == 'across' else 1.001):.2f} mm")
    page.keyboard.press("Enter")
    page.wait_for_selector("#picture-said:has-text('across 99.4')")
    until(page, "() => document.activeElement.id === 'picture-said'")
    assert "Not kept" in page.inner_text("#picture-said")
