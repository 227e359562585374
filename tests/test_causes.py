"""Every finding by its name: at its level where its cause is, and not said where it is not."""

from __future__ import annotations

import re
from dataclasses import dataclass, field, replace
from pathlib import Path

import pytest

from strapwork.cutter import paths
from strapwork.files.folders import Places
from strapwork.geometry.shape import Line, Outline
from strapwork.order import doors
from strapwork.piece import checks, clearances, names
from strapwork.piece.findings import Finding
from strapwork.piece.piece import Piece, work_out
from strapwork.stock import machines
from tests.helpers import HERE

ROOT = Path(__file__).resolve().parents[1]
USUAL = {
    "wristband": "172 mm", "belt": "34 in", "bag-handle": "420 mm", "carrier-handle": "18 in", "key-fob": "90 mm",
    "hat-band": "57 cm", "dog-lead": "1.2 m", "plain-strap": "400 mm", "keeper-loop": "90 mm",
}  # fmt: skip


@dataclass(frozen=True)
class Goods:
    """A pattern of ours, with something changed in its file, and what else is asked."""

    pattern: str = "wristband"
    asked: dict[str, str] = field(default_factory=dict)
    old: str = ""
    new: str = ""

    def piece(self, folder: Path) -> Piece:
        text = (ROOT / "patterns" / f"{self.pattern}.toml").read_text(encoding="utf-8")
        assert self.old in text
        (folder / "own.toml").write_text(text.replace(self.old, self.new) if self.old else text, encoding="utf-8")
        texts = {"pattern": "own", "measure": USUAL[self.pattern], **self.asked}
        return work_out(doors.of_texts(texts, HERE, Places(patterns=folder)).orders[0])


