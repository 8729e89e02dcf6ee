"""Plates of PDFs drawn here: which inks there are, what each plate holds, and what is told of the reading."""

from __future__ import annotations

import numpy as np
import pikepdf
import pytest
import tifffile
from pikepdf import Array, Dictionary, Name
from PIL import Image

from setupassist.art import pdf_colour, tiff
from setupassist.art.opening import open_files, open_plates
from setupassist.art.plates import Note
from setupassist.documents.terms import Severity
from setupassist.errors import InputFault
from setupassist.inspection.findings import reading_notes
from setupassist.inspection.survey import measure_plates

DPI = 72


def notes_by_code(plates):
    return {note.code: note for note in plates.notes if isinstance(note, Note)}


def at(plate, x, y):
    """Ink at a point of a page of 72 points drawn at 72 dpi; y runs up as on the page."""
    return int(plate[71 - y, x])


def test_process_inks_are_called_as_in_tiff():
    assert pdf_colour.PROCESS == tiff.PROCESS


def test_spot_and_process_inks_that_are_painted(pdf, whole_plates):
    pdf.page("/R cs 0.4 scn 10 10 20 20 re f 0 0.6 0 0 k 40 40 20 20 re f")
    plates = open_plates(pdf.save(), dpi=DPI)
    assert [(p.name, p.rows, p.columns, p.dpi, p.two_level) for p in plates.plates] == [
        ("process magenta", 72, 72, 72, False),
        ("Fire Red", 72, 72, 72, False),
    ]
    ink = whole_plates(plates)
    expected = np.zeros((72, 72), np.uint8)
    expected[72 - 30 : 72 - 10, 10:30] = 102
    assert np.array_equal(ink["Fire Red"], expected)
    assert at(ink["process magenta"], 50, 50) == 153
    assert ink["process magenta"].sum() == 153 * 400


def test_every_tint_comes_out_exactly(pdf, whole_plates):
    pdf.page(" ".join(f"/R cs {step / 255:.6f} scn {step} 0 1 10 re f" for step in range(256)), size=(256, 10))
    ink = whole_plates(open_plates(pdf.save(), dpi=DPI))["Fire Red"]
    assert np.array_equal(ink[5], np.arange(256))


def test_colours_of_inks_come_from_their_alternate(pdf):
    pdf.page("/R cs 1 scn 0 0 9 9 re f /B cs 1 scn 9 0 9 9 re f 1 0 0 0 k 30 30 9 9 re f")
    cyan, red, navy = open_plates(pdf.save(), dpi=DPI).plates
    assert (cyan.name, red.name, navy.name) == ("process cyan", "Fire Red", "Navy 2")
    parts = [[int(plate.colour[i : i + 2], 16) for i in (1, 3, 5)] for plate in (red, navy)]
    (red_of_red, _, blue_of_red), (red_of_navy, _, blue_of_navy) = parts
    assert (red_of_red > 200, blue_of_red < 100) == (True, True)
    assert (blue_of_navy > 120, red_of_navy < 60) == (True, True)
    assert cyan.colour is not None


@pytest.mark.parametrize(
    ("state", "red_left", "magenta_left"),
    [("", 0, 0), ("/over0 gs", 255, 0), ("/over1 gs", 255, 128)],
)
def test_overprint_leaves_what_lies_below(pdf, whole_plates, state, red_left, magenta_left):
    """Red and magenta below, cyan in DeviceCMYK over both: a zero leaves magenta alone in mode 1 only."""
    below = "0 0.5 0 0 k 0 0 72 72 re f /over0 gs /R cs 1 scn 0 0 72 72 re f /off gs"
    states = {
        "off": Dictionary(OP=False, op=False),
        "over0": Dictionary(OP=True, op=True, OPM=0),
        "over1": Dictionary(OP=True, op=True, OPM=1),
    }
    pdf.page(f"{below} {state} 1 0 0 0 k 20 20 30 30 re f", ExtGState=states)
    ink = whole_plates(open_plates(pdf.save(), dpi=DPI))
    assert at(ink["process cyan"], 30, 30) == 255
    assert at(ink["Fire Red"], 30, 30) == red_left
    assert at(ink["process magenta"], 30, 30) == pytest.approx(magenta_left, abs=1)
    assert at(ink["Fire Red"], 5, 5) == 255


