"""Every page as a reader meets it: what stands on it, that nothing overlaps, is cut, too small or off the paper."""

import ctypes
import dataclasses
import itertools
import re
from io import BytesIO

import numpy as np
import pypdfium2
import pytest
from pypdfium2 import raw
from reportlab.pdfgen.canvas import Canvas

from setupassist.sheet.book import setup_sheet
from setupassist.sheet.type import SMALLEST, clean
from setupassist.words import languages


@dataclasses.dataclass(frozen=True)
class Char:
    """One printed character: its tight box in points from the lower left corner, its size and its line's direction."""

    text: str
    left: float
    bottom: float
    right: float
    top: float
    size: float


class ReadSheet:
    """A rendered sheet read back: words and every character's place, by a reader that shares nothing with the maker."""

    def __init__(self, pdf):

        document = pypdfium2.PdfDocument(pdf)
        self.sizes, self.texts, self.chars, self.fonts = [], [], [], []
        for page in document:
            self.sizes.append(page.get_size())
            text = page.get_textpage()
            self.texts.append(text.get_text_bounded())
            chars = []
            for at in range(text.count_chars()):
                box = text.get_charbox(at)
                letter = chr(raw.FPDFText_GetUnicode(text, at))
                if letter.strip() and box[2] > box[0]:
                    chars.append(Char(letter, *box, raw.FPDFText_GetFontSize(text, at)))
            self.chars.append(chars)
            objects = page.get_objects(filter=[raw.FPDF_PAGEOBJ_TEXT])
            fonts = {}
            for each in objects:
                font = raw.FPDFTextObj_GetFont(each.raw)
                name = ctypes.create_string_buffer(80)
                raw.FPDFFont_GetBaseFontName(font, name, 80)
                fonts[name.value.decode()] = bool(raw.FPDFFont_GetIsEmbedded(font))
            self.fonts.append(fonts)

    def words(self, page):
        """Text of a page on one line."""
        return " ".join(self.texts[page].split())

    def letters(self, pages=None):
        """Text of pages without any space, so that broken words are found."""
        texts = self.texts if pages is None else [self.texts[page] for page in pages]
        return "".join("".join(texts).split())

    def room(self, name):
        """Pages whose head says that they are for that reader."""
        return [at for at in range(len(self.texts)) if f"for the {name}" in self.words(at)]

    def overlaps(self, *, more_than=0.8):
        """Pairs of characters on a page whose boxes lie over each other by more than so many points both ways."""
        found = []
        for page, chars in enumerate(self.chars):
            box = np.array([(c.left, c.bottom, c.right, c.top) for c in chars])
            order = np.argsort(box[:, 0])
            box = box[order]
            for at in range(len(box)):
                until = np.searchsorted(box[:, 0], box[at, 2] - more_than)
                near = box[at + 1 : until]
                high = np.minimum(near[:, 3], box[at, 3]) - np.maximum(near[:, 1], box[at, 1])
                wide = np.minimum(near[:, 2], box[at, 2]) - near[:, 0]
                for hit in np.flatnonzero((high > more_than) & (wide > more_than)):
                    found.append((page + 1, chars[order[at]].text, chars[order[at + 1 + hit]].text, box[at].round(1)))
        return found

    def outside(self, *, margin=30.0):
        """Characters nearer than ``margin`` points to the paper's left or right edge, or 15 to top or bottom."""
        found = []
        for (wide, high), chars in zip(self.sizes, self.chars, strict=True):
            found += [
                c for c in chars if c.left < margin or c.right > wide - margin or c.bottom < 15 or c.top > high - 15
            ]
        return found


@pytest.fixture(scope="module")
def plain_sheet(ordinary):
    return ReadSheet(setup_sheet(ordinary, paper="a4", units="inch"))


@pytest.fixture(scope="module")
def stress_sheets(stress):
    return {
        (paper, units): ReadSheet(setup_sheet(stress, paper=paper, units=units))
        for paper, units in (("a4", "inch"), ("letter", "metric"))
    }


def no_space(text):
    return "".join(clean(text).split())


def assert_well_set(sheet):
    assert sheet.overlaps() == []
    assert sheet.outside() == []
    assert min(c.size for chars in sheet.chars for c in chars) >= SMALLEST - 0.01
    assert all(fonts for fonts in sheet.fonts)
    for fonts in sheet.fonts:
        assert all(embedded for embedded in fonts.values())
        assert all("SourceSansPro" in name for name in fonts)


