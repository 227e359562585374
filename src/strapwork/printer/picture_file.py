"""Pictures from disk or from the page: whole, or refused.

A decoder that shows pictures fills what is missing with grey and goes on, and a
grey stripe can lie where a marker was to be measured.  So the file is taken
apart twice: Pillow checks the sums of a PNG and that nothing is cut off, and
libjpeg is asked for every complaint it would otherwise keep to itself.

OpenCV, Pillow and simplejpeg come with the optional extra ``scan``.
"""

from __future__ import annotations

import io
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from strapwork.catalogue import tr
from strapwork.errors import InputError, shown
from strapwork.files.reading import read_file

LARGEST_FILE = 80_000_000
LEAST_SIDE, MOST_SIDE = 500, 20_000
FORMATS = ("PNG", "JPEG", "TIFF")


def libraries(place: str) -> tuple[Any, Any]:
    """numpy and OpenCV.

    Raises:
        InputError: when the extra is not installed.
    """
    try:
        import cv2
        import numpy as np
        import PIL
        import simplejpeg  # noqa: F401  (needed later; missed here, where it can be said)
    except ImportError as e:
        raise InputError(
            place,
            tr("reading pictures needs OpenCV and Pillow"),
            tr('install them with: pip install "strapwork[scan]"'),
        ) from e
    assert PIL
    return np, cv2


@dataclass(frozen=True, slots=True)
class Picture:
    """A picture's file as it came: its bytes, what it is called in messages, and how many pixels it may have."""

    raw: bytes
    called: str
    most_pixels: int = MOST_SIDE**2


def read(path: Path, place: str) -> Picture:
    """A picture from disk.

    Raises:
        InputError: where there is none, or too large a one.
    """
    return Picture(read_file(path, "picture", LARGEST_FILE, place), str(path))


def load(picture: Picture, place: str) -> Any:
    """The picture in grey, turned upright if the file says how, as an array of bytes.

    Raises:
        InputError: for what is no picture, is damaged, or too small or large.
    """
    np, cv2 = libraries(place)
    _check_whole(picture, place)
    grey = cv2.imdecode(np.frombuffer(picture.raw, dtype=np.uint8), cv2.IMREAD_GRAYSCALE)
    if grey is None:
        raise _damaged(picture, place)
    return grey


def _check_whole(picture: Picture, place: str) -> None:
    import simplejpeg
    from PIL import Image, UnidentifiedImageError

    raw = picture.raw
    try:
        with Image.open(io.BytesIO(raw), formats=FORMATS) as image:
            width, height = image.size
            kind = image.format
    except UnidentifiedImageError as e:
        raise InputError(
            place, tr("{called} is no picture", called=shown(picture.called, 300)), tr("give a PNG, JPEG or TIFF file")
        ) from e
    except Exception as e:  # Pillow's readers fail in as many ways as files can
        raise _damaged(picture, place) from e
    if min(width, height) < LEAST_SIDE or max(width, height) > MOST_SIDE:
        raise InputError(
            place,
            tr("the picture is {width} × {height} pixels", width=width, height=height),
            tr("give 500 to 20000 pixels a side; 2000 or more are best"),
        )
    if width * height > picture.most_pixels:
        raise InputError(
            place,
            tr("the picture has {width:.0f} million pixels", width=width * height / 1e6),
            tr(
                "give one of {most_pixels:.0f} million at the most; a scan at 300 dots per inch is enough",
                most_pixels=picture.most_pixels / 1e6,
            ),
        )
    try:
        with Image.open(io.BytesIO(raw), formats=FORMATS) as image:
            image.verify()
        if kind in ("JPEG", "MPO"):
            simplejpeg.decode_jpeg(raw, "GRAY", strict=True)
        else:
            with Image.open(io.BytesIO(raw), formats=FORMATS) as image:
                image.load()
    except Exception as e:  # see above; whatever it is, the file is not whole
        raise _damaged(picture, place) from e


def _damaged(picture: Picture, place: str) -> InputError:
    return InputError(
        place,
        tr("the picture {called} is damaged", called=shown(picture.called, 300)),
        tr("copy it again from the camera or scanner"),
    )
