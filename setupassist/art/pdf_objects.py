"""Objects of a PDF read with suspicion: names, numbers, matrices and streams of a file that may say anything."""

from __future__ import annotations

import math
import re
import zlib
from collections.abc import Iterator, Mapping
from typing import Any

import pikepdf
from pikepdf import Array, Dictionary, Name, Object, Stream

Matrix = tuple[float, float, float, float, float, float]
Box = tuple[float, float, float, float]
"""Left, bottom, right, top."""

SAME: Matrix = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)
MOST_NUMBER = 1e7
MOST_STREAM_BYTES = 1 << 29
"""Bytes that one stream of a file may become when it is unpacked."""
MOST_CONTENT_BYTES = 1 << 26
PIECE_BYTES = 1 << 20


class Refused(Exception):
    """A file goes beyond a limit or lacks what it must have; ``key`` and ``values`` say it by id."""

    def __init__(self, key: str, **values: Any) -> None:
        super().__init__(key)
        self.key, self.values = key, values


def set_limits() -> None:
    """Limits of the PDF library of this process, before it reads what it was handed."""
    pikepdf.settings.set_qpdf_limits(
        doc_max_warnings=10_000,
        parser_max_nesting=100,
        parser_max_container_size=2_000_000,
        max_stream_filters=8,
        dct_max_memory=MOST_STREAM_BYTES,
        dct_max_progressive_scans=200,
        flate_max_memory=MOST_STREAM_BYTES,
        png_max_memory=MOST_STREAM_BYTES,
        run_length_max_memory=MOST_STREAM_BYTES,
        tiff_max_memory=MOST_STREAM_BYTES,
    )


def name_text(name: Any) -> str:
    """A name without its slash. Bytes that are no UTF-8 are read as Latin-1, as older writers meant them."""
    try:
        return str(name)[1:]
    except UnicodeDecodeError:
        return _name_bytes(name)[1:].decode("latin-1")


def name_key(name: Any) -> str:
    """A name as the key under which dictionaries hold it."""
    try:
        return str(name)
    except UnicodeDecodeError:
        return _name_bytes(name).decode("utf-8", "surrogateescape")


def as_key(key: str) -> Any:
    """What the PDF library takes for a key of ``name_key`` or ``items``; bytes that are no UTF-8 need a name."""
    try:
        key.encode()
    except UnicodeEncodeError:
        raw = key.encode("utf-8", "surrogateescape")
        return Object.parse(b"/" + b"".join(b"#%02X" % byte for byte in raw[1:]))
    return key


def _name_bytes(name: Any) -> bytes:
    raw: bytes = name.unparse()
    return re.sub(rb"#([0-9A-Fa-f]{2})", lambda found: bytes([int(found[1], 16)]), raw)


def number(value: Any, default: float = 0.0) -> float:
    """A finite number of moderate size, ``default`` for anything else."""
    try:
        read = float(value)
    except (TypeError, ValueError, OverflowError):
        return default
    return max(-MOST_NUMBER, min(MOST_NUMBER, read)) if math.isfinite(read) else default


def whole(value: Any, default: int = 0) -> int:
    """A whole number, ``default`` for anything else."""
    return int(number(value, default))


def numbers(value: Any, most: int = 4096) -> list[float]:
    """The numbers of an array, none for anything else."""
    if not isinstance(value, Array):
        return []
    return [number(value[index]) for index in range(min(len(value), most))]


def get(holder: Any, key: str) -> Any:
    """What a dictionary or stream holds under ``key`` (with its slash), None where it holds nothing there."""
    if not isinstance(holder, Dictionary | Stream):
        return None
    try:
        return holder.get(as_key(key))
    except (KeyError, ValueError):
        return None


def sub(holder: Any, kind: str, name: str) -> Any:
    """The resource of a kind (``/Font``) by its name."""
    return get(get(holder, kind), name)


def is_name(value: Any, name: str) -> bool:
    """Whether a value is that name (``/Form``)."""
    return isinstance(value, Name) and name_key(value) == name


def items(holder: Any) -> Iterator[tuple[str, Any]]:
    """Keys and values of a dictionary or stream; a key is used through ``as_key``."""
    if isinstance(holder, Dictionary | Stream):
        yield from holder.items()


