"""What a path means: folders, names, order, notes, bands, and sets that do not go together."""

import io
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from setupassist.art.opening import name_from_file, open_files, open_plates, open_what_opens
from setupassist.art.plates import PlateSet
from setupassist.errors import InputFault, InputFaults


@pytest.mark.parametrize(
    ("file", "name"),
    [
        ("01-warm_red.png", "warm red"),
        ("01_white-base.tif", "white base"),
        ("12 black key.tiff", "black key"),
        ("3. gold.bmp", "gold"),
        ("warm red.v2.png", "warm red.v2"),
        ("flash_white.png", "flash white"),
        ("485.png", "485"),
        ("a-2.png", "a 2"),
    ],
)
def test_name_from_file(file, name):
    assert name_from_file(Path("somewhere") / file) == name


@pytest.fixture
def folder(tmp_path, drawn):
    """Four plates, one of each format, and files that are none."""
    light = [drawn(90, 117, seed) > 127 for seed in range(4)]
    Image.fromarray(light[0]).save(tmp_path / "01-white_base.png", dpi=(300, 300))
    Image.fromarray(light[1]).save(tmp_path / "02-warm_red.tif", dpi=(300, 300), compression="group4")
    Image.fromarray(light[2]).save(tmp_path / "03-gold.BMP", dpi=(300, 300))
    Image.fromarray(drawn(90, 117, 3)).save(tmp_path / "04-key.jpeg", dpi=(300, 300), quality=100)
    for name in (".hidden.png", "job.json", "read me.txt", "shop.toml", "notes.md"):
        (tmp_path / name).write_text("no image")
    (tmp_path / "proofs").mkdir()
    return tmp_path, light


def test_folder_is_read_in_the_order_of_file_names(folder, whole):
    path, light = folder
    plates = open_plates(path)
    assert [plate.name for plate in plates.plates] == ["white base", "warm red", "gold", "key"]
    assert [plate.two_level for plate in plates.plates] == [True, True, True, False]
    assert plates.dpi == 300.0
    assert plates.source == path.name
    for rows, truth in zip(whole(plates)[:3], light[:3], strict=True):
        assert np.array_equal(rows, np.where(truth, 0, 255))


@pytest.mark.parametrize("band_rows", [1, 7, 64, 10_000])
def test_bands_of_any_height_give_the_same_picture(folder, whole, band_rows):
    path, _ = folder
    plates = open_plates(path)
    assert np.array_equal(whole(plates, band_rows), whole(plates, 33))


@pytest.mark.parametrize("band_rows", [1, 7, 64, 10_000])
def test_bits_are_the_rows_packed(folder, whole, band_rows):
    path, _ = folder
    plates = open_plates(path)
    packed = [np.concatenate(column) for column in zip(*plates.read_bits(band_rows), strict=True)]
    plain = PlateSet(plates.source, plates.plates, plates.read)
    again = [np.concatenate(column) for column in zip(*plain.read_bits(band_rows), strict=True)]
    for bits, other, rows, plate in zip(packed, again, whole(plates), plates.plates, strict=True):
        assert np.array_equal(bits, np.packbits(rows == 255, axis=1) if plate.two_level else rows)
        assert np.array_equal(bits, other)


def test_rows_belong_to_the_caller(folder, whole):
    path, _ = folder
    plates = open_plates(path)
    before = whole(plates)
    for band in plates.read(20):
        for rows in band:
            rows[:] = 77
    assert np.array_equal(whole(plates), before)


def test_a_pass_may_be_left_half_way(folder, monkeypatch):
    """Every file that was opened on the way is closed with it."""
    path, _ = folder
    plates = open_plates(path)
    opened, plain = [], Path.open

    def heed(self, *given, **options):
        opened.append(plain(self, *given, **options))
        return opened[-1]

    monkeypatch.setattr(Path, "open", heed)
    bands = plates.read(10)
    next(bands)
    assert any(not file.closed for file in opened)
    bands.close()
    assert len(opened) >= len(plates.plates)
    assert all(file.closed for file in opened)


def test_pdf_and_strangers_in_a_folder_are_told_not_read(folder):
    path, _ = folder
    (path / "proof.pdf").write_bytes(b"%PDF-1.7")
    (path / "plates.zip").write_bytes(b"PK")
    notes = open_plates(path).notes
    assert any(note.startswith("proof.pdf is left out") for note in notes)
    assert any(note.startswith("plates.zip is left out") for note in notes)