def test_a_form_inherits_colour_and_overprint(pdf, whole_plates):
    form = pdf.form(b"0 0 20 20 re f", (0, 0, 20, 20))
    pdf.page("/R cs 1 scn 0 0 72 72 re f /B cs 0.5 scn q 1 0 0 1 5 5 cm /F Do Q /over0 gs q 1 0 0 1 40 5 cm /F Do Q",
             XObject={"F": form})  # fmt: skip
    ink = whole_plates(open_plates(pdf.save(), dpi=DPI))
    assert (at(ink["Fire Red"], 10, 10), at(ink["Navy 2"], 10, 10)) == (0, pytest.approx(128, abs=1))
    assert (at(ink["Fire Red"], 50, 10), at(ink["Navy 2"], 50, 10)) == (255, pytest.approx(128, abs=1))


def test_device_n_all_and_none(pdf, whole_plates):
    pdf.page("/RB cs 0.2 0.8 scn 0 0 20 20 re f /All cs 1 scn 30 0 20 20 re f /None cs 1 scn 0 0 20 20 re f")
    ink = whole_plates(open_plates(pdf.save(), dpi=DPI))
    assert set(ink) == {"Fire Red", "Navy 2"}
    assert [at(ink[name], 5, 5) for name in ("Fire Red", "Navy 2")] == [51, 204]
    assert [at(ink[name], 40, 5) for name in ("Fire Red", "Navy 2")] == [255, 255]


def test_images_of_every_kind(pdf, whole_plates):
    """Each image is 4 x 4 pixels of one value, so that its middle tells the value."""
    value = np.full((4, 4), 51)
    deep = np.full((4, 4), 51 * 257)
    two = np.dstack([np.full((4, 4), 51), np.full((4, 4), 204)])
    palette = pikepdf.String(bytes([0, 51, 255, 0]))
    images = {
        "a": pdf.image(value, pdf.spaces.R),
        "b": pdf.image(deep, pdf.spaces.R, 16),
        "c": pdf.image(np.full((4, 4), 3), pdf.spaces.R, 4),
        "d": pdf.image(value, pdf.spaces.R, Decode=[1, 0]),
        "e": pdf.image(two, pdf.spaces.RB),
        "f": pdf.image(np.full((4, 4), 1), Array([Name.Indexed, pdf.spaces.R, 3, palette]), 2),
        "g": pdf.image(np.zeros((4, 4), int), None, 1, ImageMask=True),
        "h": pdf.image(two, pdf.spaces.RB, Mask=[51, 51, 200, 210]),
    }
    draws = [f"q 8 0 0 8 {8 * index} 0 cm /{name} Do Q" for index, name in enumerate(images)]
    pdf.page("/R cs 0.2 scn " + " ".join(draws), XObject=images)
    ink = whole_plates(open_plates(pdf.save(), dpi=DPI))
    assert [at(ink["Fire Red"], 8 * index + 4, 4) for index in range(8)] == [51, 51, 51, 204, 51, 51, 51, 0]
    assert at(ink["Navy 2"], 36, 4) == 204


