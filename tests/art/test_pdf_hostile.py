"""PDFs that lie, overflow or are broken: one plain sentence or a reading, never a traceback, never a long wait."""

from __future__ import annotations

import random
import time
import zlib

import numpy as np
import pikepdf
import pytest
from pikepdf import Array, Dictionary, Name

from setupassist.art.opening import open_plates
from setupassist.errors import InputFault

DPI = 72


def fault_of(path, **options):
    with pytest.raises(InputFault) as caught:
        for _ in open_plates(path, dpi=DPI, **options).read(50):
            pass
    return str(caught.value)


def test_encrypted(pdf):
    pdf.page("/R cs 1 scn 0 0 9 9 re f")
    path = pdf.save(encryption=pikepdf.Encryption(owner="owner", user="user"))
    assert fault_of(path) == "art.pdf: is locked by a password; save it without a password"


def test_encrypted_without_a_password_to_open_is_read(pdf, whole_plates):
    pdf.page("/R cs 1 scn 0 0 9 9 re f")
    path = pdf.save(encryption=pikepdf.Encryption(owner="owner", user=""))
    assert int((whole_plates(open_plates(path, dpi=DPI))["Fire Red"] > 0).sum()) == 81


@pytest.mark.parametrize("content", ["", "1 g 0 0 9 9 re f", "/None cs 1 scn 0 0 9 9 re f", "0 0 9 9 re n"])
def test_a_page_without_ink(pdf, content):
    pdf.page(content)
    assert fault_of(pdf.save()) == "art.pdf: has no ink on this page; choose another page"


def test_a_page_without_contents(pdf):
    page = pdf.page("")
    del page["/Contents"]
    assert "has no ink on this page" in fault_of(pdf.save())


@pytest.mark.parametrize(
    ("box", "told"),
    [
        ((0, 0, 1e6, 10), "has a page of 13889 x 0 inches, above the limit of 400 inches a side"),
        ((0, 0, 1e9, 1e9), "above the limit of 400 inches a side; export it smaller"),
    ],
)
def test_a_huge_page(pdf, box, told):
    pdf.page("/R cs 1 scn 0 0 9 9 re f", MediaBox=list(box))
    assert told in fault_of(pdf.save())


def test_too_many_pixels(pdf):
    pdf.page("/R cs 1 scn 0 0 9 9 re f", size=(14400, 14400))
    with pytest.raises(InputFault, match="says that it is 120000 x 120000 pixels, above the limit of 500 megapixels"):
        open_plates(pdf.save(), dpi=600)


def test_a_box_that_makes_no_sense_is_that_of_the_medium(pdf, whole_plates):
    pdf.page("/R cs 1 scn 0 0 72 72 re f", CropBox=[500, 500, 600, 600])
    pdf.page("/R cs 1 scn 0 0 72 72 re f", CropBox=[9, 9, 9, 9])
    path = pdf.save()
    for page in (1, 2):
        assert whole_plates(open_plates(path, dpi=DPI, page=page))["Fire Red"].shape == (72, 72)


def test_too_many_inks(pdf):
    for index in range(70):
        pdf.spaces[f"/S{index}"] = pdf.separation(f"ink {index}", (0, 0, 0, 1))
    pdf.page(" ".join(f"/S{index} cs 1 scn {index} 0 1 9 re f" for index in range(70)))
    assert "holds 65 inks, above the limit of 64; hand in fewer" in fault_of(pdf.save())


def test_too_many_components(pdf):
    pdf.spaces["/X"] = pdf.device_n(*(f"ink {index}" for index in range(100)))
    pdf.page("/X cs 0 0 9 9 re f")
    assert "paints with 100 inks at once, above the limit of 64" in fault_of(pdf.save())


def test_twenty_components_at_once(pdf):
    names = [f"ink {index}" for index in range(20)]
    pdf.spaces["/X"] = pdf.device_n(*names)
    pdf.page("/X cs " + "0.5 " * 20 + "scn 0 0 9 9 re f")
    begun = time.monotonic()
    assert len(open_plates(pdf.save(), dpi=DPI).plates) == 20
    assert time.monotonic() - begun < 20


