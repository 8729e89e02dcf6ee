"""How long a film-size set takes to measure, by stage, and the most memory it takes; the known answer comes first.

Small by default; ``SETUPASSIST_BENCH=full`` measures twelve plates of 8400 x 9600 pixels at 600 dpi. The plates are
drawn band by band from a motif, so that they take no memory of their own worth naming; drawing counts as a stage.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest

pytestmark = pytest.mark.benchmark

DPI, MOTIF = 600, 1200
TILES = {"small": (2, 1), "full": (8, 7)}
DISCS = [(380, 420, 330), (600, 600, 420), (700, 500, 250), (500, 760, 300), (420, 640, 400), (800, 420, 180)]
DOTS = [(22.5, 0.4), (52.5, 0.3), (82.5, 0.5), (37.5, 0.2)]


def disc(x: float, y: float, radius: float) -> np.ndarray:
    v, u = np.ogrid[0.0:MOTIF, 0.0:MOTIF]
    return radius - np.hypot(u - x, v - y).astype(np.float32)


def motifs() -> list[np.ndarray]:
    """Six solids, four discs of halftone at 45 lines an inch, one ramp of grey, one soft-edged solid."""
    solids = [np.where(disc(*place) > 0, 255, 0).astype(np.uint8) for place in DISCS]
    y, x = np.ogrid[0.0:MOTIF, 0.0:MOTIF]
    dots = []
    for angle, tone in DOTS:
        turn, frequency = np.deg2rad(angle), 45 / DPI
        u = (x * np.cos(turn) - y * np.sin(turn)) * frequency
        v = (x * np.sin(turn) + y * np.cos(turn)) * frequency
        waves = np.cos(2 * np.pi * u) + np.cos(2 * np.pi * v)
        dots.append(
            np.where((waves > np.quantile(waves, 1 - tone)) & (disc(600, 600, 500) > 0), 255, 0).astype(np.uint8)
        )
    ramp = np.broadcast_to(np.linspace(0, 255, MOTIF), (MOTIF, MOTIF)) * (disc(600, 600, 560) > 0)
    soft = np.clip(disc(600, 640, 300) + 0.5, 0, 1) * 255
    return [motif.round().astype(np.uint8) for motif in (*solids, *dots, ramp, soft)]


def timed(stages: dict[str, float], name: str, function: Callable[..., Any]) -> Callable[..., Any]:
    """The function, its processor seconds (of the thread that ran it) added to the stage."""

    def run(*args: Any, **options: Any) -> Any:
        start = time.thread_time()
        try:
            return function(*args, **options)
        finally:
            stages[name] = stages.get(name, 0.0) + time.thread_time() - start

    return run


def peak_mb() -> float:
    """Most memory this process ever held; the kernel's own figure, which a fork does not hand down."""
    status = Path("/proc/self/status").read_text(encoding="ascii")
    return int(status.split("VmHWM:")[1].split()[0]) / 1024


def measured(size: str) -> dict[str, Any]:
    """Measures the set in this process: areas, halftones, seconds, stages, peak memory."""
    from setupassist.art.plates import Plate, PlateSet
    from setupassist.inspection import reading, survey
    from setupassist.inspection.kind import Texture
    from setupassist.inspection.strips import PlateStrip

    drawn, (down, across) = motifs(), TILES[size]
    rows, columns = down * MOTIF, across * MOTIF
    stages: dict[str, float] = {}

    def read(height: int) -> Iterator[tuple[np.ndarray, ...]]:
        for top in range(0, rows, height):
            start = time.thread_time()
            lines = np.arange(top, min(rows, top + height)) % MOTIF
            band = tuple(np.tile(motif[lines], (1, across)) for motif in drawn)
            stages["draw"] = stages.get("draw", 0.0) + time.thread_time() - start
            yield band

    plates = tuple(Plate(f"ink {i}" if i else "white base", "", rows, columns, DPI, i < 10) for i in range(len(drawn)))
    PlateStrip.add_band = timed(stages, "pack", PlateStrip.add_band)
    PlateStrip.close_strip = timed(stages, "cells", PlateStrip.close_strip)
    Texture.judge = timed(stages, "kind", Texture.judge)
    reading.face_of = timed(stages, "faces", reading.face_of)
    reading.meet = timed(stages, "pairs", reading.meet)
    reading.ChokeGauge.add = timed(stages, "choke", reading.ChokeGauge.add)
    survey.find_marks = timed(stages, "marks", survey.find_marks)
    survey.art_cells = timed(stages, "boxes", survey.art_cells)
    before = peak_mb()
    start, used = time.perf_counter(), time.process_time()
    measure = survey.measure_plates(PlateSet("drawn", plates, read))
    seconds, processor = time.perf_counter() - start, time.process_time() - used
    pixel_cm2 = (2.54 / DPI) ** 2
    return {
        "areas": [plate.ink_area_cm2 for plate in measure.plates],
        "true_areas": [float(m.sum(dtype=np.int64)) / 255 * pixel_cm2 * down * across for m in drawn],
        "kinds": [plate.kind for plate in measure.plates],
        "angles": [plate.halftone.angle_deg for plate in measure.plates if plate.halftone],
        "overlap": measure.contacts[0].overlap_cm2,
        "true_overlap": float(np.count_nonzero(drawn[0] & drawn[1])) * pixel_cm2 * down * across,
        "seconds": seconds,
        "processor": processor,
        "stages": stages,
        "peak_mb": peak_mb(),
        "before_mb": before,
    }


def test_measuring_a_set(capsys):
    size = "full" if os.environ.get("SETUPASSIST_BENCH") == "full" else "small"
    told = subprocess.run([sys.executable, __file__, size], check=True, capture_output=True, text=True, timeout=600)
    figures = json.loads(told.stdout)
    assert figures["areas"] == pytest.approx(figures["true_areas"], rel=0.001)
    assert figures["overlap"] == pytest.approx(figures["true_overlap"], rel=0.001)
    assert figures["kinds"] == ["solid"] * 6 + ["halftone"] * 4 + ["tone", "solid"]
    assert figures["angles"] == pytest.approx([angle for angle, _ in DOTS], abs=0.8)
    with capsys.disabled():
        print(
            f"\nmeasuring twelve plates ({size}): {figures['seconds']:.2f} s, processor {figures['processor']:.2f} s, ",
            end="",
        )
        print(f"peak {figures['peak_mb']:.0f} MB (before {figures['before_mb']:.0f} MB)")
        print("  " + ", ".join(f"{name} {seconds:.2f}" for name, seconds in figures["stages"].items()))


if __name__ == "__main__":
    print(json.dumps(measured(sys.argv[1])))
