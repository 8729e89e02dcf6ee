"""Plates of a PDF are drawn once, in processes of their own that end with whoever reads, and leave nothing behind."""

from __future__ import annotations

import errno
import gc
import json
import os
import shutil
import subprocess
import sys
import tempfile
import threading
import time
from pathlib import Path

import numpy as np
import pytest

from setupassist.art import pdf_child
from setupassist.art.opening import open_files, open_plates
from setupassist.art.pdf_spool import Spool
from setupassist.art.stopping import stopped_by
from setupassist.errors import Cancelled, InputFault, MachineFault
from setupassist.inspection.survey import measure_plates
from setupassist.words import words_in

BIG = 600
"""At this resolution a page of 6 x 6 inches is too large to be drawn while it is looked at."""


@pytest.fixture(autouse=True)
def own_folder_for_files(tmp_path, monkeypatch):
    folder = tmp_path / "temporary"
    folder.mkdir()
    monkeypatch.setattr(tempfile, "tempdir", str(folder))
    return folder


@pytest.fixture
def started(monkeypatch):
    """The processes that were started."""
    made, plain = [], subprocess.Popen

    def heed(*given, **options):
        made.append(plain(*given, **options))
        return made[-1]

    monkeypatch.setattr(pdf_child.subprocess, "Popen", heed)
    return made


@pytest.fixture
def page(pdf):
    pdf.page("/R cs 1 scn 30 30 200 200 re f /B cs 0.5 scn 100 100 m 400 150 l 200 400 l f", size=(432, 432))
    return pdf.save()


def test_drawn_once_and_read_twice(page, started):
    plates = open_plates(page, dpi=BIG)
    assert len(started) == 1
    first = [np.concatenate([band[index] for band in plates.read(300)]) for index in (0, 1)]
    assert len(started) == 3
    second = [np.concatenate([band[index] for band in plates.read(77)]) for index in (0, 1)]
    assert len(started) == 3
    assert [np.array_equal(one, two) for one, two in zip(first, second, strict=True)] == [True, True]
    # half a tint of a triangle: ((400 - 100) (400 - 100) - (150 - 100) (200 - 100)) / 2 square points
    assert first[1].mean() / 255 == pytest.approx(0.5 * 42_500 / 432**2, rel=0.005)
    assert all(process.poll() is not None for process in started)


def test_two_readers_at_once_share_the_drawing(page, started):
    plates = open_plates(page, dpi=BIG)
    sums = []
    readers = [
        threading.Thread(target=lambda: sums.append(sum(int(b.sum()) for b, _ in plates.read(100)))) for _ in "ab"
    ]
    for reader in readers:
        reader.start()
    for reader in readers:
        reader.join(60)
    assert len(sums) == 2
    assert sums[0] == sums[1] > 0
    assert len(started) == 3


def test_a_pass_left_half_way_ends_the_drawing(page, started, own_folder_for_files):
    plates = open_plates(page, dpi=2 * BIG)
    bands = plates.read(10)
    next(bands)
    assert list(own_folder_for_files.glob("*/1-*/plate-*")) != []
    bands.close()
    assert all(process.poll() is not None for process in started)
    # A drawing that was done by then is kept for the next pass.
    done = sum(process.returncode == 0 for process in started[1:])
    assert len(list(own_folder_for_files.glob("*/1-*/plate-*"))) <= done
    assert sum(len(band[0]) for band in plates.read(500)) == plates.plates[0].rows


def test_the_spool_goes_with_the_set(page, own_folder_for_files):
    plates = open_plates(page, dpi=BIG)
    for _ in plates.read(500):
        pass
    assert list(own_folder_for_files.iterdir()) != []
    del plates
    gc.collect()
    assert list(own_folder_for_files.iterdir()) == []


def test_the_spool_goes_with_the_process(page, tmp_path):
    code = (
        "import sys; from pathlib import Path; from setupassist.art.opening import open_plates\n"
        "plates = open_plates(Path(sys.argv[1]), dpi=150)\n"
        "print(sum(len(band[0]) for band in plates.read(100)))"
    )
    (tmp_path / "t").mkdir()
    done = subprocess.run(
        [sys.executable, "-c", code, str(page)], capture_output=True, text=True, check=True,
        env={**os.environ, "TMPDIR": str(tmp_path / "t")},
    )  # fmt: skip
    assert done.stdout.split() == ["900"]
    assert list((tmp_path / "t").iterdir()) == []


