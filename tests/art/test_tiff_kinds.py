"""Rarer TIFF files: JPEG and Zstandard inside, see-through pictures, 16 bits, palettes, offsets beyond 4 GB, notes."""

import io
import os
import struct
import sys

import numpy as np
import pytest
from PIL import Image

from setupassist.art.opening import open_files, open_plates, open_what_opens
from setupassist.documents.terms import Severity
from setupassist.errors import InputFault

JPEG = 7


def planes_of(drawn, count, shape=(75, 91)):
    return np.stack([drawn(*shape, seed) for seed in range(count)])


def soft(count, shape=(75, 91)):
    """Planes that JPEG keeps well."""
    y, x = np.mgrid[0 : shape[0], 0 : shape[1]]
    return np.stack([(127 + 120 * np.sin((x + n * y) / 17)).astype(np.uint8) for n in range(count)])


def inks(*names, extra=()):
    fields = {332: ("H", [2]), 333: ("s", b"".join(name.encode() + b"\0" for name in names)), 334: ("H", [len(names)])}
    return fields | ({338: ("H", list(extra))} if extra else {})


def as_jpeg_keeps(jpeg_of, planes, layout):
    """Planes (samples, rows, columns) as each strip or tile comes back from Pillow's own JPEG reader."""
    rows, columns = layout.get("tile", (layout.get("strip_rows"), planes.shape[2]))
    out = np.empty_like(planes)
    for top in range(0, planes.shape[1], rows):
        for left in range(0, planes.shape[2], columns):
            part = planes[:, top : top + rows, left : left + columns]
            block = part
            if "tile" in layout:
                block = np.ones((len(planes), rows, columns), np.uint8)
                block[:, : part.shape[1], : part.shape[2]] = part
            back = np.asarray(Image.open(io.BytesIO(jpeg_of(np.moveaxis(block, 0, -1))))).reshape(*block.shape[1:], -1)
            back = 255 - back if len(planes) == 4 else back
            kept = np.moveaxis(back, -1, 0)[:, : part.shape[1], : part.shape[2]]
            out[:, top : top + rows, left : left + columns] = kept
    return out


@pytest.mark.parametrize("layout", [{"strip_rows": 16}, {"strip_rows": 75}, {"tile": (32, 48)}])
@pytest.mark.parametrize(("count", "planar"), [(1, False), (4, False), (6, True)])
def test_inks_packed_as_jpeg(*, tmp_path, tiff_writer, whole, jpeg_packed, layout, count, planar):
    planes = soft(count)
    names = [f"ink no {n}" for n in range(count)]
    path = tiff_writer().add(planes, planar=planar, compression=JPEG, fields=inks(*names), **layout)
    plates = open_plates(path.write(tmp_path / "a.tif"))
    assert [plate.name for plate in plates.plates] == names
    groups = [planes[n : n + 1] for n in range(count)] if planar else [planes]
    assert np.array_equal(
        np.stack(whole(plates)), np.concatenate([as_jpeg_keeps(jpeg_packed, group, layout) for group in groups])
    )
    assert np.abs(np.stack(whole(plates)).astype(int) - planes).mean() < 1.5
    assert plates.notes == ("a.tif: its pixels are packed as JPEG, so edges are not exact; Deflate or LZW keeps them",)


def test_a_large_strip_of_jpeg_goes_through_a_temporary_file(tmp_path, tiff_writer, whole, jpeg_packed):
    planes = soft(1, (2200, 2100))
    path = tiff_writer().add(planes, photometric=0, compression=JPEG, strip_rows=2200).write(tmp_path / "a.tif")
    assert np.array_equal(whole(open_plates(path), 700)[0], as_jpeg_keeps(jpeg_packed, planes, {"strip_rows": 2200})[0])


@pytest.mark.parametrize("mode", ["L", "RGB", "CMYK"])
def test_jpeg_with_tables_of_its_own_written_by_pillow(tmp_path, whole, mode):
    """libtiff keeps the tables of all strips in one field, and colour as luminance and difference at half the size."""
    soft_picture = Image.fromarray(np.ascontiguousarray(np.moveaxis(soft(3, (300, 401)), 0, -1))).convert(mode)
    soft_picture.save(tmp_path / "a.tif", compression="jpeg", quality=95)
    with Image.open(tmp_path / "a.tif") as picture:
        assert picture.tag_v2[347]
        read = np.asarray(picture).reshape(300, 401, -1)
    plates = open_plates(tmp_path / "a.tif")
    found = np.stack(whole(plates), axis=-1)
    if mode == "CMYK":
        assert np.array_equal(found, read)
        return
    grey = read[..., 0] if mode == "L" else np.asarray(Image.fromarray(read).convert("L"))
    assert np.array_equal(found[..., 0], 255 - grey)


