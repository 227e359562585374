"""Every file that someone else wrote is read within bounds, and refused in one sentence that names the place."""

from __future__ import annotations

import csv
import io
import json
import math
import os
import tomllib
import tracemalloc
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
import tomlkit
from hypothesis import example, given
from hypothesis import strategies as st

from strapwork.errors import InputError
from strapwork.files import jsonin, reading, table, toml, update
from strapwork.piece import swatches
from strapwork.stock import machines, patterns, printers, shelf
from tests.helpers import read_job

KNOWN = ("name", "wrist", "goods", "notes")


def said(act: Callable[[], Any]) -> str:
    with pytest.raises(InputError) as e:
        act()
    text = str(e.value)
    assert text.isprintable(), "control characters are never echoed"
    assert len(text) < 2500
    return text


def data_or_sentence(act: Callable[[], Any]) -> Any:
    """What ``act`` reads, None where it refuses; anything else that it raises fails the test."""
    try:
        return act()
    except InputError as e:
        text = str(e)
    assert text.isprintable()
    return None


# Files


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no pipes in folders here")
@pytest.mark.parametrize(
    "read",
    [
        lambda p: read_job(p),
        lambda p: shelf.read(p),
        lambda p: swatches.read(p),
        lambda p: swatches.read(p.rename(p.with_suffix(".toml"))),
        lambda p: printers.read(p),
        lambda p: machines.find("x", "--machine", p.parent.parent),
        lambda p: patterns.find("x", "PATTERN", p.parent),
    ],
    ids=["job", "shelf", "swatches", "swatches in TOML", "printers", "machine", "pattern"],
)
def test_a_pipe_or_a_folder_is_refused_at_once(tmp_path: Path, read: Callable[[Path], object]) -> None:
    folder = tmp_path / "machines"
    folder.mkdir()
    os.mkfifo(folder / "x.toml")
    assert "is a pipe or a device, not a file; name a file." in said(lambda: read(folder / "x.toml"))
    for p in folder.iterdir():
        p.unlink()
    (folder / "x.toml").mkdir()
    assert "is a folder, not a file; name a file." in said(lambda: read(folder / "x.toml"))


@pytest.mark.skipif(not os.path.exists("/dev/zero"), reason="no devices in folders here")
def test_a_device_is_refused(tmp_path: Path) -> None:
    assert "is a pipe or a device" in said(lambda: reading.read_file(Path("/dev/zero"), "job file"))
    (tmp_path / "job.toml").symlink_to("/dev/stdin")
    said(lambda: reading.read_file(tmp_path / "job.toml", "job file", most=0))


def test_no_more_is_read_than_there_may_be(tmp_path: Path) -> None:
    path = tmp_path / "job.toml"
    with open(path, "wb") as f:
        f.truncate(50_000_000_000)  # takes no room on the disk
    tracemalloc.start()
    text = said(lambda: reading.read_file(path, "job file"))
    _, most = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert text == f"{path}: the job file is larger than 1 MB; give a smaller file."
    assert most < 8_000_000


@pytest.mark.parametrize("name", ["x" * 300 + ".toml", "a\0b", "a/" * 3000 + "b", "\ud800.toml", "no such"])
def test_names_that_no_disk_holds_get_one_sentence(tmp_path: Path, name: str) -> None:
    assert "the job file cannot be read" in said(lambda: read_job(tmp_path / name))
    if name == "no such":
        assert shelf.read(tmp_path / name) == {}
    else:
        said(lambda: shelf.read(tmp_path / name))


