"""What a good foreman says: each finding where its cause is, and not where it is not."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

import pytest

from strapwork.errors import InputError
from strapwork.files.folders import Places
from strapwork.job import job as jobs
from strapwork.order import doors
from strapwork.piece import load
from strapwork.piece.companions import with_companions
from strapwork.piece.piece import Piece
from strapwork.piece.piece import work_out as worked_out
from strapwork.stock.printers import Printer
from strapwork.units import parse_length, parse_thickness
from tests.helpers import HERE

Draft = Callable[..., Piece]
PATTERNS = Path(__file__).resolve().parents[1] / "patterns"


def piece(**texts: str) -> Piece:
    return with_companions(doors.of_texts({"units": "mm", **texts}, HERE, Places()).orders[0])[0]


def codes(p: Piece) -> set[str]:
    return {f.code for f in p.findings}


def own(tmp_path: Path, old: str, new: str, base: str = "wristband") -> Places:
    """A pattern of the maker's own: one of ours with something changed."""
    text = (PATTERNS / f"{base}.toml").read_text(encoding="utf-8")
    assert old in text
    (tmp_path / "own.toml").write_text(text.replace(old, new), encoding="utf-8")
    return Places(patterns=tmp_path)


def drafted(places: Places, **texts: str) -> Piece:
    return with_companions(doors.of_texts({"pattern": "own", "units": "mm", **texts}, HERE, places).orders[0])[0]


@pytest.mark.parametrize("count", range(1, 13))
def test_one_hole_is_at_the_belts_measure_whatever_their_number(count: int) -> None:
    """Size is from the buckle's bar to the middle hole (common practice, no source): 863.6 mm for 34 in."""
    p = piece(pattern="belt", measure="34 in", holes=str(count))
    start = p.pattern.start.to_tip
    # On the flat strap the measure is longer by the turn at the bar and the take-up.
    places = [
        h.x - start - (p.fit.reference_to_reference - p.fit.finished) for h in p.strap.holes if h.purpose != "rivet"
    ]
    assert min(abs(x - 863.6) for x in places) < 1e-6


def test_slits_through_both_raw_ends_are_refused() -> None:
    with pytest.raises(InputError, match="leave loose strips; leave 5 mm or more"):
        piece(pattern="keeper-loop", measure="90 mm", strands="3", sets="2", width="20 mm")


def test_slits_a_hairs_breadth_apart_are_refused(tmp_path: Path) -> None:
    places = own(tmp_path, "[start]", '[slits]\nat = ["9 mm", "9.3 mm"]\n\n[start]')
    with pytest.raises(InputError, match=r"a strand would be 0\.3 mm wide"):
        drafted(places, measure="172 mm")


def test_strands_of_uneven_width_are_named(tmp_path: Path) -> None:
    places = own(tmp_path, "[start]", '[slits]\nat = ["5 mm", "13 mm"]\n\n[start]')
    assert "strands-uneven" in codes(drafted(places, measure="172 mm"))
    assert "strands-uneven" not in codes(piece(pattern="wristband", measure="172 mm"))


def test_a_relief_hole_under_a_caps_edge_is_found() -> None:
    """Relief hole 6.19 mm from a snap whose cap reaches 6.35 mm: to_slit 6.19 + 2 / 2 mm off, and a strap of three strands
    whose middle lies between two slits."""
    with pytest.raises(InputError, match=r"a slit would run under the snap cap|hole .* lies"):
        piece(pattern="wristband", measure="172 mm", relief="2 mm", to_slit="5 mm")
    close = piece(pattern="wristband", measure="172 mm", relief="2 mm", to_slit="7 mm")
    assert {"hole-under-hardware", "slit-near-hole"} & codes(close)
    assert "hole-under-hardware" not in codes(piece(pattern="wristband", measure="172 mm", relief="2 mm"))


