"""Plates of PDFs against Ghostscript, a general-purpose interpreter of PDF (Debian package ghostscript).

Source of each truth: its ``tiffsep`` device, drawn without smoothing at four times the resolution and reduced, so that
its edges are smooth as ours. Pages are drawn here. Compared are pixels away from edges (all within two pixels are
within eight levels of each other in the truth): at most one in a thousand may differ by more than eight levels.
``-s`` prints the table of all plates.
"""

from __future__ import annotations

import io
import subprocess
import zlib
from pathlib import Path

import numpy as np
import pikepdf
import pytest
from pikepdf import Array, Dictionary, Name, Stream
from PIL import Image
from reportlab.lib.colors import CMYKColor, CMYKColorSep
from reportlab.pdfgen import canvas
from scipy.ndimage import maximum_filter, minimum_filter

from setupassist.art.opening import open_plates

pytestmark = pytest.mark.outside

WIDTH, HEIGHT = 288, 336  # points; whole pixels at 120 dpi
DPI, TIMES = 120, 4
FLAT, OFF, MOST_OFF = 8, 8, 0.001
PARTS = {"Cyan": "process cyan", "Magenta": "process magenta", "Yellow": "process yellow", "Black": "process black"}
RED, NAVY, WHITE = (0, 0.9, 0.8, 0), (1, 0.6, 0, 0.1), (0, 0, 0, 0.05)


def spot(name: str, cmyk: tuple[float, ...], tint: float = 1.0) -> CMYKColorSep:
    return CMYKColorSep(*cmyk, spotName=name, density=tint)


def separation(name: str, cmyk: tuple[float, ...]) -> Array:
    full = Dictionary(FunctionType=2, Domain=[0, 1], C0=[0, 0, 0, 0], C1=list(cmyk), N=1)
    return Array([Name.Separation, Name(f"/{name}"), Name.DeviceCMYK, full])


class Page:
    """One page with the spaces /R, /B, /W (spots), /RB (both), /CRB (cyan and both), written by ``save``."""

    def __init__(self) -> None:
        self.document = pikepdf.new()
        self.document.add_blank_page(page_size=(WIDTH, HEIGHT))
        self.page = self.document.pages[0].obj
        spaces = Dictionary(
            R=separation("Fire Red", RED), B=separation("Navy 2", NAVY), W=separation("Flash White", WHITE),
            RB=self.device_n("Fire Red", "Navy 2"), CRB=self.device_n("Cyan", "Fire Red", "Navy 2"),
            All=separation("All", (1, 1, 1, 1)), None_=separation("None", (0, 0, 0, 0)),
        )  # fmt: skip
        self.spaces = spaces
        states = Dictionary(
            over0=Dictionary(OP=True, op=True, OPM=0), over1=Dictionary(OP=True, op=True, OPM=1),
            off=Dictionary(OP=False, op=False, OPM=0), half=Dictionary(ca=0.5, CA=0.5),
            multiply=Dictionary(BM=Name.Multiply), screen=Dictionary(BM=Name.Screen),
            difference=Dictionary(BM=Name.Difference),
        )  # fmt: skip
        self.resources = self.page.Resources = Dictionary(
            ColorSpace=spaces, ExtGState=states, XObject=Dictionary(), Pattern=Dictionary(), Shading=Dictionary(),
            Font=Dictionary(),
        )  # fmt: skip

    def device_n(self, *names: str) -> Array:
        program = b"{" + b"pop " * len(names) + b"0 0 0 0}"
        function = self.stream(program, FunctionType=4, Domain=[0, 1] * len(names), Range=[0, 1] * 4)
        return Array([Name.DeviceN, Array([Name(f"/{name}") for name in names]), Name.DeviceCMYK, function])

    def stream(self, data: bytes, **entries) -> pikepdf.Object:
        return self.document.make_indirect(Stream(self.document, data, **entries))

    def image(self, samples: np.ndarray, space, bits: int = 8, data: bytes | None = None, columns=None, **entries):
        packed = zlib.compress(samples.tobytes()) if data is None else data
        entries.setdefault("Filter", Name.FlateDecode)
        if space is not None:
            entries["ColorSpace"] = space
        return self.stream(packed, Type=Name.XObject, Subtype=Name.Image, Width=columns or samples.shape[1],
                           Height=samples.shape[0], BitsPerComponent=bits, **entries)  # fmt: skip

    def form(self, content: bytes, box, **entries):
        return self.stream(content, Type=Name.XObject, Subtype=Name.Form, BBox=list(box), **entries)

    def save(self, path: Path, content: str) -> Path:
        self.page.Contents = self.document.make_stream(content.replace("/None ", "/None_ ").encode())
        self.document.save(path)
        return path


