"""Bad files end in one plain sentence, quickly and without a warning, wherever the damage lies."""

import io
import os
import struct
import time
import zlib

import numpy as np
import pytest
import tifffile
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from PIL import Image

from setupassist.art.opening import open_files, open_plates
from setupassist.errors import InputFault, SetupAssistError

FORMATS = {
    "grey.png": ("PNG", "L", {}),
    "bits.png": ("PNG", "1", {}),
    "colour.png": ("PNG", "RGBA", {}),
    "grey.jpg": ("JPEG", "L", {"dpi": (300, 300)}),
    "colour.jpg": ("JPEG", "RGB", {"progressive": True}),
    "grey.bmp": ("BMP", "L", {}),
    "bits.bmp": ("BMP", "1", {}),
    "plain.tif": ("TIFF", "L", {}),
    "lzw.tif": ("TIFF", "L", {"compression": "tiff_lzw"}),
    "deflate.tif": ("TIFF", "L", {"compression": "tiff_adobe_deflate"}),
    "packbits.tif": ("TIFF", "RGB", {"compression": "packbits"}),
    "group3.tif": ("TIFF", "1", {"compression": "group3"}),
    "group4.tif": ("TIFF", "1", {"compression": "group4"}),
    "inks.tif": ("TIFF", "CMYK", {"compression": "tiff_lzw"}),
    "jpeg.tif": ("TIFF", "RGB", {"compression": "jpeg"}),
    "lzma.tif": ("TIFF", "L", {"compression": "lzma"}),
    "zstd.tif": ("TIFF", "L", {"compression": "zstd"}),
    "interlaced.png": ("PNG", "P", {"interlace": 1}),
    "six.tif": ("TIFF", "inks", {"compression": "zlib", "predictor": 2, "tile": (16, 16), "bigtiff": True}),
    "planes.tif": ("TIFF", "inks", {"byteorder": ">", "rowsperstrip": 7}),
}


def small_file(name):
    kind, mode, options = FORMATS[name]
    rng = np.random.default_rng(5)
    soft = np.kron(rng.integers(0, 256, (9, 7), dtype=np.uint8), np.ones((5, 6), np.uint8))
    data = io.BytesIO()
    if mode == "inks":
        names = b"white base\0warm red\0deep blue\0gold\0"
        tags = [(332, 3, 1, 2, True), (333, 2, len(names), names, True)]
        planes = np.stack([soft, soft[::-1], 255 - soft, soft[:, ::-1]])
        tifffile.imwrite(
            data, planes, photometric="separated", planarconfig="separate", extratags=tags, metadata=None, **options
        )
        return data.getvalue()
    Image.fromarray(soft).convert("RGB" if mode == "CMYK" else mode).convert(mode).save(data, kind, **options)
    return data.getvalue()


def png_chunk(name, body):
    return struct.pack(">I", len(body)) + name + body + struct.pack(">I", zlib.crc32(name + body))


def read_through(path):
    """Read the file to its last row; the sentence it ends with, or None where it reads."""
    try:
        plates = open_plates(path)
        heights = [0] * len(plates.plates)
        for band in plates.read(16):
            for at, (rows, plate) in enumerate(zip(band, plates.plates, strict=True)):
                assert (rows.dtype, rows.shape[1]) == (np.uint8, plate.columns)
                heights[at] += len(rows)
        assert heights == [plate.rows for plate in plates.plates]
    except SetupAssistError as error:
        told = str(error)
        assert told.startswith(path.name), told
        assert "\n" not in told
        assert len(told) <= 300
        return told
    return None


@pytest.mark.parametrize("name", FORMATS)
def test_sound_files_read(tmp_path, name):
    (tmp_path / name).write_bytes(small_file(name))
    assert read_through(tmp_path / name) is None