def test_a_picture_that_is_not_read_is_never_passed_over(folder):
    path, _ = folder
    (path / "05-puff.psd").write_bytes(b"8BPS\0\1")
    with pytest.raises(InputFault, match=r"05-puff\.psd: is not a PNG, TIFF, JPEG or BMP image"):
        open_plates(path)


def test_every_bad_file_of_a_folder_is_told(folder):
    path, _ = folder
    (path / "01-white_base.png").write_bytes(b"")
    (path / "03-gold.BMP").write_bytes(b"text")
    with pytest.raises(InputFaults) as told:
        open_plates(path)
    assert len(told.value.sentences()) == 2
    assert told.value.sentences()[0] == "01-white_base.png: is empty; export the plate again"


def test_a_file_of_several_inks_has_no_place_in_a_folder(folder, tiff_writer):
    path, _ = folder
    tiff_writer().add(np.zeros((4, 9, 9), np.uint8)).write(path / "05-all.tif")
    with pytest.raises(InputFault, match=r"05-all\.tif: holds 4 inks, while a folder takes one plate a file"):
        open_plates(path)


def test_sizes_that_differ_are_listed_but_not_read(folder):
    path, _ = folder
    Image.new("1", (118, 90), 1).save(path / "05-puff.png")
    plates = open_plates(path)
    assert [(plate.columns, plate.rows) for plate in plates.plates] == [(117, 90)] * 4 + [(118, 90)]
    with pytest.raises(InputFault, match="puff is 118 x 90 while others are 117 x 90"):
        plates.read(64)


def test_two_plates_of_one_name(tmp_path):
    for name in ("01-red.png", "02-Red.png"):
        Image.new("1", (9, 9)).save(tmp_path / name)
    with pytest.raises(InputFault, match=r"01-red\.png and 02-Red\.png: two plates are called 'Red'"):
        open_plates(tmp_path)


def test_more_plates_than_the_limit(tmp_path):
    for number in range(65):
        (tmp_path / f"ink {number}.png").touch()
    with pytest.raises(InputFault, match="holds 65 images, above the limit of 64"):
        open_plates(tmp_path)


def test_resolution_is_filled_in_only_where_it_is_missing(tmp_path):
    Image.new("1", (9, 9)).save(tmp_path / "a.png", dpi=(600, 600))
    Image.new("1", (9, 9)).save(tmp_path / "b.png")
    assert [plate.dpi for plate in open_plates(tmp_path).plates] == [600.0, None]
    assert [plate.dpi for plate in open_plates(tmp_path, dpi=300).plates] == [600.0, 300]


@pytest.mark.parametrize("ending", ["png", "tif", "bmp", "jpg"])
def test_pixels_that_are_not_square(tmp_path, ending):
    Image.new("L", (9, 9)).save(tmp_path / f"a.{ending}", dpi=(300, 303))
    with pytest.raises(InputFault, match=r"pixels that are not square.*at one resolution both ways"):
        open_plates(tmp_path)
    Image.new("L", (9, 9)).save(tmp_path / f"a.{ending}", dpi=(300, 301))
    assert open_plates(tmp_path).plates[0].dpi == 300.0


def test_pdf_is_told_what_to_do(tmp_path):
    (tmp_path / "art.pdf").write_bytes(b"%PDF-1.7\n")
    with pytest.raises(InputFault, match=r"art\.pdf: is damaged; export or copy it again"):
        open_plates(tmp_path / "art.pdf")


def test_pages_are_asked_of_files_that_have_them(tmp_path):
    Image.new("1", (9, 9)).save(tmp_path / "a.png")
    assert len(open_plates(tmp_path / "a.png", page=1).plates) == 1
    with pytest.raises(InputFault, match="has one page"):
        open_plates(tmp_path / "a.png", page=2)
    with pytest.raises(InputFault, match="is a folder, which has no pages"):
        open_plates(tmp_path, page=1)


def test_a_list_of_files_goes_by_the_names_given(folder, whole):
    path, light = folder
    plates = open_files([(path / "03-gold.BMP", "old gold"), (path / "01-white_base.png", None)], dpi=72)
    assert [plate.name for plate in plates.plates] == ["old gold", "white base"]
    assert np.array_equal(whole(plates)[0], np.where(light[2], 0, 255))


