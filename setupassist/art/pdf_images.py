"""Images of a PDF: their samples in blocks of rows, and what of them is on one plate.

An image of one component keeps its data, whatever their compression, and gets another palette. Of others the samples
of the wanted ink are taken out.
"""

from __future__ import annotations

import base64
import binascii
import io
import re
import zlib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt
import pikepdf
from pikepdf import Array, Name, Stream

from setupassist.art.pdf_colour import CMYK, GREY, RGB, Family, Space, Spaces, mentions, tint
from setupassist.art.pdf_objects import MOST_STREAM_BYTES, Refused, as_key, filters, get, items, number, numbers, whole

Samples = npt.NDArray[np.uint8] | npt.NDArray[np.uint16]
Rows = npt.NDArray[np.uint8]

MOST_SIDE = 200_000
MOST_PIXELS = 400_000_000
MOST_SAMPLES = 600_000_000
PIECE_BYTES = 1 << 20
PACKED_ABOVE = 8 << 20
NOT_KEPT = frozenset({"/Length", "/OC", "/Alternates", "/Metadata", "/OPI", "/Intent", "/StructParent", "/ID"})
SHORT_KEYS = {
    "/W": "/Width", "/H": "/Height", "/BPC": "/BitsPerComponent", "/CS": "/ColorSpace", "/D": "/Decode",
    "/DP": "/DecodeParms", "/F": "/Filter", "/IM": "/ImageMask", "/I": "/Interpolate",
}  # fmt: skip
SHORT_FILTERS = {
    "AHx": "ASCIIHexDecode", "A85": "ASCII85Decode", "LZW": "LZWDecode", "Fl": "FlateDecode", "RL": "RunLengthDecode",
    "CCF": "CCITTFaxDecode", "DCT": "DCTDecode",
}  # fmt: skip
FAX = frozenset({"CCITTFaxDecode", "JBIG2Decode"})


class NotRead(Exception):
    """The samples of an image cannot be had."""


@dataclass(frozen=True)
class Image:
    """An image of a page: its stream, size, samples and colour space. A stencil has no space."""

    value: Any
    columns: int
    rows: int
    bits: int
    space: Space | None
    decode: tuple[float, ...]
    keys: tuple[int, ...]

    @property
    def top(self) -> int:
        """The highest value of a sample."""
        return int((1 << self.bits) - 1)

    @property
    def stencil(self) -> bool:
        """Whether the image is a mask through which the present colour is painted."""
        return self.space is None


def image_of(value: Any, spaces: Spaces, resources: Any) -> Image:
    """An image held against the limits; Refused beyond them, NotRead where it makes no sense."""
    columns, rows = whole(get(value, "/Width")), whole(get(value, "/Height"))
    if columns < 1 or rows < 1:
        raise NotRead
    stencil = get(value, "/ImageMask") is True
    told = get(value, "/ColorSpace")
    bits = 1 if stencil else whole(get(value, "/BitsPerComponent"), 8)
    if stencil:
        space = None
    elif told is None and "JPXDecode" in filters(value):
        space, bits = {1: GREY, 3: RGB, 4: CMYK}.get(_jpx_bands(value), GREY), 8
    else:
        space = spaces.of(told, resources)
    if space is not None and space.family is Family.PATTERN:
        raise NotRead
    if bits not in (1, 2, 4, 8, 16):
        raise NotRead
    count = 1 if space is None else max(1, space.count)
    if max(columns, rows) > MOST_SIDE or columns * rows > MOST_PIXELS or columns * rows * count > MOST_SAMPLES:
        raise Refused("art.pdf.image-too-large", columns=columns, rows=rows)
    mask = get(value, "/Mask")
    keys = tuple(int(key) for key in numbers(mask, 128)) if isinstance(mask, Array) else ()
    decode = tuple(numbers(get(value, "/Decode"), 128))
    decode = decode if len(decode) >= 2 * count else ()
    return Image(value, columns, rows, bits, space, decode, keys if len(keys) >= 2 * count else ())