BAND, FOB, HAT = Goods(), Goods("key-fob"), Goods("hat-band")
# Code: level, where its cause is, and the nearest case where it is not.
CAUSES: dict[str, tuple[str, Goods, Goods]] = {
    # Half a fob's width is 7.94 mm, the snap's hole has 1.59 mm radius: 6.35 mm aside it reaches the edge, 4.35 mm leave 2 mm.
    "hole-outside": ("stop", Goods("key-fob", {}, 'half = "cap"', 'half = "cap"\nacross = "6.4 mm"'), FOB),
    "hole-near-edge": (
        "caution",
        Goods("key-fob", {}, 'half = "cap"', 'half = "cap"\nacross = "4.4 mm"'),
        Goods("key-fob", {}, 'half = "cap"', 'half = "cap"\nacross = "4.3 mm"'),
    ),
    # Rivet holes of 3.175 mm and what is left between them: 0.4 and 0.6 mm.
    "holes-touch": (
        "stop",
        Goods("bag-handle", {}, 'at = "-25 mm"', 'at = "-3.57 mm"'),
        Goods("bag-handle", {}, 'at = "-25 mm"', 'at = "-3.78 mm"'),
    ),
    # The cap of 9 mm beside it reaches the hole 5.5 mm off (5.5 - 1.6 < 4.5) but none 25 mm off.
    "hole-under-hardware": ("stop", Goods("bag-handle", {}, 'at = "-25 mm"', 'at = "-5.5 mm"'), Goods("bag-handle")),
    # Lace holes of 3 mm, 4 mm from the middle; slits 2.65 mm from the middle: sqrt(d^2 + 1.35^2) - 1.5 from hole to slit.
    "slit-near-hole": ("caution", Goods("hat-band", {"to_slit": "3.1 mm"}), Goods("hat-band", {"to_slit": "3.3 mm"})),
    # The cap of 12.7 mm lies between two slits, 3.175 mm off the middle: it reaches 5.5 mm along them, and 0.5 mm are kept.
    "slit-under-hardware": ("stop", Goods(asked={"to_slit": "6 mm"}), Goods(asked={"to_slit": "6.2 mm"})),
    "slit-open-end": (
        "stop",
        Goods("plain-strap", {"to_slit": "4.9 mm"}),
        Goods("plain-strap", {"to_slit": "5 mm"}),
    ),
    "strand-thin": (
        "stop",
        Goods(old="[start]", new='[slits]\nat = ["9 mm", "10.9 mm"]\n[start]'),
        Goods(old="[start]", new='[slits]\nat = ["9 mm", "11 mm"]\n[start]'),
    ),
    "strands-uneven": (
        "caution",
        Goods(old="[start]", new='[slits]\nat = ["6 mm", "13 mm"]\n[start]'),
        Goods(old="[start]", new='[slits]\nat = ["6.3 mm", "12.7 mm"]\n[start]'),
    ),
    # A size 20 snap is 12.7 mm across.
    "hardware-too-big": ("stop", Goods(asked={"width": "12.6 mm"}), Goods(asked={"width": "12.7 mm"})),
    "hardware-overhangs": (
        "caution",
        Goods("key-fob", {}, 'half = "cap"', 'half = "cap"\nacross = "1.7 mm"'),
        Goods("key-fob", {}, 'half = "cap"', 'half = "cap"\nacross = "1.5 mm"'),
    ),
    # The narrowest ring over 3/4 in is 1 in: it takes straps down to 21.4 mm without sliding about.
    "hardware-too-wide": ("caution", Goods("carrier-handle", {"width": "21.3 mm"}), Goods("carrier-handle", {"width": "21.5 mm"})),
    # 15 and 40 % of 172 mm are 25.8 and 68.8 mm.
    "ease-wild": ("stop", Goods(asked={"ease": "69 mm"}), Goods(asked={"ease": "68 mm"})),
    "ease-much": ("caution", Goods(asked={"ease": "26 mm"}), Goods(asked={"ease": "25 mm"})),
    # The last rivet of a turned end is 45 mm in, and 8 mm stay beyond it; the slits begin 75 mm in.
    "turned-end-short": ("caution", Goods("carrier-handle", {"to_tip": "52 mm"}), Goods("carrier-handle", {"to_tip": "53 mm"})),
    "turned-end-over-braid": (
        "caution",
        Goods("carrier-handle", {"to_tip": "76 mm"}),
        Goods("carrier-handle", {"to_tip": "75 mm"}),
    ),
    # Strands of 6.35 mm curl under a quarter of it, 1.5875 mm, and are stiff over six tenths, 3.81 mm.
    "strand-curls": ("caution", Goods(asked={"leather": "1.58 mm"}), Goods(asked={"leather": "1.59 mm"})),
    "leather-stiff": (
        "caution",
        Goods("plain-strap", {"leather": "3.9 mm", "width": "19.05 mm", "sets": "1"}),
        Goods("plain-strap", {"leather": "3.8 mm", "width": "19.05 mm", "sets": "1"}),
    ),
    # 8 oz are 3.175 mm.
    "wet-first": ("note", Goods("belt", {"leather": "8 oz"}), Goods("belt", {"leather": "3.17 mm"})),
    "longer-than-a-side": (
        "caution",
        Goods("plain-strap", {"measure": "2201 mm", "sets": "0"}),
        Goods("plain-strap", {"measure": "2200 mm", "sets": "0"}),
    ),
    # A strap that an earlier model of the braid judged has model_mm, one of today's modelled_mm.
    "swatches-earlier": (
        "caution",
        Goods(asked={"take_up": "{swatch = [{what = 's', model_mm = 6.0, measured_mm = 8.0}]}"}),
        Goods(asked={"take_up": "{swatch = [{what = 's', modelled_mm = 8.0, measured_mm = 8.0}]}"}),
    ),
    # Medium leather: easy to 18 degrees, tight to 26; two, three and four sets in a wristband stand at 14, 22 and 30.
    "sets-tight": ("caution", Goods(asked={"sets": "3"}), Goods(asked={"sets": "2"})),
    "sets-very-tight": ("caution", Goods(asked={"sets": "4"}), Goods(asked={"sets": "3"})),
    # sin 4 degrees x p = c: one set of 25.4 mm strap (c = 6.35) is loose over 4 x 91.03 = 364 mm, plus 76.2 mm plain.
    "sets-few": (
        "note",
        Goods("plain-strap", {"measure": "441 mm", "sets": "1"}),
        Goods("plain-strap", {"measure": "440 mm", "sets": "1"}),
    ),
    # A size 20 snap holds up to 2.4 mm.
    "snap-by-stack": ("note", Goods(asked={"leather": "2.5 mm", "width": "25 mm"}), Goods(asked={"leather": "2.4 mm", "width": "25 mm"})),
    "safety-mallet": ("caution", BAND, Goods("keeper-loop")),
    "safety-glue": ("caution", Goods(asked={"backing": "0.4 mm"}), BAND),
    "safety-small-parts": ("caution", BAND, HAT),
    "safety-load": ("caution", Goods("carrier-handle"), BAND),
    "safety-animal": ("caution", Goods("dog-lead"), Goods("carrier-handle")),
    "safety-neck": ("caution", Goods("key-fob", {}, "order = 50", 'order = 50\nhazards = ["neck"]'), FOB),
}  # fmt: skip