def test_what_a_file_is_tells_its_content_not_its_ending(tmp_path, whole):
    data = io.BytesIO()
    Image.new("1", (9, 9), 0).save(data, "TIFF")
    (tmp_path / "a.png").write_bytes(data.getvalue())
    assert whole(open_plates(tmp_path / "a.png"))[0].all()


def test_composed_and_decomposed_letters_are_one_name(tmp_path):
    assert name_from_file(Path("01-cafe\u0301.png")) == name_from_file(Path("02-caf\u00e9.png")) == "caf\u00e9"
    for name in ("01-cafe\u0301.png", "02-caf\u00e9.png"):
        Image.new("1", (9, 9)).save(tmp_path / name)
    with pytest.raises(InputFault, match="two plates are called 'café'; give each ink a name of its own"):
        open_plates(tmp_path)


def test_a_listed_ink_is_found_however_its_letters_are_composed(tmp_path, tiff_writer):
    names = "caf\u00e9\0key\0".encode()
    fields = {332: ("H", [2]), 333: ("s", names), 334: ("H", [2])}
    tiff_writer().add(np.zeros((2, 20, 20), np.uint8), photometric=5, fields=fields).write(tmp_path / "a.tif")
    assert len(open_files([(tmp_path / "a.tif", "Cafe\u0301")]).plates) == 1


@pytest.mark.parametrize("name", ["03-\x01\x02.png", "--.png", "04-\u200b.png"])
def test_a_name_that_leaves_no_ink_name(tmp_path, name):
    Image.new("1", (9, 9)).save(tmp_path / name)
    with pytest.raises(InputFault, match=r"its name leaves no ink name; rename it"):
        open_plates(tmp_path)


def test_long_file_names_leave_room_for_the_fault(tmp_path):
    for name in (f"01-{'a' * 200}.png", f"02-{'a' * 200}.png"):
        Image.new("1", (9, 9)).save(tmp_path / name)
    with pytest.raises(InputFault, match=r"^01-a+….*png and 02-a+….*: two plates are called .*; give each ink a name"):
        open_plates(tmp_path)


def test_long_names_leave_room_for_sizes_that_differ(tmp_path):
    for number in range(9):
        Image.new("1", (9 + max(0, number - 4), 9)).save(tmp_path / f"ink {number} {'a' * 200}.png")
    with pytest.raises(InputFault, match=r"while others are 9 x 9 pixels; export all plates from one artboard$"):
        open_plates(tmp_path).read(9)


def test_a_long_name_is_cut_to_what_documents_take(tmp_path):
    Image.new("1", (9, 9)).save(tmp_path / f"{'a' * 200}.png")
    assert len(open_plates(tmp_path).plates[0].name) == 80


@pytest.mark.parametrize("dpi", [0, 9.9, -300, 20_001, float("nan"), float("inf")])
def test_a_resolution_that_no_plate_has(tmp_path, dpi):
    Image.new("1", (9, 9)).save(tmp_path / "a.png")
    with pytest.raises(InputFault, match="is not between 10 and 20000; give the one that the plates were made at"):
        open_plates(tmp_path, dpi=dpi)
    with pytest.raises(InputFault, match="is not between 10 and 20000"):
        open_files([(tmp_path / "a.png", None)], dpi=dpi)


def test_a_resolution_given_but_not_used_is_told(tmp_path):
    Image.new("1", (9, 9)).save(tmp_path / "a.png", dpi=(600, 600))
    Image.new("1", (9, 9)).save(tmp_path / "b.png")
    told = "a.png: the file says 600 dpi itself, so the 300 dpi given are not used for it"
    assert open_plates(tmp_path, dpi=300).notes == (told,)
    assert open_plates(tmp_path, dpi=600).notes == open_plates(tmp_path).notes == ()


def test_many_strangers_are_told_in_short(folder):
    path, _ = folder
    for number in range(30):
        (path / f"{number:02}.zip").write_bytes(b"PK")
    notes = [note for note in open_plates(path).notes if "left out" in note]
    assert len(notes) == 9
    assert notes[-1] == "22 more files are left out: they are not read"