def test_page_one_holds_every_ink_mesh_and_number(ordinary, plain_sheet):
    page = plain_sheet.words(0)
    for screen in ordinary.screens():
        assert screen.name in page
        assert screen.colour in page
        assert f"{screen.mesh_per_inch:.0f}" in page
        assert f"{screen.mesh_per_cm:.0f} per cm" in page
    for said in (
        "7 screens",
        "8 strokes a piece",
        "2400 in all",
        "412 pieces an hour",
        "likely 330",
        "45 min running time",
        "flash from 4 s",
        "to cool",
        "head out of service",
        "load",
        "unload",
        "base, alone until gelled",
        "wet together: some harm (118), chiefly fern into harbour blue (44)",
        "two strokes",
        "blade 55/90/55",
        "S 48, M 96, L 96, XL 48",
        "12 spares there",
        "tested on press",
        "288 pieces",
        "charcoal tee",
        "plastisol",
        "75 mm below the collar",
    ):
        assert said in page, said


def test_every_station_of_the_press_stands_on_page_one(ordinary, plain_sheet):
    numbers = [c for c in plain_sheet.chars[0] if abs(c.size - 12) < 0.01 and c.text.isdigit()]
    by_row = {}
    for c in numbers:
        by_row.setdefault(round(c.bottom / 4), []).append(c)
    row = max(by_row.values(), key=len)
    told = "".join(c.text for c in sorted(row, key=lambda c: c.left))
    assert told == "".join(str(station) for station in range(1, ordinary.press.stations + 1))


def test_assumed_and_hand_set_values_stand_in_plain_sight(plain_sheet):
    page = plain_sheet.words(0)
    assert "Assumed, nobody answered flash before highlight: no; base hits: two strokes" in page
    assert "Set by hand soot, mesh 230 per inch; soot pinned at 10" in page


def test_every_page_has_its_head_and_foot(ordinary, plain_sheet):
    count = len(plain_sheet.texts)
    for at in range(count):
        page = plain_sheet.words(at)
        for said in (
            ordinary.job.title,
            ordinary.date,
            "leanest plan, nothing better within these limits",
            "press: Long bench",
            f"page {at + 1} of {count}",
            "tested on press:",
            "yes",
            "no",
            "test before the run",
            "h entered by hand",
        ):
            assert said in page, (at, said)


def test_an_ordinary_job_takes_a_page_a_reader_and_one_for_the_reasons(plain_sheet):
    rooms = ("press", "screen room", "ink room", "press crew", "office")
    assert [len(plain_sheet.room(room)) for room in rooms] == [3, 1, 1, 2, 1]  # "press" is in "press crew" too
    assert len(plain_sheet.texts) == 6


def test_each_reader_finds_what_is_theirs(plain_sheet):
    screen_room, ink_room, crew, why, office = (plain_sheet.words(at) for at in range(1, 6))
    for said in (
        "155 per inch (61 per cm), thread 64 µm: 1 screen",
        "196 per inch (77 per cm), thread 48 µm: 4",
        "18 µm",
        "25 N/cm",
        "centred on a frame of 23 × 31 in",
        "warn",
        "labels to cut out",
    ):
        assert said in screen_room, said
    for said in ("22 oz", "plastisol", "#e8d377", "low-bleed", "cures, film", "safety data sheet"):
        assert said in ink_room, said
    for said in (
        "Set white base first",
        "Checks before registering",
        "Test prints",
        "Stop and lock out",
        "curing",
        "75 degrees from the screen",
        "up to 6 pieces",
        "Printed size 11.2 × 11.9 in",
    ):
        assert said in crew, said
    for said in (
        "Base before the six colours that lie on it",
        "Sources 1 published: Impressions, May 2011",
        "Which base does the garment need?",
        "The base lies under all six colours.",
    ):
        assert said in why, said
    for said in (
        "2400",
        "8.7 s",
        "flash at station 3",
        "412, or 34 dozen",
        "10.2 ft/min",
        "118, some harm",
        "nothing better within these limits",
        "What really happened",
        "test print approved",
        "rejects",
    ):
        assert said in office, said


def test_units_follow_the_shop(ordinary):
    metric = ReadSheet(setup_sheet(ordinary, paper="a4", units="metric"))
    words = " ".join(metric.words(at) for at in range(len(metric.texts)))
    for said in (
        "61 per cm (155 per inch)",
        "284 × 301 mm",
        "584 × 787 mm",
        "2.4 mm",
        "610 g",
        "3.1 m/min",
        "149 to 166 °C",
    ):
        assert said in words, said
    assert not re.search(r"\d in\b(?! all)|\boz\b|ft/min|°F(?! by| usual|, )", words.split("Sources")[0])


def test_nothing_overlaps_or_leaves_the_paper(plain_sheet):
    assert_well_set(plain_sheet)


@pytest.mark.parametrize("which", [("a4", "inch"), ("letter", "metric")])
def test_the_straining_job_is_well_set(stress_sheets, which):
    assert_well_set(stress_sheets[which])


@pytest.mark.parametrize("language", languages()[1:])
@pytest.mark.parametrize("which", [("a4", "metric"), ("letter", "inch")])
def test_other_languages_are_well_set(ordinary, stress, which, language):
    paper, units = which
    for content in (ordinary, stress):
        assert_well_set(ReadSheet(setup_sheet(content, paper=paper, units=units, language=language)))