# TOML


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (".".join(["a"] * 20_000) + " = 1", "a key has 20000 parts; keep to 10 parts joined by dots"),
        ("[" + ".".join(["a"] * 20_000) + "]", "a key has 20000 parts"),
        ("x = { " + ".".join(["'a b'"] * 20_000) + " = 1 }", "a key has 20000 parts"),
        (" . ".join(["a"] * 20_000), "a key has 20000 parts"),
        ("".join(f"[k{k}.a.a.a]\n" for k in range(9_000)), "there are 27000 dots in keys"),
        ("a = " + "[" * 400 + "]" * 400, "brackets are nested more than 20 deep"),
        ("a = " + "{a=" * 400 + "1" + "}" * 400, "brackets are nested more than 20 deep"),
        ("a = " + "1" * 5_000, "a number has thousands of digits"),
        ("a = 0x" + "f" * 50_000, "job.toml, a: 'a number of hundreds of digits' is out of range"),
        ("[[a]]\n[[a]]\nb = 9223372036854775808", "job.toml, a[2].b: '9223372036854775808' is out of range"),
        ("[a]\nb = [1, inf]", "job.toml, a.b[2]: 'inf' is no number to work with"),
        ("a = { b = -nan }", "job.toml, a.b: 'nan' is no number to work with"),
        ('"\\u001b[31m\\u0007' + "x" * 10_000 + '" = nan', "job.toml, <U+001B>[31m<U+0007>xxxxx"),
        ("a = 1\r\nb = [1,\r\n", "at line 3, column 1, where the text ends"),
        ("a = 'x\0y'", "at line 1, column 7"),
        ("title = '\u202e'\n" * 2, "at line 2, column 12"),
        ("a" * 90_000, "at line 1, column 90001, where the text ends"),
        ('a = """\\"' + "\\" * 90_000, "at line 1"),
        ("x" * 1_000_001, "the text is larger than 1 MB"),
    ],
)
def test_toml_that_would_cost_or_mean_too_much_is_refused(text: str, words: str) -> None:
    tracemalloc.start()
    try:
        assert words in said(lambda: toml.parse_toml(text.encode(), "job.toml"))
        _, most = tracemalloc.get_traced_memory()
    finally:
        tracemalloc.stop()
    assert most < 40_000_000  # the first of these took 1.5 GB


@pytest.mark.parametrize("raw", [b"\xff\xfea\0 \0=\0", b"a = 1\n\xe9 = 2", b"\xed\xa0\x80 = 1"])
def test_text_that_is_not_utf8_is_named_by_line_and_column(raw: bytes) -> None:
    line = raw.count(b"\n") + 1
    assert f"not UTF-8 text (at line {line}, column 1); save it as UTF-8" in said(lambda: toml.parse_toml(raw, "x"))


def test_dots_and_brackets_in_texts_and_comments_count_for_nothing() -> None:
    dots, brackets = "." * 500, "[{" * 200
    text = (
        f'# {dots} {brackets} "\n'
        f'a = "{dots} {brackets} \\" # {dots}"\n'
        f"b = '{dots} {brackets} \" # \\'\n"
        f'c = """{dots}\n{brackets} "" \\""" {dots}"""\n'
        f"d = '''{dots}\n{brackets} '' \" '''''\n"
        f'"{dots}" = 1\n'
        'e = """"quoted""""\n'
    )
    assert toml.parse_toml(text.encode(), "x") == tomllib.loads(text)


def test_a_long_ordinary_job_is_read() -> None:
    piece = '[[pieces]]\nlabel = "Wristband {0}"\npattern = "wristband"\n[pieces.sizes]\nS = "16.5 cm"\nL = "19.5 cm"\n'
    text = "numbers = [" + "1.5, " * 30_000 + "]\n" + "".join(piece.format(k) for k in range(5_000))
    assert len(toml.parse_toml(text.encode(), "x", most=2_000_000)["pieces"]) == 5_000


SCRAPS = st.sampled_from(
    ["a", "b.c", ".", "=", " ", "\n", "\r\n", '"', "'", '"""', "'''", "\\", "#", "[", "]", "{", "}", ",", "1", "1.5",
     "-inf", "nan", "1979-05-27", "0x", "_", "é", "\ufeff", "\0", "\x1b", "\\u0000", "\\ud800", "9" * 30, "true"]
)  # fmt: skip
TEXTS = st.one_of(st.lists(SCRAPS, max_size=60).map("".join).map(str.encode), st.binary(max_size=300))


@given(TEXTS)
@example(b'a="""\\')
@example(b"'''''")
def test_any_bytes_are_toml_data_or_one_sentence(raw: bytes) -> None:
    data = data_or_sentence(lambda: toml.parse_toml(raw, "job.toml"))
    # What is let through is what the standard library's parser makes of it.
    assert data is None or repr(data) == repr(tomllib.loads(raw.decode("utf-8-sig")))


