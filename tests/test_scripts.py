"""Names in every script: printed, searchable, never two alike, and said when they cannot be."""

from __future__ import annotations

import io
import json
import re
import shutil
import subprocess
import unicodedata
import xml.etree.ElementTree as ET
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pypdfium2
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from pypdf import PdfReader
from pypdf.generic import IndirectObject

from strapwork import characters
from strapwork.characters import tidy
from strapwork.drawing import fonts, outlines, pdf, scripts, svg
from strapwork.drawing.primitives import Layer, Placed, Sheet, Text
from strapwork.errors import shown
from strapwork.job import job as jobs
from strapwork.piece import names
from tests.helpers import read_job

NAMES = {
    "han": "山田 太郎",
    "simplified": "刘洋",
    "traditional": "劉備",
    "beyond the first plane": "𠮷野",
    "kana": "さくら ナカムラ",
    "hangul": "김민수",
    "hangul in letters": "\u1112\u1161\u11ab",
    "arabic": "محمد علي",
    "arabic with vowels": "مُحَمَّد",
    "persian with a joiner": "می\u200cخواهم",
    "hebrew": "דוד כהן",
    "hebrew with points": "שָׁלוֹם",
    "devanagari": "क्षत्रिय शर्मा",
    "bengali": "অমিত",
    "tamil": "தமிழ்",
    "thai": "สมชาย น้ำ",
    "khmer": "សុខា",
    "georgian": "გიორგი",
    "armenian": "Արմեն",
    "ethiopic": "አበበ",
    "emoji": "🧵😀 kit",
    "vietnamese": "Nguyễn Thị",
    "accents apart": "Rene\u0301 q\u0303",
    "cyrillic": "Ёлка",
    "mixed": "Sara 山田 · x 3",
}
HEBREW, ARABIC = "דוד", "محمد"


def one_line(text: str, size: float = 8.0, **more: object) -> Sheet:
    return Sheet(210.0, 40.0, "A", (Placed((Text(10.0, 20.0, text, size, Layer.LABELS, **more),)),))  # type: ignore[arg-type]


def written(text: str, **more: object) -> bytes:
    return pdf.write([one_line(text, **more)], text)


def read_pdfium(data: bytes) -> str:
    return pypdfium2.PdfDocument(data)[0].get_textpage().get_text_range().strip()


def read_pypdf(data: bytes) -> str:
    return PdfReader(io.BytesIO(data)).pages[0].extract_text().strip()


def read_poppler(data: bytes, tmp_path: Path) -> str:
    program = shutil.which("pdftotext")
    if program is None:
        pytest.skip("no pdftotext on this machine")
    path = tmp_path / "line.pdf"
    path.write_bytes(data)
    done = subprocess.run([program, "-enc", "UTF-8", str(path), "-"], capture_output=True, check=True)
    # poppler sets marks of direction round what it turned.
    return re.sub("[\u200e\u200f\u202a-\u202e]", "", done.stdout.decode()).strip()


def ink(data: bytes, scale: float = 4.0) -> tuple[int, int, int, int] | None:
    """The box of everything dark on the page, in pixels from the upper left."""
    from PIL import ImageOps

    picture = pypdfium2.PdfDocument(data)[0].render(scale=scale).to_pil().convert("L")
    return ImageOps.invert(picture).point(lambda v: 255 if v > 60 else 0).getbbox()


def notdef(face: int, strong: bool) -> str:
    return outlines.inked(scripts.Cluster("", face, strong, ((0, 0.0, 0.0),), 0.0)).path


