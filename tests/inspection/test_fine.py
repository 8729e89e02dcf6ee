"""Finest line, gap and specks against shapes of known width."""

from __future__ import annotations

import io

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image, ImageDraw, ImageFilter

from setupassist import errors
from setupassist.inspection.bits import pack
from setupassist.inspection.fine import FineDetail, fine_detail
from setupassist.inspection.grid import cell_counts, grid_for
from setupassist.inspection.planes import PackedPlate

ANGLES = (0, 7, 22.5, 31, 45, 52, 75, 90)


def packed(picture, dpi=600.0) -> PackedPlate:
    """A two-level plate of a map of ink or of levels 0..255."""
    ink = picture if picture.dtype == bool else picture >= 128
    grid = grid_for(*ink.shape, dpi)
    bits = np.zeros((grid.plane_rows, grid.words), np.uint64)
    bits[: len(ink)] = pack(ink, grid.words)
    plate = PackedPlate(grid, bits)
    plate.ink = cell_counts(bits, grid.cell)
    return plate


def detail(picture, dpi=600.0, *, dots=None, period_px=None) -> FineDetail:
    """Fine detail of a picture; ``dots`` is a map of the pixels that the texture stage called dots."""
    plate = packed(picture, dpi)
    cells = np.zeros(plate.ink.shape, bool)
    if dots is not None:
        cells = packed(dots, dpi).ink > 0
    return fine_detail(plate, cells, period_px=period_px)


def bar(rows, columns, *, x, y, length, width, angle):
    """Pixels whose middle lies in a bar turned counter-clockwise."""
    v, u = np.mgrid[0:rows, 0:columns]
    turn = np.deg2rad(angle)
    along = (u - x) * np.cos(turn) - (v - y) * np.sin(turn)
    across = (u - x) * np.sin(turn) + (v - y) * np.cos(turn)
    return (np.abs(across) < width / 2) & (np.abs(along) < length / 2)


def bars(side, *, dpi, width, angle, seed=0, length_mm=9.0):
    """One long bar in the middle of a square, its place off the raster."""
    x, y = side / 2 + np.random.default_rng(seed).random(2)
    return bar(side, side, x=x, y=y, length=length_mm / 25.4 * dpi, width=width, angle=angle)


def framed(ink):
    """The same shape as a gap: paper in a solid that ends before the picture does."""
    out = ~ink
    out[:4] = out[-4:] = out[:, :4] = out[:, -4:] = False
    return out


def tolerance(width):
    return max(1.0, 0.04 * width) if width <= 25 else max(2.0, 0.04 * width)


@pytest.mark.parametrize("angle", ANGLES)
@pytest.mark.parametrize(
    ("dpi", "width"),
    [(150, 1), (150, 4), (150, 11), (300, 2), (300, 9), (300, 22), (600, 1), (600, 3), (600, 7), (600, 12), (600, 23),
     (600, 25), (600, 33), (600, 46), (1200, 5), (1200, 30), (1200, 70)],
)  # fmt: skip
def test_width_of_a_line_and_of_a_gap_at_any_angle(dpi, width, angle):
    shape = bars(int(10.5 / 25.4 * dpi + 2 * width) + 20, dpi=dpi, width=width, angle=angle)
    line, gap = detail(shape, dpi), detail(framed(shape), dpi)
    assert line.finest_line_px == pytest.approx(width, abs=tolerance(width))
    assert line.finest_gap_px is None
    assert gap.finest_gap_px == pytest.approx(width, abs=tolerance(width))


@pytest.mark.parametrize("angle", [0, 20, 45, 80])
@pytest.mark.parametrize(("dpi", "width"), [(300, 34), (600, 55), (600, 70), (1200, 120), (1200, 140)])
def test_lines_of_one_to_three_millimetres(dpi, width, angle):
    side = int(18 / 25.4 * dpi)
    found = detail(bars(side, dpi=dpi, width=width, angle=angle, length_mm=14), dpi).finest_line_px
    assert found == pytest.approx(width, abs=max(2, 0.04 * width))


def test_nothing_is_said_of_what_is_wider_than_three_millimetres():
    found = detail(bars(700, dpi=600, width=76, angle=10, length_mm=24))
    assert (found.finest_line_px, found.finest_gap_px) == (None, None)
    assert (found.line_places, found.gap_places) == ((), ())


