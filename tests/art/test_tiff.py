"""TIFF reads back as it was drawn: every depth, layout, packing, byte order, polarity, and ink names by the rules."""

import io
import itertools

import numpy as np
import pytest
import tifffile
from PIL import Image

from setupassist.art.opening import open_files, open_plates
from setupassist.errors import InputFault

SIX = ("cyan", "magenta", "yellow", "black", "flash white", "bleu nuit é")
NONE, DEFLATE, PACK_BITS, LZMA = 1, 8, 32773, 34925
DEPTHS = ("1", "2", "4", "8", "16")


def named(names, *, ink_set=2, count=None):
    text = b"".join(name.encode() + b"\0" for name in names)
    return {332: ("H", [ink_set]), 333: ("s", text), 334: ("H", [count or len(names)])}


def stored(drawn, depth, count=6, shape=(75, 91)):
    """Planes as they are stored, and the ink 0..255 that they stand for."""
    planes = np.stack([drawn(*shape, seed) for seed in range(count)])
    if depth == "1":
        return planes > 127, np.where(planes > 127, 255, 0)
    if depth in ("2", "4"):
        values = planes >> (8 - int(depth))
        return values, values * (255 // (2 ** int(depth) - 1))
    return (planes, planes) if depth == "8" else (planes.astype(np.uint16) * 257, planes)


def few(depth):
    """The depth where it is not the array's own."""
    return int(depth) if depth in ("2", "4") else None


@pytest.mark.parametrize("layout", [{"strip_rows": 16}, {"strip_rows": 75}, {"strip_rows": 1}, {"tile": (32, 48)}])
@pytest.mark.parametrize("compression", [NONE, DEFLATE, PACK_BITS, LZMA])
@pytest.mark.parametrize(("depth", "planar", "order"), [*itertools.product(DEPTHS, (False, True), "<>")])
def test_six_inks(*, tmp_path, tiff_writer, whole, drawn, layout, compression, depth, planar, order):
    planes, truth = stored(drawn, depth)
    path = (
        tiff_writer(order)
        .add(planes, planar=planar, compression=compression, fields=named(SIX), bits=few(depth), **layout)
        .write(tmp_path / "six.tif")
    )
    plates = open_plates(path)
    assert tuple(plate.name for plate in plates.plates) == SIX
    assert {plate.dpi for plate in plates.plates} == {300.0}
    assert {plate.two_level for plate in plates.plates} == {depth == "1"}
    assert np.array_equal(np.stack(whole(plates)), truth)
    assert plates.notes == ()


@pytest.mark.parametrize("compression", [DEFLATE, LZMA])
@pytest.mark.parametrize(("depth", "planar", "order"), [*itertools.product(("8", "16"), (False, True), "<>")])
def test_differences_are_undone(*, tmp_path, tiff_writer, whole, drawn, compression, depth, planar, order):
    planes, truth = stored(drawn, depth, count=3)
    writer = tiff_writer(order).add(
        planes, planar=planar, compression=compression, predictor=2, strip_rows=20, fields=named("abc")
    )
    assert np.array_equal(np.stack(whole(open_plates(writer.write(tmp_path / "a.tif")))), truth)


@pytest.mark.parametrize("depth", DEPTHS)
@pytest.mark.parametrize("compression", [NONE, DEFLATE, PACK_BITS, LZMA])
def test_lowest_bit_first(*, tmp_path, tiff_writer, whole, drawn, depth, compression):
    planes, truth = stored(drawn, depth, count=1)
    writer = tiff_writer().add(planes, photometric=0, compression=compression, fill_order=2, bits=few(depth))
    assert np.array_equal(whole(open_plates(writer.write(tmp_path / "a.tif")))[0], truth[0])


@pytest.mark.parametrize("depth", DEPTHS)
@pytest.mark.parametrize(("photometric", "light_is_ink"), [*itertools.product((0, 1), (False, True))])
def test_polarity_of_grey_pages(*, tmp_path, tiff_writer, whole, drawn, depth, photometric, light_is_ink):
    planes, value = stored(drawn, depth, count=1)
    path = tiff_writer().add(planes, photometric=photometric, bits=few(depth)).write(tmp_path / "01-warm_red.tif")
    plates = open_plates(path, light_is_ink=light_is_ink)
    value_is_ink = (photometric == 0) != light_is_ink
    assert np.array_equal(whole(plates)[0], value[0] if value_is_ink else 255 - value[0])
    assert plates.plates[0].name == "warm red"


@pytest.mark.parametrize("depth", DEPTHS)
def test_dot_range_turns_values_round(tmp_path, tiff_writer, whole, drawn, depth):
    planes, value = stored(drawn, depth, count=2)
    top = 2 ** int(depth) - 1
    form = "H" if depth == "16" else "B"
    fields = named("ab") | {336: (form, [top, 0, 0, top])}
    plates = open_plates(tiff_writer().add(planes, fields=fields, bits=few(depth)).write(tmp_path / "a.tif"))
    assert np.array_equal(np.stack(whole(plates)), np.stack([255 - value[0], value[1]]))


def test_dot_range_stretches(tmp_path, tiff_writer, whole):
    planes = np.arange(256, dtype=np.uint8).reshape(1, 4, 64).repeat(2, axis=0)
    fields = named("ab") | {336: ("B", [55, 157])}
    ink = whole(open_plates(tiff_writer().add(planes, fields=fields).write(tmp_path / "a.tif")))[0]
    values = np.arange(256).reshape(4, 64)
    assert np.abs(ink - np.clip((values - 55) * 2.5, 0, 255)).max() <= 0.5


def test_dot_range_without_a_range_is_told(tmp_path, tiff_writer):
    fields = named("ab") | {336: ("B", [7, 7])}
    path = tiff_writer().add(np.zeros((2, 4, 4), np.uint8), fields=fields).write(tmp_path / "a.tif")
    with pytest.raises(InputFault, match=r"a\.tif: says that its dots range from 7 to 7"):
        open_plates(path)


def test_separated_values_are_ink_whatever_is_asked(tmp_path, tiff_writer, whole, drawn):
    planes, truth = stored(drawn, "8", count=2)
    path = tiff_writer().add(planes, fields=named("ab")).write(tmp_path / "a.tif")
    plates = open_plates(path, light_is_ink=True)
    assert np.array_equal(np.stack(whole(plates)), truth)
    assert any("light is not read as ink" in note for note in plates.notes)


PROCESS = ["process cyan", "process magenta", "process yellow", "process black"]


@pytest.mark.parametrize(
    ("count", "fields", "names", "told"),
    [
        (4, {}, PROCESS, []),
        (4, {332: ("H", [1]), 334: ("H", [4])}, PROCESS, []),
        (5, {338: ("H", [2])}, PROCESS, ["alpha"]),
        (6, {338: ("H", [0, 0])}, [*PROCESS, "ink 5", "ink 6"], ["'ink 5'", "'ink 6'"]),
        (6, named(SIX) | {338: ("H", [0, 0])}, list(SIX), []),
        (6, named(SIX), list(SIX), []),
        (3, named("ab") | {338: ("H", [1])}, ["a", "b"], ["alpha"]),
        (4, named("abc", count=3) | {338: ("H", [0])}, ["a", "b", "c", "ink 4"], ["'ink 4'"]),
        (3, {332: ("H", [2]), 334: ("H", [3])}, ["ink 1", "ink 2", "ink 3"], ["'ink 1'", "'ink 2'", "'ink 3'"]),
        (2, named(["", "b"]), ["ink 1", "b"], ["'ink 1'"]),
    ],
)
def test_which_samples_are_inks(*, tmp_path, tiff_writer, whole, drawn, count, fields, names, told):
    planes, truth = stored(drawn, "8", count=count, shape=(20, 30))
    plates = open_plates(tiff_writer().add(planes, fields=fields).write(tmp_path / "a.tif"))
    assert [plate.name for plate in plates.plates] == names
    assert np.array_equal(np.stack(whole(plates)), truth[: len(names)])
    assert len(plates.sentences) == len(told)
    assert all(word in note for word, note in zip(told, plates.sentences, strict=True))


def test_names_in_latin_letters(tmp_path, tiff_writer):
    fields = named("ab") | {333: ("s", "rouge vermillon é\0bleu\0".encode("latin-1"))}
    path = tiff_writer().add(np.zeros((2, 4, 4), np.uint8), fields=fields).write(tmp_path / "a.tif")
    assert [plate.name for plate in open_plates(path).plates] == ["rouge vermillon é", "bleu"]


def page(name):
    return {285: ("s", name.encode() + b"\0")}


def test_one_ink_a_page(tmp_path, tiff_writer, whole, drawn):
    planes, truth = stored(drawn, "1", count=3)
    writer = tiff_writer(">")
    for plane, name in zip(planes, ("white base", "warm red", ""), strict=True):
        writer.add(plane[None], photometric=0, fields=page(name) if name else {})
    path = writer.write(tmp_path / "a.tif")
    plates = open_plates(path)
    assert [plate.name for plate in plates.plates] == ["white base", "warm red", "page 3"]
    assert np.array_equal(np.stack(whole(plates)), truth)
    assert any("page 3" in note for note in plates.sentences)
    only = open_plates(path, page=2)
    assert [plate.name for plate in only.plates] == ["warm red"]
    assert np.array_equal(whole(only)[0], truth[1])
    with pytest.raises(InputFault, match="has 3 pages, so there is no page 4"):
        open_plates(path, page=4)


def test_thumbnails_are_left_out(tmp_path, tiff_writer, whole, drawn):
    planes, truth = stored(drawn, "8", count=1)
    writer = tiff_writer().add(planes, photometric=0).add(planes[:, ::8, ::8], photometric=0, fields={254: ("I", [1])})
    plates = open_plates(writer.write(tmp_path / "red.tif"))
    assert [plate.name for plate in plates.plates] == ["red"]
    assert np.array_equal(whole(plates)[0], truth[0])


def test_pages_of_two_kinds_are_told(tmp_path, tiff_writer):
    grey, inks = np.zeros((1, 4, 4), np.uint8), np.zeros((2, 4, 4), np.uint8)
    path = tiff_writer().add(grey, photometric=1).add(inks, fields=named("ab")).write(tmp_path / "a.tif")
    with pytest.raises(InputFault, match="not of one kind: page 1 is grey or two-level, page 2 is separated inks"):
        open_plates(path)
    assert [plate.name for plate in open_plates(path, page=2).plates] == ["a", "b"]


@pytest.mark.parametrize(
    "packing", ["raw", "tiff_lzw", "tiff_adobe_deflate", "packbits", "group3", "group4", "tiff_ccitt"]
)
@pytest.mark.parametrize("columns", [64, 171])
def test_two_level_written_by_pillow(tmp_path, whole, drawn, packing, columns):
    light = drawn(333, columns) > 127
    options = {} if packing == "raw" else {"compression": packing}
    Image.fromarray(light).save(tmp_path / "a.tif", dpi=(600, 600), **options)
    plates = open_plates(tmp_path / "a.tif")
    assert np.array_equal(whole(plates)[0], np.where(light, 0, 255))
    assert (plates.plates[0].dpi, plates.plates[0].two_level) == (600.0, True)


@pytest.mark.parametrize("packing", ["tiff_lzw", "tiff_adobe_deflate", "packbits"])
def test_grey_and_colour_written_by_pillow(tmp_path, whole, drawn, packing):
    picture = drawn(333, 171)
    Image.fromarray(picture).save(tmp_path / "a.tif", compression=packing, tiffinfo={317: 2})
    assert np.array_equal(whole(open_plates(tmp_path / "a.tif"))[0], 255 - picture)
    pixels = np.stack([drawn(50, 41, seed) for seed in range(3)], axis=-1)
    Image.fromarray(pixels).save(tmp_path / "b.tif", compression=packing)
    plates = open_plates(tmp_path / "b.tif")
    assert np.abs(whole(plates)[0] - (255 - pixels @ np.array([0.299, 0.587, 0.114]))).max() <= 0.501
    assert any("luminance" in note for note in plates.notes)


@pytest.mark.parametrize("big", [False, True])
@pytest.mark.parametrize("layout", [{"rowsperstrip": 40}, {"tile": (32, 32)}])
@pytest.mark.parametrize("planar", ["separate", "contig"])
def test_six_inks_written_by_tifffile(*, tmp_path, whole, drawn, big, layout, planar):
    planes, truth = stored(drawn, "8")
    names = "".join(name + "\0" for name in SIX).encode()
    data = planes if planar == "separate" else np.ascontiguousarray(np.moveaxis(planes, 0, -1))
    tifffile.imwrite(
        tmp_path / "a.tif", data, photometric="separated", planarconfig=planar, compression="zlib", predictor=2,
        bigtiff=big, extratags=[(332, 3, 1, 2, True), (333, 2, len(names), names, True), (334, 3, 1, 6, True)],
        resolution=(118.11, 118.11), resolutionunit="CENTIMETER", **layout,
    )  # fmt: skip
    plates = open_plates(tmp_path / "a.tif")
    assert [plate.name for plate in plates.plates] == list(SIX)
    assert np.array_equal(np.stack(whole(plates)), truth)
    assert plates.dpi == 300.0


def test_planar_bits_written_by_tifffile(tmp_path, whole, drawn):
    planes, truth = stored(drawn, "1", count=4)
    tifffile.imwrite(tmp_path / "a.tif", planes, photometric="separated", planarconfig="separate", rowsperstrip=20)
    assert np.array_equal(np.stack(whole(open_plates(tmp_path / "a.tif"))), truth)


@pytest.mark.parametrize("compression", ["tiff_lzw", "group4", "packbits"])
def test_one_giant_strip(tmp_path, whole, drawn, compression):
    """Strips above what is held in memory go through a temporary file."""
    light = np.tile(drawn(200, 160) > 127, (30, 40))
    picture = Image.fromarray(light if compression == "group4" else np.where(light, 200, 30).astype(np.uint8))
    file = io.BytesIO()
    picture.save(file, "TIFF", compression=compression, tiffinfo={278: 6000})
    (tmp_path / "a.tif").write_bytes(file.getvalue())
    with Image.open(tmp_path / "a.tif") as told:
        assert told.tag_v2[278] == 6000
    ink = whole(open_plates(tmp_path / "a.tif"), 700)[0]
    assert np.array_equal(ink, np.where(light, *((0, 255) if compression == "group4" else (55, 225))))


def test_an_ink_of_a_file_is_taken_by_name_and_the_file_is_read_once(tmp_path, tiff_writer, whole, drawn):
    planes, truth = stored(drawn, "8")
    path = tiff_writer().add(planes, fields=named(SIX)).write(tmp_path / "six.tif")
    Image.fromarray(drawn(75, 91, 9)).save(tmp_path / "extra.png")
    plates = open_files([(path, "Yellow"), (tmp_path / "extra.png", "white base"), (path, "cyan")])
    assert [plate.name for plate in plates.plates] == ["Yellow", "white base", "cyan"]
    found = whole(plates)
    assert np.array_equal(found[0], truth[2])
    assert np.array_equal(found[1], 255 - drawn(75, 91, 9))
    assert np.array_equal(found[2], truth[0])
    with pytest.raises(InputFault, match=r"six\.tif: holds no ink 'magneta'; did you mean 'magenta'"):
        open_files([(path, "magneta")])
    assert len(open_files([(path, None)]).plates) == 6


@pytest.mark.parametrize(
    ("compression", "told"), [(6, "by old JPEG"), (34712, "JPEG 2000"), (32809, "method 32809"), (999, "method 999")]
)
def test_packing_that_is_not_read_is_told(tmp_path, tiff_writer, compression, told):
    path = (
        tiff_writer()
        .add(np.zeros((1, 4, 4), np.uint8), photometric=1, compression=compression)
        .write(tmp_path / "a.tif")
    )
    with pytest.raises(InputFault, match=told):
        open_plates(path)