def photo(rows: int, columns: int) -> np.ndarray:
    y, x = np.mgrid[:rows, :columns].astype(np.float32)
    tone = 127 + 90 * np.sin(x / 17 + y / 53) * np.cos(y / 29) + 30 * np.sin(x * y / 4000)
    return np.clip(tone, 0, 255).astype(np.uint8)


def tints(path: Path) -> Path:
    drawn = canvas.Canvas(str(path), pagesize=(WIDTH, HEIGHT))
    drawn.setFillColor(spot("Flash White", WHITE))
    drawn.rect(24, 24, 240, 288, fill=1, stroke=0)
    for step in range(16):
        drawn.setFillColor(spot("Fire Red", RED, step / 15))
        drawn.rect(30 + 12 * step, 270, 12, 30, fill=1, stroke=0)
    drawn.setFillColor(spot("Navy 2", NAVY, 0.5))
    drawn.circle(160, 210, 50, fill=1, stroke=0)
    drawn.setFillColor(CMYKColor(0.2, 0.4, 0.6, 0.1))
    drawn.rect(40, 40, 80, 60, fill=1, stroke=0)
    drawn.setStrokeColor(spot("Navy 2", NAVY))
    drawn.setLineWidth(3)
    drawn.rect(140, 40, 80, 60, fill=0, stroke=1)
    for line in range(12):
        drawn.setLineWidth(0.25 * (line + 1))
        drawn.line(40, 110 + 4 * line, 240, 114 + 5 * line)
    drawn.setFillGray(0.4)
    drawn.rect(225, 40, 30, 30, fill=1, stroke=0)
    drawn.showPage()
    drawn.save()
    return path


def text(path: Path) -> Path:
    """Large letters: the two programs bring their own faces for fonts that are not embedded, so one is."""
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont

    import setupassist.resource_files as files

    face = next(path for path in Path(files.__file__).parent.parent.joinpath("resources/fonts").glob("*.ttf"))
    pdfmetrics.registerFont(TTFont("Face", str(face)))
    drawn = canvas.Canvas(str(path), pagesize=(WIDTH, HEIGHT))
    drawn.setFillColor(spot("Fire Red", RED, 0.8))
    drawn.rect(0, 0, WIDTH, 200, fill=1, stroke=0)
    for mode, (y, size) in enumerate(((230, 60), (170, 50), (120, 40), (80, 24), (50, 12))):
        drawn.setFillColor(spot("Navy 2", NAVY, 1 - 0.15 * mode))
        drawn.setStrokeColor(CMYKColor(0, 0, 0, 1))
        drawn.setFont("Face", size)
        drawn.setFillOverprint(mode % 2 == 1)
        drawn.drawString(20, y, "Tour 2026", mode=(0, 0, 2, 0, 0)[mode])
    drawn.showPage()
    drawn.save()
    return path


