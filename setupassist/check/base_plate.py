"""The base that a set lacks: the union of the inks that it carries, drawn in, made in bands.

Tones are kept: where inks overlap, the most ink counts. Drawing in is exact: what stays has no edge within the choke,
an edge being where ink falls to less than half, so that soft tones keep their steps and tone edges give way as solid
ones do. A halftone ink gets the same dots under it, as a lead would have it: white between the dots would show. Its
outline is drawn in, not each dot; the outline is what is left when paper narrower than a dot row is filled in, where
the inspection sees dots. Registration marks are carried over as they are, without the labels beside them: those name
another ink.
"""

from __future__ import annotations

import math
from collections import deque
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from setupassist.art.plates import Bits, PlateSet, Rows
from setupassist.art.samples import rows_of_bits
from setupassist.documents.measure import Box, Measure, PlateMeasure
from setupassist.documents.terms import UNDER_ROLES, Kind, Role
from setupassist.errors import Cancelled, InputFault, did_you_mean
from setupassist.quantities import MM_PER_INCH
from setupassist.steps.scene import threshold
from setupassist.words import say

Pick = Callable[[Rows, Rows], Rows]
NO_BASE_ROLES = UNDER_ROLES | {Role.SMOOTHING, Role.ADHESIVE, Role.CLEAR, Role.KEY}
HALF = 128
BAND_BYTES, LEAST_BAND_ROWS, MOST_BAND_ROWS = 24_000_000, 64, 512
ROWS_OF_PAPER = 0.75  # of a dot row's period: a disc of this radius fits between no two dots
DOTS_SHARE, READING_SHARE = 0.5, 0.6  # of the work: seeing where dots are, and reading in that
SCATTERED_MM = 0.4  # radius that joins stochastic dots


@dataclass(frozen=True)
class Carried:
    """Names of the inks that a base goes under, and of those that need none."""

    under: tuple[str, ...]
    without: tuple[str, ...]


def carried_inks(measure: Measure, asked: Sequence[str] = ()) -> Carried:
    """The inks asked for by name, else all inked ones but bases, blockers, keys, clears and near-black inks.

    Raises InputFault for a name that no plate has, and where no ink is left.
    """
    names = [plate.name for plate in measure.plates]
    wanted = inks_called(asked, names)
    if not asked:
        wanted = {plate.name for plate in measure.plates if needs_base(plate)}
    if not wanted:
        raise InputFault(measure.art.source, say("check.base.no-ink"), say("check.base.name-inks"))
    tops = [plate.name for plate in measure.plates if plate.role not in UNDER_ROLES]
    return Carried(tuple(name for name in names if name in wanted), tuple(name for name in tops if name not in wanted))


def inks_called(asked: Sequence[str], names: Sequence[str]) -> set[str]:
    """Those of a set's names that are asked for, in small letters or large; InputFault for one that no plate has."""
    known = {name.casefold(): name for name in names}
    for name in asked:
        if name.casefold() not in known:
            raise InputFault("--under", say("check.base.no-such-plate", name=name), did_you_mean(name, names))
    return {known[name.casefold()] for name in asked}


def needs_base(plate: PlateMeasure) -> bool:
    """Whether an ink wants a base on dark cloth: no key, clear or near-black ink, no base or blocker itself."""
    near_black = plate.lab is not None and plate.lab[0] <= threshold("near_black_lightness")
    return plate.kind is not Kind.EMPTY and plate.role not in NO_BASE_ROLES and not near_black


def base_is_two_level(plates: PlateSet, under: Sequence[str]) -> bool:
    """Whether the base of these inks holds no more than paper and full ink."""
    return all(plate.two_level for plate in plates.plates if plate.name in under)


def base_bands(
    plates: PlateSet,
    measure: Measure,
    *,
    under: Sequence[str],
    choke_mm: float,
    progress: Callable[[float], None] | None = None,
    stop: Callable[[], bool] | None = None,
) -> Iterator[Rows]:
    """The base as bands of ink (rows, columns) uint8 from the top, for the inks ``under`` of a set and its measure.

    Memory holds a few bands, whatever the height, and where inks have dots the plates as packed bits, in a temporary
    file where they are many. ``progress`` is told the share done (0..1). Raises InputFault where the plates differ in
    size, Cancelled where ``stop`` says so.
    """
    if plates.dpi is None:
        raise ValueError("a base needs plates with a resolution")
    scale = plates.dpi / MM_PER_INCH
    reach, join = choke_mm * scale + 0.5, _joining_radius(measure, under, scale)
    tell = progress or (lambda _: None)
    before = DOTS_SHARE if join else 0.0
    dots = _dots_seen(plates, under, lambda done: tell(before * done), stop) if join else None
    halo = disc_rows(reach) + 2 * disc_rows(join)
    band_rows = max(plates.band_rows(BAND_BYTES, most=MOST_BAND_ROWS, least=LEAST_BAND_ROWS), halo)
    total, done = plates.plates[0].rows, 0
    for window in _with_halo(_unions(plates, measure, under, dots, band_rows=band_rows, scale=scale), halo):
        if stop is not None and stop():
            raise Cancelled
        base = _drawn_in(window, reach, join)
        done += len(base)
        tell(before + (1 - before) * done / total)
        yield base