def five_plates(folder, broken):
    """Five grey plates of one size, the second of which holds the bytes ``broken``."""
    folder.mkdir()
    for number in range(1, 6):
        Image.fromarray(np.full((40, 30), 250 - 40 * number, np.uint8)).save(
            folder / f"0{number}-ink {number}.png", dpi=(300, 300)
        )
    damaged = folder / "02-ink 2.png"
    damaged.write_bytes(broken(damaged.read_bytes()))
    return folder


@pytest.mark.parametrize(
    ("broken", "said"),
    [
        (lambda data: data[:30], "is cut short"),
        (lambda data: b"", "is empty"),
        (lambda data: b"no picture", "is not a PNG, TIFF, JPEG or BMP image"),
        (lambda data: data[:20] + b"\xff" + data[21:], "is damaged (its header is broken)"),
    ],
)
def test_the_sound_plates_of_a_folder_open_and_the_damaged_file_is_named(tmp_path, broken, said, whole):
    folder = five_plates(tmp_path / "set", broken)
    plates, faults = open_what_opens(folder)
    assert [plate.name for plate in plates.plates] == ["ink 1", "ink 3", "ink 4", "ink 5"]
    assert [rows[0, 0] for rows in whole(plates)] == [45, 125, 165, 205]
    assert [fault.where for fault in faults] == ["02-ink 2.png"]
    assert said in str(faults[0])
    listed = [(folder / f"0{n}-ink {n}.png", f"colour {n}") for n in (5, 2, 1)]
    plates, faults = open_what_opens(listed, dpi=150)
    assert [plate.name for plate in plates.plates] == ["colour 5", "colour 1"]
    assert plates.notes == (
        "05-ink 5.png and 1 more: the file says 300 dpi itself, so the 150 dpi given are not used for it",
    )
    assert [fault.where for fault in faults] == ["02-ink 2.png"]
    with pytest.raises(InputFault, match="02-ink 2"):
        open_plates(folder)


def test_damage_that_shows_on_the_way_is_named_while_reading(tmp_path):
    def broken(data):
        at = data.index(b"IDAT") + 12
        return data[:at] + bytes((data[at] ^ 255,)) + data[at + 1 :]

    plates, faults = open_what_opens(five_plates(tmp_path / "set", broken))
    assert (len(plates.plates), faults) == (5, ())
    with pytest.raises(InputFault, match=r"^02-ink 2\.png: is damaged"):
        list(plates.read(16))


def test_plates_of_differing_sizes_open_and_reading_them_raises(tmp_path):
    folder = five_plates(tmp_path / "set", lambda data: data)
    Image.fromarray(np.zeros((41, 30), np.uint8)).save(folder / "03-ink 3.png", dpi=(300, 300))
    plates, faults = open_what_opens(folder)
    assert (len(plates.plates), faults) == (5, ())
    with pytest.raises(InputFault, match="ink 3 is 30 x 41 while others are 30 x 40 pixels"):
        plates.read(16)


def test_plates_that_no_ink_may_name_are_left_out(tmp_path, whole):
    folder = five_plates(tmp_path / "set", lambda data: data)
    (folder / "02-ink 2.png").rename(folder / "06-Ink 1.png")
    (folder / "03-ink 3.png").rename(folder / "07-flash.png")
    plates, faults = open_what_opens(folder)
    assert [plate.name for plate in plates.plates] == ["ink 1", "ink 4", "ink 5"]
    assert len(whole(plates)) == 3
    assert [str(fault) for fault in faults] == [
        "01-ink 1.png and 06-Ink 1.png: two plates are called 'Ink 1'; give each ink a name of its own",
        "07-flash.png: 'flash' stands for a flash unit; rename the plate",
    ]


def test_where_nothing_opens_there_is_no_set(tmp_path):
    folder = five_plates(tmp_path / "set", lambda data: b"")
    for path in folder.iterdir():
        path.write_bytes(b"")
    plates, faults = open_what_opens(folder)
    assert plates is None
    assert [fault.where for fault in faults] == [f"0{n}-ink {n}.png" for n in range(1, 6)]
    for nothing in (tmp_path / "nowhere", [], [(tmp_path / "nowhere.png", None)]):
        plates, faults = open_what_opens(nothing)
        assert plates is None
        assert len(faults) == 1