def test_spools_that_nobody_touched_for_a_day_go(page, own_folder_for_files):
    old, young = own_folder_for_files / "setupassist-pdf-old", own_folder_for_files / "setupassist-pdf-young"
    for folder in (old, young, own_folder_for_files / "somebody's"):
        (folder / "1-0").mkdir(parents=True)
        os.utime(folder, (time.time() - 100_000, time.time() - 100_000))
    os.utime(young)
    plates = open_plates(page, dpi=20)
    left = {path.name for path in own_folder_for_files.iterdir()}
    assert old.name not in left
    assert {young.name, "somebody's"} < left
    assert len(plates.plates) == 2


def test_a_spool_that_was_tidied_away_is_drawn_again(page, own_folder_for_files):
    plates = open_plates(page, dpi=20)
    before = [int(band[0].sum()) for band in plates.read(1000)]
    for folder in own_folder_for_files.iterdir():
        shutil.rmtree(folder)
    assert [int(band[0].sum()) for band in plates.read(1000)] == before


def test_the_spool_goes_with_a_process_that_is_killed(page, tmp_path):
    code = (
        "import sys; from pathlib import Path; from setupassist.art.opening import open_plates\n"
        "plates = open_plates(Path(sys.argv[1]), dpi=3600)\n"
        "print('drawing', flush=True)\n"
        "for band in plates.read(100):\n    pass"
    )
    folder = tmp_path / "t"
    folder.mkdir()
    environment = {**os.environ, "TMPDIR": str(folder)}
    with subprocess.Popen([sys.executable, "-c", code, str(page)], stdout=subprocess.PIPE, env=environment) as process:
        assert process.stdout.readline() == b"drawing\n"
        while not list(folder.glob("*/1-0/plate-*")):
            time.sleep(0.02)
        process.kill()
    until = time.monotonic() + 20
    while list(folder.iterdir()) and time.monotonic() < until:
        time.sleep(0.05)
    assert list(folder.iterdir()) == []


def test_at_most_two_at_once(page, started, monkeypatch):
    most = []
    plain = pdf_child.Child.begin

    def heed(child):
        begun = plain(child)
        most.append(sum(process.poll() is None for process in started))
        return begun

    monkeypatch.setattr(pdf_child.Child, "begin", heed)
    sets = [open_plates(page, dpi=BIG) for _ in range(2)]
    for bands in zip(*(plates.read(200) for plates in sets), strict=True):
        assert np.array_equal(bands[0][0], bands[1][0])
    assert max(most) == 2


def test_a_process_that_takes_too_long_is_ended(page, started, monkeypatch):
    plates = open_plates(page, dpi=2 * BIG)
    monkeypatch.setattr("setupassist.art.pdf_spool.DRAW_SECONDS", 0.05)
    with pytest.raises(InputFault, match=r"art\.pdf: takes too long to draw; simplify the page"):
        for _ in plates.read(100):
            pass
    assert all(process.poll() is not None for process in started)


@pytest.fixture
def no_turn(monkeypatch):
    """Other PDFs are read all the time, so no process of this one begins."""
    monkeypatch.setattr(pdf_child, "MOST_AT_ONCE", 0)


def after(calls):
    """A stop that answers True from the so manieth time on."""
    asked = []
    return lambda: bool(asked.append(None)) or len(asked) >= calls


@pytest.mark.usefixtures("no_turn")
def test_opening_that_waits_for_its_turn_can_be_stopped(page, started, own_folder_for_files):
    with pytest.raises(Cancelled), stopped_by(after(4)):
        open_plates(page, dpi=BIG)
    gc.collect()
    assert started == []
    assert list(own_folder_for_files.iterdir()) == []


def test_reading_that_waits_for_its_turn_can_be_stopped(page, started, monkeypatch):
    plates = open_plates(page, dpi=BIG)
    monkeypatch.setattr(pdf_child, "MOST_AT_ONCE", 0)
    with pytest.raises(Cancelled), stopped_by(after(4)):
        next(plates.read(100))
    with pytest.raises(Cancelled):
        measure_plates(plates, stop=after(4))
    assert len(started) == 1
    monkeypatch.setattr(pdf_child, "MOST_AT_ONCE", 2)
    assert sum(len(band[0]) for band in plates.read(500)) == plates.plates[0].rows