KEYS = st.text(st.characters(exclude_categories=("Cs", "Cc")), max_size=6)
PLAIN = st.recursive(
    st.one_of(
        st.text(st.characters(exclude_categories=("Cs",)), max_size=30),
        st.integers(-(2**63), 2**63 - 1),
        st.floats(allow_nan=False, allow_infinity=False),
        st.booleans(),
    ),
    lambda inner: st.one_of(st.lists(inner, max_size=4), st.dictionaries(KEYS, inner, max_size=4)),
    max_leaves=12,
)


@given(st.dictionaries(KEYS, PLAIN, max_size=5))
def test_ordinary_toml_is_never_refused(data: dict[str, Any]) -> None:
    # tomlkit, a writer that is not ours, gives the text.
    text = tomlkit.dumps(data)
    assert toml.parse_toml(text.encode(), "x") == tomllib.loads(text)


COMMENTS = st.lists(st.sampled_from(["# mine", "#", "", "  # Bruno's", "\t"]), max_size=3)


@given(
    st.dictionaries(KEYS, PLAIN, max_size=5), COMMENTS, st.sampled_from(["\n", "\r\n"]), st.sampled_from(["", "\ufeff"])
)
def test_a_table_added_to_any_file_leaves_every_byte_of_it(
    data: dict[str, Any], comments: list[str], end: str, front: str
) -> None:
    data.pop("harbour-tan", None)
    text = front + end.join([*comments, *tomlkit.dumps(data).splitlines()]) + end

    def change(row: dict[str, Any]) -> None:
        row["thickness"] = "2 mm"

    after = update._changed(text.encode(), "leathers.toml", "harbour-tan", change)
    assert after.startswith(text.encode())
    assert tomllib.loads(after.decode("utf-8-sig"))["harbour-tan"] == {"thickness": "2 mm"}


# JSON


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("[" * 100_000, "brackets are nested more than 32 deep"),
        ('{"a":' * 100_000, "brackets are nested more than 32 deep"),
        ("[NaN]", "'NaN' is no number to work with"),
        ("[-Infinity]", "'-Infinity' is no number to work with"),
        ("[1e999]", "'1e999' is out of range"),
        ("[" + "9" * 5_000 + "]", "is out of range; give at most 18 digits"),
        ("[1.5" + "0" * 5_000 + "e400]", "is out of range"),
        ('["\\ud800"]', "holds half a character"),
        ('{"\\udc00x": 1}', "holds half a character"),
        ('{"a": 1,\n "b": }', "not valid JSON: expecting value (at line 2, column 7)"),
        ("", "not valid JSON: expecting value (at line 1, column 1)"),
        ('["\x1b"]', "invalid control character at (at line 1, column 3)"),
    ],
)
def test_json_that_would_cost_or_mean_too_much_is_refused(text: str, words: str) -> None:
    assert words in said(lambda: jsonin.parse_json(text.encode(), "the request"))


@given(st.one_of(st.dictionaries(KEYS, PLAIN, max_size=5), st.lists(PLAIN, max_size=5)), st.booleans())
def test_ordinary_json_is_read(data: object, plain: bool) -> None:
    text = json.dumps(data, ensure_ascii=plain)
    if any(len(str(abs(k))) > jsonin.MOST_DIGITS for k in _integers(data)):
        return
    assert jsonin.parse_json(text.encode(), "x") == data


def _integers(value: object) -> list[int]:
    if isinstance(value, dict):
        return [k for v in value.values() for k in _integers(v)]
    if isinstance(value, list):
        return [k for v in value for k in _integers(v)]
    return [value] if isinstance(value, int) else []


@given(TEXTS)
def test_any_bytes_are_json_data_or_one_sentence(raw: bytes) -> None:
    data = data_or_sentence(lambda: jsonin.parse_json(raw, "the request"))
    if data is not None:
        assert data == json.loads(raw.decode("utf-8-sig"))
    json.dumps(data, ensure_ascii=False, allow_nan=False).encode()  # can be written down again


# Tables


def rows(text: str | bytes, most: int = 50) -> list[tuple[int, dict[str, str]]]:
    raw = text if isinstance(text, bytes) else text.encode()
    return [(r.number, dict(r.cells)) for r in table.read_table(raw, "class.csv", KNOWN, most)]