def test_a_relief_hole_just_under_a_cap_is_found_where_the_slit_is_not() -> None:
    """Holes of 2 mm at the slits' ends, 6.19 mm from the middle of a snap whose cap reaches 6.35 mm (a size 20 snap, 12.7 mm)."""
    across = 19.05 / 6.0
    to_slit = (6.19**2 - across**2) ** 0.5
    places = doors.of_texts(
        {"pattern": "wristband", "measure": "172 mm", "relief": "2 mm", "to_slit": f"{to_slit:.6f} mm"}, HERE, Places()
    )
    found = [f for f in worked_out(places.orders[0]).findings if f.code == "hole-under-hardware"]
    assert len(found) == 2  # one at either end, for both slits
    assert {f.level for f in found} == {"stop"}
    assert all("6.2 mm from the middle of the snap cap, which reaches 6.4 mm" in f.message for f in found)


def test_slits_that_run_off_a_pointed_end_are_refused() -> None:
    """On a strap 25 mm wide with a tip of its own depth the outer slits meet the edge before the middle does."""
    texts = {"pattern": "plain-strap", "measure": "600 mm", "strands": "5", "sets": "2", "ends": "pointed"}
    with pytest.raises(InputError, match=r"the slits come within 0 mm of the raw end at the start"):
        piece(**texts, to_slit="6 mm")
    assert piece(**texts, to_slit="38 mm").strap.slits
    assert piece(**{**texts, "ends": "square"}, to_slit="6 mm").strap.slits


def test_a_hole_is_called_by_its_name_once() -> None:
    with pytest.raises(InputError, match=r"the lace hole −?[\d.]+ mm from the start runs off the leather"):
        piece(pattern="hat-band", measure="570 mm", width="8 mm")


@pytest.mark.parametrize("units", ["mm", "in"])
@pytest.mark.parametrize("width", ["15 mm", "19.05 mm", "31.3 mm"])
def test_what_is_said_against_curling_stops_it(units: str, width: str) -> None:
    texts = {"pattern": "plain-strap", "measure": "570 mm", "leather": "0.9 mm", "width": width, "units": units}
    thin = jobs.work_out(doors.of_texts(texts, HERE, Places()))[0]
    said = next(f for f in thin.findings if f.code == "strand-curls").remedy
    found = re.search(r"back the leather to (.+) or cut strands of (.+) or narrower", said)
    assert found
    backing = f"{parse_thickness(found[1], place='x').mid - 0.9:.9f} mm"
    narrow = f"{3 * parse_length(found[2], place='x'):.9f} mm"
    for more in ({"backing": backing}, {"width": narrow}):
        assert "strand-curls" not in codes(jobs.work_out(doors.of_texts({**texts, **more}, HERE, Places()))[0])


def test_one_set_is_one_and_cannot_be_one_fewer() -> None:
    """A carrier handle of 200 mm: one set, steeper than firm leather takes."""
    one = piece(pattern="carrier-handle", measure="200 mm")
    found = next(f for f in one.findings if f.code == "sets-tight")
    assert one.fit.braid
    assert one.fit.braid.sets == 1
    assert found.message.startswith("1 set stands at 2")
    assert "fewer" not in found.remedy


def test_a_size_that_only_some_posts_take_is_left_to_the_tool(tmp_path: Path) -> None:
    """One rivet goes through 2.4 + 1.6 mm, the other through 2.4 + 6 mm, and no one size holds both."""
    places = own(tmp_path, 'at = "-25 mm"\nonto = "1.6 mm"', 'at = "-25 mm"\nonto = "6 mm"', "bag-handle")
    with pytest.raises(InputError, match="or name no size, so that each gets its own"):
        drafted(places, measure="500 mm", leather="2.4 mm", hardware="rivet-6")
    sizes = {f.size.name for f in drafted(places, measure="500 mm", leather="2.4 mm").strap.fittings if f.size}
    assert len(sizes) == 2