def overprint(path: Path) -> Path:
    drawn = canvas.Canvas(str(path), pagesize=(WIDTH, HEIGHT))
    for column, (over, mode) in enumerate(((False, 0), (True, 0), (True, 1))):
        x = 14 + column * 90
        drawn.setFillOverprint(False)
        drawn.setStrokeOverprint(False)
        drawn.setOverprintMask(0)
        drawn.setFillColor(spot("Fire Red", RED, 0.8))
        drawn.rect(x, 20, 70, 300, fill=1, stroke=0)
        drawn.setFillColor(CMYKColor(0.5, 0.5, 0, 0))
        drawn.rect(x + 8, 20, 22, 300, fill=1, stroke=0)
        drawn.setFillOverprint(over)
        drawn.setStrokeOverprint(over)
        drawn.setOverprintMask(mode)
        colours = (spot("Navy 2", NAVY, 0.6), spot("Fire Red", RED, 0.3), CMYKColor(0, 0, 0.7, 0))
        for row, colour in enumerate((*colours, CMYKColor(0, 0, 0, 1))):
            drawn.setFillColor(colour)
            drawn.rect(x - 6, 270 - 50 * row, 64, 30, fill=1, stroke=0)
        drawn.setStrokeColor(spot("Navy 2", NAVY))
        drawn.setFillColor(spot("Flash White", WHITE, 0.5))
        drawn.setLineWidth(6)
        drawn.rect(x, 70, 56, 30, fill=1, stroke=1)
        drawn.setFillGray(0.3)
        drawn.rect(x, 30, 56, 24, fill=1, stroke=0)
    drawn.showPage()
    drawn.save()
    return path