def test_jpeg_2000_and_fax(pdf, tmp_path, whole_plates):
    grey = np.full((16, 16), 51, np.uint8)
    Image.fromarray(np.dstack([grey, grey * 2, grey * 3])).save(tmp_path / "a.jp2", irreversible=False)
    Image.fromarray(np.eye(16) > 0).save(tmp_path / "a.tif", compression="group4")
    with tifffile.TiffFile(tmp_path / "a.tif") as file:
        (start,), (count,) = file.pages[0].dataoffsets, file.pages[0].databytecounts
    fax = (tmp_path / "a.tif").read_bytes()[start : start + count]
    three = pdf.device_n("Fire Red", "Navy 2", "Gold")
    kind = {"Type": Name.XObject, "Subtype": Name.Image, "Width": 16, "Height": 16}
    parameters = Dictionary(K=-1, Columns=16, Rows=16)
    images = {
        "J": pdf.stream((tmp_path / "a.jp2").read_bytes(), ColorSpace=three, Filter=Name.JPXDecode, **kind),
        "F": pdf.stream(fax, ColorSpace=pdf.spaces.W, BitsPerComponent=1, Filter=Name.CCITTFaxDecode,
                        DecodeParms=parameters, **kind),
    }  # fmt: skip
    pdf.page("q 32 0 0 32 0 0 cm /J Do Q q 16 0 0 16 40 40 cm /F Do Q", XObject=images)
    ink = whole_plates(open_plates(pdf.save(), dpi=DPI))
    assert [at(ink[name], 16, 16) for name in ("Fire Red", "Navy 2", "Gold")] == [51, 102, 153]
    # the TIFF says that its ones are white, so the diagonal is what its fax codes call black: 0 in a PDF
    assert np.array_equal(ink["Flash White"][16:32, 40:56], (1 - np.eye(16)) * 255)


def test_inline_image(pdf, whole_plates):
    pdf.page("q 20 0 0 20 0 0 cm BI /W 1 /H 1 /BPC 8 /CS /R /F /AHx ID 66> EI Q")
    assert at(whole_plates(open_plates(pdf.save(), dpi=DPI))["Fire Red"], 10, 10) == 0x66


def test_shadings(pdf, whole_plates):
    ramp = Dictionary(FunctionType=2, Domain=[0, 1], C0=[0], C1=[1], N=1)
    axial = Dictionary(ShadingType=2, ColorSpace=pdf.spaces.R, Coords=[0, 0, 72, 0], Function=ramp)
    both = pdf.stream(b"{ exch }", FunctionType=4, Domain=[0, 1, 0, 1], Range=[0, 1, 0, 1])
    function = Dictionary(ShadingType=1, ColorSpace=pdf.spaces.RB, Function=both, Matrix=[72, 0, 0, 30, 0, 42])
    pdf.page("q 0 0 72 30 re W n /A sh Q q 0 42 72 30 re W n /F sh Q", Shading={"A": axial, "F": function})
    ink = whole_plates(open_plates(pdf.save(), dpi=DPI))
    # tolerances: a pixel spans 3.5 levels, and where in it the renderer looks is its own choice
    across = (np.arange(72) + 0.5) / 72 * 255
    up = (np.arange(30)[::-1] + 0.5) / 30 * 255
    assert ink["Fire Red"][60] == pytest.approx(across, abs=4.5)
    # the first input runs right, the second up, and the program swaps them
    assert ink["Fire Red"][:30, 36] == pytest.approx(up, abs=4.5)
    assert ink["Navy 2"][10] == pytest.approx(across, abs=4.5)


def test_cells_of_a_tiling_keep_their_step(pdf, whole_plates):
    """A step of 7.3 pixels: after fifty cells a rounded one would be off by fifteen pixels."""
    cell = pdf.stream(b"/R cs 1 scn 0 0 3 10 re f", PatternType=1, PaintType=1, TilingType=1, BBox=[0, 0, 7.3, 10],
                      XStep=7.3, YStep=10, Resources=Dictionary(ColorSpace=pdf.spaces))  # fmt: skip
    pdf.page("/Pattern cs /P scn 0 0 365 10 re f", size=(365, 10), Pattern={"P": cell})
    ink = whole_plates(open_plates(pdf.save(), dpi=DPI))["Fire Red"][5].astype(float) / 255
    begins = np.flatnonzero((ink[1:] >= 0.5) & (ink[:-1] < 0.5)) + 1
    assert len(begins) == 49
    assert begins == pytest.approx(7.3 * np.arange(1, 50), abs=1.1)