def test_an_ease_that_is_no_fit_is_refused_or_questioned() -> None:
    with pytest.raises(InputError, match="an ease of 100 mm on a wrist of 170 mm is no fit"):
        piece(pattern="wristband", measure="17 cm", ease="10 cm")
    inches = doors.of_texts({"pattern": "wristband", "measure": "6 3/4", "ease": "10", "units": "in"}, HERE, Places())
    with pytest.raises(InputError, match="an ease of 10 in on a wrist"):
        jobs.work_out(inches)
    assert "ease-much" in codes(piece(pattern="wristband", measure="17 cm", ease="40 mm"))
    assert not {c for c in codes(piece(pattern="wristband", measure="17 cm")) if c.startswith("ease")}


def test_a_load_short_of_its_factor_says_what_would_meet_it() -> None:
    short = piece(pattern="plain-strap", measure="400 mm", width="20 mm", leather="2 mm", load="12 kg")
    found = next(f for f in short.findings if f.code == "load-short")
    assert found.level == "caution"
    width = re.search(r"make it ([\d.]+ mm) wide", found.remedy)
    thickness = re.search(r"use leather ([\d.]+ mm) thick", found.remedy)
    assert width or thickness
    for key, offered in (("width", width), ("leather", thickness)):
        if offered:
            texts = {
                "pattern": "plain-strap",
                "measure": "400 mm",
                "width": "20 mm",
                "leather": "2 mm",
                "load": "12 kg",
            }
            again = piece(**{**texts, key: offered.group(1)})
            assert "load-short" not in codes(again)
            assert load.estimate(again).margin >= 8.0 - 1e-9  # type: ignore[operator]
    light = piece(pattern="plain-strap", measure="400 mm", width="20 mm", leather="2 mm", load="1 kg")
    assert "load-short" not in codes(light)


def test_a_handle_for_twelve_kilos_is_told_how_many_posts_it_wants() -> None:
    """Two rivets bear 2 x 3.2 mm x 3.2 mm x 8 N/mm2 = 164 N, 1.4 times 12 kg; eight times 118 N want 12 of them, and a strap
    of (w - 3.2 mm) x 3.2 mm x 8 N/mm2 >= 941 N at the hole, w >= 40 mm."""
    short = piece(pattern="bag-handle", measure="500 mm", load="12 kg")
    found = next(f for f in short.findings if f.code == "load-short")
    assert found.level == "caution"
    said = re.search(r"set (\d+) posts instead of 2 at each end .* and make it ([\d.]+ mm) wide", found.remedy)
    assert said
    assert int(said[1]) == 12
    wide = piece(pattern="bag-handle", measure="500 mm", load="12 kg", width=said[2])
    need = 8.0 * 12.0 * 9.80665
    for s in load.estimate(wide).sections:
        assert s.newtons * (int(said[1]) / s.posts if s.posts else 1.0) >= need
    narrower = piece(pattern="bag-handle", measure="500 mm", load="12 kg", width="39 mm")
    assert min(s.newtons for s in load.estimate(narrower).sections if not s.posts) < need
    light = re.search(r"hang no more than ([\d.]+ kg) on it", found.remedy)
    assert light
    assert "load-short" not in codes(piece(pattern="bag-handle", measure="500 mm", load=light[1]))


@pytest.mark.parametrize("units", ["mm", "in", "in16"])
@pytest.mark.parametrize(
    ("pattern", "measure"), [("key-fob", "120 mm"), ("plain-strap", "400 mm"), ("bag-handle", "400 mm")]
)
def test_what_would_carry_the_load_does_so_as_it_is_printed(units: str, pattern: str, measure: str) -> None:
    texts = {"pattern": pattern, "measure": measure, "load": "6 kg", "leather": "2 mm", "units": units}
    short = jobs.work_out(doors.of_texts(texts, HERE, Places()))[0]
    said = next(f for f in short.findings if f.code == "load-short").remedy
    offers = [
        ("width", r"(?:^|, )make it (.+?) wide"),
        ("leather", r"use leather (.+?) thick"),
        ("load", r"than (.+?) on it"),
    ]
    typed = [(key, found[1]) for key, form in offers if (found := re.search(form, said))]
    assert typed
    for key, value in typed:
        assert "load-short" not in codes(jobs.work_out(doors.of_texts({**texts, key: value}, HERE, Places()))[0])