@pytest.mark.parametrize("name", FORMATS)
@pytest.mark.parametrize("share", [0.1, 0.5, 0.9])
def test_files_cut_short(tmp_path, name, share, capfd):
    data = small_file(name)
    (tmp_path / name).write_bytes(data[: int(len(data) * share)])
    assert read_through(tmp_path / name) is not None
    assert capfd.readouterr() == ("", "")


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    name=st.sampled_from(sorted(FORMATS)),
    edits=st.lists(
        st.tuples(
            st.sampled_from(["set", "cut", "insert", "double"]), st.floats(0, 1), st.binary(min_size=1, max_size=4)
        ),
        min_size=1,
        max_size=4,
    ),
)
def test_files_with_bytes_changed_cut_or_put_in(tmp_path, name, edits):
    data = bytearray(small_file(name))
    for what, place, new in edits:
        at = int(place * (len(data) - 1))
        if what == "set":
            data[at : at + len(new)] = new
        elif what == "cut":
            del data[at : at + 8 * len(new)]
        elif what == "insert":
            data[at:at] = new
        else:
            data[at:at] = data[at : at + 64]
        data = data or bytearray(b"x")
    (tmp_path / name).write_bytes(data)
    read_through(tmp_path / name)


@pytest.mark.parametrize("name", [name for name in FORMATS if name.endswith(".tif")])
def test_tiff_fields_with_wild_values(tmp_path, name):
    """Every two and four bytes of the directory put to 0, to all ones and to a middling number."""
    sound = small_file(name)
    order, big = "<" if sound[:2] == b"II" else ">", sound[2] == 43
    at = struct.unpack_from(f"{order}{'Q' if big else 'I'}", sound, 8 if big else 4)[0]
    count = struct.unpack_from(f"{order}{'Q' if big else 'H'}", sound, at)[0]
    first, step, parts = (8, 20, "HHQQ") if big else (2, 12, "HHII")
    start, told = time.perf_counter(), set()
    for entry in range(count):
        offset = at + first + step * entry
        for form in parts:
            for value in (0, 1, 7, 256 ** struct.calcsize(f"={form}") - 1):
                data = bytearray(sound)
                struct.pack_into(order + form, data, offset, value)
                (tmp_path / name).write_bytes(data)
                told.add(read_through(tmp_path / name))
            offset += struct.calcsize(f"={form}")
    assert len(told) > 5, told
    assert time.perf_counter() - start < 20


def png(columns, rows, *, bits=1, data=b"", interlaced=0):
    head = struct.pack(">IIBBBBB", columns, rows, bits, 0, 0, 0, interlaced)
    body = png_chunk(b"IHDR", head) + png_chunk(b"IDAT", data) + png_chunk(b"IEND", b"")
    return b"\x89PNG\r\n\x1a\n" + body


ABSURD = {
    "header.png": (png(10**9, 10**9), "1000000000 x 1000000000 pixels, above the limit"),
    "large.png": (png(100_000, 100_000), "above the limit of 1200 megapixels"),
    "zero.png": (png(0, 5), "0 x 5 pixels"),
    "bomb.png": (png(30_000, 30_000, data=zlib.compress(bytes(100))), "cut short"),
    "short.png": (png(100, 100, data=zlib.compress(bytes(700))), "cut short"),
    "interlaced.png": (png(30_000, 30_000, interlaced=1), "cannot be read in bands"),
    "depth.png": (png(5, 5, bits=3), "what no PNG may say"),
    "check.png": (png(8, 1, data=zlib.compress(bytes(2))[:-1] + b"?"), "is damaged"),
    "header.bmp": (b"BM" + bytes(8) + struct.pack("<IIiiHHIIiiII", 54, 40, 10**9, 10**9, 1, 1, *[0] * 6), "above the"),
    "zero.bmp": (b"BM" + bytes(8) + struct.pack("<IIiiHHIIiiII", 54, 40, 0, 0, 1, 1, *[0] * 6), "0 x 0 pixels"),
    "depth.bmp": (b"BM" + bytes(8) + struct.pack("<IIiiHHIIiiII", 54, 40, 5, 5, 1, 7, *[0] * 6), "no BMP may say"),
    "empty.jpg": (b"\xff\xd8\xff\xd9", "cut short"),
    "header.jpg": (b"\xff\xd8\xff\xc0\0\x0b\x08\xff\xff\xff\xff\1\1\x11\0\xff\xda\0\2", "above the limit"),
    "bomb.jpg": (b"\xff\xd8\xff\xc0\0\x0b\x08\x40\0\x40\0\1\1\x11\0\xff\xda\0\2", "cut short"),
    "nothing.tif": (b"II*\0" + bytes(4), "no full-size page"),
    "beyond.tif": (b"II*\0\xff\xff\xff\x7f", "cut short"),
    "fields.tif": (b"II+\0\x08\0\0\0\x10" + bytes(7) + b"\xff" * 8, "absurd number of fields"),
    "text.png": (b"this is a letter, not a picture", "is not a PNG, TIFF, JPEG or BMP image"),
    "empty.tif": (b"", "is empty"),
}