def test_measuring_of_several_pdfs_that_wait_can_be_stopped(page, started, monkeypatch):
    """They are read in threads of their own."""
    other = Path(shutil.copy(page, page.with_name("other.pdf")))
    plates = open_files([(page, "Fire Red"), (other, "Navy 2")], dpi=BIG)
    assert len(plates.streams()) == 2
    monkeypatch.setattr(pdf_child, "MOST_AT_ONCE", 0)
    with pytest.raises(Cancelled):
        measure_plates(plates, stop=after(9))
    assert len(started) == 2


def test_a_drawing_under_way_can_be_stopped(page, started):
    """At this resolution its first rows take longer than the stop."""
    plates = open_plates(page, dpi=3600)
    begun = time.monotonic()
    with pytest.raises(Cancelled), stopped_by(lambda: len(started) > 1):
        next(plates.read(plates.plates[0].rows))
    assert time.monotonic() - begun < 5
    assert all(process.poll() is not None for process in started)


def test_whoever_looks_while_a_process_begins_lets_it_work(page, tmp_path):
    """Its time counts from the moment at which others can see it."""

    class Watched(pdf_child.Child):
        seen = False

        def __setattr__(self, name, value):
            super().__setattr__(name, value)
            if name == "_process" and value is not None:
                self.seen = self.running(page)

    request = {"task": "look", "path": str(page), "page": 1, "dpi": 20}
    child = Watched(tmp_path / "work", request, most_seconds=min(1.0, time.monotonic() / 2))
    try:
        assert child.begin()
        assert child.seen
    finally:
        child.end()


def test_a_process_that_dies_is_told(page, started, monkeypatch):
    plates = open_plates(page, dpi=2 * BIG)

    def kill():
        while len(started) < 2:
            time.sleep(0.01)
        started[1].kill()

    killer = threading.Thread(target=kill)
    killer.start()
    with pytest.raises(InputFault, match=r"art\.pdf: .*; (simplify the page|export it again)"):
        for _ in plates.read(100):
            pass
    killer.join()
    # and the set can be read again
    assert sum(len(band[0]) for band in plates.read(500)) == plates.plates[0].rows


def test_a_full_disk_is_told(page, started, tmp_path):
    """The answer of a process that met a full disk; the plates' own files cannot be made to fill one here."""
    child = pdf_child.Child(tmp_path / "work", {}, most_seconds=1)
    (tmp_path / "work" / "answer.json").write_text(json.dumps({"no room": errno.ENOSPC}))
    with pytest.raises(MachineFault, match=r"no room for a temporary file .*; free some space on the disk"):
        child.answer(page)


@pytest.mark.parametrize(
    ("answer", "told"),
    [
        ({"no room": errno.ENOSPC}, r"no room for a temporary file"),
        ({"fault": "art.pdf.too-heavy", "values": {}}, r"art\.pdf: holds more than can be drawn"),
    ],
)
def test_a_drawing_that_failed_is_done_again_by_the_next_pass(page, monkeypatch, answer, told):
    """Its first process leaves a half of a plate and a complaint, as one does that meets a full disk."""
    plates = open_plates(page, dpi=BIG)
    plain = pdf_child.Child._started

    def fails(child):
        (child.folder / "plate-0").write_bytes(b"half")
        (child.folder / "plate-1").write_bytes(b"half")
        (child.folder / "answer.json").write_text(json.dumps(answer))
        return subprocess.Popen([sys.executable, "-c", ""])

    monkeypatch.setattr(pdf_child.Child, "_started", fails)
    with pytest.raises((MachineFault, InputFault), match=told):
        next(plates.read(100))
    monkeypatch.setattr(pdf_child.Child, "_started", plain)
    assert sum(len(band[0]) for band in plates.read(500)) == plates.plates[0].rows