@pytest.mark.parametrize("width", [2, 5, 12, 30])
def test_a_ring_has_the_width_of_its_stroke(width):
    v, u = np.mgrid[0:700, 0:700]
    ring = np.abs(np.hypot(u - 350.3, v - 349.6) - 200) < width / 2
    assert detail(ring).finest_line_px == pytest.approx(width, abs=1)
    assert detail(framed(ring)).finest_gap_px == pytest.approx(width, abs=1)


def test_five_millimetres_are_enough_and_four_and_a_half_are_not():
    for angle in (0, 10, 45, 90):
        enough, short = (bars(300, dpi=600, width=4, angle=angle, length_mm=length) for length in (5.2, 4.5))
        assert detail(enough).finest_line_px == pytest.approx(4, abs=1)
        assert detail(short).finest_line_px is None


def test_a_finer_line_that_is_too_short_leaves_the_next():
    shape = bar(900, 900, x=200, y=100, length=90, width=3, angle=20)
    shape |= bar(900, 900, x=450, y=500, length=700, width=8, angle=70)
    assert detail(shape).finest_line_px == pytest.approx(8, abs=1)


def test_short_strokes_add_up():
    shape = np.zeros((600, 600), bool)
    for number in range(8):
        shape |= bar(600, 600, x=80 + 60 * number, y=300, length=20, width=4, angle=30 * number)
    assert detail(shape).finest_line_px == pytest.approx(4, abs=1)


def test_a_hairline_that_the_plate_cuts_off():
    across, beside = np.zeros((400, 400), bool), np.zeros((400, 400), bool)
    across[:, 200:204] = True
    beside[:, :3] = True
    assert detail(across).finest_line_px == 4
    assert detail(beside).finest_line_px == 3
    assert detail(across).finest_gap_px is None, "paper up to the plate's edge is no gap"


@pytest.mark.parametrize("gap", [1, 2, 3, 5])
def test_a_fine_line_beside_a_solid(gap):
    shape = np.zeros((500, 500), bool)
    shape[100:400, 50:300] = True
    shape[100:400, 300 + gap : 304 + gap] = True
    found = detail(shape)
    assert found.finest_line_px == 4
    assert found.finest_gap_px == gap


def test_a_gap_between_two_shapes():
    shape = np.zeros((700, 700), bool)
    shape[100:600, 50:300] = True
    long, short = shape.copy(), shape.copy()
    long[100:300, 303:600] = True
    short[100:180, 303:600] = True
    assert detail(long).finest_gap_px == 3
    assert detail(long).finest_line_px is None
    assert detail(short).finest_gap_px is None, "3.4 mm are too short"


def test_lines_between_lines():
    shape = np.zeros((400, 400), bool)
    for place in range(20, 380, 4):
        shape[40:360, place] = True
    found = detail(shape)
    assert (found.finest_line_px, found.finest_gap_px) == (1, 3)


def star(pen, x, y, *, reach, tip, turn):
    half, step = np.radians(tip / 2), np.pi / 5
    inner = reach * np.sin(half) / np.sin(half + step)
    corners = [(reach if n % 2 == 0 else inner, turn + n * step) for n in range(10)]
    pen.polygon([(x + r * np.sin(a), y - r * np.cos(a)) for r, a in corners], fill=255)