def test_long_and_foreign_names_are_whole_on_the_line(stress, stress_sheets):
    for sheet in stress_sheets.values():
        pages = [at for at in sheet.room("press") if at not in sheet.room("press crew")]
        letters = sheet.letters(pages)
        for screen in stress.screens():
            assert letters.count(no_space(screen.name)) >= 2, screen.name


def test_broken_limits_and_stops_stand_on_page_one(stress, stress_sheets):
    letters = stress_sheets["a4", "inch"].letters([0])
    assert no_space("Breaks 3 limits" + "".join(stress.plan.broken)) in letters
    assert no_space("Stop Base peeks out by 0.12 mm <&> along") in letters
    assert "arranged by hand" in stress_sheets["a4", "inch"].words(0)
    assert "nothing better" not in stress_sheets["a4", "inch"].words(0)


def test_groups_say_what_rests(stress, stress_sheets):
    letters = stress_sheets["a4", "inch"].letters()
    for group in stress.plan.groups[1:]:
        assert no_space(group.garment) in letters
    assert no_space(f"{stress.screens()[0].name} (station 2), flash at 3") in letters


def test_second_lap_says_where_things_go_on(stress_sheets):
    words = " ".join(stress_sheets["a4", "inch"].texts).split()
    text = " ".join(words)
    for said in (
        "lap 1 →",
        "lap 2 →",
        "on to lap 2",
        "round again",
        "flash off this lap",
        "rests this lap",
        "kept empty",
    ):
        assert said in text, said


def test_a_screen_that_no_stock_fits_says_the_nearest(stress_sheets):
    sheet = stress_sheets["a4", "inch"]
    page = sheet.words(sheet.room("screen room")[0])
    assert "No screen in stock fits: 1 screen" in page
    assert "Nearest: 77 per cm with 55 µm thread, short by one screen" in page


def test_markup_in_names_is_printed_and_not_obeyed(stress_sheets):
    assert "<b>&notthefirstone</b" in stress_sheets["a4", "inch"].letters([0])


@pytest.mark.parametrize(
    ("shape", "language"), [((3, 1, 1, 0), "es"), ((14, 1, 5, 2), "en"), ((17, 2, 9, 3), "es"), ((40, 3, 20, 1), "es")]
)
def test_small_and_large_presses_are_well_set(make_stress, shape, language):
    content = make_stress(**dict(zip(("stations", "laps", "count", "garments"), shape, strict=True)))
    sheet = ReadSheet(setup_sheet(content, paper="letter", units="inch", language=language))
    assert_well_set(sheet)
    letters = sheet.letters()
    for screen in content.screens():
        assert no_space(screen.name) in letters


def test_a_sheet_with_nothing_known_is_still_a_sheet(make_ordinary):
    content = make_ordinary()
    bare = content.plan.model_copy(
        update={
            "estimate": None,
            "screens": (),
            "wishes": (),
            "questions": (),
            "assumed": (),
            "harm": type(content.plan.harm)(),
        }
    )
    bare = bare.model_copy(
        update={"slots": tuple(s.model_copy(update={"mesh_per_cm": None, "mesh_per_inch": None}) for s in bare.slots)}
    )
    steps = dataclasses.replace(content.steps, questions=(), art_box_mm=None, cautions=(), notes=())
    content = dataclasses.replace(content, plan=bare, steps=steps, findings=(), pictures=type(content.pictures)())
    sheet = ReadSheet(setup_sheet(content, paper="a4", units="metric"))
    assert_well_set(sheet)
    page = sheet.words(0)
    assert "not estimated" in page
    assert "no stock fits" in page
    assert "wet together" in page
    assert "harm (" not in page


def test_an_empty_arrangement_is_printed_as_it_is(make_ordinary):
    content = make_ordinary()
    content = dataclasses.replace(
        content,
        plan=content.plan.model_copy(update={"slots": (), "broken": ("no screen prints",)}),
        job=content.job.model_copy(update={"arrangement": ()}),
    )
    sheet = ReadSheet(setup_sheet(content, paper="a4", units="inch"))
    assert_well_set(sheet)
    assert "Breaks 1 limit no screen prints" in sheet.words(0)
    assert "No screen stands on the press." in sheet.words(sheet.room("press crew")[0])


def test_the_checker_sees_an_overlap_and_a_stray():
    target = BytesIO()
    canvas = Canvas(target, pagesize=(200, 200))
    for x, y, text in ((50, 100, "first"), (52, 103, "second"), (1, 50, "stray")):
        canvas.drawString(x, y, text)
    canvas.save()
    sheet = ReadSheet(target.getvalue())
    assert {tuple(pair[1:3]) for pair in sheet.overlaps()} & set(itertools.product("first", "second"))
    assert "s" in {c.text for c in sheet.outside()}
    assert not any(sheet.fonts[0].values())