def test_jpeg_of_five_inks_side_by_side_is_told(tmp_path, tiff_writer):
    tiff = tiff_writer().add(np.zeros((5, 16, 16), np.uint8), fields=inks(*"abcde"))
    tiff.pages[0][0][259] = ("H", [JPEG])
    told = r"a\.tif: is compressed by JPEG with 5 samples of 8 bits side by side, which is not read; save it with LZW"
    with pytest.raises(InputFault, match=told):
        open_plates(tiff.write(tmp_path / "a.tif"))


def test_jpeg_without_an_end_is_cut_short(tmp_path, tiff_writer):
    tiff = tiff_writer().add(soft(1), photometric=1, compression=JPEG, strip_rows=75)
    tiff.pages[0][1][0] = tiff.pages[0][1][0][:-40]
    with pytest.raises(InputFault, match=r"a\.tif: is cut short"):
        list(open_plates(tiff.write(tmp_path / "a.tif")).read(20))


@pytest.mark.parametrize("packing", ["lzma", "zstd"])
@pytest.mark.parametrize("mode", ["1", "L", "I;16", "CMYK", "RGB"])
def test_newer_packings_written_by_pillow(tmp_path, whole, drawn, packing, mode):
    grey = drawn(333, 171)
    picture = Image.fromarray(grey.astype(np.uint16) * 257) if mode == "I;16" else Image.fromarray(grey).convert(mode)
    for predictor in (1, 2) if mode != "1" else (1,):
        picture.save(tmp_path / "a.tif", compression=packing, tiffinfo={317: predictor})
        found = whole(open_plates(tmp_path / "a.tif"))
        if mode == "CMYK":
            assert np.array_equal(np.stack(found, axis=-1), np.asarray(picture))
        else:
            light = 255 * np.asarray(picture) if mode == "1" else grey
            assert np.array_equal(found[0], 255 - light.astype(np.uint8))


@pytest.mark.parametrize("packing", ["lzma", "zstd"])
def test_newer_packings_that_are_damaged_are_told(tmp_path, drawn, packing, capfd):
    Image.fromarray(drawn(400, 300)).save(tmp_path / "a.tif", compression=packing, tiffinfo={278: 400})
    data = bytearray((tmp_path / "a.tif").read_bytes())
    with Image.open(tmp_path / "a.tif") as picture:
        at, count = picture.tag_v2[273][0], picture.tag_v2[279][0]
    where = at if packing == "zstd" else at + count // 2  # nothing guards the levels that zstd leaves as they are
    data[where : where + 40] = b"\xa5" * 40
    (tmp_path / "a.tif").write_bytes(data)
    with pytest.raises(InputFault, match=r"^a\.tif: is damaged"):
        list(open_plates(tmp_path / "a.tif").read(50))
    assert capfd.readouterr() == ("", "")


@pytest.mark.parametrize(("zero", "full"), [(0, 65535), (65535, 0), (1000, 60_000)])
def test_sixteen_bits_are_rounded_once(*, tmp_path, tiff_writer, whole, zero, full):
    values = np.arange(65536, dtype=np.uint16).reshape(1, 256, 256)
    path = tiff_writer().add(values, fields=inks("a") | {336: ("H", [zero, full])}).write(tmp_path / "a.tif")
    exact = 255 * np.clip((values[0].astype(float) - zero) / (full - zero), 0, 1)
    found = whole(open_plates(path))[0]
    assert np.abs(found - exact).max() <= 0.5 + 1e-9
    assert len(np.unique(found)) == 256


def test_colour_of_sixteen_bits_is_rounded(tmp_path, tiff_writer, whole):
    values = np.arange(65536, dtype=np.uint16).reshape(256, 256)
    path = tiff_writer(">").add(np.stack([values] * 3), photometric=2).write(tmp_path / "a.tif")
    assert np.array_equal(whole(open_plates(path))[0], 255 - np.rint(values / 257).astype(np.uint8))


@pytest.mark.parametrize("light_is_ink", [False, True])
@pytest.mark.parametrize("depth", [8, 16])
@pytest.mark.parametrize("kind", [1, 2])
@pytest.mark.parametrize(("photometric", "colours"), [(0, 1), (1, 1), (2, 3)])
def test_what_is_see_through_bears_no_ink(
    *, tmp_path, tiff_writer, whole, light_is_ink, depth, kind, photometric, colours
):
    """``kind`` 1 is a value already multiplied by how opaque it is, 2 is the plain value."""
    alpha, value = (grid.astype(np.uint8) for grid in np.meshgrid(np.arange(256), np.arange(256)))
    shown = np.rint(value.astype(float) * alpha / 255).astype(np.uint8) if kind == 1 else value
    planes = np.stack([*[shown] * colours, alpha])
    planes = planes.astype(np.uint16) * 257 if depth == 16 else planes
    path = tiff_writer().add(planes, photometric=photometric, fields={338: ("H", [kind])}).write(tmp_path / "a.tif")
    plates = open_plates(path, light_is_ink=light_is_ink)
    value_is_ink = (photometric == 0) != light_is_ink
    opaque = (value if value_is_ink else 255 - value).astype(float)
    assert np.abs(whole(plates)[0] - opaque * alpha / 255).max() <= 1
    assert not whole(plates)[0][alpha == 0].any()
    assert "a.tif: what is see-through is taken as no ink" in plates.notes