@pytest.mark.parametrize("name", ABSURD)
def test_absurd_files(tmp_path, name):
    data, told = ABSURD[name]
    (tmp_path / name).write_bytes(data)
    start = time.perf_counter()
    assert told in (read_through(tmp_path / name) or "")
    assert time.perf_counter() - start < 1


def test_pages_that_run_in_a_circle(tmp_path, tiff_writer):
    path = tiff_writer().add(np.zeros((1, 4, 4), np.uint8), photometric=1).write(tmp_path / "a.tif")
    data = bytearray(path.read_bytes())
    data[-4:] = data[4:8]
    path.write_bytes(data)
    assert read_through(path) == "a.tif: is damaged (its pages run in a circle); export or copy it again"


@pytest.mark.parametrize(
    ("fields", "told"),
    [
        ({256: ("I", [20_000]), 257: ("I", [30_000]), 278: ("I", [30_000])}, "strips too large to be unpacked whole"),
        ({257: ("I", [30_000])}, "some of its strips or tiles are missing"),
        (
            {322: ("I", [8192]), 323: ("I", [8192]), 324: ("I", [8] * 9), 325: ("I", [8] * 9)},
            "tiles that are too large",
        ),
        ({322: ("I", [1 << 20]), 323: ("I", [1 << 20]), 324: ("I", [8]), 325: ("I", [8])}, "tiles have an absurd size"),
        ({258: ("H", [32])}, "holds 32 bit samples"),
        ({339: ("H", [3])}, "floating-point or signed"),
        ({277: ("H", [5000])}, "says that it holds 5000 samples"),
        ({279: ("I", [10_000])}, "cut short"),
        ({279: ("I", [0])}, "are empty"),
    ],
)
def test_tiff_that_promises_too_much(tmp_path, tiff_writer, fields, told):
    shape = {256: ("I", [20_000]), 257: ("I", [20_000])} if 324 in fields else {}
    writer = tiff_writer().add(np.zeros((1, 16, 16), np.uint8), photometric=1, compression=32773, fields=shape | fields)
    start = time.perf_counter()
    assert told in (read_through(writer.write(tmp_path / "a.tif")) or "")
    assert time.perf_counter() - start < 1


WILD = [0, 1, 2, 3, 4, 5, 6, 7, 8, 16, 255, 4000, 0xFFFF, 32773, 34925, 50000]
FIELDS = [
    256, 257, 258, 259, 262, 266, 273, 274, 277, 278, 279, 284, 292, 296, 317, 320, 322, 323, 324, 325, 332, 333, 334,
    336, 338, 339, 347, 530,
]  # fmt: skip