def dictionary(entries: Mapping[str, Any]) -> Any:
    """A dictionary of entries with keys as ``items`` gives them."""
    made: Any = Dictionary()
    for key, value in entries.items():
        made[as_key(key)] = value
    return made


def identity(value: Any) -> tuple[Any, ...]:
    """What tells one object from another; the object must stay alive where it is a direct one."""
    return tuple(value.objgen) if value.is_indirect else ("direct", id(value))


def matrix_of(value: Any) -> Matrix:
    """Six numbers of a matrix, that which changes nothing where there are not six."""
    read = numbers(value)
    return (read[0], read[1], read[2], read[3], read[4], read[5]) if len(read) == 6 else SAME


def times(one: Matrix, then: Matrix) -> Matrix:
    """The matrix that applies ``one`` and ``then`` the other."""
    a, b, c, d, e, f = one
    p, q, r, s, t, u = then
    return (a * p + b * r, a * q + b * s, c * p + d * r, c * q + d * s, e * p + f * r + t, e * q + f * s + u)


def inverse(matrix: Matrix) -> Matrix | None:
    """The matrix that undoes one, None where it flattens the plane."""
    a, b, c, d, e, f = matrix
    area = a * d - b * c
    if not math.isfinite(area) or abs(area) < 1e-12:
        return None
    return (d / area, -b / area, -c / area, a / area, (c * f - d * e) / area, (b * e - a * f) / area)


def moved(matrix: Matrix, x: float, y: float) -> tuple[float, float]:
    """Where a point goes."""
    a, b, c, d, e, f = matrix
    return a * x + c * y + e, b * x + d * y + f


def moved_box(matrix: Matrix, box: Box) -> Box:
    """The upright box round where a box goes."""
    corners = [moved(matrix, x, y) for x in (box[0], box[2]) for y in (box[1], box[3])]
    xs, ys = [x for x, _ in corners], [y for _, y in corners]
    return min(xs), min(ys), max(xs), max(ys)


def overlap(one: Box, two: Box) -> Box | None:
    """The box that two boxes share."""
    shared = max(one[0], two[0]), max(one[1], two[1]), min(one[2], two[2]), min(one[3], two[3])
    return shared if shared[0] < shared[2] and shared[1] < shared[3] else None


def box_of(value: Any) -> Box | None:
    """An upright box out of four numbers, None where they make none."""
    read = numbers(value)
    if len(read) != 4:
        return None
    box = min(read[0], read[2]), min(read[1], read[3]), max(read[0], read[2]), max(read[1], read[3])
    return box if box[0] < box[2] and box[1] < box[3] else None


def scale_of(matrix: Matrix) -> float:
    """How much a matrix enlarges, as the root of what it does to an area."""
    a, b, c, d, _, _ = matrix
    return math.sqrt(abs(a * d - b * c))


def stream_bytes(stream: Any, most: int = MOST_STREAM_BYTES) -> bytes:
    """Unpacked bytes of a stream; Refused where they are more than ``most``."""
    data: bytes = stream.read_bytes()
    if len(data) > most:
        raise Refused("art.pdf.too-heavy")
    return data


def unpacked_bytes(stream: Any, most: int) -> int:
    """How many bytes a stream unpacks to, counted up to a little more than ``most`` where it is plain Deflate."""
    if filters(stream) != ["FlateDecode"]:
        return len(stream_bytes(stream))
    engine, raw, total = zlib.decompressobj(), stream.read_raw_bytes(), 0
    try:
        while raw and not engine.eof and total <= most:
            total += len(engine.decompress(raw, PIECE_BYTES))
            raw = engine.unconsumed_tail
    except zlib.error:
        return total
    return total


def filters(stream: Any) -> list[str]:
    """Names of a stream's filters in the order in which they are undone."""
    told = get(stream, "/Filter")
    if told is None:
        told = get(stream, "/F")
    if isinstance(told, Name):
        return [name_text(told)]
    return [name_text(each) for each in told if isinstance(each, Name)] if isinstance(told, Array) else []