@pytest.mark.parametrize(
    ("count", "extra", "note"),
    [
        (2, [0], "if they are inks, export the file as separated inks"),
        (2, [], "if they are inks, export the file as separated inks"),
        (3, [2, 2], "are left out (an alpha sample, as a rule)"),
    ],
)
def test_samples_beyond_a_grey_picture_are_told(*, tmp_path, tiff_writer, whole, drawn, count, extra, note):
    planes = planes_of(drawn, count)
    planes[1] = 255
    fields = {338: ("H", extra)} if extra else {}
    plates = open_plates(tiff_writer().add(planes, photometric=0, fields=fields).write(tmp_path / "a.tif"))
    assert np.array_equal(whole(plates)[0], planes[0])
    assert any(told.endswith(note) for told in plates.notes)


def test_alpha_of_a_planar_picture_is_left_out_and_told(tmp_path, tiff_writer, whole, drawn):
    planes = planes_of(drawn, 2)
    path = tiff_writer().add(planes, photometric=0, planar=True, fields={338: ("H", [2])}).write(tmp_path / "a.tif")
    plates = open_plates(path)
    assert np.array_equal(whole(plates)[0], planes[0])
    assert plates.notes == ("a.tif: samples beyond the picture's own are left out (an alpha sample, as a rule)",)


def test_names_of_the_inks_beyond_the_process_colours(tmp_path, tiff_writer, whole, drawn):
    """InkSet says CMYK and InkNames names as many inks as there are extra samples."""
    planes = planes_of(drawn, 6)
    fields = inks("gold", "white") | {332: ("H", [1]), 334: ("H", [6]), 338: ("H", [0, 0])}
    plates = open_plates(tiff_writer().add(planes, fields=fields).write(tmp_path / "a.tif"))
    process = ["process cyan", "process magenta", "process yellow", "process black"]
    assert [plate.name for plate in plates.plates] == [*process, "gold", "white"]
    assert np.array_equal(np.stack(whole(plates)), planes)


@pytest.mark.parametrize("bits", [2, 4, 8])
@pytest.mark.parametrize("scale", [1, 257])
def test_palettes_of_sixteen_bits_and_of_old_writers(*, tmp_path, tiff_writer, whole, bits, scale):
    colours = np.random.default_rng(3).integers(0, 256, (3, 1 << bits))
    colours[:, 0] = 255
    index = np.arange(64 * 64, dtype=np.uint32).reshape(1, 64, 64) % (1 << bits)
    fields = {320: ("H", [int(value) for value in (colours * scale).ravel()])}
    tiff = tiff_writer().add(index.astype(np.uint8), photometric=3, bits=None if bits == 8 else bits, fields=fields)
    grey = 255 - colours.T @ np.array([0.299, 0.587, 0.114])
    assert np.abs(whole(open_plates(tiff.write(tmp_path / "a.tif")))[0] - grey[index[0]]).max() <= 0.501


def test_a_picture_that_says_it_is_turned_is_told(tmp_path, tiff_writer, whole, drawn):
    planes = planes_of(drawn, 1)
    path = tiff_writer().add(planes, photometric=0, fields={274: ("H", [6])}).write(tmp_path / "a.tif")
    plates = open_plates(path)
    assert plates.notes == ("a.tif: says that it is to be shown turned; it is read as it is stored",)
    assert np.array_equal(whole(plates)[0], planes[0])


