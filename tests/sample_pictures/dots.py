"""Separation of painted light into opaque inks over a dark shirt, and round halftone dots."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

Field = npt.NDArray[np.float64]
LUT_SIZE, ROUNDS, STEP = 17, 700, 0.05
# An ink film covers most of what is under it; without base under it, the dark shirt takes most of its light.
OPACITY, BARE_SHARE = 0.93, 0.30


def predicted(tones: Field, inks: Field, garment: Field) -> tuple[Field, list[Field], list[Field], Field]:
    """Mean light of tones (N, inks) printed in order, base first, dots of the inks falling independently.

    Returns the light (N, 3) and what the slope needs: the light before each ink, each ink's own light, and
    how much of each stage stays visible.
    """
    base = tones[:, :1]
    now = garment + base * OPACITY * (inks[0] - garment)
    before, own = [], []
    for k in range(1, len(inks)):
        film = inks[k] * (BARE_SHARE + (1 - BARE_SHARE) * base)
        before.append(now)
        own.append(film)
        now = now + tones[:, k : k + 1] * OPACITY * (film - now)
    seen = np.ones((len(tones), len(inks)))
    for k in range(len(inks) - 2, -1, -1):
        seen[:, k] = seen[:, k + 1] * (1 - OPACITY * tones[:, k + 1])
    return now, before, own, seen


def fitted(target: Field, inks: Field, garment: Field, thrift: Field) -> Field:
    """Tones (N, inks) in 0..1 whose predicted light comes nearest to ``target`` (N, 3), by projected descent.

    Light is compared after a square root, near to how the eye steps; ``thrift`` is what a full tone of each ink costs.
    """
    tones = np.full((len(target), len(inks)), 0.15)
    first, second = np.zeros_like(tones), np.zeros_like(tones)
    goal = np.sqrt(target + 0.002)
    for turn in range(1, ROUNDS + 1):
        light, before, own, seen = predicted(tones, inks, garment)
        root = np.sqrt(light + 0.002)
        error = (root - goal) / root
        slope = np.empty_like(tones)
        through = OPACITY * (inks[0] - garment) * seen[:, :1]
        for k in range(1, len(inks)):
            slope[:, k] = OPACITY * seen[:, k] * ((own[k - 1] - before[k - 1]) * error).sum(axis=1)
            through = through + OPACITY * (tones[:, k] * seen[:, k])[:, None] * inks[k] * (1 - BARE_SHARE)
        slope[:, 0] = (through * error).sum(axis=1)
        # Base beyond what the inks cover would show as grey specks.
        bare = np.maximum(tones[:, 0] - tones[:, 1:].sum(axis=1), 0)
        slope += thrift
        slope[:, 0] += 0.5 * bare
        slope[:, 1:] -= 0.15 * bare[:, None]
        first = 0.9 * first + 0.1 * slope
        second = 0.99 * second + 0.01 * slope**2
        step = STEP * (1 - 0.9 * turn / ROUNDS)
        tones = np.clip(tones - step * (first / (1 - 0.9**turn)) / (np.sqrt(second / (1 - 0.99**turn)) + 1e-6), 0, 1)
    return tones


def separate(picture: Field, inks: Field, garment: Field, thrift: Field) -> Field:
    """Tones (inks, rows, columns) of a picture of linear light (rows, columns, 3), smooth by way of a table."""
    from scipy.ndimage import gaussian_filter, map_coordinates

    steps = np.linspace(0, 1, LUT_SIZE) ** 2
    grid = np.stack(np.meshgrid(steps, steps, steps, indexing="ij"), axis=-1).reshape(-1, 3)
    table = fitted(grid, inks, garment, thrift).T.reshape(len(inks), LUT_SIZE, LUT_SIZE, LUT_SIZE)
    where = np.moveaxis(np.sqrt(picture), -1, 0) * (LUT_SIZE - 1)
    return np.stack(
        [map_coordinates(gaussian_filter(t, 0.6, mode="nearest"), where, order=1, mode="nearest") for t in table]
    )


def _area_table() -> tuple[Field, Field]:
    """Radii, in periods, and the share of a square cell that lies within each of its nearest dot middle."""
    side = (np.arange(400) + 0.5) / 800
    radii = np.sort(np.hypot(*np.meshgrid(side, side)).ravel())
    return radii[::16], ((np.arange(radii.size) + 0.5) / radii.size)[::16]


def halftone(
    tone: Field, *, dpi: float, lines_per_inch: float, angle_deg: float, phase: tuple[float, float], least: float
) -> npt.NDArray[np.bool_]:
    """Round dots (rows, columns) of a tone in 0..1, rows rising to the right by ``angle_deg`` as one looks at them.

    ``phase`` shifts the lattice by parts of a period. A tone below ``least`` is carried by dots
    of that size of which some are left out, so that no dot is too small.
    """
    rows, columns = tone.shape
    period = dpi / lines_per_inch
    c, s = np.cos(np.radians(angle_deg)) / period, np.sin(np.radians(angle_deg)) / period
    dots = np.empty(tone.shape, bool)
    radii, shares = _area_table()
    for top in range(0, rows, 512):
        band = slice(top, min(top + 512, rows))
        y, x = np.arange(band.start, band.stop)[:, None], np.arange(columns)[None, :]
        u, v = x * c - y * s + phase[0], y * c + x * s + phase[1]
        i, j = np.round(u), np.round(v)
        # A sum of two irrational strides spreads the dots that stay evenly, the same on every run.
        keep = least * np.mod(i * 0.7548776662 + j * 0.5698402910, 1.0)
        here = tone[band]
        dots[band] = np.where(here < least, np.where(here > keep, least, 0.0), here) > np.interp(
            np.hypot(u - i, v - j), radii, shares
        )
    return dots


def drawn_in(cover: Field, radius_px: int) -> Field:
    """The least value of a field within a disc round each pixel."""
    from scipy.ndimage import minimum_filter

    y, x = np.mgrid[-radius_px : radius_px + 1, -radius_px : radius_px + 1]
    return np.asarray(minimum_filter(cover, footprint=x * x + y * y <= radius_px * radius_px, mode="nearest"))