@pytest.mark.parametrize("harm", [lambda file: os.truncate(file, file.stat().st_size // 2), Path.unlink])
def test_a_plate_that_is_lost_is_told_and_drawn_again(page, own_folder_for_files, harm):
    plates = open_plates(page, dpi=BIG)
    rows = sum(len(band[0]) for band in plates.read(500))
    bands = plates.read(10)
    next(bands)
    for file in own_folder_for_files.glob("*/1-*/plate-*"):
        harm(file)
    other = plates.read(10)
    if harm is Path.unlink:
        assert len(next(other)[0]) == 10
    else:
        with pytest.raises(
            MachineFault, match=r"art\.pdf: a temporary file of its plates is gone or cut short"
        ) as told:
            for _ in other:
                pass
        assert words_in("es")(told.value.args[0]).startswith("art.pdf: un archivo temporal de sus placas")
    assert sum(len(band[0]) for band in plates.read(500)) == rows


def test_a_pass_may_end_while_its_own_thread_is_at_the_books(page):
    """As passes do that nobody holds any more, whenever the garbage is collected."""
    spool = Spool(page, {"path": str(page), "page": 1, "dpi": BIG})
    bands = spool.bands([0])
    next(bands)

    def end():
        with spool._lock:
            bands.close()

    ending = threading.Thread(target=end, daemon=True)
    ending.start()
    ending.join(20)
    assert not ending.is_alive()
    assert sum(len(band) for (band,) in spool.bands([0])) == spool.found["rows"]


@pytest.mark.skipif(sys.platform == "win32", reason="limits of processes are those of POSIX")
def test_a_process_that_may_not_write_says_so(page, tmp_path):
    code = "import resource; from pathlib import Path; from setupassist.art import pdf_worker\n"
    code += "pdf_worker.MOST_FILE_BYTES = 100\n"
    code += f"pdf_worker.main(Path({str(tmp_path / 'work')!r}))"
    (tmp_path / "work").mkdir()
    request = {"task": "draw", "path": str(page), "page": 1, "dpi": 300, "finer": 1, "inks": [[0, "Fire Red"]]}
    (tmp_path / "work" / "request.json").write_text(json.dumps(request))
    subprocess.run([sys.executable, "-c", code], check=True)
    assert json.loads((tmp_path / "work" / "answer.json").read_text()) == {"no room": errno.EFBIG}


@pytest.mark.skipif(sys.platform == "win32", reason="limits of processes are those of POSIX")
def test_a_process_that_cannot_even_answer_says_so_by_its_end(page, tmp_path, monkeypatch):
    """Its files may hold five bytes each, as little as a full disk takes; an answer is longer."""
    code = "import sys; from pathlib import Path; from setupassist.art import pdf_worker\n"
    code += "pdf_worker.MOST_FILE_BYTES = 5\n"
    code += "pdf_worker.main(Path(sys.argv[1]))"
    request = {"task": "draw", "path": str(page), "page": 1, "dpi": 300, "finer": 1, "inks": [[0, "Fire Red"]]}
    child = pdf_child.Child(tmp_path / "work", request, most_seconds=60)

    def starts(child):
        return subprocess.Popen([sys.executable, "-c", code, str(child.folder)])

    monkeypatch.setattr(pdf_child.Child, "_started", starts)
    assert child.begin()
    while child.running(page):
        time.sleep(0.02)
    assert not child.drew
    with pytest.raises(MachineFault, match="no room for a temporary file"):
        child.answer(page)


def test_a_worker_ends_when_its_parent_is_gone(page, tmp_path):
    """The pipe from the parent closes: the process goes by itself."""
    folder = tmp_path / "work"
    child = pdf_child.Child(folder, {"task": "look", "path": str(page), "page": 1, "dpi": 3000}, most_seconds=60)
    assert child.begin()
    process = child._process
    process.stdin.close()
    assert process.wait(20) in (0, 3)


def test_folders_of_images_start_nothing_and_import_nothing(tmp_path):
    from PIL import Image

    Image.new("L", (9, 9)).save(tmp_path / "a.png", dpi=(300, 300))
    code = (
        "import sys; from pathlib import Path; from setupassist.art.opening import open_plates\n"
        "open_plates(Path(sys.argv[1]))\n"
        "heavy = {'pikepdf', 'pypdfium2', 'setupassist.art.pdf', 'setupassist.art.pdf_spool'}\n"
        "assert not heavy & set(sys.modules), heavy & set(sys.modules)"
    )
    folder = tmp_path / "plates"
    folder.mkdir()
    Path(tmp_path / "a.png").rename(folder / "a.png")
    done = subprocess.run([sys.executable, "-c", code, str(folder)], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
