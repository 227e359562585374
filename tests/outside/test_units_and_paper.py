"""Units and paper against pint's own table, handbook values and published standards."""

from __future__ import annotations

import io

import pint
import pypdf
import pytest
from pypdf import PdfReader

from strapwork import units
from strapwork.drawing import pdf
from strapwork.paper.tiles import Setting, lay_out
from strapwork.piece import piece
from strapwork.stock import patterns as pattern_files
from strapwork.stock.papers import PAPERS
from tests.helpers import order as order_of


def test_our_units_are_pints_own() -> None:
    """Source: pint's default registry (after the SI brochure and NIST SP 811)."""
    theirs = pint.UnitRegistry()
    for name in ("millimeter", "centimeter", "meter", "inch", "foot"):
        assert units.mm_per(name) == pytest.approx(theirs.Quantity(1, name).to("millimeter").magnitude, rel=1e-15)
    assert units.mm_per("inch") == pytest.approx(25.4, rel=1e-15)  # exact by definition, NIST SP 811, App. B


def test_handbook_values_of_the_trade() -> None:
    """Common practice, no source: ounce 1/64 in, iron 1/48 in; the ligne, 40 to the inch, stands in button tables."""
    assert units.mm_per("leather_ounce") == pytest.approx(0.396875, rel=1e-12)
    assert units.mm_per("iron") == pytest.approx(25.4 / 48, rel=1e-12)
    assert 40 * units.mm_per("ligne") == pytest.approx(25.4, rel=1e-12)
    assert units.parse_cap("24 L", place="x") == pytest.approx(15.24)
    assert units.parse_cap("20 L", place="x") == pytest.approx(12.7)


# ISO 216:2007, table of the A series (mm).
ISO_216 = {"A0": (841, 1189), "A1": (594, 841), "A2": (420, 594), "A3": (297, 420), "A4": (210, 297), "A5": (148, 210)}
# ANSI/ASME Y14.1: A 8.5 x 11 in, B 11 x 17 in.  Legal 8.5 x 14 in is customary.
ASME_Y14_1 = {"letter": (8.5, 11), "tabloid": (11, 17)}


def test_papers_are_the_standards() -> None:
    for name, size in ISO_216.items():
        assert PAPERS[name] == size
    for name, inches in ASME_Y14_1.items():
        assert PAPERS[name] == pytest.approx([x * 25.4 for x in inches])


@pytest.mark.parametrize("name", ["A0", "A1", "A2", "A3", "A4", "A5"])
def test_page_boxes_agree_with_pypdfs_table_and_ask_not_to_be_scaled(name: str) -> None:
    """Sources: pypdf's PaperSize table (whole points); ISO 32000-1, 8.3.2.3 (1/72 in) and 12.2 (PrintScaling)."""
    p = piece.work_out(order_of("band", pattern_files.find("wristband", "test"), 172.0))
    reader = PdfReader(io.BytesIO(pdf.write(lay_out([p], Setting(PAPERS[name], "t")), "t")))
    box = reader.pages[0].mediabox
    theirs = getattr(pypdf.PaperSize, name)
    assert sorted((float(box.width), float(box.height))) == pytest.approx([theirs.width, theirs.height], abs=0.6)
    mm = sorted((float(box.width) * 25.4 / 72, float(box.height) * 25.4 / 72))
    assert mm == pytest.approx(ISO_216[name], abs=0.001)
    assert reader.trailer["/Root"]["/ViewerPreferences"]["/PrintScaling"] == "/None"