def inline_image(document: Any, inline: Any) -> Any:
    """An image that stands in a content stream as an image of its own, its short keys written out."""
    stream = Stream(document, inline.read_raw_bytes() if hasattr(inline, "read_raw_bytes") else inline.read_bytes())
    for key, value in items(inline.obj):
        stream[as_key(SHORT_KEYS.get(key, key))] = value
    told = filters(stream)
    if told:
        stream.Filter = Array([Name("/" + SHORT_FILTERS.get(name, name)) for name in told])
    stream.Type, stream.Subtype = Name.XObject, Name.Image
    return document.make_indirect(stream)


def without_extras(document: Any, image: Any) -> Any:
    """An image's data as they lie, without what no plate needs."""
    made = Stream(document, image.read_raw_bytes())
    for key, value in items(image):
        if key not in NOT_KEPT:
            made[as_key(key)] = value
    made.Type, made.Subtype = Name.XObject, Name.Image
    return made


def plate_image(document: Any, image: Image, ink: str) -> Any:
    """The image as greys of one plate. Raises NotRead where its samples cannot be had."""
    space = image.space
    assert space is not None
    if not mentions(space, ink) and not image.keys:
        return document.make_indirect(white_image(document, image))
    if space.count == 1 and image.bits <= 8 and get(image.value, "/ColorSpace") is not None:
        made = without_extras(document, image.value)
        if "/Decode" in made:
            del made["/Decode"]
        made.ColorSpace = Array([Name.Indexed, Name.DeviceGray, image.top, pikepdf.String(_palette(image, ink))])
        return document.make_indirect(made)
    packer = zlib.compressobj(1) if image.columns * image.rows > PACKED_ABOVE else None
    parts: list[bytes] = []
    masks: list[bytes] = []
    for block in samples(image):
        data = plane(image, block, ink).tobytes()
        parts.append(packer.compress(data) if packer else data)
        if image.keys:
            masks.append(np.packbits(keyed_out(image, block), axis=1).tobytes())
    if packer:
        parts.append(packer.flush())
    made = _grey(document, image, image.columns, image.rows, b"".join(parts))
    if packer:
        made.Filter = Name.FlateDecode
    if image.keys:
        made.Mask = document.make_indirect(
            Stream(
                document,
                b"".join(masks),
                Type=Name.XObject,
                Subtype=Name.Image,
                Width=image.columns,
                Height=image.rows,
                ImageMask=True,
                BitsPerComponent=1,
            )
        )
    return document.make_indirect(made)


def white_image(document: Any, image: Image) -> Any:
    """An image of no ink in the place and the shape of another."""
    return _grey(document, image, 1, 1, b"\xff")


def _grey(document: Any, image: Image, columns: int, rows: int, data: bytes) -> Any:
    made = Stream(document, data)
    made.Type, made.Subtype, made.Width, made.Height = Name.XObject, Name.Image, columns, rows
    made.BitsPerComponent, made.ColorSpace = 8, Name.DeviceGray
    for key in ("/SMask", "/Mask", "/Interpolate"):
        value = get(image.value, key)
        if value is not None and not isinstance(value, Array):
            made[key] = value
    return made


def _palette(image: Image, ink: str) -> bytes:
    values = np.arange(image.top + 1)
    return plane_of_colours(image, [_component(image, values, 0)], ink).tobytes()


def _component(image: Image, values: Any, index: int) -> Any:
    """Component values of samples, by Decode where there is one."""
    assert image.space is not None
    if image.decode:
        low, high = image.decode[2 * index : 2 * index + 2]
    elif image.space.family is Family.INDEXED:
        low, high = 0.0, float(image.top)
    else:
        lows, highs = image.space.spans
        low, high = float(lows[index]), float(highs[index])
    return low + values.astype(np.float32) * ((high - low) / image.top)