def found(p: Piece, code: str) -> list[Finding]:
    return [f for f in p.findings if f.code == code]


@pytest.mark.parametrize("code", CAUSES)
def test_it_is_said_where_its_cause_is_and_not_where_it_is_not(code: str, tmp_path: Path) -> None:
    level, cause, without = CAUSES[code]

    told = found(cause.piece(tmp_path), code)
    assert {f.level for f in told} == {level}
    assert all(f.problem and f.source and (f.remedy or code.startswith(("safety-", "snap-"))) for f in told)
    assert not found(without.piece(tmp_path), code)


def test_every_piece_is_cut_with_a_blade(tmp_path: Path) -> None:
    for pattern in USUAL:
        assert [f.level for f in found(Goods(pattern).piece(tmp_path), "safety-blade")] == ["caution"]


def test_an_outline_that_crosses_itself_is_no_outline(tmp_path: Path) -> None:
    """No order comes to it; a builder of outlines that errs would."""
    strap = BAND.piece(tmp_path).strap
    corners = ((0.0, 0.0), (200.0, 19.05), (200.0, 0.0), (0.0, 19.05))
    bow = Outline(tuple(Line(*a, *b) for a, b in zip(corners, (*corners[1:], corners[0]), strict=True)))
    open_ = Outline(strap.outline.segments[:-1])

    assert not [f for f in clearances.outline(strap) if f.code == "outline"]
    for wrong in (bow, open_):
        told = next(f for f in clearances.outline(replace(strap, outline=wrong)) if f.code == "outline")
        assert told.level == "stop"


def test_slits_that_run_off_the_strap_stop_it(tmp_path: Path) -> None:
    """No order comes to it; a fit that errs would."""
    p = BAND.piece(tmp_path)
    for wrong in (replace(p.fit, slit_end=p.strap.length + 0.1), replace(p.fit, slit_start=-0.1)):
        assert ("stop", "slit-outside") in {(f.level, f.code) for f in clearances.slits(p.strap, wrong)}
    for right in (p.fit, replace(p.fit, slit_end=p.strap.length, slit_start=0.0)):
        assert "slit-outside" not in {f.code for f in clearances.slits(p.strap, right)}


def test_a_finding_says_this_pieces_numbers_and_what_would_do(tmp_path: Path) -> None:
    """Strands of 6.35 mm in 1.5 mm leather: a quarter of 6.35 is 1.59 mm, four times 1.5 mm is 6 mm."""

    def said(code: str, goods: Goods) -> str:
        return found(goods.piece(tmp_path), code)[0].message

    curls = said("strand-curls", Goods(asked={"leather": "1.5 mm"}))
    assert "strands 6.4 mm wide are thin at 1.5 mm" in curls
    assert "back the leather to 1.59 mm or cut strands of 6 mm or narrower" in curls
    # Seen along the strap: a slit of one set in 441 mm of strap.
    assert "1 set on " in said("sets-few", Goods("plain-strap", {"measure": "441 mm", "sets": "1"}))
    assert "2 sets on " in said("sets-few", Goods("plain-strap", {"measure": "900 mm", "sets": "2"}))
    # The row of a carrier's ring: 1 in inside on a strap of 21 mm slides; half a millimetre of play is right.
    assert "make the strap 24.9 mm wide" in said("hardware-too-wide", Goods("carrier-handle", {"width": "21 mm"}))
    assert "is 16 % of it" in said("ease-much", Goods(asked={"ease": "28 mm"}))
    assert "reaches only 7 mm past its last rivet; leave 8 mm or more" in said(
        "turned-end-short", Goods("carrier-handle", {"to_tip": "52 mm"})
    )
    assert "lies 1 mm over the braid" in said("turned-end-over-braid", Goods("carrier-handle", {"to_tip": "76 mm"}))
    uneven = said("strands-uneven", Goods(old="[start]", new='[slits]\nat = ["6 mm", "13 mm"]\n[start]'))
    assert "strands from 6 mm to 7 mm wide" in uneven
    assert "take-up is worked out for strands of 6.4 mm" in uneven
    thin = said("strand-thin", Goods(old="[start]", new='[slits]\nat = ["9 mm", "10.9 mm"]\n[start]'))
    assert "a strand would be 1.9 mm wide" in thin
    loose = said("slit-open-end", Goods("plain-strap", {"to_slit": "4.9 mm"}))
    assert "come within 4.9 mm of the raw end at the start" in loose
    assert "the snap hole 217.8 mm from the start runs off the leather" in said(
        "hole-outside", Goods("key-fob", {"leather": "1.8 mm"}, 'half = "cap"', 'half = "cap"\nacross = "6.4 mm"')
    )