def test_a_content_stream_that_unpacks_to_gigabytes(pdf):
    page = pdf.page("")
    engine = zlib.compressobj(1)
    bomb = b"".join(engine.compress(bytes(1 << 20)) for _ in range(1100)) + engine.flush()
    page.Contents = pdf.stream(bomb, Filter=Name.FlateDecode)
    begun = time.monotonic()
    assert "within the limits of memory and time; simplify the page" in fault_of(pdf.save())
    assert time.monotonic() - begun < 30


def test_an_image_that_promises_too_much(pdf):
    image = pdf.image(np.zeros((2, 2), int), pdf.spaces.R)
    image.Width = image.Height = 150_000
    pdf.page("/R cs 1 scn 0 0 9 9 re f q 9 0 0 9 0 0 cm /A Do Q", XObject={"A": image})
    assert "holds an image of 150000 x 150000 pixels, which is above the limits" in fault_of(pdf.save())


def test_an_image_that_ends_early_or_lies_of_its_kind(pdf):
    short = pdf.image(np.zeros((2, 2), int), pdf.spaces.RB)
    short.Height = 500
    no_jpeg = pdf.stream(b"no JPEG", Type=Name.XObject, Subtype=Name.Image, Width=4, Height=4, BitsPerComponent=8,
                         ColorSpace=pdf.spaces.RB, Filter=Name.DCTDecode)  # fmt: skip
    odd = pdf.image(np.zeros((2, 2), int), Name.Pattern)
    content = "/R cs 1 scn 0 0 9 9 re f q 9 0 0 9 20 0 cm /A Do /B Do /C Do Q"
    pdf.page(content, XObject={"A": short, "B": no_jpeg, "C": odd})
    plates = open_plates(pdf.save(), dpi=DPI)
    assert [plate.name for plate in plates.plates] == ["Fire Red"]
    assert any("holds an image that cannot be read" in getattr(note, "text", note) for note in plates.notes)


def test_forms_that_draw_themselves(pdf, whole_plates):
    form = pdf.form(b"/R cs 1 scn 0 0 9 9 re f /F Do", (0, 0, 72, 72))
    form.Resources = Dictionary(ColorSpace=pdf.spaces, XObject=Dictionary(F=form))
    cell = pdf.stream(b"/Pattern cs /P scn 0 0 9 9 re f", PatternType=1, PaintType=1, TilingType=1, BBox=[0, 0, 9, 9],
                      XStep=9, YStep=9)  # fmt: skip
    cell.Resources = Dictionary(Pattern=Dictionary(P=cell))
    pdf.page("/F Do /Pattern cs /P scn 20 20 30 30 re f", XObject={"F": form}, Pattern={"P": cell})
    assert int((whole_plates(open_plates(pdf.save(), dpi=DPI))["Fire Red"] > 0).sum()) == 81


def test_forms_that_multiply(pdf):
    """Twelve levels of ten draws each are a million million objects."""
    form = pdf.form(b"/R cs 1 scn 0 0 1 1 re f", (0, 0, 72, 72), Resources=Dictionary(ColorSpace=pdf.spaces))
    for _ in range(12):
        body = b"".join(b"q 1 0 0 1 %d 0 cm /F Do Q " % x for x in range(10))
        form = pdf.form(body, (0, 0, 72, 72), Resources=Dictionary(XObject=Dictionary(F=form)))
    pdf.page("/F Do", XObject={"F": form})
    assert "simplify the page" in fault_of(pdf.save())


def test_objects_nested_without_end(pdf):
    pdf.page("/R cs 1 scn 0 0 9 9 re f " + "[" * 5000 + "]" * 5000 + " TJ")
    told = open_plates(pdf.save(), dpi=DPI)
    assert [plate.name for plate in told.plates] == ["Fire Red"]


@pytest.mark.parametrize("data", [b"%PDF-1.7\n", b"%PDF-1.4\n%%EOF", b"%PDF-1.7\n" + bytes(5000)])
def test_what_only_begins_like_a_pdf(tmp_path, data):
    (tmp_path / "art.pdf").write_bytes(data)
    assert fault_of(tmp_path / "art.pdf") == "art.pdf: is damaged; export or copy it again"