@pytest.mark.parametrize("then", [Dictionary(BM=Name.Normal), Dictionary(CA=1), Dictionary(LW=2), Dictionary(OP=False)])
def test_cells_that_overlap_are_one_to_what_was_set_before(pdf, whole_plates, then):
    """Half an opacity stays set whatever else is set after it; cells that lie over each other show it once."""
    cell = pdf.stream(b"/R cs 1 scn 0 0 20 10 re f", PatternType=1, PaintType=1, TilingType=1, BBox=[0, 0, 20, 10],
                      XStep=10, YStep=10, Resources=Dictionary(ColorSpace=pdf.spaces))  # fmt: skip
    pdf.page("/Half gs /Then gs /Pattern cs /P scn 0 0 72 72 re f", Pattern={"P": cell},
             ExtGState={"Half": Dictionary(ca=0.5), "Then": then})  # fmt: skip
    plate = whole_plates(open_plates(pdf.save(), dpi=DPI))["Fire Red"]
    assert at(plate, 36, 36) == pytest.approx(127.5, abs=2)


def test_cells_of_a_tiling_keep_their_step_in_a_stroke(pdf, whole_plates):
    """As where a path is filled; the renderer by itself rounds 7.3 to 7."""
    cell = pdf.stream(b"/R cs 1 scn 0 0 3 10 re f", PatternType=1, PaintType=1, TilingType=1, BBox=[0, 0, 7.3, 10],
                      XStep=7.3, YStep=10, Resources=Dictionary(ColorSpace=pdf.spaces))  # fmt: skip
    pdf.page("/Pattern CS /P SCN 10 w 0 5 m 365 5 l S", size=(365, 10), Pattern={"P": cell})
    plates = open_plates(pdf.save(), dpi=DPI)
    ink = whole_plates(plates)["Fire Red"][5].astype(float) / 255
    begins = np.flatnonzero((ink[1:] >= 0.5) & (ink[:-1] < 0.5)) + 1
    assert len(begins) == 49
    assert begins == pytest.approx(7.3 * np.arange(1, 50), abs=1.1)
    assert plates.notes == ()


def test_drawn_glyphs(pdf, whole_plates):
    font = Dictionary(
        Type=Name.Font, Subtype=Name.Type3, FontBBox=[0, 0, 1000, 1000], FontMatrix=[0.001, 0, 0, 0.001, 0, 0],
        FirstChar=97, LastChar=98, Widths=[1000, 1000],
        Encoding=Dictionary(Type=Name.Encoding, Differences=[97, Name.a, Name.b]),
        Resources=Dictionary(ColorSpace=pdf.spaces),
        CharProcs=Dictionary(a=pdf.stream(b"1000 0 0 0 1000 1000 d1 0 0 1000 1000 re f"),
                             b=pdf.stream(b"1000 0 d0 /R cs 1 scn 0 0 1000 1000 re f")),
    )  # fmt: skip
    pdf.page("BT /T 20 Tf /B cs 0.6 scn 10 10 Td (ab) Tj ET", Font={"T": font})
    ink = whole_plates(open_plates(pdf.save(), dpi=DPI))
    assert (at(ink["Navy 2"], 20, 20), at(ink["Fire Red"], 20, 20)) == (153, 0)
    assert (at(ink["Navy 2"], 40, 20), at(ink["Fire Red"], 40, 20)) == (0, 255)


@pytest.mark.parametrize(("mode", "red"), [("Normal", 128), ("Multiply", 191), ("Difference", 128)])
def test_blending(pdf, whole_plates, mode, red):
    """Half red over half red; spot inks take Difference as Normal (ISO 32000-1, 11.7.4.2)."""
    state = Dictionary(BM=Name(f"/{mode}"))
    pdf.page("/R cs 0.5 scn 0 0 72 72 re f /M gs 10 10 20 20 re f", ExtGState={"M": state})
    ink = whole_plates(open_plates(pdf.save(), dpi=DPI))["Fire Red"]
    assert at(ink, 20, 20) == pytest.approx(red, abs=1)