@pytest.fixture
def bare(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """As on a machine without the extra ``scripts``."""

    def forget() -> None:
        for kept in (fonts._printable, fonts.text_width, scripts.face_of, scripts.line, scripts.faces):
            kept.cache_clear()

    monkeypatch.setattr(scripts, "_available", lambda: ())
    forget()
    yield
    forget()


# -- on paper -----------------------------------------------------------------


@pytest.mark.parametrize("script", NAMES)
def test_a_name_can_be_found_again_in_the_pdf_by_three_readers(script: str, tmp_path: Path) -> None:
    name = NAMES[script]
    data = written(name)
    # Accents and points may come back in the other, equal order (Unicode Standard, 3.11, canonical equivalence).
    want = unicodedata.normalize("NFC", name)
    for read in (read_pdfium(data), read_pypdf(data)):
        assert unicodedata.normalize("NFC", read) == want
    assert unicodedata.normalize("NFC", read_poppler(data, tmp_path)) == want


@pytest.mark.parametrize("strong", [False, True])
@pytest.mark.parametrize("script", NAMES)
def test_every_letter_has_ink_and_none_is_the_box_for_a_missing_one(script: str, strong: bool) -> None:
    name = NAMES[script]
    assert not fonts.missing(name)
    line = fonts.shaped(name, strong)
    if line is None:
        assert fonts.printable(name) == unicodedata.normalize("NFC", name)
        return
    assert "".join(sorted(c for k in line.clusters for c in k.text)) == "".join(sorted(fonts.printable(name)))
    for cluster in line.clusters:
        if cluster.glyphs and not cluster.text.isspace() and not characters.is_unseen(cluster.text[0]):
            drawn = outlines.inked(cluster).path
            assert drawn, cluster
            assert drawn != notdef(cluster.face, strong), cluster
            assert all(number for number, _, _ in cluster.glyphs), cluster


@pytest.mark.parametrize("script", NAMES)
def test_the_ink_is_as_wide_as_was_measured(script: str) -> None:
    name = NAMES[script]
    box = ink(written(name))
    assert box is not None
    wide = (box[2] - box[0]) / 4.0 / 72.0 * 25.4
    # Letters have some white at their sides, and marks may hang over: at most a third of the size at each end.
    assert abs(wide - fonts.text_width(name, 8.0)) < 2 * 8.0 / 3.0


@pytest.mark.parametrize(("anchor", "left"), [("start", 10.0), ("middle", None), ("end", None)])
def test_a_shaped_line_stands_where_it_is_anchored(anchor: str, left: float | None) -> None:
    sheet = Sheet(210.0, 40.0, "A", (Placed((Text(100.0, 20.0, "山田太郎", 8.0, Layer.LABELS, anchor=anchor),)),))
    box = ink(pdf.write([sheet], "t"))
    assert box is not None
    width = 32.0  # four ideographs of one em each
    start = 100.0 - {"start": 0.0, "middle": width / 2, "end": width}[anchor]
    x0, x1 = (v / 4.0 / 72.0 * 25.4 for v in (box[0], box[2]))
    assert start - 0.3 < x0 < start + 1.5
    assert start + width - 1.5 < x1 < start + width + 0.3


def test_a_turned_line_runs_upwards() -> None:
    sheet = Sheet(60.0, 100.0, "A", (Placed((Text(30.0, 20.0, "山田太郎", 8.0, Layer.LABELS, quarters=1),)),))
    box = ink(pdf.write([sheet], "t"))
    assert box is not None
    x0, y0, x1, y1 = (v / 4.0 / 72.0 * 25.4 for v in box)
    assert y1 - y0 > 28.0
    assert x1 - x0 < 9.0
    assert 100.0 - y1 == pytest.approx(20.0, abs=1.5)
    assert 20.0 < x0 < x1 < 33.0


def test_arabic_letters_join_as_the_presentation_forms_have_them() -> None:
    """Unicode code chart FB50 to FEFF: MEEM initial U+FEE3, HAH medial U+FEA4, MEEM medial U+FEE4, DAL final U+FEAA."""
    line = scripts.line(ARABIC, False)
    face = line.clusters[0].face
    font = scripts.faces()[face].font(False)
    forms = [font.get_nominal_glyph(code) for code in (0xFEE3, 0xFEA4, 0xFEE4, 0xFEAA)]
    drawn = [outlines.inked(replace(c, glyphs=(c.glyphs[0],))).path for c in reversed(line.clusters)]
    want = [outlines.inked(scripts.Cluster("", face, False, ((g, 0.0, 0.0),), 0.0)).path for g in forms]
    assert drawn == want


def test_a_vowel_sign_written_after_its_letter_is_drawn_before_it() -> None:
    """Unicode Standard, chapter 12, Devanagari: the vowel sign I stands to the left of its consonant."""
    (cluster,) = scripts.line("कि", False).clusters
    sign, letter = cluster.glyphs
    plain = scripts.line("क", False).clusters[0].glyphs[0][0]
    assert letter[0] == plain
    assert sign[1] < letter[1]


def test_a_name_from_right_to_left_is_turned_and_the_words_round_it_are_not() -> None:
    seen = [c.text for c in scripts.line(f"for {HEBREW} x 3", False).clusters]
    assert "".join(seen) == "for דוד x 3".replace(HEBREW, HEBREW[::-1])


def test_numbers_keep_to_their_side_of_a_name() -> None:
    """Both would come out as "3 דוד" by the plain bidirectional algorithm in a line from left to right."""
    before, after = (scripts.line(t, False).clusters for t in (f"3 {HEBREW}", f"{HEBREW} 3"))
    assert before[0].text == "3"
    assert after[-1].text == "3"


def test_brackets_stay_round_what_they_enclose() -> None:
    drawn = scripts.line("דוד (כהן)", False).clusters
    # From the left: the bracket that closes comes last in reading order, so it is drawn first, as if it opened.
    assert "".join(c.text for c in drawn) == ")ןהכ( דוד"
    closing, opening = (outlines.inked(c).path for c in drawn if c.text in "()")
    plain = [outlines.inked(c).path for c in scripts.line("山()", False).clusters[1:]]
    assert [closing, opening] == plain
    assert "".join(c.text for c in scripts.line("(כהן) x", False).clusters) == "(ןהכ) x"
    assert "".join(c.text for c in scripts.line("(דוד) כהן", False).clusters) == "ןהכ )דוד("


def test_ideographs_take_the_forms_of_their_readers() -> None:
    """骨 is drawn differently in Japan and in China (Unicode Standard, 18.1, on Han unification)."""
    japan, china = ("骨かな", "骨头的门")
    assert scripts._language(japan) == "ja"
    assert scripts._language(china) == "zh-Hans"
    assert scripts.line(japan, False).clusters[0].glyphs != scripts.line(china, False).clusters[0].glyphs


def test_the_same_names_give_the_same_bytes() -> None:
    sheets = [one_line(name) for name in NAMES.values()]
    assert pdf.write(sheets, "t") == pdf.write(sheets, "t")


def test_more_letters_than_one_font_holds_are_all_found() -> None:
    text = "".join(chr(0x4E00 + k) for k in range(600))
    rows = [text[k : k + 20] for k in range(0, 600, 20)]
    sheet = Sheet(
        210.0, 297.0, "A", (Placed(tuple(Text(10.0, 280.0 - 9 * k, r, 6.0, Layer.LABELS) for k, r in enumerate(rows))),)
    )
    read = read_pdfium(pdf.write([sheet], "t"))
    assert re.sub(r"\s", "", read) == text


@pytest.mark.parametrize("script", NAMES)
def test_an_svg_sheet_draws_the_name_as_outlines_and_says_it(script: str) -> None:
    name = NAMES[script]
    (text,) = svg.write([one_line(name)], "t")
    root = ET.fromstring(text)
    space = "{http://www.w3.org/2000/svg}"
    words = [t.text for t in root.iter(f"{space}title")] + [t.text for t in root.iter(f"{space}text")]
    assert unicodedata.normalize("NFC", name) in [unicodedata.normalize("NFC", w or "") for w in words]
    line = fonts.shaped(name)
    if line is not None:
        inked = [c for c in line.clusters if outlines.inked(c).path]
        assert len(list(root.iter(f"{space}path"))) == len(inked)
        assert not list(root.iter(f"{space}text"))


def test_svg_and_pdf_draw_the_same() -> None:
    import cairosvg
    from PIL import Image, ImageChops

    sheet = one_line(f"山田 {ARABIC} नमस्ते 😀", 8.0)
    page = pypdfium2.PdfDocument(pdf.write([sheet], "t"))[0].render(scale=4.0).to_pil().convert("L")
    (text,) = svg.write([sheet], "t")
    drawn = cairosvg.svg2png(
        text.encode(), output_width=page.width, output_height=page.height, background_color="white"
    )
    other = Image.open(io.BytesIO(drawn)).convert("L")
    apart = ImageChops.difference(page, other).point(lambda v: 255 if v > 128 else 0)
    dark = sum(1 for v in page.tobytes() if v < 128)
    assert sum(1 for v in apart.tobytes() if v) < 0.05 * dark


def test_a_plain_name_goes_the_quick_way(monkeypatch: pytest.MonkeyPatch) -> None:
    def slow(*_: object) -> None:
        raise AssertionError("shaped")

    monkeypatch.setattr(scripts, "line", slow)
    monkeypatch.setattr(scripts, "face_of", slow)
    name = "René Łódź ½ · 3 × 4 … Θήρα Ёлка"
    data = written(name)
    svg.write([one_line(name)], name)
    assert fonts.wrapped(name, 4.0, 30.0)
    assert read_pypdf(data) == name
    assert {str(f.get_object()["/Subtype"]) for f in _fonts_of(data)} <= {"/TrueType", "/Type1"}


def test_another_script_adds_one_font_that_carries_its_own_glyphs() -> None:
    (made,) = [f.get_object() for f in _fonts_of(written("山田")) if f.get_object()["/Subtype"] == "/Type3"]
    assert len(made["/CharProcs"]) == made["/LastChar"] == len(made["/Widths"]) == 2


def _fonts_of(data: bytes) -> list[IndirectObject]:
    return list(PdfReader(io.BytesIO(data)).pages[0]["/Resources"]["/Font"].values())  # type: ignore[index]


# -- broken and shortened lines -------------------------------------------------


def test_a_long_name_without_spaces_is_broken_and_nothing_is_lost() -> None:
    name = "寿限無寿限無五劫の擦り切れ海砂利水魚の水行末雲来末風来末"
    rows = fonts.wrapped(name, 4.0, 40.0)
    assert len(rows) > 2
    assert "".join(rows) == name
    assert all(fonts.text_width(r, 4.0) <= 40.0 for r in rows)


def test_no_line_begins_with_a_closing_sign() -> None:
    rows = fonts.wrapped("あいうえお、かきくけこ。さしすせそ", 4.0, 20.0)
    assert not any(r[0] in "、。" for r in rows)


def test_shortening_leaves_letters_whole() -> None:
    short = fonts.shortened("क्षत्रिय" * 10, 4.0, 50.0).removesuffix("…")
    assert fonts.text_width(short + "…", 4.0) <= 50.0
    assert "".join(list(characters.clusters("क्षत्रिय" * 10))[: len(list(characters.clusters(short)))]) == short


# -- never two alike --------------------------------------------------------------


def unwritten(text: str) -> str:
    """What was meant by a text with characters written out: the way back, ours to check only."""
    return re.sub(r"<U\+([0-9A-F]{4,6})>", lambda m: chr(int(m[1], 16)), text)


TRICKY = [
    *"אבג محمد ()[]٣12 -.<U+",
    "\u200c",
    "\u200d",
    "\u0301",
    "\u05b8",
    *"👩🏻🔧🇩🇪🏴",
    "\ufe0f",
    "\U000e0067",
    "\udc80",
    "\u1112\u1161",
]
ANY = st.lists(st.one_of(st.characters(exclude_categories=()), st.sampled_from(TRICKY)), max_size=80).map("".join)


@given(ANY)
def test_what_is_printed_leads_back_to_what_was_written(text: str) -> None:
    seen = characters.composed(characters.clean(text))
    if fonts.missing(text):
        seen = "".join(c for c in seen if not characters.is_unseen(c))
        assert "".join(c for c in unwritten(fonts.printable(text)) if not characters.is_unseen(c)) == seen
    else:
        assert unwritten(fonts.printable(text)) == seen


@given(ANY)
def test_shaping_loses_no_letter(text: str) -> None:
    line = fonts.shaped(text)
    if line is not None:
        drawn = sorted(c for k in line.clusters for c in k.text if not characters.is_unseen(c))
        assert drawn == sorted(c for c in fonts.printable(text) if not characters.is_unseen(c))
        assert all(number for k in line.clusters for number, _, _ in k.glyphs)
        assert line.width == pytest.approx(sum(k.advance for k in line.clusters))


@pytest.mark.usefixtures("bare")
@settings(suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(ANY)
def test_the_same_without_the_extra(text: str) -> None:
    seen = "".join(c for c in characters.composed(characters.clean(text)) if not characters.is_unseen(c))
    printed = fonts.printable(text)
    assert "".join(c for c in unwritten(printed) if not characters.is_unseen(c)) == seen
    glyphs = fonts.font(False).face.charToGlyph
    assert all(ord(c) in glyphs for c in printed)


@given(ANY)
def test_any_text_is_drawn_and_no_control_character_with_it(text: str) -> None:
    data = written(text, size=3.0)
    assert data.startswith(b"%PDF")
    (drawn,) = svg.write([one_line(text)], text)
    ET.fromstring(drawn)
    for place in (fonts.printable(text), drawn.replace("\n", "")):
        assert not [c for c in place if unicodedata.category(c) in ("Cc", "Cs")]
        assert not set(place) & set("\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")
    once = tidy(text)
    once.encode("utf-8")
    assert once == tidy(once)


@given(ANY)
def test_any_text_comes_back_from_the_pdf_without_control_characters(text: str) -> None:
    read = read_pypdf(written(text, size=3.0))
    assert not [c for c in read if unicodedata.category(c) == "Cc" and c not in "\n\r"]


def test_a_name_that_looks_like_a_number_is_not_taken_for_one() -> None:
    pairs = [
        ("<U+5C71>", "\ue0ff<U+5C71>"),
        ("\ue000", "<U+E000>"),
        ("\ue000", "\ue001"),
        ("<U+003C>U+E000>", "<U+E000>"),
    ]
    for a, b in pairs:
        assert fonts.printable(a) != fonts.printable(b)


def test_two_letters_drawn_the_same_are_named() -> None:
    # Latin E and a, Cyrillic В between; and all Cyrillic.
    found = names.lookalikes(["Eвa", "Ева", "Anna", "Анна"])
    assert found == {"Eвa": ("Ева",), "Ева": ("Eвa",)}


def test_skin_tones_that_black_pictures_do_not_show_are_named() -> None:
    assert names.lookalikes(["👍🏻", "👍🏿", "👍🏻 Ada"]) == {"👍🏻": ("👍🏿",), "👍🏿": ("👍🏻",)}


@pytest.mark.parametrize("script", NAMES)
def test_no_two_of_these_names_look_alike(script: str) -> None:
    mine = outlines.appearance(NAMES[script])
    assert [k for k, other in NAMES.items() if outlines.appearance(other) == mine] == [script]


def test_joiners_that_matter_are_kept_and_others_dropped() -> None:
    kept = ("می\u200cخواهم", "क्\u200dष", "👩\u200d🔧", "🏴\U000e0067\U000e0062\U000e0065\U000e006e\U000e0067\U000e007f")
    for name in kept:
        assert tidy(name) == name
    assert tidy("A\u200dd\u200ca") == "Ada"
    assert tidy("山\u200d田") == "山田"
    assert tidy("\u202eAda\u2066") == "Ada"
    assert tidy("Ada\u200d") == "Ada"
    assert tidy("kit\U000e0067") == "kit"


def test_a_broken_byte_in_a_name_is_written_out() -> None:
    assert tidy("Ren\udce9") == "Ren\\udce9"


def test_messages_write_out_what_they_cannot_show() -> None:
    assert shown("\ue000") != shown("\ue001")
    assert shown("a\x1bb") == "'a<U+001B>b'"
    assert len(shown("\x1b" * 10_000)) < 60


# -- a whole job, with and without the extra ---------------------------------------


def job_of(tmp_path: Path, labels: list[str], formats: tuple[str, ...] = ("pdf",)) -> jobs.Job:
    path = tmp_path / "class.toml"
    rows = "".join(
        f'[[pieces]]\nlabel = {json.dumps(name, ensure_ascii=False)}\npattern = "wristband"\nmeasure = "172 mm"\n'
        for name in labels
    )
    path.write_text(f'title = "Beginners’ class 港"\n{rows}', encoding="utf-8")
    return replace(read_job(path), formats=formats)


def all_text(data: bytes) -> str:
    return "\n".join(p.extract_text() for p in PdfReader(io.BytesIO(data)).pages)


def test_a_class_of_all_scripts_is_printed_on_sheets_and_cards(tmp_path: Path) -> None:
    labels = [NAMES[k] for k in ("han", "hangul", "arabic", "hebrew", "devanagari", "thai", "emoji")]
    result = jobs.make(job_of(tmp_path, labels))
    text = unicodedata.normalize("NFC", all_text(result.files["class.pdf"]))
    for name in labels:
        assert text.count(name) >= 2, name  # the sheet and the card
    assert not [f for p in result.pieces for f in p.findings if f.code.startswith("name")]


@pytest.mark.usefixtures("bare")
def test_without_the_extra_names_stay_apart_and_are_named(tmp_path: Path) -> None:
    result = jobs.make(job_of(tmp_path, ["山田", "山本", "Ada"], ("pdf", "svg")))
    text = all_text(result.files["class.pdf"])
    drawn = "".join(v.decode() for k, v in result.files.items() if k.endswith(".svg"))
    for spelled in ("<U+5C71><U+7530>", "<U+5C71><U+672C>"):
        assert text.count(spelled) >= 2
        assert spelled.replace("<", "&lt;").replace(">", "&gt;") in drawn
    assert "?" not in text
    findings = [f for p in result.pieces for f in p.findings if f.code == "name-not-printable"]
    assert len(findings) == 2
    assert "'山田'" in findings[0].message
    assert "<U+5C71> (cjk unified ideograph-5c71)" in findings[0].message
    assert 'pip install "strapwork[scripts]"' in findings[0].message
    assert fonts.missing("山田 Ada") == {"山", "田"}


def test_a_script_no_font_has_is_named_with_another_remedy() -> None:
    name = "ᏣᎳᎩ"  # Cherokee
    found = names.of_name(name)
    assert found is not None
    assert "<U+13E3> (cherokee letter tsa)" in found.message
    assert "write the name in other letters as well" in found.message
    assert fonts.printable(name) == "<U+13E3><U+13B3><U+13A9>"


def test_a_plain_class_has_no_finding_of_names(tmp_path: Path) -> None:
    pieces = jobs.work_out(job_of(tmp_path, ["Ada", "René", "Ёлка", "Ada"]))
    assert names.checked(pieces) == pieces