def rich_page(pdf):
    """A small page with something of everything."""
    form = pdf.form(b"0.8 scn 0 0 20 20 re f", (0, 0, 20, 20))
    group = pdf.form(b"/R cs 0.5 scn 0 0 20 20 re f", (0, 0, 30, 30), Resources=Dictionary(ColorSpace=pdf.spaces),
                     Group=Dictionary(S=Name.Transparency))  # fmt: skip
    cell = pdf.stream(b"/B cs 1 scn 0 0 3 3 re f", PatternType=1, PaintType=1, TilingType=1, BBox=[0, 0, 5, 5],
                      XStep=5, YStep=5, Resources=Dictionary(ColorSpace=pdf.spaces))  # fmt: skip
    ramp = Dictionary(FunctionType=2, Domain=[0, 1], C0=[0], C1=[1], N=1)
    axial = Dictionary(ShadingType=2, ColorSpace=pdf.spaces.R, Coords=[0, 0, 72, 0], Function=ramp)
    image = pdf.image(np.arange(64).reshape(4, 8, 2), pdf.spaces.RB)
    font = Dictionary(Type=Name.Font, Subtype=Name.Type1, BaseFont=Name("/Helvetica"))
    pdf.page(
        "/R cs 1 scn 0 0 20 20 re f /B cs 1 scn q 1 0 0 1 30 0 cm /F Do Q /over1 gs /G Do "
        "/Pattern cs /P scn 0 40 30 30 re f q 40 40 9 9 re W n /S sh Q q 20 0 0 20 50 50 cm /I Do Q "
        "BT /T 12 Tf /W cs 1 scn 5 30 Td (Art) Tj ET 0 0.5 0 0.2 k 60 0 9 9 re B",
        XObject={"F": form, "G": group, "I": image}, Pattern={"P": cell}, Shading={"S": axial}, Font={"T": font},
    )  # fmt: skip
    return pdf.save(object_stream_mode=pikepdf.ObjectStreamMode.disable, compress_streams=False).read_bytes()


def damaged(data, seed):
    """A copy cut short, with bytes flipped, or with numbers of objects swapped."""
    rng = random.Random(seed)
    spoilt = bytearray(data)
    way = seed % 4
    if way == 0:
        return bytes(spoilt[: rng.randrange(200, len(spoilt))])
    if way == 1:
        for _ in range(rng.choice((1, 5, 40))):
            spoilt[rng.randrange(len(spoilt))] ^= 1 << rng.randrange(8)
        return bytes(spoilt)
    if way == 2:
        words = [b"0 R", b"/Type", b"/Form", b"endobj", b" cm", b" re", b"/Length", b"[", b">>", b"scn", b"/DeviceN"]
        for _ in range(4):
            old, new = rng.choice(words), rng.choice(words)
            at = spoilt.find(old, rng.randrange(len(spoilt)))
            if at >= 0:
                spoilt[at : at + len(old)] = new
        return bytes(spoilt)
    for _ in range(6):
        at = rng.randrange(len(spoilt))
        digits = [i for i in range(at, min(at + 400, len(spoilt))) if chr(spoilt[i]).isdigit()]
        for i in digits[:3]:
            spoilt[i] = rng.choice(b"0123456789")
    return bytes(spoilt)


@pytest.mark.parametrize("first", range(0, 24, 8))
def test_damaged_files_end_in_a_sentence_or_a_reading(pdf, tmp_path, first):
    data = rich_page(pdf)
    path = tmp_path / "spoilt.pdf"
    told, read = [], 0
    for seed in range(first, first + 8):
        path.write_bytes(damaged(data, seed))
        try:
            plates = open_plates(path, dpi=36)
            assert sum(len(band[0]) for band in plates.read(50)) == plates.plates[0].rows
            read += 1
        except InputFault as fault:
            told.append(fault)
    assert len(told) + read == 8
    assert [fault for fault in told if len(fault.sentences()) != 1 or "breaks off" in str(fault)] == []


def test_the_sound_file_is_read(pdf, tmp_path):
    (tmp_path / "sound.pdf").write_bytes(rich_page(pdf))
    names = [plate.name for plate in open_plates(tmp_path / "sound.pdf", dpi=36).plates]
    assert names == ["process magenta", "process black", "Fire Red", "Navy 2", "Flash White"]


def test_an_array_of_contents_and_empty_resources(pdf, whole_plates):
    page = pdf.page("")
    page.Contents = Array([pdf.stream(b"/R cs 1 scn 0 0 9"), pdf.stream(b"9 re f /Nothing Do /Nothing gs /No sh")])
    assert int((whole_plates(open_plates(pdf.save(), dpi=DPI))["Fire Red"] > 0).sum()) == 81