def big_tiff(path, order, planes, at):
    """A BigTIFF of planar inks whose strips and directory lie from ``at`` on, with nothing before."""
    count, rows, columns = planes.shape
    names = b"".join(f"ink no {n}\0".encode() for n in range(count))
    offsets = [at + n * rows * columns for n in range(count)]
    lists_at = at + planes.size
    lists = (
        struct.pack(f"{order}{count}Q", *offsets) + struct.pack(f"{order}{count}Q", *[rows * columns] * count) + names
    )
    fields = [
        (256, 4, 1, struct.pack(order + "I", columns)), (257, 4, 1, struct.pack(order + "I", rows)),
        (258, 3, 1, struct.pack(order + "H", 8)), (259, 3, 1, struct.pack(order + "H", 1)),
        (262, 3, 1, struct.pack(order + "H", 5)), (273, 16, count, struct.pack(order + "Q", lists_at)),
        (277, 3, 1, struct.pack(order + "H", count)), (278, 4, 1, struct.pack(order + "I", rows)),
        (279, 16, count, struct.pack(order + "Q", lists_at + 8 * count)), (284, 3, 1, struct.pack(order + "H", 2)),
        (332, 3, 1, struct.pack(order + "H", 2)),
        (333, 2, len(names), struct.pack(order + "Q", lists_at + 16 * count)),
    ]  # fmt: skip
    directory = lists_at + len(lists)
    body = struct.pack(order + "Q", len(fields))
    for tag, kind, values, held in fields:
        body += struct.pack(order + "HHQ", tag, kind, values) + held.ljust(8, b"\0")
    with path.open("wb") as file:
        file.write((b"II" if order == "<" else b"MM") + struct.pack(order + "HHHQ", 43, 8, 0, directory))
        file.seek(at)
        file.write(planes.tobytes() + lists + body + bytes(8))
    return path


@pytest.mark.skipif(sys.platform == "win32", reason="files there are not sparse by themselves")
@pytest.mark.parametrize("order", ["<", ">"])
def test_offsets_beyond_four_gigabytes(*, tmp_path, whole, drawn, order):
    planes = planes_of(drawn, 3)
    path = big_tiff(tmp_path / "a.tif", order, planes, 5 * 1024**3 + 12_345)
    if path.stat().st_blocks * 512 > 1024**3:
        pytest.skip("this disk keeps no sparse files")
    plates = open_plates(path)
    assert [plate.name for plate in plates.plates] == ["ink no 0", "ink no 1", "ink no 2"]
    assert np.array_equal(np.stack(whole(plates)), planes)


@pytest.mark.skipif(sys.platform == "win32", reason="files there are not sparse by themselves")
@pytest.mark.parametrize(("ending", "head", "most"), [("png", b"\x89PNG\r\n\x1a\n", 4), ("tif", b"II*\0", 32)])
def test_files_beyond_all_measure_are_told(*, tmp_path, ending, head, most):
    path = tmp_path / f"a.{ending}"
    path.write_bytes(head)
    os.truncate(path, most * 1024**3 + 1)
    with pytest.raises(InputFault, match=rf"^a\.{ending}: is larger than {most} GB"):
        open_plates(path)


def test_nameless_inks_are_asked_for_and_take_the_names_that_are_given(tmp_path, tiff_writer, whole, drawn):
    planes = planes_of(drawn, 3)
    path = tiff_writer().add(planes, fields=inks("white base", "", "")).write(tmp_path / "a.tif")
    plates = open_plates(path)
    assert [(plate.name, plate.stand_in) for plate in plates.plates] == [
        ("white base", ""),
        ("ink 2", "ink 2"),
        ("ink 3", "ink 3"),
    ]
    assert [(note.code, note.severity, note.plates) for note in plates.notes] == [
        ("ink-unnamed", Severity.NOTE, ("ink 2",)),
        ("ink-unnamed", Severity.NOTE, ("ink 3",)),
    ]
    assert plates.notes[0].text == "a.tif: sample 2 has no name and is called 'ink 2'"
    assert plates.notes[0].remedy.startswith("name it in the program that made the file, or in the table of plates")

    names = {"ink 2": "gold", "white base": "not asked for", "ink 9": "not there"}
    named = open_plates(path, names=names)
    assert [(plate.name, plate.stand_in) for plate in named.plates] == [
        ("white base", ""),
        ("gold", "ink 2"),
        ("ink 3", "ink 3"),
    ]
    assert [note.plates for note in named.notes] == [("ink 3",)]
    assert np.array_equal(np.stack(whole(named)), planes)
    listed = open_files([(path, "gold"), (path, "ink 3")], names=names)
    assert np.array_equal(np.stack(whole(listed)), planes[1:])
    sound, faults = open_what_opens(path, names={"ink 2": "White Base"})
    assert [plate.name for plate in sound.plates] == ["white base", "ink 3"]
    assert [str(fault) for fault in faults] == [
        "a.tif: two plates are called 'White Base'; give each ink a name of its own"
    ]


def test_nameless_pages_take_the_names_that_are_given(tmp_path, tiff_writer, drawn):
    tiff = tiff_writer()
    for name in ("", "warm red", " "):
        tiff.add(planes_of(drawn, 1), photometric=0, fields={285: ("s", name.encode() + b"\0")} if name else {})
    path = tiff.write(tmp_path / "a.tif")
    plates = open_plates(path, names={"page 3": "gold"})
    assert [plate.name for plate in plates.plates] == ["page 1", "warm red", "gold"]
    assert [note.plates for note in plates.notes] == [("page 1",)]
