"""THE description: every key of a piece and of a job, once.

The job file, the command line, rows of a table, the page's form and the page's
saved job all fill these two models, from a file's own types or from text, and
nothing else says what can be asked.  A new key is one entry here; the options,
the fields of the page and the columns of a table follow from it, and the code
that needs it reads it from the order's ``ask``.

Lengths are in mm once they are read.  None means the pattern's own.
"""

from __future__ import annotations

import re
from typing import Annotated, Any, Literal, TypeAlias

from pydantic import Field, StrictFloat, StrictInt

from strapwork.braid.word import MOST_STRANDS
from strapwork.catalogue import tr
from strapwork.drawing.outputs import FORMATS
from strapwork.errors import InputError, shown
from strapwork.files import schema, values
from strapwork.files.keys import Key
from strapwork.stock import papers
from strapwork.stock.patterns import SHAPES, WEAVES, Weaving
from strapwork.stock.shelf import LeatherSays, LeatherSpec

Hand: TypeAlias = Literal["right", "left"]
Units: TypeAlias = Literal["mm", "in", "in16"]
Card: TypeAlias = Literal["with", "alone", "none"]

MOST_PIECES = 10_000
LARGEST_JOB = 5_000_000  # bytes of a job file or a table: that many pieces with some keys each
MOST_COUNT = 9_999
MOST_SETS = 200
MOST_HOLES = 25
MOST_LABEL = 80
LEAST_MARGIN, MOST_MARGIN = 3.0, 40.0

HANDS = (("right", tr("right hand")), ("left", tr("left hand")))
VIEWS = (
    ("false", tr("whole, on sheets that are taped")),
    ("true", tr("broken: both ends, and the distance between two marks")),
)


def _shapes(value: Any, _: str | None) -> tuple[str, str]:
    """Shapes of start and finish: one word for both, or two."""
    parts = re.split(r"[,;]", value) if isinstance(value, str) else value if isinstance(value, (list, tuple)) else ()
    words = [str(w).strip().lower() for w in parts]
    if not 1 <= len(words) <= 2 or any(w not in SHAPES for w in words):
        raise InputError(
            "",
            tr("{value} is no shape of ends", value=shown(value)),
            tr("use one or two of {shapes}, such as 'square,pointed'", shapes=", ".join(SHAPES)),
        )
    return words[0], words[-1]


def _leather(value: Any, unit: str | None) -> Any:
    """A leather by its thickness or its name, or written out in braces."""
    if isinstance(value, str) and value.strip().startswith("{"):
        value = values.table(value)
    if isinstance(value, dict):
        try:
            return schema.check(LeatherSpec, value, "leather", unit)
        except InputError as e:
            raise InputError("", f"{e.place}: {e.problem}", e.remedy) from e
    return value