@dataclass(frozen=True)
class _Dots:
    """Where dots were seen in any ink that is carried: a map of square cells of so many pixels."""

    cells: npt.NDArray[np.bool_]
    cell: int

    def rows(self, top: int, count: int, columns: int) -> Rows:
        """The map as rows of pixels (count, columns), 255 where dots are."""
        at = np.arange(top, top + count) // self.cell
        wide = np.repeat(self.cells[at], self.cell, axis=1)[:, :columns]
        return np.where(wide, np.uint8(255), np.uint8(0))


@dataclass(frozen=True)
class _Union:
    """Rows of a set, (rows, columns) uint8: ``ink`` of all inks that are carried, where ``dots`` are, and marks.

    ``dots`` is None where no ink has any.
    """

    ink: Rows
    dots: Rows | None
    marks: Rows


@dataclass(frozen=True)
class _Window:
    """A band with ``halo`` rows above and below its ink and dots, paper beyond the plate: what drawing in takes."""

    halo: int
    ink: Rows
    dots: Rows | None
    marks: Rows


def _joining_radius(measure: Measure, under: Sequence[str], scale: float) -> float:
    """Radius in pixels that joins the dots of every ink carried, 0 where none has dots."""
    radii = [0.0]
    for name in under:
        plate = measure.plate(name)
        if plate.halftone is not None:
            radii.append(ROWS_OF_PAPER * MM_PER_INCH / plate.halftone.lines_per_inch * scale)
        elif plate.kind in (Kind.HALFTONE, Kind.STOCHASTIC):
            radii.append(SCATTERED_MM * scale)
    return max(radii)


def _dots_seen(
    plates: PlateSet, under: Sequence[str], progress: Callable[[float], None], stop: Callable[[], bool] | None
) -> _Dots:
    """The inspection's own map of dots, tone apart."""
    from setupassist.inspection.grid import grid_for
    from setupassist.inspection.kind import Texture
    from setupassist.inspection.planes import Planes
    from setupassist.inspection.reading import read_planes

    first, read = plates.plates[0], plates.holding(under)
    grid = grid_for(first.rows, first.columns, plates.dpi or 0.0, plates=len(plates.plates))
    planes = Planes(grid, len(read.plates))
    packed = read_planes(read, grid, planes, progress=lambda done: progress(READING_SHARE * done), stop=stop)
    carried = [plate for plate, told in zip(packed, read.plates, strict=True) if told.name in under]
    seen = np.zeros((grid.cell_rows, grid.cell_columns), np.bool_)
    for number, plate in enumerate(carried, 1):
        texture = Texture(plate)
        texture.judge(stop)
        rows = min(len(seen), len(texture.dots))
        seen[:rows] |= (texture.dots & ~texture.toned)[:rows]
        planes.rest()
        progress(READING_SHARE + (1 - READING_SHARE) * number / len(carried))
    return _Dots(seen, grid.cell)


def _unions(
    plates: PlateSet, measure: Measure, under: Sequence[str], dots: _Dots | None, *, band_rows: int, scale: float
) -> Iterator[_Union]:
    taken = [_in_pixels(box, scale) for box in measure.art.marks_mm]
    marked = [plate.name for plate in measure.plates if plate.register_offset_mm is not None]
    guide = next((name for name in marked if name in under), next(iter(marked), under[0]))
    guiding = next(number for number, plate in enumerate(plates.plates) if plate.name == guide)
    told = measure.plate(guide)
    moved, spread = told.register_offset_mm or (0.0, 0.0), told.register_spread_mm or 0.0
    boxes = [
        _in_pixels((x - moved[0] - spread, y - moved[1] - spread, wide + 2 * spread, high + 2 * spread), scale)
        for x, y, wide, high in measure.art.register_marks_mm
    ]
    carried = [number for number, plate in enumerate(plates.plates) if plate.name in under]
    columns, top = plates.plates[0].columns, 0
    for band in plates.read_bits(band_rows):
        rows = len(band[0])
        ink = _most([(band[number], plates.plates[number].two_level) for number in carried], rows, columns)
        marks = np.zeros((rows, columns), np.uint8)
        for box in taken:
            ink[_part(box, top)] = 0
        for box in boxes:
            down, across = _part(box, top)
            levels = band[guiding][down]
            if plates.plates[guiding].two_level:
                levels = rows_of_bits(levels, columns)
            marks[down, across] = levels[:, across]
        yield _Union(ink, None if dots is None else dots.rows(top, rows, columns), marks)
        top += rows