@settings(max_examples=250, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    count=st.sampled_from([1, 3, 4]),
    bits=st.sampled_from([1, 4, 8, 16]),
    planar=st.booleans(),
    photometric=st.sampled_from([0, 1, 2, 3, 5, 6]),
    compression=st.sampled_from([1, 7, 8, 32773, 34925]),
    tile=st.sampled_from([None, (16, 32)]),
    fields=st.dictionaries(
        st.sampled_from(FIELDS),
        st.tuples(st.sampled_from("HI"), st.lists(st.sampled_from(WILD), min_size=1, max_size=8)),
        max_size=3,
    ),
)
def test_tiff_pages_whose_fields_contradict_each_other(tmp_path, tiff_writer, **page):
    """Sound strips under fields of any value: a plain sentence, or rows of the size that the page promises."""
    bits, fields = page.pop("bits"), page.pop("fields")
    if bits != 8 and page["compression"] == 7:
        page["compression"] = 8
    planes = np.random.default_rng(1).integers(0, 1 << bits, (page.pop("count"), 40, 53))
    planes = planes.astype({1: bool, 16: np.uint16}.get(bits, np.uint8))
    tiff = tiff_writer().add(planes, bits=4 if bits == 4 else None, fields=fields, **page)
    read_through(tiff.write(tmp_path / "a.tif"))


@settings(max_examples=250, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    kind=st.sampled_from([0, 2, 3, 4, 6]),
    bits=st.sampled_from([1, 2, 4, 8, 16]),
    interlaced=st.booleans(),
    palette=st.none() | st.sampled_from([0, 3, 10, 48, 768]),
    see_through=st.none() | st.sampled_from([0, 1, 2, 6, 256]),
    share=st.sampled_from([1.0, 1.0, 1.0, 0.9, 0.1]),
    chunk=st.sampled_from([1, 50, 100_000]),
    filters=st.sampled_from([5, 5, 5, 255]),
)
def test_png_chunks_that_contradict_each_other(
    *, tmp_path, kind, bits, interlaced, palette, see_through, share, chunk, filters
):
    """Chunks of any kind and length under right check sums, row filters of any number, data that end too early."""
    samples = {0: 1, 2: 3, 3: 1, 4: 2, 6: 4}[kind]
    row_bytes = (13 * samples * bits + 7) // 8
    raw = np.random.default_rng(7).integers(0, 256, (9 * (1 + interlaced), row_bytes + 1)).astype(np.uint8)
    raw[:, 0] %= filters
    data = zlib.compress(raw.tobytes())
    data = data[: int(len(data) * share)]
    parts = [(b"PLTE", palette), (b"tRNS", see_through)]
    body = [png_chunk(name, (bytes(range(256)) * 3)[:length]) for name, length in parts if length is not None]
    body += [png_chunk(b"IDAT", data[at : at + chunk]) for at in range(0, len(data), chunk)]
    head = png_chunk(b"IHDR", struct.pack(">IIBBBBB", 13, 9, bits, kind, 0, 0, interlaced))
    end = png_chunk(b"IEND", b"")
    (tmp_path / "a.png").write_bytes(b"\x89PNG\r\n\x1a\n" + head + b"".join(body) + end)
    read_through(tmp_path / "a.png")


@pytest.mark.parametrize(
    ("planes", "photometric", "fields"),
    [
        (1, 3, {320: ("I", [0xFFFFFFFF] * 768)}),  # colours beyond what a palette can say
        (2, 1, {338: ("H", [2, 1, 1, 1])}),  # more extra samples than there are samples
    ],
)
def test_fields_that_say_too_much_are_read_as_far_as_they_go(tmp_path, tiff_writer, planes, photometric, fields):
    tiff = tiff_writer().add(np.zeros((planes, 9, 9), np.uint8), photometric=photometric, fields=fields)
    assert read_through(tiff.write(tmp_path / "a.tif")) is None


