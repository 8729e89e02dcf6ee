"""How long a film-size set takes to inspect, by stage, beside the bare decode; the known answer comes first.

Small by default; ``SETUPASSIST_BENCH=full`` measures twelve plates of 8400 x 9600 pixels at 600 dpi (ten two-level,
two grey; four of dots, one of tone), drawn into PNG files first. Wanted: within three times the bare single-threaded
decode of the same files on two cores, and a peak under 700 MB.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import threading
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image

pytestmark = pytest.mark.benchmark

DPI, MOTIF = 600, 1200
TILES = {"small": (2, 1), "full": (8, 7)}
DISCS = [(380, 420, 330), (600, 600, 420), (700, 500, 250), (500, 760, 300), (420, 640, 400), (800, 420, 180)]
DOTS = [(22.5, 0.4), (52.5, 0.3), (82.5, 0.5), (37.5, 0.2)]
LINE = 7  # pixels: the finest stroke, in one plate


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


def draw(folder: Path, size: str) -> None:
    """Writes the set as PNG files; the first plate is a base, the second carries fine lines."""
    down, across = TILES[size]
    for number, motif in enumerate(motifs()):
        if number == 1:
            motif[40 : 40 + LINE, 100:1100] = 255
        name = f"{number:02}-{f'ink {number}' if number else 'white base'}.png"
        levels = np.tile(255 - motif, (down, across))
        picture = Image.fromarray(levels if number >= 10 else levels >= 128)
        picture.save(folder / name, dpi=(DPI, DPI), compress_level=6)


def decoded(folder: Path) -> float:
    """Seconds that Pillow takes to decode the files one after another."""
    Image.MAX_IMAGE_PIXELS = None
    start = time.perf_counter()
    for file in sorted(folder.glob("*.png")):
        with Image.open(file) as picture:
            picture.load()
    return time.perf_counter() - start


def peak_mb() -> float:
    """Most memory this process ever held; the kernel's own figure, which a fork does not hand down."""
    status = Path("/proc/self/status").read_text(encoding="ascii")
    return int(status.split("VmHWM:")[1].split()[0]) / 1024


STAGES = {
    "survey": ("same_plate_twice", "face_of", "cover_of"),
    "look": ("find_marks", "offsets", "looks_reversed", "looks_turned", "art_cells", "fine_detail", "_tones"),
    "contact": ("overlap", "shared_edges", "hairline_cells"),
    "kind.Texture": ("judge",),
    "choke.ChokeGauge": ("measure",),
    "reading.Gatherer": ("add",),
}


def watch(stages: dict[str, float]) -> None:
    """Counts the processor seconds of each stage, whatever thread it runs in."""
    from importlib import import_module

    lock = threading.Lock()

    def timed(name: str, function: Callable[..., Any]) -> Callable[..., Any]:
        def run(*args: Any, **options: Any) -> Any:
            start = time.thread_time()
            try:
                return function(*args, **options)
            finally:
                with lock:
                    stages[name] = stages.get(name, 0.0) + time.thread_time() - start

        return run

    for place, names in STAGES.items():
        module, _, inner = place.partition(".")
        holder: Any = import_module(f"setupassist.inspection.{module}")
        holder = getattr(holder, inner) if inner else holder
        for name in names:
            if hasattr(holder, name):
                setattr(holder, name, timed(f"{inner or module}.{name}", getattr(holder, name)))


def inspected(folder: Path) -> dict[str, Any]:
    """Inspects the set in this process: what is known of it, seconds, stages, peak memory."""
    from setupassist.art.opening import open_plates
    from setupassist.inspection import survey

    stages: dict[str, float] = {}
    watch(stages)
    before = peak_mb()
    start, used = time.perf_counter(), time.process_time()
    measure = survey.measure_plates(open_plates(folder))
    seconds, processor = time.perf_counter() - start, time.process_time() - used
    return {
        "areas": [plate.ink_area_cm2 for plate in measure.plates],
        "kinds": [plate.kind for plate in measure.plates],
        "angles": [plate.halftone.angle_deg for plate in measure.plates if plate.halftone],
        "overlap": measure.contacts[0].overlap_cm2,
        "finest": measure.plates[1].finest_line_mm,
        "seconds": seconds,
        "processor": processor,
        "stages": stages,
        "peak_mb": peak_mb(),
        "before_mb": before,
    }


def in_a_process(what: str, folder: Path) -> Any:
    told = subprocess.run(
        [sys.executable, __file__, what, str(folder)], check=True, capture_output=True, text=True, timeout=900
    )
    return json.loads(told.stdout)


def test_inspecting_a_set(capsys, tmp_path):
    size = "full" if os.environ.get("SETUPASSIST_BENCH") == "full" else "small"
    draw(tmp_path, size)
    down, across = TILES[size]
    drawn = motifs()
    drawn[1][40 : 40 + LINE, 100:1100] = 255
    pixel_cm2 = (2.54 / DPI) ** 2 * down * across
    in_a_process("decode", tmp_path)  # brings the files into the system's memory
    figures = in_a_process("inspect", tmp_path)
    bare = in_a_process("decode", tmp_path)
    areas = [float(motif.sum(dtype=np.int64)) / 255 * pixel_cm2 for motif in drawn]
    assert figures["areas"] == pytest.approx(areas, rel=0.001)
    assert figures["overlap"] == pytest.approx(float(np.count_nonzero(drawn[0] & drawn[1])) * pixel_cm2, rel=0.001)
    assert figures["kinds"] == ["solid"] * 6 + ["halftone"] * 4 + ["tone", "solid"]
    assert figures["angles"] == pytest.approx([angle for angle, _ in DOTS], abs=0.8)
    assert figures["finest"] == pytest.approx(LINE / DPI * 25.4, abs=1.1 / DPI * 25.4)
    with capsys.disabled():
        print(f"\ninspecting twelve plates ({size}): {figures['seconds']:.2f} s, ", end="")
        print(f"{figures['seconds'] / bare:.2f} times the bare decode of {bare:.2f} s; processor ", end="")
        print(f"{figures['processor']:.2f} s, peak {figures['peak_mb']:.0f} MB (before {figures['before_mb']:.0f} MB)")
        for name, seconds in sorted(figures["stages"].items(), key=lambda item: -item[1]):
            print(f"  {name:28} {seconds:6.3f} s of processor")


if __name__ == "__main__":
    print(json.dumps({"decode": decoded, "inspect": inspected}[sys.argv[1]](Path(sys.argv[2]))))