def test_a_cap_that_only_comes_near_a_hole_is_a_caution(tmp_path: Path) -> None:
    """A rivet's cap of 9 mm: the edge of a hole 6.3 mm off (1.59 mm radius) is 4.71 mm from its middle, within half a millimetre."""
    near = Goods("bag-handle", {}, 'at = "-25 mm"', 'at = "-6.3 mm"').piece(tmp_path)
    assert {f.level for f in found(near, "hole-under-hardware")} == {"caution"}
    assert not found(Goods("bag-handle", {}, 'at = "-25 mm"', 'at = "-6.7 mm"').piece(tmp_path), "hole-under-hardware")


@pytest.mark.parametrize(("machine", "bed", "codes"), [
    ("laser", (1300.0, 900.0), {"safety-laser"}),
    ("oscillating-knife", (1300.0, 900.0), set()),
    ("oscillating-knife", (200.0, 200.0), {"fits-no-bed"}),
])  # fmt: skip
def test_what_a_machine_needs_minded(machine: str, bed: tuple[float, float], codes: set[str], tmp_path: Path) -> None:
    m = machines.find(machine, "x").model_copy(update={"bed": bed})
    (told,) = paths.with_cautions([BAND.piece(tmp_path)], m)
    assert {f.code for f in told.findings} & {"safety-laser", "fits-no-bed"} == codes


def test_names_that_look_alike_or_cannot_be_printed_are_named(tmp_path: Path) -> None:
    p = BAND.piece(tmp_path)
    alike = names.checked([replace(p, label="Ada"), replace(p, label="\u0410da"), replace(p, label="Ben")])
    assert [len(found(q, "names-alike")) for q in alike] == [1, 1, 0]
    odd = names.checked([replace(p, label="Ada \U000f1234"), replace(p, label="Ada")])
    assert [len(found(q, "name-not-printable")) for q in odd] == [1, 0]


def test_the_worst_comes_first_and_the_cautions_of_all_work_last(tmp_path: Path) -> None:
    p = Goods("key-fob", {"leather": "1 mm", "sets": "1"}, 'half = "cap"', 'half = "cap"\nacross = "6.4 mm"').piece(
        tmp_path
    )
    order = [(f.is_safety, ("stop", "caution", "note").index(f.level)) for f in p.findings]
    assert order == sorted(order)
    assert order[0] == (False, 0)
    assert order[-1][0]
    assert checks.sorted_findings([*p.findings, *p.findings]) == p.findings


def test_every_finding_of_the_tool_has_its_cause_here() -> None:
    """``load-short`` is in test_findings.py."""
    source = "".join(f.read_text(encoding="utf-8") for f in (ROOT / "src").rglob("*.py"))
    said = set(re.findall(r'Finding\(\s*"(?:stop|caution|note)"[^,]*,\s*"([a-z-]+)"', source))
    said |= {f"safety-{code}" for code in re.findall(r'yield caution\(\s*"([a-z-]+)"', source)}
    here = (ROOT / "tests" / "test_causes.py").read_text(encoding="utf-8")
    assert len(said) > 35
    assert {code for code in said - {"load-short"} if f'"{code}"' not in here} == set()