def test_overprint_within_an_isolated_group(pdf, whole_plates):
    """Over the group's own red it leaves the red alone; where the group is empty it covers what lies below."""
    body = b"/R cs 1 scn 0 0 20 20 re f /over0 gs /B cs 0.6 scn 10 0 20 20 re f"
    states = Dictionary(over0=Dictionary(OP=True, op=True))
    group = pdf.form(body, (0, 0, 40, 40), Group=Dictionary(S=Name.Transparency, I=True),
                     Resources=Dictionary(ColorSpace=pdf.spaces, ExtGState=states))  # fmt: skip
    pdf.page("/W cs 0.8 scn 0 0 72 72 re f /R cs 0.4 scn 0 0 72 72 re f /W cs 0.8 scn /over0 gs 0 0 72 72 re f "
             "/off gs /G Do", XObject={"G": group},
             ExtGState={"off": Dictionary(OP=False, op=False), "over0": states.over0})  # fmt: skip
    ink = whole_plates(open_plates(pdf.save(), dpi=DPI))
    found = {name: [at(plate, x, 10) for x in (5, 15, 25, 50)] for name, plate in ink.items()}
    assert found == {"Fire Red": [255, 255, 0, 102], "Navy 2": [0, 153, 153, 0], "Flash White": [0, 0, 0, 204]}


def test_what_a_hidden_layer_holds_is_left_out(pdf, whole_plates):
    shown, hidden = (
        pdf.document.make_indirect(Dictionary(Type=Name.OCG, Name=pikepdf.String(name))) for name in ("a", "b")
    )
    pdf.document.Root.OCProperties = Dictionary(OCGs=[shown, hidden], D=Dictionary(OFF=[hidden]))
    pdf.page("/OC /H BDC /B cs 1 scn 0 0 72 72 re f EMC /OC /S BDC /R cs 1 scn 0 0 9 9 re f EMC",
             Properties={"S": shown, "H": hidden})  # fmt: skip
    assert set(whole_plates(open_plates(pdf.save(), dpi=DPI))) == {"Fire Red"}


def test_page_box_turn_and_unit(pdf, whole_plates):
    """The crop box is taken; turned by 90 degrees clockwise the left edge becomes the top; a unit of 2 points."""
    pdf.page("/R cs 1 scn 10 20 5 5 re f", size=(72, 72), CropBox=[10, 20, 40, 60], Rotate=90, UserUnit=2)
    plates = open_plates(pdf.save(), dpi=DPI)
    ink = whole_plates(plates)["Fire Red"]
    assert ink.shape == (60, 80)
    assert ink[:10, :10].all()
    assert ink.sum() == 255 * 100


def test_what_stands_beside_the_trim_is_on_the_film(pdf, whole_plates):
    """Registration marks lie outside of the trim."""
    pdf.page("/R cs 1 scn 5 5 2 2 re f 30 30 9 9 re f", TrimBox=[20, 20, 60, 60], BleedBox=[17, 17, 63, 63])
    ink = whole_plates(open_plates(pdf.save(), dpi=DPI))["Fire Red"]
    assert ink.shape == (72, 72)
    assert ink.sum() == 255 * (4 + 81)


def test_rows_of_a_page_are_the_same_in_bands_of_any_height(pdf):
    pdf.page("/R cs 1 scn 10 10 m 60 20 l 30 65 l f")
    plates = open_plates(pdf.save(), dpi=288)
    one, two = ([band[0] for band in plates.read(height)] for height in (7, 288))
    assert np.array_equal(np.concatenate(one), np.concatenate(two))
    assert max(len(band) for band in one) == 7