@pytest.mark.parametrize("tip", [12, 20, 36, 55])
def test_tips_are_no_strokes(tip):
    image, turns = Image.new("L", (1900, 1600)), np.random.default_rng(1).random(60) * 6
    pen = ImageDraw.Draw(image)
    for number, turn in enumerate(turns):
        star(pen, 110 + number % 10 * 185, 130 + number // 10 * 260, reach=80, tip=tip, turn=turn)
    stars = np.asarray(image)
    assert (detail(stars).finest_line_px or 99) > 20
    assert (detail(255 - stars).finest_gap_px or 99) > 20
    pen.line((40, 20, 1850, 30), fill=255, width=5)
    assert detail(np.asarray(image)).finest_line_px == pytest.approx(5, abs=1)


@pytest.mark.parametrize(("points", "dpi", "stroke"), [(4, 600, 2.5), (6, 600, 3.3), (12, 600, 7), (6, 1200, 7)])
def test_strokes_of_letters(draw, points, dpi, stroke):
    letters = draw.lettering(900, 900, height=points * dpi // 72)
    found = detail(letters, dpi)
    assert found.finest_line_px == pytest.approx(stroke, abs=1)
    assert found.finest_gap_px is not None
    turned = detail(framed(letters >= 128), dpi)
    assert turned.finest_gap_px == pytest.approx(stroke, abs=1)


@pytest.mark.parametrize("square", [1, 2, 3, 5, 8])
def test_a_chequerboard_has_no_lines(square):
    v, u = np.mgrid[0:600, 0:600]
    found = detail((v // square + u // square) % 2 == 1)
    assert (found.finest_line_px, found.finest_gap_px, found.specks(9)) == (None, None, 0)


def test_spots_and_short_bars_are_no_lines():
    for high, wide in ((8, 8), (8, 16), (24, 24), (12, 20)):
        shape = np.zeros((1000, 1000), bool)
        for top in range(30, 950, 58):
            for left in range(30, 950, 58):
                shape[top : top + high, left : left + wide] = True
        assert detail(shape).finest_line_px is None


def strip(picture, columns=300):
    out = np.zeros((len(picture), columns), np.uint8)
    out[:, 100 : 100 + picture.shape[1]] = picture
    return out


@pytest.mark.parametrize("tone", [0.05, 0.2, 0.4, 0.5, 0.6, 0.8, 0.95])
@pytest.mark.parametrize("lpi", [35, 45, 65, 85])
def test_round_dots_in_a_narrow_strip_are_no_fine_lines(draw, lpi, tone):
    found = detail(strip(draw.screened(1500, 28, lpi=lpi, tone=tone)), period_px=600 / lpi)
    fine = 0.6 * 600 / lpi
    assert (found.finest_line_px or 99) > fine
    assert (found.finest_gap_px or 99) > fine


@pytest.mark.parametrize("tone", [0.1, 0.2, 0.3, 0.4, 0.5, 0.7, 0.9])
@pytest.mark.parametrize("dot", [1, 2, 3])
def test_dispersed_dots_in_a_narrow_strip_are_no_fine_lines(draw, dot, tone):
    found = detail(strip(draw.dispersed(1500, 28, dot=dot, tone=tone)))
    assert (found.finest_line_px, found.finest_gap_px) == (None, None)


@pytest.mark.parametrize(("lpi", "tone"), [(45, 0.05), (45, 0.2), (65, 0.2), (65, 0.4), (85, 0.3)])
def test_dots_in_a_narrow_strip_are_no_specks(draw, lpi, tone):
    picture = strip(draw.screened(1500, 28, lpi=lpi, tone=tone))
    assert detail(picture).specks(7) <= 2
    assert detail(picture, period_px=600 / lpi).specks(7) <= 2


def test_lines_of_the_halftone_itself_are_left_out_where_its_period_is_known(draw):
    picture = strip(draw.screened(1500, 28, lpi=65, tone=0.4, shape="line"))
    assert detail(picture).finest_line_px == pytest.approx(0.4 * 600 / 65, abs=1)
    assert detail(picture, period_px=600 / 65).finest_line_px is None


@pytest.mark.parametrize("tone", [0.4, 0.5, 0.6])
def test_chains_of_elliptical_dots_are_left_out_where_their_period_is_known(draw, tone):
    picture = strip(draw.screened(1500, 28, lpi=45, tone=tone, shape="ellipse", angle=45))
    found = detail(picture, period_px=600 / 45)
    assert (found.finest_line_px or 99) > 8
    assert (found.finest_gap_px or 99) > 8


def test_letters_are_measured_beside_a_halftone_of_any_period(draw):
    letters = draw.lettering(900, 900, height=50)
    for lpi in (35, 45, 65, 85):
        assert detail(letters, period_px=600 / lpi).finest_line_px == pytest.approx(3.3, abs=1)


def test_what_the_texture_stage_called_dots_is_left_out(draw):
    picture, dots = np.zeros((900, 1400), np.uint8), np.zeros((900, 1400), bool)
    picture[100:800, 100:800] = draw.screened(700, 700, lpi=45, tone=0.3, shape="line")
    dots[90:810, 90:810] = True
    assert detail(picture).finest_line_px is not None
    found = detail(picture, dots=dots)
    assert (found.finest_line_px, found.finest_gap_px, len(found.islands)) == (None, None, 0)
    picture[100:800, 1100:1106] = 255
    assert detail(picture, dots=dots).finest_line_px == 6


@pytest.mark.parametrize("dpi", [200, 600])
def test_dots_in_one_corner_hide_nothing_elsewhere(dpi):
    side = int(14 / 25.4 * dpi)
    shape, dots = np.zeros((side, side), bool), np.zeros((side, side), bool)
    shape[-12:-8, 8:-8] = True
    shape[8:-20, -10:-4] = True
    for corner in (np.s_[:8, :8], np.s_[:8, -40:-30], np.s_[-40:-30, :8]):
        dots[:] = False
        dots[corner] = True
        found = detail(shape, dpi, dots=dots)
        assert found.finest_line_px == 4
        assert found.line_places == detail(shape, dpi).line_places


def test_a_speck_far_from_a_fading_tone_counts_and_its_last_dots_do_not(draw):
    fading = np.broadcast_to(np.linspace(0.3, 0, 500), (600, 500))
    picture, dots = np.zeros((600, 1200), np.uint8), np.zeros((600, 1200), bool)
    picture[:, :500] = draw.screened(600, 500, lpi=45, tone=fading)
    dots[:, :380] = True
    picture[300:303, 1000:1003] = 255
    found = detail(picture, dots=dots, period_px=600 / 45)
    assert found.speck_places(7) == ((1001.5, 301.5),)


def roughened(shape, seed=3, share=0.35):
    """Every third pixel on both sides of every edge turned over, as by a scanner."""
    inner = np.ones_like(shape)
    outer = np.zeros_like(shape)
    padded = np.pad(shape, 1)
    for down in range(3):
        for right in range(3):
            part = padded[down : down + shape.shape[0], right : right + shape.shape[1]]
            inner &= part
            outer |= part
    chance = np.random.default_rng(seed).random(shape.shape) < share
    return (shape & ~(chance & ~inner)) | (chance & outer & ~shape)


def test_rough_edges_are_no_lines():
    v, u = np.mgrid[0:1300, 0:1300]
    shape = np.hypot(u - 560, v - 560) < 430
    shape |= bar(1300, 1300, x=600, y=1150, length=1000, width=160, angle=4)
    found = detail(roughened(shape))
    assert found.finest_line_px is None
    assert (detail(roughened(framed(shape))).finest_gap_px or 99) > 20


@pytest.mark.parametrize("angle", [0, 20, 45, 80])
@pytest.mark.parametrize("width", [8, 12, 30])
def test_a_rough_line_keeps_its_width(width, angle):
    found = detail(roughened(bars(800, dpi=600, width=width, angle=angle, length_mm=22)))
    assert found.finest_line_px == pytest.approx(width, abs=1.5)


@pytest.mark.parametrize("quality", [95, 40])
def test_soft_edges_of_a_compressed_picture(quality):
    shape = bar(900, 900, x=450, y=400, length=700, width=7, angle=15)
    shape[600:800, 100:800] = True
    held = io.BytesIO()
    picture = Image.fromarray(shape.astype(np.uint8) * 255).filter(ImageFilter.GaussianBlur(1))
    picture.save(held, "JPEG", quality=quality)
    assert detail(np.asarray(Image.open(held))).finest_line_px == pytest.approx(7, abs=1)


def test_specks_are_counted_by_size():
    rng, shape = np.random.default_rng(4), np.zeros((1800, 1800), bool)
    shape[300:800, 300:1000] = True
    drawn = []
    for _ in range(150):
        high, wide = rng.integers(1, 11, 2)
        top, left = rng.integers(3, 1780, 2)
        around = shape[top - 3 : top + high + 3, left - 3 : left + wide + 3]
        if not around.any():
            shape[top : top + high, left : left + wide] = True
            drawn.append(max(high, wide))
    found = detail(shape)
    for most in range(1, 8):
        assert found.specks(most) == sum(size <= most for size in drawn)
    assert found.specks(3) == len(found.speck_places(3))
    assert all(shape[int(y), int(x)] for x, y in found.speck_places(7))
    assert len(found.speck_places(7, most=5)) == 5


def test_an_island_may_wind_and_lie_in_a_corner():
    shape = np.zeros((200, 200), bool)
    shape[0:2, 0:2] = True
    shape[100:105, 100] = shape[104, 100:105] = shape[101:105, 104] = shape[101, 102:105] = True
    shape[150, 50] = shape[151, 51] = shape[152, 50] = True
    found = detail(shape)
    assert sorted(found.islands[:, 2]) == [2, 3, 5]


def test_places_lie_on_the_strokes():
    shape = bar(1500, 1500, x=300, y=300, length=300, width=4, angle=30)
    shape |= bar(1500, 1500, x=1200, y=1200, length=300, width=4, angle=120)
    shape |= bar(1500, 1500, x=1200, y=300, length=300, width=20, angle=0)
    found = detail(shape)
    assert len(found.line_places) == 2
    for x, y in found.line_places:
        assert shape[int(y), int(x)]
        assert min(np.hypot(x - 300, y - 300), np.hypot(x - 1200, y - 1200)) < 20


def test_empty_full_and_small_plates():
    for shape in (
        np.zeros((300, 300), bool),
        np.ones((300, 300), bool),
        np.ones((1, 1), bool),
        np.ones((1, 300), bool),
    ):
        found = detail(shape)
        assert found.finest_gap_px is None
    assert detail(np.zeros((300, 300), bool)).islands.shape == (0, 3)
    assert detail(np.ones((1, 1), bool)).specks(1) == 1
    assert detail(np.ones((1, 300), bool)).finest_line_px == 1


def test_it_stops_when_asked():
    plate = packed(np.ones((300, 300), bool))
    with pytest.raises(errors.Cancelled):
        fine_detail(plate, np.zeros(plate.ink.shape, bool), stop=lambda: True)


@st.composite
def drawings(draw):
    """One to three bars that cross at 45 degrees and more: where they cross flatter, what is a stroke is anyone's."""
    shape, turn = np.zeros((360, 360), bool), draw(st.integers(0, 179))
    for number in range(draw(st.integers(1, 3))):
        x, y = draw(st.integers(150, 210)), draw(st.integers(150, 210))
        width, angle = draw(st.integers(3, 14)), turn + 60 * number + draw(st.integers(-7, 7))
        shape |= bar(360, 360, x=x, y=y, length=240, width=width, angle=angle)
    return shape


def alike(one, other, times=1.0):
    if one is None or other is None:
        return True
    return abs(one * times - other) <= max(1.0, 0.06 * other)


@settings(max_examples=25, deadline=None)
@given(drawings())
def test_turning_and_mirroring_keep_the_figures(shape):
    found = detail(shape)
    for other in (np.rot90(shape), shape[:, ::-1], shape[::-1], shape.T):
        again = detail(np.ascontiguousarray(other))
        assert alike(found.finest_line_px, again.finest_line_px)
        assert alike(found.finest_gap_px, again.finest_gap_px)
        assert (found.finest_line_px is None) == (again.finest_line_px is None)
        assert len(found.islands) == len(again.islands)


@settings(max_examples=15, deadline=None)
@given(drawings())
def test_twice_the_pixels_give_the_same_millimetres(shape):
    found = detail(shape, 300).finest_line_px
    again = detail(np.kron(shape, np.ones((2, 2), bool)), 600).finest_line_px
    assert found is not None
    assert again is not None
    assert alike(found, again / 2)


def test_work_in_small_groups_of_rows_finds_the_same(monkeypatch, draw):
    picture = draw.lettering(1500, 700, height=60)
    picture[:, 690:693] = 255
    picture[300:302, 0:2] = 255
    whole = detail(picture)
    monkeypatch.setattr("setupassist.inspection.fine.GROUP_EDGES", 2000)
    parts = detail(picture)
    assert parts.finest_line_px == pytest.approx(whole.finest_line_px, abs=0.3)
    assert parts.finest_gap_px == pytest.approx(whole.finest_gap_px, abs=0.3)
    assert len(parts.islands) == len(whole.islands)
    only = np.zeros((1500, 300), bool)
    only[:112, 100:104] = True  # 4.74 mm, cut by many groups: counted once, they do not make five
    assert detail(only).finest_line_px is None
    only[112:124] = only[100:112]
    assert detail(only).finest_line_px == 4