class PieceAsk(LeatherSays):
    """What is asked of one piece, or of one pattern in a run of sizes."""

    pattern: Annotated[
        str, Key(tr("Goods"), tr("a pattern, as 'strapwork patterns' lists it"), "PATTERN", group="goods")
    ]
    measure: Annotated[
        str | None,
        values.text(40, "length"),
        Key(
            tr("What you measured"),
            tr("what was measured, e.g. '17.2 cm' or '6 3/4 in'"),
            "LENGTH",
            "6 3/4 in",
            "goods",
        ),
    ] = None
    sizes: Annotated[
        dict[str, str | StrictInt | StrictFloat] | None,
        values.Table,
        Field(max_length=200),
        Key(
            tr("Sizes, instead of one measure"),
            tr(
                "a run of sizes instead of one measure, e.g. \"{ small = '15.5 cm', large = '19 cm' }\", "
                "or from bodies: \"{ of = 5, bodies = 'adults' }\""
            ),
            "TABLE",
            "{ small = '15.5 cm', large = '19 cm' }",
            "name",
        ),
    ] = None
    leather: Annotated[
        str | LeatherSpec | None,
        values.reader(_leather),
        Key(
            tr("Thickness, or a name on the shelf"),
            tr("a thickness such as '1.8 mm' or '4-5 oz', a name on the shelf, or a leather in braces"),
            "LEATHER",
            tr("1.8 mm or 4-5 oz"),
            "leather",
        ),
    ] = None
    width: Annotated[
        values.Length | None, Key(tr("Strap width"), tr("strap width"), "LENGTH", tr("as the pattern says"))
    ] = None
    ease: Annotated[
        values.Offset | None, Key(tr("Ease"), tr("room added to the measure"), "LENGTH", tr("as the pattern says"))
    ] = None
    strands: Annotated[
        values.Whole | None,
        Field(ge=1, le=MOST_STRANDS),
        Key(tr("Strands"), tr("number of strands"), "N", "3", "braid"),
    ] = None
    sets: Annotated[
        values.Whole | None,
        Field(ge=0, le=MOST_SETS),
        Key(tr("Braid sets"), tr("number of braid sets; 0 for a plain strap"), "N", tr("as many as fit"), "braid"),
    ] = None
    weave: Annotated[
        Weaving | None,
        Key(
            tr("Way of braiding"),
            tr("plain turns worked over or under, or over-under"),
            "WAY",
            tr("as the pattern says"),
            "braid",
            WEAVES,
        ),
    ] = None
    turns: Annotated[
        str | None,
        values.text(400),
        Key(
            tr("Turns of your own"),
            tr("turns of your own, such as 'Ro Lo', as a right hand works them"),
            "TURNS",
            "",
            "braid",
        ),
    ] = None
    hand: Annotated[
        Hand | None, Key(tr("Worked by"), tr("the hand that works the braid"), "HAND", tr("right hand"), "braid", HANDS)
    ] = None
    ends: Annotated[
        tuple[str, str] | None,
        values.reader(_shapes),
        Key(
            tr("Ends"),
            tr("round, pointed, square or clipped; two with a comma for start and finish"),
            "SHAPES",
            tr("as the pattern says"),
        ),
    ] = None
    end_radius: Annotated[
        values.Ends | None,
        Key(
            tr("Radius of round ends"),
            tr("radius that the corners of a round end are punched to, if smaller than half the width; start; finish"),
            "LENGTH",
            tr("half the width"),
        ),
    ] = None
    to_tip: Annotated[
        values.EndsOrZero | None,
        Key(
            tr("Reference point to raw end"),
            tr(
                "from the reference point (a snap's centre, a buckle's bar) out to the raw end; one length, or start; finish"
            ),
            "LENGTH",
            tr("as the pattern says"),
        ),
    ] = None
    to_slit: Annotated[
        values.EndsOrZero | None,
        Key(
            tr("Reference point to slits"),
            tr("from the reference point in to where the slits stop; one length, or start; finish"),
            "LENGTH",
            tr("as the pattern says"),
        ),
    ] = None
    relief: Annotated[
        values.Length | None,
        Key(
            tr("Round holes at the slit ends"),
            tr("round holes of this diameter at the slit ends"),
            "LENGTH",
            tr("none"),
        ),
    ] = None
    hardware: Annotated[
        tuple[str, ...] | None,
        values.Listed,
        Field(min_length=1, max_length=10),
        Key(
            tr("Hardware"),
            tr("sizes by name, such as snap-24 or 'line 24', instead of the tool's choice; several with commas"),
            "NAME",
            tr("what the leather takes"),
        ),
    ] = None
    holes: Annotated[
        values.Whole | None,
        Field(ge=1, le=MOST_HOLES),
        Key(tr("Holes in the row"), tr("holes in a belt's row"), "N", tr("as the pattern says")),
    ] = None
    load: Annotated[
        values.Load | None, Key(tr("A load to estimate for"), tr("load to estimate for, e.g. '12 kg'"), "LOAD", "12 kg")
    ] = None
    factor: Annotated[
        values.Number | None,
        Field(ge=1, le=100),
        Key(tr("Factor on the weakest section"), tr("what the weakest section is divided by"), "N", "8"),
    ] = None
    broken: Annotated[
        values.Flag | None,
        Key(
            tr("Long strap on paper"),
            tr(
                "a strap too long for one sheet as a broken view: both ends at full scale, and the distance between two marks"
            ),
            "YES",
            tr("whole"),
            "paper",
            VIEWS,
        ),
    ] = None
    label: Annotated[
        str | None,
        Field(max_length=MOST_LABEL),
        values.text(MOST_LABEL),
        Key(tr("Name on the paper"), tr("what to call the piece on paper"), "TEXT", tr("its own title"), "name"),
    ] = None
    person: Annotated[
        str | None,
        Field(max_length=MOST_LABEL),
        values.text(MOST_LABEL),
        Key(
            tr("For"),
            tr("whom it is for; the order adds up what each person's pieces come to"),
            "TEXT",
            tr("nobody"),
            "name",
        ),
    ] = None
    count: Annotated[
        values.Whole, Field(ge=1, le=MOST_COUNT), Key(tr("How many"), tr("how many to cut"), "N", "1", "name")
    ] = 1