def plane_of_colours(image: Image, colour: list[Any], ink: str) -> Rows:
    """Greys of one plate out of component values: 255 is no ink."""
    assert image.space is not None
    tints = np.broadcast_to(np.asarray(tint(image.space, colour, ink)), np.shape(colour[0]))
    greys: Rows = np.clip(np.rint(255 * (1 - tints)), 0, 255).astype(np.uint8)
    return greys


def plane(image: Image, block: Samples, ink: str) -> Rows:
    """Greys of one plate (rows, columns) out of samples (rows, columns, components)."""
    space = image.space
    assert space is not None
    index = None
    if space.family is Family.INKS and ink in space.inks:
        index = space.inks.index(ink)
    elif space.family is Family.CMYK and mentions(space, ink):
        from setupassist.art.pdf_colour import PROCESS

        index = PROCESS.index(ink)
    elif space.family is Family.ALL:
        index = 0
    if index is not None and image.bits == 8:
        edges = image.decode[2 * index : 2 * index + 2] or (0.0, 1.0)
        if edges in ((0.0, 1.0), (1.0, 0.0)):
            part = block[..., index].astype(np.uint8, copy=False)
            return np.ascontiguousarray(part) if edges[0] else np.subtract(255, part, dtype=np.uint8)
    colour = [_component(image, block[..., part], part) for part in range(space.count)]
    return plane_of_colours(image, colour, ink)


def keyed_out(image: Image, block: Samples) -> npt.NDArray[np.bool_]:
    """Where the samples lie within the colour key, so that nothing is painted."""
    assert image.space is not None
    out = np.ones(block.shape[:2], bool)
    for part in range(image.space.count):
        low, high = image.keys[2 * part : 2 * part + 2]
        out &= (block[..., part] >= low) & (block[..., part] <= high)
    return out