def test_a_page_of_nothing_but_alpha(tmp_path, tiff_writer):
    path = tiff_writer().add(np.zeros((2, 4, 4), np.uint8), fields={338: ("H", [1, 2])}).write(tmp_path / "a.tif")
    assert read_through(path) == "a.tif: is damaged (it calls all of its samples alpha); export or copy it again"


def test_depths_without_end_are_told_in_short(tmp_path, tiff_writer):
    fields = {258: ("H", list(range(20, 40)))}
    path = tiff_writer().add(np.zeros((20, 4, 4), np.uint8), fields=fields).write(tmp_path / "a.tif")
    assert read_through(path) == "a.tif: holds 20/21/22/… bit samples; export it with 1, 8 or 16 bits"


def test_thousands_of_pages(tmp_path, tiff_writer):
    writer = tiff_writer()
    for _ in range(300):
        writer.add(np.zeros((1, 1, 1), np.uint8), photometric=1)
    assert "has more than" in read_through(writer.write(tmp_path / "a.tif"))


def test_damage_in_the_middle_shows_while_reading(tmp_path):
    rng = np.random.default_rng(1)
    Image.fromarray(rng.integers(0, 256, (2000, 400), dtype=np.uint8)).save(tmp_path / "a.png")
    data = bytearray((tmp_path / "a.png").read_bytes())
    data[len(data) // 2] ^= 0xFF
    (tmp_path / "a.png").write_bytes(data)
    bands = open_plates(tmp_path / "a.png").read(16)
    next(bands)
    with pytest.raises(InputFault, match=r"^a\.png: is damaged"):
        list(bands)


def test_long_names_leave_the_sentence_whole(tmp_path):
    (tmp_path / ("x" * 240 + ".png")).touch()
    with pytest.raises(InputFault, match=r"^xxx.*…x.*\.png: is empty; export the plate again$"):
        open_plates(tmp_path)


def test_a_file_that_is_gone_before_it_is_read(tmp_path):
    Image.new("1", (9, 9)).save(tmp_path / "a.png")
    plates = open_plates(tmp_path / "a.png")
    (tmp_path / "a.png").unlink()
    with pytest.raises(SetupAssistError, match=r"^a\.png: "):
        list(plates.read(4))


def test_paths_that_are_no_files(tmp_path):
    (tmp_path / "empty").mkdir()
    (tmp_path / "set").mkdir()
    (tmp_path / "set" / "x.png").mkdir()
    (tmp_path / "links").mkdir()
    (tmp_path / "links" / "x.png").symlink_to(tmp_path / "gone.png")
    (tmp_path / "pipes").mkdir()
    os.mkfifo(tmp_path / "pipes" / "x.png")
    for path, told in (
        ("empty", "holds no images"),
        ("set", "x.png: is a folder, not an image"),
        ("links", "x.png: is a link to a file that is not there"),
        ("pipes", "x.png: is not a file that can be read"),
        ("gone", "is not there"),
        ("gone.png\0", "cannot be reached"),
        ("x" * 5000, "cannot be reached"),
    ):
        with pytest.raises(InputFault, match=told):
            open_plates(tmp_path / path)
    with pytest.raises(InputFault, match="is not there"):
        open_files([(tmp_path / "a.png", None), (tmp_path / "b.png", "red")])


def test_fax_data_that_make_no_sense_are_told_not_printed(tmp_path, capfd):
    """libtiff carries on with wrong rows and complains on the terminal; neither may reach the person."""
    data = bytearray(small_file("group4.tif"))
    picture = Image.open(io.BytesIO(bytes(data)))
    at, count = picture.tag_v2[273][0], picture.tag_v2[279][0]
    data[at + count // 3 : at + count // 2] = b"\x80" * (count // 2 - count // 3)
    (tmp_path / "a.tif").write_bytes(data)
    assert read_through(tmp_path / "a.tif") == (
        "a.tif: is damaged (its compressed data make no sense); export or copy it again"
    )
    assert capfd.readouterr() == ("", "")