@pytest.mark.parametrize("mark", [",", ";", "\t"])
@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
@pytest.mark.parametrize("front", ["", "\ufeff", "# Beginners' class, first Saturday\n", '"# a, b; c"\n\n'])
def test_any_usual_way_to_write_a_table_says_the_same(mark: str, end: str, front: str) -> None:
    lines = [["Wrist", "NAME", "notes"], ["17,2 cm", "Ines", ""], ["", "", ""], ["", "Bruno", "left-handed"]]
    text = front + end.join(mark.join(f'"{c}"' if "," in c else c for c in line) for line in lines) + end
    top = front.count("\n")
    assert rows(text) == [
        (top + 2, {"wrist": "17,2 cm", "name": "Ines"}),
        (top + 4, {"name": "Bruno", "notes": "left-handed"}),
    ]


def test_rows_count_as_a_spreadsheet_counts_them() -> None:
    text = 'name,notes\n# a note\n\nInes,"two\nlines, and a ""word"""\n,\nBruno,6 3/4"\n'
    assert rows(text) == [
        (4, {"name": "Ines", "notes": 'two\nlines, and a "word"'}),
        (6, {"name": "Bruno", "notes": '6 3/4"'}),
    ]


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("name,wrist\nInes,17 cm,x\n", "class.csv, row 2: there are 3 values under 2 headings"),
        ("name,wirst\nInes,17 cm\n", "class.csv, row 1, column 2: no column is called 'wirst'; did you mean 'wrist'"),
        ("name;wirst\nInes;17 cm\n", "class.csv, row 1, column 2: no column is called 'wirst'"),
        ("Ines,17 cm\n", "class.csv, row 1, column 1: no column is called 'ines'"),
        ("name,name\nInes,x\n", "class.csv, row 1, column 2: there are two columns 'name'"),
        ("name,\nInes,x\n", "class.csv, row 2, column 2: 'x' stands under no heading"),
        ('name,wrist\nInes,17 cm\nBruno,"18 cm\n', "class.csv, row 3, wrist: the quotation marks do not pair up"),
        ('name,wrist,goods\nInes,"17" cm,x\n', "class.csv, row 2, wrist: the quotation marks do not pair up"),
        ('name,wrist\n"x"y,17 cm\n', "class.csv, row 2, name: the quotation marks do not pair up"),
        ("name,wrist\nInes," + "1" * 2001, "class.csv, row 2, wrist: the cell holds 2001 characters; keep to 2000"),
        ("name,wrist\nInes," + "1" * 200_000, "class.csv, row 2, wrist: a cell is too long"),
        ('name,wrist\n"' + "x\n" * 90_000, "class.csv, row 2, name: a cell is too long"),
        ("name,wrist\nInes,1\0" + "7 cm\n", "class.csv, row 2: there is a NUL in it"),
        ("name\n" + "Ines\n" * 51, "class.csv, row 52: there are more than 50 rows"),
        ("name,wrist\n#1,17 cm\n", "class.csv, row 2: the row begins with '#' and holds values"),
        ("name,wrist\n", "class.csv: there is no row under the headings"),
        ("# only a note\n\n,,\n", "class.csv: there is no row of headings; begin with one, such as name,wrist"),
        ("name" + "," * 200 + "\nInes\n", "class.csv, row 1: there are 201 columns"),
        (b"name,notes\nIn\xe9s,x\n", "not UTF-8 text (at line 2, column 3)"),
        ("name,wrist\n".encode("utf-16"), "not UTF-8 text"),
        (b"x" * 1_000_001, "class.csv: the table is larger than 1 MB"),
        ("name,\x1b[2J\x07\nInes,x\n", "class.csv, row 1, column 2: no column is called '<U+001B>[2j<U+0007>'"),
    ],
)
def test_a_table_that_cannot_be_read_is_named_by_row_and_column(text: str | bytes, words: str) -> None:
    assert words in said(lambda: rows(text))


def test_a_person_called_number_one_is_kept_in_quotes() -> None:
    assert rows('name,wrist\n"#1",17 cm\n# "2, 18 cm\n') == [(2, {"name": "#1", "wrist": "17 cm"})]


CELL = st.text(st.characters(exclude_categories=("Cs",), exclude_characters="\0\r"), max_size=12)


