"""Laws of the inspection: turning, doubling and reordering a set changes nothing but what they must."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import Phase, given, settings
from hypothesis import strategies as st

from setupassist.inspection.survey import measure_plates

ROWS, COLUMNS, DPI = 700, 640, 300
MM = DPI / 25.4


def drawn(draw, on_paper, seed):
    """A base, a colour on it, a line plate beside a hairline, dots, and marks that lie apart."""
    rng = np.random.default_rng(seed)
    x, y = (int(at) for at in rng.integers(270, 370, 2))
    radius = int(rng.integers(105, 130))
    colour = draw.disc(ROWS, COLUMNS, x, y, radius)
    base = draw.disc(ROWS, COLUMNS, x, y, radius - int(rng.integers(0, 6)))
    line = np.zeros((ROWS, COLUMNS), np.uint8)
    width = int(rng.integers(4, 12))
    line[430:585, 120 : 120 + width] = 255
    line[430:585, 123 + width : 180] = 255
    dots = on_paper(ROWS, COLUMNS, (400, 330, draw.screened(180, 230, dpi=DPI, lpi=35, angle=22.5, tone=0.35)))
    dots[430:585, 183:240] = 255
    plates = [base, colour, line, dots]
    mark = draw.target(40)
    shifts = [(0, 0), *(tuple(int(v) for v in rng.integers(-3, 4, 2)) for _ in range(3))]
    return [
        on_paper(ROWS, COLUMNS, (20 + dy, 300 + dx, mark), (620 + dy, 300 + dx, mark), (0, 0, plate))
        for plate, (dx, dy) in zip(plates, shifts, strict=True)
    ]


FEW = settings(deadline=None, phases=[Phase.explicit, Phase.generate])  # shrinking would take minutes

NAMES = ["white base", "red", "black", "blue"]


def figures(measure):
    """What must stay: by plate, by pair and by finding."""
    plates = {
        p.name: (p.kind, p.ink_area_cm2, p.halftone and p.halftone.lines_per_inch, p.finest_line_mm, p.finest_gap_mm)
        for p in measure.plates
    }
    pairs = {
        frozenset(c.plates): (c.overlap_cm2, c.shared_edge_cm, c.hairline_cm, c.hairline_mm) for c in measure.contacts
    }
    return plates, pairs, sorted((f.code, f.severity, f.plates) for f in measure.findings)


def alike(one, two, *, pixel_mm):
    for (plates, pairs, findings), (plates_two, pairs_two, findings_two) in ((one, two),):
        assert plates.keys() == plates_two.keys()
        for name, (kind, area, ruling, line, gap) in plates.items():
            kind_two, area_two, ruling_two, line_two, gap_two = plates_two[name]
            assert kind is kind_two
            assert area_two == pytest.approx(area, rel=1e-6)
            assert ruling_two == (None if ruling is None else pytest.approx(ruling, rel=0.005))
            for width, width_two in ((line, line_two), (gap, gap_two)):
                assert width_two == (None if width is None else pytest.approx(width, abs=1.01 * pixel_mm))
        for pair, (overlap, edge, length, width) in pairs.items():
            overlap_two, edge_two, length_two, width_two = pairs_two[pair]
            assert overlap_two == pytest.approx(overlap, rel=0.02, abs=0.002)
            assert edge_two == pytest.approx(edge, rel=0.04, abs=0.1)
            assert length_two == pytest.approx(length, rel=0.05, abs=0.05)
            assert width_two == (None if width is None else pytest.approx(width, abs=0.6 * pixel_mm))
        assert findings == findings_two


@settings(FEW, max_examples=5)
@given(seed=st.integers(0, 10_000), turns=st.integers(1, 3))
def test_turning_the_set_turns_the_findings(draw, on_paper, seed, turns):
    plates = drawn(draw, on_paper, seed)
    straight = measure_plates(draw.plate_set(plates, dpi=DPI, names=NAMES))
    turned = measure_plates(
        draw.plate_set([np.ascontiguousarray(np.rot90(p, turns)) for p in plates], dpi=DPI, names=NAMES)
    )
    alike(figures(straight), figures(turned), pixel_mm=1 / MM)
    width, height = straight.art.width_mm, straight.art.height_mm

    def turn(x, y):
        for step in range(turns):
            x, y = y, (width if step % 2 == 0 else height) - x
        return x, y

    for one, two in zip(straight.findings, turned.findings, strict=True):
        assert sorted(two.places_mm) == [
            (pytest.approx(x, abs=0.8), pytest.approx(y, abs=0.8)) for x, y in sorted(turn(*p) for p in one.places_mm)
        ]
    for one, two in zip(straight.plates, turned.plates, strict=True):
        dx, dy = one.register_offset_mm
        for _ in range(turns):
            dx, dy = dy, -dx
        assert two.register_offset_mm == pytest.approx((dx, dy), abs=0.6 / MM)


@settings(FEW, max_examples=4)
@given(seed=st.integers(0, 10_000))
def test_doubling_the_resolution_keeps_the_millimetres(draw, on_paper, seed):
    plates = drawn(draw, on_paper, seed)
    once = measure_plates(draw.plate_set(plates, dpi=DPI, names=NAMES))
    twice = measure_plates(
        draw.plate_set([np.kron(p, np.ones((2, 2), np.uint8)) for p in plates], dpi=2 * DPI, names=NAMES)
    )
    alike(figures(once), figures(twice), pixel_mm=1 / MM)
    for one, two in zip(once.plates, twice.plates, strict=True):
        assert two.register_offset_mm == pytest.approx(one.register_offset_mm, abs=0.6 / MM)
    for one, two in zip(once.chokes, twice.chokes, strict=True):
        assert two.median_mm == pytest.approx(one.median_mm, abs=0.8 / MM)


@settings(FEW, max_examples=4)
@given(seed=st.integers(0, 10_000), order=st.permutations([1, 2, 3]))
def test_the_order_of_the_plates_does_not_matter(draw, on_paper, seed, order):
    plates = drawn(draw, on_paper, seed)
    straight = measure_plates(draw.plate_set(plates, dpi=DPI, names=NAMES))
    places = [0, *order]
    other = measure_plates(draw.plate_set([plates[i] for i in places], dpi=DPI, names=[NAMES[i] for i in places]))
    for name in NAMES:
        assert other.plate(name) == straight.plate(name)
    assert {f.code: f.measured for f in other.findings} == {f.code: f.measured for f in straight.findings} or sorted(
        (f.code, f.plates) for f in other.findings
    ) == sorted((f.code, f.plates) for f in straight.findings)
    for contact in straight.contacts:
        mine = next(c for c in other.contacts if set(c.plates) == set(contact.plates))
        assert mine.overlap_cm2 == pytest.approx(contact.overlap_cm2)
        assert mine.shared_edge_cm == pytest.approx(contact.shared_edge_cm)
        assert mine.hairline_cm == pytest.approx(contact.hairline_cm, rel=0.05)