def test_names_in_latin_1_bytes(pdf, whole_plates):
    """As older writers put them: the ink's accents are read, and no key in such bytes is in the way of the page."""

    def named(data):
        return pikepdf.Object.parse(b"/" + data)

    lime = b"VERDE#20LIM#d3N"
    space = pdf.separation("x", (1, 0, 1, 0))
    space[1] = named(lime)
    pdf.spaces[named(lime)] = space
    form = pdf.form(b"0 0 10 10 re f", (0, 0, 10, 10))
    form[named(b"a#d3")] = 1
    glyph = pdf.stream(b"10 0 0 0 10 10 d1 0 0 10 10 re f")
    font = Dictionary(
        Type=Name.Font, Subtype=Name.Type3, FontBBox=[0, 0, 10, 10], FontMatrix=[1, 0, 0, 1, 0, 0], FirstChar=65,
        LastChar=65, Widths=[10], CharProcs=Dictionary(),
        Encoding=Dictionary(Type=Name.Encoding, Differences=[65, named(b"g#d3")]),
    )  # fmt: skip
    font.CharProcs[named(b"g#d3")] = glyph
    page = pdf.page("/VERDE#20LIM#d3N cs /G#d3 gs 1 scn 0 0 10 10 re f q 1 0 0 1 20 0 cm /F#d3 Do Q"
                    " BT /T#d3 1 Tf 40 0 Td (A) Tj ET")  # fmt: skip
    page[named(b"own#d3")] = 1
    page.Resources.ExtGState[named(b"G#d3")] = Dictionary(LW=1, BM=named(b"Mode#d3"))
    page.Resources.ExtGState[named(b"G#d3")][named(b"own#d3")] = 1
    page.Resources.XObject = Dictionary()
    page.Resources.XObject[named(b"F#d3")] = form
    page.Resources.Font = Dictionary()
    page.Resources.Font[named(b"T#d3")] = font
    ink = whole_plates(open_plates(pdf.save(), dpi=DPI))
    assert list(ink) == ["VERDE LIMÓN"]
    assert [at(ink["VERDE LIMÓN"], x, 5) for x in (5, 15, 25, 35, 45, 55)] == [255, 0, 255, 0, 255, 0]


def test_inks_whose_names_differ_in_letters_only_are_one(pdf, whole_plates):
    pdf.spaces["/r"] = pdf.separation("fire RED", (0, 1, 1, 0))
    pdf.page("/R cs 1 scn 0 0 9 9 re f /r cs 1 scn 20 0 9 9 re f")
    plates = open_plates(pdf.save(), dpi=DPI)
    assert (whole_plates(plates)["Fire Red"] > 0).sum() == 2 * 81
    assert "art.pdf: the inks 'Fire Red' and 'fire RED' are read as one" in plates.notes


def test_names_that_are_no_utf_8(pdf, whole_plates):
    space = pikepdf.Object.parse(
        b"[/Separation /Caf#e9 /DeviceGray << /FunctionType 2 /Domain [0 1] /C0 [1] /C1 [0] /N 1 >>]"
    )
    pdf.spaces["/C"] = space
    pdf.page("/C cs 1 scn 0 0 9 9 re f")
    assert set(whole_plates(open_plates(pdf.save(), dpi=DPI))) == {"Café"}


def test_what_is_no_ink_is_told(pdf):
    pdf.page("1 0 0 rg 10 10 20 20 re f 0 g 40 40 9 9 re f")
    plates = open_plates(pdf.save(), dpi=DPI)
    note = notes_by_code(plates)["not-separated"]
    assert note.severity is Severity.WARN
    assert note.places_mm == (pytest.approx((20 / 72 * 25.4, 52 / 72 * 25.4), abs=0.02),)
    assert note.plates == ("process magenta", "process yellow", "process black")
    listed = open_files(
        [(pdf.folder / "art.pdf", "process yellow"), (pdf.folder / "art.pdf", "Process Black")], dpi=DPI
    )
    assert notes_by_code(listed)["not-separated"].plates == ("process yellow", "Process Black")
    finding = next(each for each in reading_notes(plates) if each.code == "not-separated")
    assert (finding.severity, finding.places_mm) == (Severity.WARN, note.places_mm)
    assert finding.text == note.text
    assert finding.remedy is not None


