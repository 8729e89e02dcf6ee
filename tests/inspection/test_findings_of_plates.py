"""Findings that pixels alone can tell, each with the twin that must not be told."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from setupassist.art.plates import Plate, PlateSet
from setupassist.errors import InputFault
from setupassist.inspection.findings import reading_notes
from setupassist.inspection.survey import measure_plates
from setupassist.words import say, words_in


def codes(measure):
    return {finding.code: finding for finding in measure.findings}


def test_no_ink_stops(draw):
    measure = measure_plates(draw.plate_set([np.zeros((400, 400), np.uint8), draw.disc(400, 400, 200, 200, 100)]))
    finding = codes(measure)["no-ink"]
    assert finding.plates == ("ink 0",)
    assert finding.severity == "stop"


def test_the_same_plate_twice(draw):
    one, two = draw.disc(900, 900, 400, 400, 300), draw.disc(900, 900, 430, 400, 300)
    retouched = one.copy()
    retouched[380:400, 300:340] = 0
    assert codes(measure_plates(draw.plate_set([one, retouched])))["same-plate-twice"].plates == ("ink 0", "ink 1")
    assert "same-plate-twice" not in codes(measure_plates(draw.plate_set([one, two])))


def test_two_tints_are_not_the_same_plate(draw, on_paper):
    one, two = (on_paper(900, 900, (100, 100, np.full((600, 600), level, np.uint8))) for level in (60, 90))
    assert "same-plate-twice" not in codes(measure_plates(draw.plate_set([one, two])))
    assert "same-plate-twice" in codes(measure_plates(draw.plate_set([one, one.copy()])))


def test_a_negative_looks_reversed(draw):
    art = [draw.disc(900, 900, 400 + 60 * n, 450, 150 + 30 * n) for n in range(3)]
    measure = measure_plates(draw.plate_set([art[0], 255 - art[1], art[2]]))
    finding = codes(measure)["looks-reversed"]
    assert finding.plates == ("ink 1",)
    assert finding.severity == "stop"
    assert "looks-reversed" not in codes(measure_plates(draw.plate_set(art)))


def test_odd_sizes_and_resolutions_are_told_unread():
    def read(rows):
        raise AssertionError("plates that differ must not be read")
        yield

    def told(*plates):
        return codes(measure_plates(PlateSet("set", plates, read)))

    one = Plate("one", "1.png", 500, 400, 600, True)
    assert told(one, Plate("two", "2.png", 500, 401, 600, True))["sizes-differ"].plates == ("two",)
    finding = told(one, Plate("two", "2.png", 500, 400, 300, True))["resolutions-differ"]
    assert (finding.severity, finding.measured, finding.limit) == ("stop", 300, 600)
    assert finding.places_mm == ()
    # a plate of half the resolution and half the pixels is of the same size: one cause, one finding
    assert set(told(one, Plate("two", "2.png", 250, 201, 300, True))) == {"resolutions-differ"}
    both = told(one, Plate("two", "2.png", 250, 204, 300, True))
    assert (both["sizes-differ"].plates, both["resolutions-differ"].plates) == (("two",), ("two",))
    assert set(told(one, Plate("two", "2.png", 250, 200, None, True))) == {"sizes-differ", "reading-note"}


@pytest.mark.parametrize(("dpi", "told"), [(150, True), (200, False)])
def test_a_solid_plate_needs_200_dpi(draw, dpi, told):
    found = codes(measure_plates(draw.plate_set([draw.disc(500, 500, 250, 250, 200)], dpi=dpi)))
    assert ("resolution-low" in found) is told


@pytest.mark.parametrize(("lpi", "told"), [(55, True), (45, False)])
def test_a_halftone_needs_six_pixels_a_dot_row(draw, on_paper, lpi, told):
    art = on_paper(500, 500, (50, 50, draw.screened(400, 400, dpi=300, lpi=lpi, angle=30)))
    found = codes(measure_plates(draw.plate_set([art], dpi=300)))
    assert ("resolution-low" in found) is told
    if told:
        assert found["resolution-low"].measured == pytest.approx(300 / 55, rel=0.012)


def test_every_note_of_the_readers_reaches_the_measure(draw):
    arrays = [draw.disc(300, 300, 150, 150, 100), draw.disc(300, 300, 100, 150, 60)]
    plates = draw.plate_set(arrays)
    noted = replace(plates, notes=("proof.pdf is left out", "b.png: is a JPEG"))
    found = [f for f in measure_plates(noted).findings if f.code == "reading-note"]
    assert [f.text for f in found] == list(noted.notes)
    assert {f.severity for f in found} == {"note"}
    assert "reading-note" not in codes(measure_plates(plates))


def test_what_several_files_say_alike_is_one_note(draw):
    """A set of JPEGs has one note a kind, with its plates; files come four by name; other notes stay by themselves."""
    names = ("a", "b", "c", "d", "e")
    arrays = [draw.disc(300, 300, 150, 150, 40 + 20 * n) for n in range(5)]
    plates = draw.plate_set(arrays)
    every = tuple(replace(p, name=n, file=f"{n}.jpg") for p, n in zip(plates.plates, names, strict=True))
    kinds = ("jpeg-edges", "luminance")
    notes = [say(f"art.note.{kind}", file=f"{n}.jpg", count=1) for n in names for kind in kinds]
    notes = [*notes, say("art.note.turned", file="b.jpg", count=1), say("art.note.turned", file="b.jpg", count=1)]
    notes.append(say("art.note.own-dpi", file="a.jpg", own=300, given=600))
    notes.append(say("art.pdf.note-first-page", file="e.jpg", count=3))
    found = {f.text: f for f in reading_notes(replace(plates, plates=every, notes=tuple(notes)))}
    assert list(found) == [
        "a.jpg: the file says 300 dpi itself, so the 600 dpi given are not used for it",
        "e.jpg: has 3 pages, the first is read",
        "a.jpg, b.jpg, c.jpg, d.jpg and 1 more: are JPEGs, whose edges are not exact; PNG or TIFF keeps them",
        "a.jpg, b.jpg, c.jpg, d.jpg and 1 more: are colour pictures, read as luminance",
        "b.jpg: says that it is to be shown turned; it is read as it is stored",
    ]
    assert [f.plates for f in found.values()] == [(), (), names, names, ("b",)]
    spanish = [words_in("es")(text) for text in found]
    assert spanish[2].startswith("a.jpg, b.jpg, c.jpg, d.jpg y 1 más: son JPEG")


def test_notes_are_told_of_plates_that_are_not_read(draw):
    plates = draw.plate_set([np.zeros((300, 300), np.uint8), np.zeros((300, 301), np.uint8)])
    found = codes(measure_plates(replace(plates, notes=("proof.pdf is left out",))))
    assert found["reading-note"].text == "proof.pdf is left out"
    assert "sizes-differ" in found


def test_a_plate_without_a_resolution_among_others_is_told(draw):
    plates = draw.plate_set([draw.disc(300, 300, 150, 150, 100), draw.disc(300, 300, 100, 150, 60)])
    silent = replace(plates, plates=(plates.plates[0], replace(plates.plates[1], dpi=None)))
    text = codes(measure_plates(silent))["reading-note"].text
    assert text == "no resolution in the file of ink 1: taken as the other plates', 600 dpi"


def test_of_many_plates_four_are_named():
    def read(rows):
        raise AssertionError("plates that differ must not be read")
        yield

    odd = [Plate(f"p{n}", f"{n}.png", 500, 401, 600, True) for n in range(6)]
    measure = measure_plates(PlateSet("set", (Plate("one", "1.png", 500, 400, 600, True), *odd), read))
    told = codes(measure)["sizes-differ"]
    assert told.told.startswith("p0, p1, p2, p3 and 2 more: not the size of one (400 x 500 pixels);")
    assert words_in("es")(told.text).startswith("p0, p1, p2, p3 y 2 más: no es del tamaño de one")


def test_a_set_without_plates_or_rows_is_refused():
    def read(rows):
        yield (np.zeros((64, 400), np.uint8),)

    with pytest.raises(InputFault, match="set: holds no plates; name a folder or file with at least one plate"):
        measure_plates(PlateSet("set", (), read))
    with pytest.raises(InputFault, match=r"set: ends after \d+ of 500 rows; export it again"):
        measure_plates(PlateSet("set", (Plate("one", "1.png", 500, 400, 600, True),), read))