class StripAsk(schema.Strict):
    """Ready-made strips of one leather, width and length: how many are in hand, or what one costs."""

    leather: Annotated[str, values.text(80)]
    width: values.Length
    length: values.Length
    have: Annotated[int | None, Field(ge=0, le=100_000)] = None
    price: Annotated[str | None, values.text(20)] = None
    trim: values.LengthOrZero = 0.0


class JobAsk(schema.Strict):
    """What is asked of a whole job: what its pieces share, and what it is made into."""

    title: Annotated[
        str | None,
        Field(min_length=1, max_length=120),
        Key(tr("Title"), tr("title on every sheet"), "TEXT", "", "whole"),
    ] = None
    units: Annotated[
        Units | None,
        Key(
            tr("A bare number means"),
            tr("units shown (inches to 1/32 or to 1/16), and meant by a bare number"),
            "UNITS",
            "mm",
            "goods",
            (("mm", "mm"), ("in", tr("inches, to 1/32")), ("in16", tr("inches, to 1/16"))),
        ),
    ] = None
    paper: Annotated[
        papers.Paper,
        values.reader(lambda v, _: papers.read(v)),
        Key(
            tr("Paper"),
            tr("A5 to A0, letter, legal, tabloid, or a size such as '330 mm x 480 mm'"),
            "PAPER",
            "A4",
            "paper",
        ),
    ] = papers.DEFAULT
    margin: Annotated[
        float | None,
        values.length(least=LEAST_MARGIN, most=MOST_MARGIN),
        Key(tr("Margin of the printer"), tr("margin that the printer leaves white"), "LENGTH", "8 mm", "paper"),
    ] = None
    formats: Annotated[
        tuple[str, ...],
        values.Listed,
        values.each_of(FORMATS, "format"),
        Field(min_length=1, max_length=10),
        Key(tr("Sheets as"), tr("pdf, svg or pdf,svg"), "LIST", "pdf", "paper", hidden=True),
    ] = ("pdf",)
    card: Annotated[
        Card,
        Key(
            tr("Bench card"),
            tr("bench card with the sheets, in its own file, or none"),
            "WHERE",
            tr("with the sheets"),
            "paper",
            (("with", tr("with the sheets")), ("alone", tr("in a file of its own")), ("none", tr("none"))),
            hidden=True,
        ),
    ] = "with"
    slips: Annotated[
        values.Flag | None,
        Key(
            tr("Common slips"),
            tr("a page with the bench card for each braid and hand: the common slips, how each looks, and the mend"),
            "YES",
            tr("no page"),
            "paper",
            (("true", tr("a page for each braid and hand")),),
        ),
    ] = None
    class_sheet: Annotated[
        values.Flag | None,
        Key(
            tr("Class sheet"),
            tr(
                "a sheet for the teacher: order of work, what to check, who has which hand and leather, slips to watch for"
            ),
            "YES",
            tr("none"),
            "whole",
            (("true", tr("in front, for the teacher")),),
        ),
    ] = None
    hand: Annotated[
        Hand | None,
        Key(tr("Worked by"), tr("the hand of every piece that names none"), "HAND", tr("right hand"), "whole", HANDS),
    ] = None
    left_handed: Annotated[
        values.Flag | None, Key(tr("Left-handed"), tr("the same as hand = 'left'"), "YES", "", "whole", hidden=True)
    ] = None
    broken: Annotated[
        values.Flag | None,
        Key(
            tr("Long straps on paper"),
            tr("broken views for all pieces that do not say"),
            "YES",
            tr("whole"),
            "paper",
            VIEWS,
        ),
    ] = None
    machine: Annotated[
        str | None,
        values.text(60),
        Key(
            tr("Cutter"),
            tr("also write files for this cutter (a profile in patterns/machines)"),
            "PROFILE",
            tr("none"),
            "cutter",
        ),
    ] = None
    bed: Annotated[
        tuple[float, float] | None,
        values.reader(lambda v, _: papers.parse_bed(v, "")),
        Key(
            tr("Bed or leather"),
            tr("bed or sheet of leather, instead of the profile's, e.g. '900 mm x 600 mm'"),
            "SIZE",
            tr("the profile's"),
            "cutter",
        ),
    ] = None
    printer: Annotated[
        str | None,
        values.text(60),
        Key(
            tr("Measured printer"),
            tr("correct the sheets for this printer (see 'strapwork scale')"),
            "NAME",
            tr("none"),
            "paper",
        ),
    ] = None
    lists: Annotated[
        Literal["with", "none"] | None,
        Key(
            tr("Order page"),
            tr("a page of what to cut, lay out and buy in front of the sheets; left out: for more than one piece"),
            "WHERE",
            tr("for more than one piece"),
            "whole",
            (("with", tr("with the sheets")), ("none", tr("none"))),
        ),
    ] = None
    strips: Annotated[
        tuple[StripAsk, ...],
        values.Tables,
        Field(max_length=200),
        Key(
            tr("Strips in hand or on sale"),
            tr("ready-made strips to cut from, each a table"),
            "TABLES",
            "",
            "whole",
            hidden=True,
        ),
    ] = ()
    blade: Annotated[
        values.LengthOrZero | None,
        Key(
            tr("Blade at every cut"),
            tr("what the blade takes at every cut of a strip"),
            "LENGTH",
            tr("nothing"),
            "whole",
        ),
    ] = None
    spare: Annotated[
        values.Share | None,
        Field(ge=0, le=5),
        Key(
            tr("Spare hardware"),
            tr("share of hardware to lay out on top, such as 0.1 or 10 %"),
            "SHARE",
            "0.1",
            "whole",
        ),
    ] = None
    waste: Annotated[
        values.Share | None,
        Field(ge=0, le=5),
        Key(
            tr("Waste of leather"),
            tr("share of leather added for waste where nothing is planned"),
            "SHARE",
            "0.3",
            "whole",
        ),
    ] = None
    prices: Annotated[
        str | None,
        values.text(200),
        Key(
            tr("Prices"),
            tr("a price file (see 'strapwork prices'): its path, or its name in your folder of prices"),
            "FILE",
            tr("none"),
            "whole",
        ),
    ] = None
    leathers: Annotated[
        dict[str, LeatherSpec],
        values.Table,
        Field(max_length=100),
        Key(
            tr("Leathers of this job"),
            tr("leathers by name, each a table as on the shelf"),
            "TABLE",
            "",
            "whole",
            hidden=True,
        ),
    ] = Field(default_factory=dict)

    @property
    def default_hand(self) -> Hand:
        """The hand of pieces that name none."""
        return self.hand or ("left" if self.left_handed else "right")