def samples(image: Image) -> Iterator[Samples]:
    """Blocks of samples (rows, columns, components) from the top. Raises NotRead."""
    count = 1 if image.space is None else image.space.count
    last = (filters(image.value) or [""])[-1]
    if last in ("DCTDecode", "JPXDecode", *FAX):
        yield from _foreign(image, count, last)
        return
    row_bytes = (image.columns * count * image.bits + 7) // 8
    if row_bytes * image.rows > MOST_STREAM_BYTES:
        raise NotRead
    rows_each = max(1, PIECE_BYTES // row_bytes)
    left, held = image.rows, bytearray()
    for piece in _unpacked(image.value):
        held += piece
        while left and len(held) >= row_bytes * min(left, rows_each):
            rows = min(left, rows_each)
            raw = np.frombuffer(bytes(held[: rows * row_bytes]), np.uint8).reshape(rows, row_bytes)
            del held[: rows * row_bytes]
            left -= rows
            yield _spread(raw, image, count)
    while left:  # a stream that ends early goes on with zeros
        rows = min(left, rows_each)
        data = bytes(held[: rows * row_bytes]).ljust(rows * row_bytes, b"\0")
        held = held[rows * row_bytes :]
        left -= rows
        yield _spread(np.frombuffer(data, np.uint8).reshape(rows, row_bytes), image, count)


def _spread(raw: Rows, image: Image, count: int) -> Samples:
    rows, width = raw.shape[0], image.columns * count
    if image.bits == 8:
        return raw[:, :width].reshape(rows, image.columns, count)
    if image.bits == 16:
        wide: Samples = raw[:, : 2 * width].view(">u2").reshape(rows, image.columns, count)
        return wide
    if image.bits == 1:
        return np.unpackbits(raw, axis=1, count=width).reshape(rows, image.columns, count)
    shifts = np.arange(8 - image.bits, -1, -image.bits, dtype=np.uint8)
    spread: Rows = (raw[:, :, None] >> shifts) & np.uint8(image.top)
    return spread.reshape(rows, -1)[:, :width].reshape(rows, image.columns, count)


def _unpacked(stream: Any) -> Iterator[bytes]:
    """Unpacked data in pieces; plain Deflate is never whole in memory."""
    parameters = get(stream, "/DecodeParms")
    parameters = parameters[0] if isinstance(parameters, Array) and len(parameters) else parameters
    plain = whole(get(parameters, "/Predictor"), 1) < 2
    if filters(stream) == ["FlateDecode"] and plain:
        engine = zlib.decompressobj()
        raw = stream.read_raw_bytes()
        try:
            while raw and not engine.eof:
                yield engine.decompress(raw, PIECE_BYTES)
                raw = engine.unconsumed_tail
            yield engine.flush()
        except zlib.error:
            return
        return
    try:
        data = stream.read_bytes()
    except (pikepdf.PdfError, NotImplementedError) as error:
        raise NotRead from error
    for start in range(0, len(data), PIECE_BYTES):
        yield data[start : start + PIECE_BYTES]


def _foreign(image: Image, count: int, last: str) -> Iterator[Samples]:
    """Samples of JPEG, JPEG 2000 and fax data."""
    from PIL import Image as Pictures

    Pictures.MAX_IMAGE_PIXELS = None  # held against our own limits
    modes = {1: ("L", "1"), 3: ("RGB",), 4: ("CMYK", "RGBA")}
    try:
        if last in FAX:
            picture = pikepdf.PdfImage(image.value).as_pil_image()
        else:
            picture = Pictures.open(io.BytesIO(_before_last(image.value)))
        if picture.size != (image.columns, image.rows):
            raise NotRead
        picture.load()
    except NotRead:
        raise
    except Exception as error:  # decoders raise almost anything on hostile data
        raise NotRead from error
    if picture.mode not in modes.get(count, ()):
        raise NotRead
    inverted = picture.mode == "CMYK" and last == "DCTDecode"  # Pillow turns inks of JPEG round
    rows_each = max(1, PIECE_BYTES // max(1, image.columns * count))
    for top in range(0, image.rows, rows_each):
        part = np.asarray(picture.crop((0, top, image.columns, min(image.rows, top + rows_each))))
        block = part.reshape(part.shape[0], image.columns, count).astype(np.uint8)
        yield 255 - block if inverted else block


def _before_last(stream: Any) -> bytes:
    """Data with all filters but the last undone."""
    data: bytes = stream.read_raw_bytes()
    for name in filters(stream)[:-1]:
        try:
            if name == "FlateDecode":
                data = zlib.decompressobj().decompress(data, MOST_STREAM_BYTES)
            elif name == "ASCIIHexDecode":
                digits = re.sub(rb"[^0-9A-Fa-f]", b"", data.partition(b">")[0])
                data = binascii.unhexlify(digits + b"0" * (len(digits) % 2))
            elif name == "ASCII85Decode":
                data = base64.a85decode(data.partition(b"~>")[0])
            else:
                raise NotRead
        except (zlib.error, ValueError) as error:
            raise NotRead from error
    return data


def _jpx_bands(value: Any) -> int:
    from PIL import Image as Pictures

    try:
        with Pictures.open(io.BytesIO(_before_last(value))) as picture:
            return min(4, len(picture.getbands()))
    except Exception as error:  # decoders raise almost anything on hostile data
        raise NotRead from error


def inked(image: Image, inks: Sequence[str]) -> list[str]:
    """Which of some inks the samples of an image hold anywhere. Raises NotRead."""
    left = list(inks)
    for block in samples(image) if left else ():
        left = [ink for ink in left if int(plane(image, block, ink).min()) == 255]
        if not left:
            break
    return [ink for ink in inks if ink not in left]


def opaque(image: Image) -> bool:
    """Whether every pixel of an image is painted."""
    value = image.value
    return (
        not image.keys
        and get(value, "/SMask") is None
        and get(value, "/Mask") is None
        and number(get(value, "/SMaskInData")) == 0
    )