def test_a_lead_is_as_long_as_asked_to_the_outside_of_its_loop() -> None:
    """From the hook's bar to the far end of the hand loop: mid-line of the finished strap to the fold, one thickness
    short of the loop's outside; the strap used up to the fold is a quarter circle of half the thickness beyond its middle.
    1200 mm, 3.4 mm leather: 1200 - 3.4 = 1196.6 mm between bar and fold."""
    p = piece(pattern="dog-lead", measure="1200 mm", leather="3.4 mm")
    assert p.fit.finished == pytest.approx(1200.0 - 3.4)


def test_nothing_open_is_said_in_a_whole_sentence() -> None:
    from strapwork.say import lengths

    keeper = piece(pattern="keeper-loop", measure="88 mm")
    assert lengths.band(keeper, "mm").endswith("mm exactly; nothing in this piece leaves the length open.")


def test_a_hat_band_in_soft_leather_is_not_set_to_work_for_a_week() -> None:
    """Unasked, soft leather gets no more sets than medium would, and so no wider a band of the cut length: it was 78 mm.

    What mechanics says of three strands widened its long end; an inch and three quarters is what is left.
    """
    soft = piece(pattern="hat-band", measure="57 cm", leather="1.6 mm", temper="soft")
    medium = piece(pattern="hat-band", measure="57 cm", leather="1.6 mm", temper="medium")
    assert soft.fit.braid
    assert medium.fit.braid
    assert soft.fit.braid.sets == medium.fit.braid.sets
    assert soft.fit.high - soft.fit.low == pytest.approx(medium.fit.high - medium.fit.low)
    assert soft.fit.high - soft.fit.low < 44.5


@pytest.mark.parametrize("paper", ["A0", "A4", "letter"])
def test_a_corrected_sheet_keeps_its_square_on_the_paper(paper: str, tmp_path: Path) -> None:
    """98.5 %: the edge of the printable part moves outwards by 1.52 % of half the sheet; the square starts so much further in."""
    from strapwork.stock import printers

    kept = tmp_path / "printers.toml"
    printers.store(kept, Printer("attic", 0.985, 0.985))
    texts = {"pattern": "wristband", "measure": "172 mm", "paper": paper, "printer": "attic", "card": "none"}
    result = jobs.make(doors.of_texts(texts, HERE, Places(printers=kept)))
    sheet = result.sheets[0]
    corner = min(
        (
            q.segments[0].start
            for placed in sheet.placed
            for q in placed.drawing
            if getattr(q, "role", "") == "calibration"
        ),
        default=None,
    )
    assert corner is not None
    for at, side in zip(corner, (sheet.width, sheet.height), strict=True):
        assert side / 2.0 + (at - side / 2.0) / 0.985 >= 3.0


def test_a_slot_takes_its_leather_from_the_strands_and_the_fit_knows(tmp_path: Path) -> None:
    """A 1 mm slot twice in a 19.05 mm strap leaves strands of (19.05 - 2) / 3 = 5.683 mm: less take-up than 6.35 mm."""
    (tmp_path / "machines").mkdir()
    table = (PATTERNS / "machines" / "laser.toml").read_text(encoding="utf-8")
    slotted = re.sub(r'slits = "line".*', 'slits = "slot"\nslot_width = "1 mm"', table)
    assert slotted != table
    (tmp_path / "machines" / "slotter.toml").write_text(slotted, encoding="utf-8")
    texts = {"pattern": "wristband", "measure": "172 mm", "leather": "1.8 mm", "tannage": "vegetable"}
    plain = piece(**texts)
    slots = with_companions(doors.of_texts({**texts, "machine": "slotter"}, HERE, Places(patterns=tmp_path)).orders[0])[
        0
    ]
    narrow = piece(**texts, width=f"{3 * (19.05 - 2) / 3:.6f} mm")
    assert slots.fit.take_up == pytest.approx(narrow.fit.take_up, rel=1e-6)
    assert slots.fit.take_up < plain.fit.take_up