@given(st.lists(st.lists(CELL, min_size=3, max_size=3), min_size=1, max_size=8), st.sampled_from([",", ";", "\t"]))
def test_what_a_spreadsheet_writes_is_read_back(cells: list[list[str]], mark: str) -> None:
    # The standard library's writer, RFC 4180 with every cell quoted.
    out = io.StringIO()
    csv.writer(out, delimiter=mark, quoting=csv.QUOTE_ALL).writerows([["name", "wrist", "notes"], *cells])
    expected = []
    for number, row in enumerate(cells, start=2):
        kept = {h: c.strip() for h, c in zip(("name", "wrist", "notes"), row, strict=True) if c.strip()}
        note = row[0].strip().startswith("#") and not row[1].strip() and not row[2].strip()
        if kept and not note:
            expected.append((number, kept))
    if expected:
        assert rows(out.getvalue()) == expected
    else:
        said(lambda: rows(out.getvalue()))


@given(
    st.one_of(
        st.lists(
            st.sampled_from(["name", "wrist", ",", ";", "\t", "\n", "\r", '"', "#", " ", "x", "\0", "é", "\ufeff"])
        )
        .map("".join)
        .map(str.encode),
        st.binary(max_size=200),
    )
)
def test_any_bytes_are_a_table_or_one_sentence(raw: bytes) -> None:
    found = data_or_sentence(lambda: table.read_table(raw, "class.csv", KNOWN, 20))
    assert found != []
    assert all(set(r.cells) <= set(KNOWN) and all(r.cells.values()) for r in found or [])


# What is made of them


def test_a_shelf_with_numbers_out_of_all_sense_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "leathers.toml"
    learned = {"factor": 1.0, "error": 0.1, "scatter_mm": 0.5, "freedom": 3, "quantile": 3.2, "swatches": 4}
    for key, value in [("error", 1e300), ("scatter_mm", math.inf), ("quantile", math.nan), ("freedom", 10**17)]:
        row = ", ".join(f"{k} = {v}" for k, v in {**learned, key: value}.items())
        path.write_text(f'[tan]\nthickness = "2 mm"\ntake_up = {{ {row} }}\n', encoding="utf-8")
        text = said(lambda: shelf.read(path))
        assert f"take_up.{key}: '" in text


@pytest.mark.parametrize("key", ["strands", "sets"])
def test_swatches_with_thousands_of_digits_are_refused(tmp_path: Path, key: str) -> None:
    row = {"swatch": "one", "thickness": "1.8 mm", "width": "19 mm", "strands": "3", "sets": "2", "slit": "150 mm",
           "before": "170 mm", "after": "163 mm"}  # fmt: skip
    row[key] = "9" * 1999
    path = tmp_path / "s.csv"
    path.write_text(",".join(row) + "\n" + ",".join(row.values()) + "\n", encoding="utf-8")
    assert f"{path}, row 2, {key}: '999" in said(lambda: swatches.read(path))


def test_messages_echo_no_control_character_and_stay_short(tmp_path: Path) -> None:
    path = tmp_path / "job.toml"
    evil = "\\u001b]0;x\\u0007\\u202e" + "x" * 1900
    for text in (
        f'title = "T"\n"{evil}" = 1\n',
        f'title = "T"\n[[pieces]]\nlabel = "A"\npattern = "{evil}"\nmeasure = "172 mm"\n',
        f'title = "T"\n[[pieces]]\nlabel = "A"\npattern = "wristband"\nmeasure = "{evil}"\n',
        f'title = "T"\n[[pieces]]\nlabel = "A"\npattern = "wristband"\nleather = "{evil}"\nmeasure = "172 mm"\n',
        f'title = "T"\n[[pieces]]\nlabel = "A"\npattern = "wristband"\nsizes = {{ "{evil}" = "1" }}\n',
        f'title = "T"\npaper = "{evil}"\n[[pieces]]\nlabel = "A"\npattern = "wristband"\nmeasure = "172 mm"\n',
        f'title = "T"\nmachine = "{evil}"\n[[pieces]]\nlabel = "A"\npattern = "wristband"\nmeasure = "172 mm"\n',
        f'title = "T"\n[leathers."{evil}"]\nthickness = "x"\n[[pieces]]\nlabel = "A"\npattern = "wristband"\n',
    ):
        path.write_text(text, encoding="utf-8")
        assert len(said(lambda: read_job(path))) < 1500