def images(path: Path) -> Path:
    page, side = Page(), 120
    spaces, a = page.spaces, photo(120, 120)
    b, c = a[::-1].copy(), a.T.copy()

    def jpeg(samples: np.ndarray, mode: str) -> bytes:
        buffer = io.BytesIO()
        Image.fromarray(samples, mode).save(buffer, "JPEG", quality=92)
        return buffer.getvalue()

    bits = np.packbits(a > 127, axis=1)
    disc = ((np.hypot(*(np.mgrid[:side, :side] - side / 2)) < side / 2.2) * 200).astype(np.uint8)
    four = np.dstack([a, b, c, a // 3])
    indices = ((a[:, 0::2] >> 4 << 4) | (a[:, 1::2] >> 4)).astype(np.uint8)
    palette = pikepdf.String(np.arange(0, 256, 17, dtype=np.uint8).tobytes())
    dct = {"Filter": Name.DCTDecode}
    every = {
        "A": page.image(a, spaces.R),
        "B": page.image(np.dstack([a, b]), spaces.RB),
        "C": page.image(np.dstack([a, b, c]), spaces.CRB),
        "D": page.image(four, Name.DeviceCMYK),
        "E": page.image(a, spaces.B, Decode=[1, 0]),
        "F": page.image(a, spaces.B, data=jpeg(a, "L"), **dct),
        "G": page.image(a, Name.DeviceCMYK, data=jpeg(four, "CMYK"), Decode=[1, 0] * 4, **dct),
        "H": page.image(indices, Array([Name.Indexed, spaces.R, 15, palette]), 4, columns=side),
        "I": page.image(bits, None, 1, columns=side, ImageMask=True),
        "J": page.image(bits, spaces.B, 1, columns=side),
        "K": page.image(a, spaces.R, SMask=page.image(disc, Name.DeviceGray)),
        "L": page.image(a, Name.DeviceGray),
        "M": page.image(a.astype(">u2") * 257, spaces.B, 16, columns=side),
        "N": page.image(np.dstack([a, b]), spaces.RB, Mask=[0, 90, 0, 255]),
    }
    for name, image in every.items():
        page.resources.XObject[f"/{name}"] = image
    draws = [
        f"q /R cs 1 scn 60 0 0 60 {15 + 66 * (i % 4)} {262 - 66 * (i // 4)} cm /{name} Do Q"
        for i, name in enumerate(every)
    ]
    over = "q /over1 gs 50 0 0 50 160 60 cm /A Do Q q /over1 gs 40 0 0 40 180 75 cm /F Do Q"
    return page.save(path, "/W cs 0.6 scn 8 8 272 320 re f " + " ".join(draws) + over)


def gradients(path: Path) -> Path:
    page = Page()
    spaces, shading = page.spaces, page.resources.Shading
    one = Dictionary(FunctionType=2, Domain=[0, 1], C0=[0], C1=[1], N=1)
    two = Dictionary(FunctionType=2, Domain=[0, 1], C0=[1, 0], C1=[0, 1], N=1.5)
    four = Dictionary(FunctionType=2, Domain=[0, 1], C0=[1, 0, 0, 0], C1=[0, 0.8, 1, 0.2], N=1)
    ends = {"Extend": [True, True]}
    shading.A = Dictionary(ShadingType=2, ColorSpace=spaces.R, Coords=[20, 0, 260, 0], Function=one, **ends)
    shading.B = Dictionary(ShadingType=3, ColorSpace=spaces.RB, Coords=[80, 180, 5, 80, 180, 55], Function=two,
                           Extend=[True, False])  # fmt: skip
    shading.C = Dictionary(
        ShadingType=2, ColorSpace=Name.DeviceCMYK, Coords=[150, 130, 260, 230], Function=four, **ends
    )
    page.resources.Pattern.P = Dictionary(
        PatternType=2,
        Shading=Dictionary(ShadingType=2, ColorSpace=spaces.B, Coords=[20, 0, 260, 0], Function=one, **ends),
    )
    wave = page.stream(b"{ 360 mul sin 2 div 0.5 add exch 360 mul cos 2 div 0.5 add }", FunctionType=4,
                       Domain=[0, 1, 0, 1], Range=[0, 1, 0, 1])  # fmt: skip
    shading.F = Dictionary(ShadingType=1, ColorSpace=spaces.RB, Function=wave, Matrix=[120, 0, 20, 70, 20, 12])

    def corner(x: float, y: float, value: int) -> bytes:
        places = int(x * 65535 / WIDTH), int(y * 65535 / HEIGHT)
        return bytes([0]) + b"".join(place.to_bytes(2, "big") for place in places) + bytes([value])

    mesh = corner(170, 15, 0) + corner(270, 15, 255) + corner(220, 85, 128)
    shading.M = page.stream(mesh, ShadingType=4, ColorSpace=spaces.B, BitsPerCoordinate=16, BitsPerComponent=8,
                            BitsPerFlag=8, Decode=[0, WIDTH, 0, HEIGHT, 0, 1])  # fmt: skip
    return page.save(
        path,
        "q 20 270 240 50 re W n /A sh Q q 20 120 120 120 re W n /B sh Q q 150 120 110 120 re W n /C sh Q "
        "/Pattern cs /P scn 20 95 240 20 re f q 20 12 140 70 re W n /F sh Q q 165 10 110 80 re W n /M sh Q "
        "q /over1 gs 20 300 240 14 re W n /B cs 0.5 scn 20 300 240 14 re f Q",
    )


def transparency(path: Path) -> Path:
    page = Page()
    ramp = Dictionary(FunctionType=2, Domain=[0, 1], C0=[0], C1=[1], N=1)
    light = Dictionary(ShadingType=2, ColorSpace=Name.DeviceGray, Coords=[20, 0, 260, 0], Function=ramp,
                       Extend=[True, True])  # fmt: skip
    mask = page.form(b"/L sh", (0, 0, WIDTH, HEIGHT), Resources=Dictionary(Shading=Dictionary(L=light)),
                     Group=Dictionary(S=Name.Transparency, CS=Name.DeviceGray, I=True))  # fmt: skip
    page.resources.ExtGState.soft = Dictionary(SMask=Dictionary(S=Name.Luminosity, G=mask))
    body = b"/R cs 1 scn 30 40 60 40 re f /B cs 0.7 scn 60 30 60 40 re f 0 0.6 0.2 0 k 80 20 24 70 re f"
    page.resources.XObject.G = page.form(body, (0, 0, WIDTH, HEIGHT), Resources=Dictionary(ColorSpace=page.spaces),
                                         Group=Dictionary(S=Name.Transparency, I=False, K=False))  # fmt: skip
    apart = b"/R cs 1 scn 0 0 26 26 re f /over0 gs /B cs 0.6 scn 14 14 26 26 re f"
    page.resources.XObject.I = page.form(
        apart, (0, 0, 50, 50), Group=Dictionary(S=Name.Transparency, I=True),
        Resources=Dictionary(ColorSpace=page.spaces, ExtGState=page.resources.ExtGState),
    )  # fmt: skip
    return page.save(
        path,
        "/W cs 0.4 scn 10 10 268 316 re f /R cs 0.9 scn 20 250 240 60 re f "
        "q /half gs /B cs 1 scn 30 240 40 80 re f Q q /multiply gs /B cs 0.6 scn 80 240 40 80 re f "
        "/R cs 0.5 scn 100 245 14 66 re f Q q /screen gs /R cs 0.5 scn 130 240 40 80 re f Q "
        "q /difference gs /R cs 0.5 scn 180 240 20 80 re f Q q /half gs /over1 gs /B cs 1 scn 210 240 40 80 re f Q "
        "q /soft gs /R cs 1 scn 20 190 240 25 re f /B cs 1 scn 20 155 240 20 re f Q q /half gs /G Do Q "
        "q 1 0 0 1 130 0 cm /multiply gs /G Do Q q /half gs 0.1 0.2 0.3 0.4 k 40 100 70 40 re f "
        "1 0 0 0 K 5 w 140 100 70 40 re S Q q /half gs 1 0 0 1 215 100 cm /I Do Q",
    )


def nested(path: Path) -> Path:
    page = Page()
    spaces = Dictionary(ColorSpace=page.spaces)
    inner = page.form(b"0.8 scn 0 0 28 28 re f", (0, 0, 40, 40))
    outer = page.form(
        b"q 1 0 0 1 8 8 cm /In Do Q 1 0 0 1 44 0 cm /R cs 1 scn /In Do", (0, 0, 90, 60),
        Resources=Dictionary(XObject=Dictionary(In=inner), ColorSpace=page.spaces),
    )  # fmt: skip
    page.resources.XObject.Out = outer
    cell = {"PatternType": 1, "TilingType": 1}
    page.resources.Pattern.T = page.stream(
        b"/R cs 1 scn 0 0 6 6 re f /B cs 0.5 scn 6 6 6 6 re f", PaintType=1, BBox=[0, 0, 12, 12], XStep=12, YStep=12,
        Resources=spaces, **cell,
    )  # fmt: skip
    page.resources.Pattern.U = page.stream(
        b"3 3 m 11 4 l 6 12 l f", PaintType=2, BBox=[0, 0, 14.3, 14.3], XStep=14.3, YStep=14.3,
        Matrix=[0.9, 0.2, -0.2, 0.9, 3, 1], Resources=Dictionary(), **cell,
    )  # fmt: skip
    page.resources.Pattern.U2 = page.stream(
        b"/R cs 1 scn 0 0 5 5 re f /B cs 0.5 scn 5 5 5 5 re f", PaintType=1, BBox=[0, 0, 10.3, 10.3], XStep=10.3,
        YStep=10.3, Resources=spaces, **cell,
    )  # fmt: skip
    page.spaces.PB = Array([Name.Pattern, page.spaces.B])
    page.resources.Font.T = page.document.make_indirect(
        Dictionary(
            Type=Name.Font, Subtype=Name.Type3, FontBBox=[0, 0, 1000, 1000], FontMatrix=[0.001, 0, 0, 0.001, 0, 0],
            FirstChar=97, LastChar=98, Widths=[1000, 1000],
            Encoding=Dictionary(Type=Name.Encoding, Differences=[97, Name.a, Name.b]), Resources=spaces,
            CharProcs=Dictionary(
                a=page.stream(b"1000 0 0 0 1000 1000 d1 100 100 700 700 re f"),
                b=page.stream(b"1000 0 d0 /R cs 1 scn 100 100 700 700 re f /B cs 1 scn 300 300 300 300 re f"),
            ),
        )
    )  # fmt: skip
    return page.save(
        path,
        "/W cs 1 scn 10 10 268 316 re f /R cs 0.5 scn 20 255 240 40 re f q /B cs 1 scn 1 0 0 1 26 245 cm /Out Do Q "
        "q /over1 gs /B cs 1 scn 1 0 0 1 150 245 cm /Out Do Q /Pattern cs /T scn 20 170 115 55 re f "
        "/PB cs 0.7 /U scn 150 170 115 55 re f q /over1 gs /PB cs 0.7 /U scn 150 145 115 16 re f Q "
        "BT /T 26 Tf /B cs 0.6 scn 24 110 Td (abab) Tj ET q 2 w /All CS 1 SCN 8 8 m 8 28 l S /All cs 0.5 scn "
        "255 12 16 16 re f Q 0.1 0.2 0.3 0.4 k 230 100 20 20 re f "
        "q /Pattern CS /U2 SCN 12 w 20 312 m 264 312 l S Q "
        "/None cs 1 scn 140 100 40 40 re f q /RB cs 0.9 0.3 scn 26 60 55 34 re f "
        "/CRB cs 0.2 0.4 0.6 scn 95 60 55 34 re f /over1 gs /RB cs 0.4 0 scn 88 54 40 20 re f Q",
    )


PAGES = (tints, text, overprint, images, gradients, transparency, nested)


def separated(program: str, path: Path) -> dict[str, np.ndarray]:
    """Ink of each separation that the interpreter writes, by the plate's name here."""
    out = path.parent / f"{path.stem}-separations"
    out.mkdir()
    command = [program, "-q", "-dNOPAUSE", "-dBATCH", "-dSAFER", "-sDEVICE=tiffsep", "-dMaxSpots=16"]
    command += [f"-r{DPI * TIMES}", f"-sOutputFile={out / 'page.tif'}", str(path)]
    subprocess.run(command, check=True, capture_output=True, timeout=120)
    plates = {}
    for file in out.glob("*(*).tif"):
        name = file.name[file.name.index("(") + 1 : file.name.rindex(")")]
        with Image.open(file) as picture:
            plates[PARTS.get(name, name)] = 255 - np.asarray(picture.convert("L").reduce(TIMES))
    return plates


@pytest.mark.parametrize("draw", PAGES, ids=lambda draw: draw.__name__)
def test_plates_agree_away_from_edges(draw, tmp_path, reference_program):
    program = reference_program("gs", "ghostscript")
    path = draw(tmp_path / f"{draw.__name__}.pdf")
    truth = {name: ink for name, ink in separated(program, path).items() if ink.any()}
    plates = open_plates(path, dpi=DPI)
    bands = list(plates.read(200))
    ours = {plate.name: np.concatenate([band[i] for band in bands]) for i, plate in enumerate(plates.plates)}
    assert set(ours) == set(truth)
    off = {}
    print(f"\n{draw.__name__:14}{'plate':18}mean error  flat pixels off by more than {OFF}")
    for name, ink in truth.items():
        apart = np.abs(ours[name].astype(int) - ink)
        flat = maximum_filter(ink, 5).astype(int) - minimum_filter(ink, 5) <= FLAT
        assert flat.mean() > 0.2
        off[name] = float((flat & (apart > OFF)).sum() / apart.size)
        print(f"{'':14}{name:18}{apart.mean():10.3f}  {off[name]:.4%}")
    assert {name: share for name, share in off.items() if share > MOST_OFF} == {}