def test_process_plates_that_share_out_screen_colours_are_not_the_same_plate_twice(pdf):
    """Red is full magenta and yellow: one image on both. Two spot inks with one image are told all the same."""
    pdf.page("1 0 0 rg 10 10 20 20 re f /RB cs 1 1 scn 40 40 20 20 re f")
    found = [(each.code, each.plates) for each in measure_plates(open_plates(pdf.save(), dpi=300)).findings]
    told = dict(found)
    assert told["not-separated"] == ("process magenta", "process yellow")
    assert [plates for code, plates in found if code == "same-plate-twice"] == [("Fire Red", "Navy 2")]


def test_grey_objects_in_screen_colours_are_black_and_not_told(pdf):
    pdf.page("0 0 0 rg 10 10 20 20 re f")
    plates = open_plates(pdf.save(), dpi=DPI)
    assert [plate.name for plate in plates.plates] == ["process black"]
    assert plates.notes == ()


def test_a_font_that_is_not_in_the_file_is_told(pdf):
    font = Dictionary(Type=Name.Font, Subtype=Name.Type1, BaseFont=Name("/Helvetica-Bold"))
    pdf.page("BT /F 20 Tf /R cs 1 scn 10 10 Td (Hi) Tj ET", Font={"F": font})
    note = notes_by_code(open_plates(pdf.save(), dpi=DPI))["font-missing"]
    assert note.text == "art.pdf: the font Helvetica-Bold is not in the file, so its letters are drawn with another"


@pytest.mark.parametrize(
    ("content", "entries", "told"),
    [
        ("/H gs 1 0 0 0 k 0 0 9 9 re f", {"ExtGState": {"H": Dictionary(BM=Name.Luminosity)}}, "all process inks"),
        ("/Pattern cs /P scn 0 0 72 72 re f", {}, "pattern of very many cells"),
        ("/G Do", {}, "knock out each other"),
        (
            "/Pattern CS /P SCN 0 9 m 9 9 l S 1 0 0 0 k 0 0 9 9 re f",
            {},
            "strokes or stencils filled with a pattern",
        ),
        ("/I Do", {}, "overprints within a group"),
    ],
)
def test_what_is_only_approximated_is_told(pdf, content, entries, told):
    resources = Dictionary(ColorSpace=pdf.spaces)
    cell = pdf.stream(b"/R cs 1 scn 0 0 .1 .1 re f", PatternType=1, PaintType=1, TilingType=1, BBox=[0, 0, 0.2, 0.2],
                      XStep=0.2, YStep=0.2, Resources=resources)  # fmt: skip
    group = pdf.form(b"/R cs 1 scn 0 0 20 20 re f", (0, 0, 30, 30), Resources=resources,
                     Group=Dictionary(S=Name.Transparency, K=True))  # fmt: skip
    over = Dictionary(o=Dictionary(OP=True, op=True))
    ramp = Dictionary(FunctionType=2, Domain=[0, 1], C0=[0], C1=[1], N=1)
    axial = Dictionary(ShadingType=2, ColorSpace=pdf.spaces.R, Coords=[0, 0, 72, 0], Function=ramp)
    apart = pdf.form(b"/o gs /S sh", (0, 0, 30, 30), Group=Dictionary(S=Name.Transparency, I=True),
                     Resources=Dictionary(Shading=Dictionary(S=axial), ExtGState=over))  # fmt: skip
    pdf.page(content, Pattern={"P": cell}, XObject={"G": group, "I": apart}, **entries)
    note = notes_by_code(open_plates(pdf.save(), dpi=DPI))["approximated"]
    assert told in note.text
    assert note.severity is Severity.NOTE


