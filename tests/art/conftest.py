"""Strict little writers of PNG and TIFF, so that the truth does not come from the code under test."""

from __future__ import annotations

import io
import lzma
import struct
import zlib
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import Any

import numpy as np
import pikepdf
import pytest
from numpy.typing import NDArray
from PIL import Image

from setupassist.art.plates import Note, PlateSet
from setupassist.words import Said


@pytest.fixture(autouse=True)
def _by_id(faults_by_id: None, monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """Faults and notes of every test here are said by id."""
    plain: list[str] = []
    checked = PlateSet.__post_init__

    def heed(plates: PlateSet) -> None:
        told = [note.text if isinstance(note, Note) else note for note in plates.notes]
        told += [note.remedy for note in plates.notes if isinstance(note, Note) and note.remedy is not None]
        plain.extend(text for text in told if not isinstance(text, Said))
        checked(plates)

    monkeypatch.setattr(PlateSet, "__post_init__", heed)
    yield
    assert plain == []


INTERLACE = ((0, 0, 8, 8), (4, 0, 8, 8), (0, 4, 4, 8), (2, 0, 4, 4), (0, 2, 2, 4), (1, 0, 2, 2), (0, 1, 1, 2))


def png_chunk(kind: bytes, body: bytes) -> bytes:
    return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))


def packed_samples(rows: NDArray[Any], bits: int) -> list[bytes]:
    """Rows (rows, samples) as big-endian bytes, one entry a row."""
    if bits == 16:
        return [row.astype(">u2").tobytes() for row in rows]
    if bits == 8:
        return [row.astype(np.uint8).tobytes() for row in rows]
    places = np.arange(bits - 1, -1, -1)
    return [np.packbits(((row[:, None] >> places) & 1).astype(np.uint8).ravel()).tobytes() for row in rows]


def paeth(a: int, b: int, c: int) -> int:
    guess = a + b - c
    return min((abs(guess - a), 0, a), (abs(guess - b), 1, b), (abs(guess - c), 2, c))[2]