def _in_pixels(box_mm: Box, scale: float) -> tuple[int, int, int, int]:
    """First and last row, first and last column that a box touches, the last ones left out."""
    x, y, wide, high = box_mm
    return math.floor(y * scale), math.ceil((y + high) * scale), math.floor(x * scale), math.ceil((x + wide) * scale)


def _part(box: tuple[int, int, int, int], top: int) -> tuple[slice, slice]:
    """What of a box lies in a band that begins at row ``top``."""
    first, last, left, right = box
    return slice(max(0, first - top), max(0, last - top)), slice(max(0, left), max(0, right))


def _most(parts: Sequence[tuple[Bits | Rows, bool]], rows: int, columns: int) -> Rows:
    """The most ink of several plates, (rows, columns); packed bits, told by True, are joined as bits first."""
    packed = [part for part, bits in parts if bits]
    out = np.zeros((rows, columns), np.uint8)
    if packed:
        out = rows_of_bits(np.bitwise_or.reduce(packed), columns).copy()
    for part, bits in parts:
        if not bits:
            np.maximum(out, part, out=out)
    return out


def _with_halo(unions: Iterator[_Union], halo: int) -> Iterator[_Window]:
    """Each band with ``halo`` rows of what stands above and below it."""
    held: deque[_Union] = deque()
    above: _Union | None = None
    for union in unions:
        held.append(union)
        if len(held) == 2:
            yield _window(above, held[0], held[1], halo)
            above = held.popleft()
    if held:
        yield _window(above, held[0], None, halo)


def _window(above: _Union | None, band: _Union, below: _Union | None, halo: int) -> _Window:
    def joined(name: str) -> Rows:
        own: Rows = getattr(band, name)
        out = np.zeros((len(own) + 2 * halo, own.shape[1]), np.uint8)
        out[halo : halo + len(own)] = own
        if above is not None and halo:
            rows: Rows = getattr(above, name)[-halo:]
            out[halo - len(rows) : halo] = rows
        if below is not None and halo:
            rows = getattr(below, name)[:halo]
            out[halo + len(own) : halo + len(own) + len(rows)] = rows
        return out

    return _Window(halo, joined("ink"), None if band.dots is None else joined("dots"), band.marks)


def _drawn_in(window: _Window, reach: float, join: float) -> Rows:
    """The band's base: its ink where no edge is near, and its marks."""
    rim = 2 * disc_rows(join)
    filled = window.ink[rim : len(window.ink) - rim]
    if window.dots is not None:
        filled = np.where(window.dots[rim : len(window.dots) - rim], _joined(window.ink, join), filled)
    rim = disc_rows(reach)
    least, own = over_disc(filled, reach, np.minimum), filled[rim : len(filled) - rim]
    kept = np.where(least >= (own >> 1) + (own & 1), own, least)
    ink = window.ink[window.halo : len(window.ink) - window.halo]
    base: Rows = np.maximum(np.minimum(kept, ink), window.marks)
    return base


def _joined(ink: Rows, radius: float) -> Rows:
    """Ink grown together: all paper filled in that no disc of that radius fits into; twice its rows are lost."""
    side = disc_rows(radius)
    wide = np.pad(ink, ((0, 0), (side, side)))
    closed = over_disc(over_disc(wide, radius, np.maximum), radius, np.minimum)
    return closed[:, side : side + ink.shape[1]]


def disc_rows(radius: float) -> int:
    """Rows above and below its middle that a disc of that radius in pixels takes."""
    return max(0, math.ceil(radius) - 1)


def over_disc(levels: Rows, radius: float, pick: Pick) -> Rows:
    """The least or most level (``pick``) of all pixels nearer than ``radius`` pixels, paper beyond the sides.

    Takes (M, N) uint8, gives (M - 2 ``disc_rows``, N): the rows that know all their neighbours. Exact: the disc is
    taken row by row, each row of it from runs of whole powers of two.
    """
    reach = disc_rows(radius)
    rows, columns = levels.shape
    wide = np.pad(levels, ((0, 0), (reach, reach)))
    runs = [wide]
    while 2 ** len(runs) <= 2 * reach + 1:
        step = 2 ** (len(runs) - 1)
        runs.append(pick(runs[-1][:, :-step], runs[-1][:, step:]))
    found: Rows | None = None
    high = rows - 2 * reach
    for down in range(reach + 1):
        half = math.ceil(math.sqrt(radius * radius - down * down)) - 1
        if half < 0:
            continue
        size = 2 * half + 1
        power = size.bit_length() - 1
        first, last = reach - half, reach + half + 1 - 2**power
        run = pick(runs[power][:, first : first + columns], runs[power][:, last : last + columns])
        for row in {reach - down, reach + down}:
            part = run[row : row + high]
            found = part.copy() if found is None else pick(found, part)
    assert found is not None
    return found