def test_annotations_are_left_out_and_told(pdf, whole_plates):
    look = pdf.form(b"/B cs 1 scn 0 0 20 20 re f", (0, 0, 20, 20), Resources=Dictionary(ColorSpace=pdf.spaces))
    stamp = Dictionary(Type=Name.Annot, Subtype=Name.Stamp, Rect=[0, 0, 20, 20], AP=Dictionary(N=look))
    pdf.page("/R cs 1 scn 0 0 9 9 re f", Annots=Array([pdf.document.make_indirect(stamp)]))
    plates = open_plates(pdf.save(), dpi=DPI)
    assert set(whole_plates(plates)) == {"Fire Red"}
    assert "art.pdf: its annotations are left out" in plates.notes


def test_an_ink_that_leaves_no_mark_has_no_plate_and_is_told(pdf):
    pdf.page("/R cs 1 scn 0 0 9 9 re f /B cs 1 scn 200 200 9 9 re f")
    plates = open_plates(pdf.save(), dpi=DPI)
    assert [plate.name for plate in plates.plates] == ["Fire Red"]
    assert any("the ink Navy 2 leaves no mark on the page" in note for note in plates.notes)


def test_pages(pdf):
    pdf.page("/R cs 1 scn 0 0 9 9 re f")
    pdf.page("/B cs 1 scn 0 0 9 9 re f")
    path = pdf.save()
    assert [plate.name for plate in open_plates(path, dpi=DPI, page=2).plates] == ["Navy 2"]
    first = open_plates(path, dpi=DPI)
    assert [plate.name for plate in first.plates] == ["Fire Red"]
    assert first.notes == ("art.pdf: has 2 pages, the first is read",)
    with pytest.raises(InputFault, match=r"art\.pdf: has 2 pages, so there is no page 3; choose another page"):
        open_plates(path, dpi=DPI, page=3)


def test_small_text_is_drawn_finer(pdf):
    """Letters of 8 points at 150 dpi: reduced from twice the resolution they keep their place to half a pixel."""
    font = Dictionary(Type=Name.Font, Subtype=Name.Type1, BaseFont=Name("/Helvetica"))
    pdf.page("BT /F 8 Tf /R cs 1 scn 10 10 Td (iiiiiiiiiiiiiiii) Tj ET", Font={"F": font})
    ink = np.concatenate([band[0] for band in open_plates(pdf.save(), dpi=150).read(50)]).astype(float)
    columns = ink.sum(axis=0)
    edges = np.flatnonzero((columns[1:] > columns.max() / 2) & (columns[:-1] <= columns.max() / 2))
    step = 8 * 0.222 * 150 / 72  # the width of that letter
    places = edges - edges[0]
    assert len(edges) == 16
    assert places == pytest.approx(step * np.arange(16), abs=1.01)


def test_a_pdf_alone_in_a_folder(pdf, tmp_path):
    pdf.page("/R cs 1 scn 0 0 9 9 re f")
    pdf.page("/B cs 1 scn 0 0 9 9 re f")
    pdf.save()
    assert [plate.name for plate in open_plates(tmp_path, dpi=DPI, page=2).plates] == ["Navy 2"]
    pdf.save("other.pdf")
    with pytest.raises(InputFault, match="holds 2 PDFs and no images; hand in one PDF"):
        open_plates(tmp_path, dpi=DPI)


def test_inks_of_a_pdf_that_a_job_lists(pdf, whole_plates):
    pdf.page("/R cs 1 scn 0 0 9 9 re f /B cs 1 scn 20 0 9 9 re f")
    path = pdf.save()
    plates = open_files([(path, "navy 2"), (path, "Fire Red")], dpi=DPI)
    assert [plate.name for plate in plates.plates] == ["navy 2", "Fire Red"]
    assert {name: int((ink > 0).sum()) for name, ink in whole_plates(plates).items()} == {"navy 2": 81, "Fire Red": 81}
    with pytest.raises(InputFault, match="holds no ink 'Gold'"):
        open_files([(path, "Gold")], dpi=DPI)