def filtered(rows: list[bytes], pixel_bytes: int, first: int = 0) -> bytes:
    """Rows with the five filters of the standard taken in turn."""
    out = bytearray()
    above = bytes(len(rows[0]))
    for number, row in enumerate(rows):
        kind = (number + first) % 5
        out.append(kind)
        for at, value in enumerate(row):
            a = row[at - pixel_bytes] if at >= pixel_bytes else 0
            b, c = above[at], above[at - pixel_bytes] if at >= pixel_bytes else 0
            out.append((value - (0, a, b, (a + b) // 2, paeth(a, b, c))[kind]) % 256)
        above = row
    return bytes(out)


@pytest.fixture
def write_png() -> Callable[..., Path]:
    """Writer of a PNG of samples (rows, columns, samples a pixel), every row filter in turn, in small data chunks."""

    def write(
        path: Path,
        samples: NDArray[Any],
        *,
        bits: int,
        kind: int,
        interlaced: bool = False,
        more: Sequence[tuple[bytes, bytes]] = (),
        chunk: int = 97,
    ) -> Path:
        rows, columns, each = samples.shape
        pixel_bytes = max(1, each * bits // 8)
        data = b""
        for x, y, across, down in INTERLACE if interlaced else ((0, 0, 1, 1),):
            part = samples[y::down, x::across]
            if part.size:
                data += filtered(packed_samples(part.reshape(len(part), -1), bits), pixel_bytes)
        packed = zlib.compress(data)
        head = struct.pack(">IIBBBBB", columns, rows, bits, kind, 0, 0, int(interlaced))
        body = [png_chunk(b"IHDR", head), *(png_chunk(name, data) for name, data in more)]
        body += [png_chunk(b"IDAT", packed[at : at + chunk]) for at in range(0, len(packed), chunk)]
        path.write_bytes(b"\x89PNG\r\n\x1a\n" + b"".join(body) + png_chunk(b"IEND", b""))
        return path

    return write


def pack_bits(row: bytes) -> bytes:
    """One row by the PackBits scheme of TIFF 6.0, section 9."""
    out, at = bytearray(), 0
    while at < len(row):
        end = at + 1
        while end < len(row) and end - at < 128 and row[end] == row[at]:
            end += 1
        if end - at > 1:
            out += bytes((257 - (end - at), row[at]))
        else:
            while end < len(row) and end - at < 128 and not (end + 1 < len(row) and row[end] == row[end + 1]):
                end += 1
            out += bytes((end - at - 1,)) + row[at:end]
        at = end
    return bytes(out)


def jpeg_of(block: NDArray[Any]) -> bytes:
    """A whole JPEG of samples (rows, columns, samples), colours as they are."""
    data = io.BytesIO()
    options: dict[str, Any] = {"keep_rgb": True} if block.shape[2] == 3 else {}
    picture = block[..., 0] if block.shape[2] == 1 else block
    if block.shape[2] == 4:  # turned round on the way into a JPEG of four colours
        picture = 255 - picture
    Image.fromarray(picture, mode={1: "L", 3: "RGB", 4: "CMYK"}[block.shape[2]]).save(
        data, "JPEG", quality=95, subsampling=0, **options
    )
    return data.getvalue()


class TiffWriter:
    """Pages put together field by field, in either byte order."""

    def __init__(self, order: str = "<") -> None:
        self.order = order
        self.pages: list[tuple[dict[int, tuple[str, Any]], list[bytes]]] = []

    def add(
        self,
        planes: NDArray[Any],
        *,
        photometric: int = 5,
        planar: bool = False,
        compression: int = 1,
        predictor: int = 1,
        strip_rows: int = 16,
        tile: tuple[int, int] | None = None,
        fill_order: int = 1,
        dpi: tuple[int, int] | None = (300, 300),
        fields: dict[int, tuple[str, Any]] | None = None,
        bits: int | None = None,
    ) -> TiffWriter:
        """A page of ``planes`` (samples, rows, columns) of bool, uint8 or uint16 as they are stored.

        ``bits`` is 2 or 4 for uint8 values of that depth. JPEG is for groups of 1, 3 or 4 samples of 8 bits.
        """
        count, rows, columns = planes.shape
        bits = bits or {"bool": 1, "uint8": 8, "uint16": 16}[str(planes.dtype)]
        groups = [planes[index : index + 1] for index in range(count)] if planar else [planes]
        segments = []
        for group in groups:
            chunky = np.moveaxis(group, 0, -1)
            for block in self._blocks(chunky, strip_rows, tile):
                data = self._packed(block, bits, compression, predictor)
                if fill_order == 2:
                    data = bytes(int(f"{value:08b}"[::-1], 2) for value in data)
                segments.append(data)
        page: dict[int, tuple[str, Any]] = {
            256: ("I", [columns]),
            257: ("I", [rows]),
            258: ("H", [bits] * count),
            259: ("H", [compression]),
            262: ("H", [photometric]),
            266: ("H", [fill_order]),
            277: ("H", [count]),
            284: ("H", [2 if planar else 1]),
            317: ("H", [predictor]),
        }
        if tile:
            page |= {322: ("I", [tile[1]]), 323: ("I", [tile[0]]), 324: ("I", []), 325: ("I", [])}
        else:
            page |= {278: ("I", [strip_rows]), 273: ("I", []), 279: ("I", [])}
        if dpi:
            page |= {282: ("II", [(dpi[0], 1)]), 283: ("II", [(dpi[1], 1)]), 296: ("H", [2])}
        self.pages.append((page | (fields or {}), segments))
        return self

    @staticmethod
    def _blocks(chunky: NDArray[Any], strip_rows: int, tile: tuple[int, int] | None) -> Iterator[NDArray[Any]]:
        rows, columns, count = chunky.shape
        if tile is None:
            for row in range(0, rows, strip_rows):
                yield chunky[row : row + strip_rows]
            return
        for row in range(0, rows, tile[0]):
            for column in range(0, columns, tile[1]):
                part = chunky[row : row + tile[0], column : column + tile[1]]
                padded = np.ones((*tile, count), chunky.dtype)
                padded[: part.shape[0], : part.shape[1]] = part
                yield padded

    def _packed(self, block: NDArray[Any], bits: int, compression: int, predictor: int) -> bytes:
        if predictor == 2:
            block = np.concatenate((block[:, :1], block[:, 1:] - block[:, :-1]), axis=1)
        if compression == 7:
            return jpeg_of(block)
        flat = block.reshape(len(block), -1)
        lines = packed_samples(flat, bits) if bits < 8 else [line.tobytes() for line in self._ordered(flat)]
        if compression == 32773:
            return b"".join(pack_bits(line) for line in lines)
        return {8: zlib.compress, 34925: lzma.compress}.get(compression, bytes)(b"".join(lines))

    def _ordered(self, flat: NDArray[Any]) -> NDArray[Any]:
        return flat.astype(flat.dtype.newbyteorder(self.order))

    def write(self, path: Path) -> Path:
        """The file, its pages in the order they were added."""
        order = self.order
        out = bytearray((b"II" if order == "<" else b"MM") + struct.pack(order + "HI", 42, 0))
        link = 4
        for fields, segments in self.pages:
            offsets = []
            for segment in segments:
                offsets.append(len(out))
                out += segment + bytes(len(segment) & 1)
            places, lengths = (324, 325) if 324 in fields else (273, 279)
            filled = {places: ("I", offsets), lengths: ("I", [len(segment) for segment in segments]), **fields}
            for tag in (places, lengths):
                if not filled[tag][1]:
                    filled[tag] = ("I", offsets if tag == places else [len(segment) for segment in segments])
            entries = b""
            for tag, (form, values) in sorted(filled.items()):
                data = (
                    values
                    if form == "s"
                    else b"".join(
                        struct.pack(order + form, *(value if isinstance(value, tuple) else (value,)))
                        for value in values
                    )
                )
                kind = {"B": 1, "s": 2, "H": 3, "I": 4, "II": 5}[form]
                if len(data) > 4:
                    out += bytes(len(out) & 1)
                    at = len(out)
                    out += data
                    data = struct.pack(order + "I", at)
                entries += struct.pack(order + "HHI", tag, kind, len(values)) + data.ljust(4, b"\0")
            out += bytes(len(out) & 1)
            struct.pack_into(order + "I", out, link, len(out))
            out += struct.pack(order + "H", len(filled)) + entries
            link = len(out)
            out += bytes(4)
        path.write_bytes(out)
        return path


@pytest.fixture
def jpeg_packed() -> Callable[[NDArray[Any]], bytes]:
    return jpeg_of


@pytest.fixture
def tiff_writer() -> type[TiffWriter]:
    return TiffWriter


@pytest.fixture
def whole() -> Callable[..., list[NDArray[np.uint8]]]:
    """All rows of every plate, read in bands and put together."""

    def read(plates: PlateSet, band_rows: int = 50) -> list[NDArray[np.uint8]]:
        bands = list(plates.read(band_rows))
        height = plates.plates[0].rows
        assert [len(band[0]) for band in bands] == [min(band_rows, height - top) for top in range(0, height, band_rows)]
        assert all(rows.dtype == np.uint8 for band in bands for rows in band)
        return [np.concatenate(column) for column in zip(*bands, strict=True)]

    return read


@pytest.fixture
def drawn() -> Callable[..., NDArray[np.uint8]]:
    """A picture (rows, columns) with runs, soft tones and noise, the same for the same seed."""

    def draw(rows: int, columns: int, seed: int = 0) -> NDArray[np.uint8]:
        rng = np.random.default_rng(seed)
        y, x = np.mgrid[0:rows, 0:columns]
        tone = 127 + 128 * np.sin(x / 9 + seed) * np.cos(y / 13)
        tone[rows // 4 : rows // 2] = 255 * (tone[rows // 4 : rows // 2] > 100)
        tone[: rows // 5, : columns // 2] = 255
        noisy = tone[rows // 2 :, columns // 2 :]
        noisy[:] = rng.integers(0, 256, noisy.shape)
        return np.clip(np.rint(tone), 0, 255).astype(np.uint8)

    return draw


SPOTS = {"R": ("Fire Red", (0, 0.9, 0.8, 0)), "B": ("Navy 2", (1, 0.6, 0, 0.1)), "W": ("Flash White", (0, 0, 0, 0.05))}


class PdfPages:
    """Writes PDFs of a page or more; colour spaces /R, /B, /W are spot inks, /RB both at once, /All and /None."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.document = pikepdf.new()
        self.spaces = pikepdf.Dictionary({f"/{key}": self.separation(*spot) for key, spot in SPOTS.items()})
        self.spaces["/All"] = self.separation("All", (1, 1, 1, 1))
        self.spaces["/None"] = self.separation("None", (0, 0, 0, 0))
        self.spaces["/RB"] = self.device_n("Fire Red", "Navy 2")
        self.spaces["/RK"] = self.device_n("Fire Red", "Black")

    def separation(self, name: str, cmyk: tuple[float, ...]) -> pikepdf.Array:
        full = pikepdf.Dictionary(FunctionType=2, Domain=[0, 1], C0=[0, 0, 0, 0], C1=list(cmyk), N=1)
        return pikepdf.Array([pikepdf.Name.Separation, pikepdf.Name(f"/{name}"), pikepdf.Name.DeviceCMYK, full])

    def device_n(self, *names: str) -> pikepdf.Array:
        program = b"{" + b"pop " * len(names) + b"0 0 0 0}"
        domain = [0, 1] * len(names)
        tint = self.stream(program, FunctionType=4, Domain=domain, Range=[0, 1] * 4)
        listed = pikepdf.Array([pikepdf.Name(f"/{name}") for name in names])
        return pikepdf.Array([pikepdf.Name.DeviceN, listed, pikepdf.Name.DeviceCMYK, tint])

    def stream(self, data: bytes, **entries: Any) -> pikepdf.Object:
        return self.document.make_indirect(pikepdf.Stream(self.document, data, **entries))

    def image(self, samples: NDArray[Any], space: Any, bits: int = 8, **entries: Any) -> pikepdf.Object:
        """Samples (rows, columns) or (rows, columns, components) as an image."""
        rows, columns = samples.shape[:2]
        data = b"".join(packed_samples(samples.reshape(rows, -1), bits))
        kind = {"Type": pikepdf.Name.XObject, "Subtype": pikepdf.Name.Image, "Width": columns, "Height": rows}
        space = {} if space is None else {"ColorSpace": space}
        return self.stream(data, **kind, **space, BitsPerComponent=bits, **entries)

    def form(self, content: bytes, box: tuple[float, ...], **entries: Any) -> pikepdf.Object:
        kind = {"Type": pikepdf.Name.XObject, "Subtype": pikepdf.Name.Form, "BBox": list(box)}
        return self.stream(content, **kind, **entries)

    def page(self, content: str, size: tuple[float, float] = (72, 72), **entries: Any) -> pikepdf.Object:
        """Adds a page; keys that are kinds of resources go there, others into the page itself."""
        self.document.add_blank_page(page_size=size)
        page = self.document.pages[-1].obj
        kinds = ("XObject", "Pattern", "Shading", "Font", "ExtGState", "Properties")
        page.Resources = pikepdf.Dictionary(ColorSpace=self.spaces)
        page.Resources.ExtGState = pikepdf.Dictionary(
            over0=pikepdf.Dictionary(OP=True, op=True, OPM=0), over1=pikepdf.Dictionary(OP=True, op=True, OPM=1)
        )
        for key, value in entries.items():
            if key in kinds:
                page.Resources[f"/{key}"] = pikepdf.Dictionary({f"/{name}": held for name, held in value.items()})
            else:
                page[f"/{key}"] = value
        page.Contents = self.document.make_stream(content.encode("latin-1"))
        return page

    def save(self, name: str = "art.pdf", **options: Any) -> Path:
        self.document.save(self.folder / name, **options)
        return self.folder / name


@pytest.fixture
def pdf(tmp_path: Path) -> PdfPages:
    return PdfPages(tmp_path)


def ink_of(plates: PlateSet) -> dict[str, NDArray[np.uint8]]:
    """Every plate whole, by name."""
    bands = list(plates.read(50))
    return {plate.name: np.concatenate([band[index] for band in bands]) for index, plate in enumerate(plates.plates)}


@pytest.fixture
def whole_plates() -> Callable[[PlateSet], dict[str, NDArray[np.uint8]]]:
    return ink_of
