"""Functions of a PDF worked out for whole arrays of inputs.

Source: ISO 32000-1, 2008, section 7.10 (sampled, exponential, stitching and PostScript calculator functions);
published.
"""

from __future__ import annotations

import operator
import re
from collections.abc import Callable, Sequence
from itertools import product
from typing import Any

import numpy as np
import numpy.typing as npt
from pikepdf import Array

from setupassist.art.pdf_objects import get, number, numbers, stream_bytes, whole

Floats = npt.NDArray[np.float64]
Function = Callable[[Sequence[Floats]], list[Floats]]
"""Takes one array for each input, all of one shape, and gives one for each output."""

MOST_DEPTH = 8
MOST_SAMPLES = 1 << 22
MOST_PROGRAM_BYTES = 1 << 16
MOST_STACK = 100


class NoFunction(Exception):
    """An object is no function that can be worked out."""


def function_of(value: Any, depth: int = 0) -> Function:
    """The function that an object tells; an array of functions gives their outputs in a row. Raises NoFunction."""
    if depth > MOST_DEPTH:
        raise NoFunction
    if isinstance(value, Array):
        parts = [function_of(each, depth + 1) for each in value]
        return lambda inputs: [out for part in parts for out in part(inputs)]
    kind = whole(get(value, "/FunctionType"), -1)
    made = {0: _sampled, 2: _exponential, 3: _stitching, 4: _calculated}.get(kind)
    domain, limits = _pairs(get(value, "/Domain")), _pairs(get(value, "/Range"))
    if made is None or not domain or (kind in (0, 4) and not limits):
        raise NoFunction
    inner = made(value, domain, limits, depth)

    def function(inputs: Sequence[Floats]) -> list[Floats]:
        if len(inputs) != len(domain):
            raise NoFunction
        outputs = inner([np.clip(each, low, high) for each, (low, high) in zip(inputs, domain, strict=True)])
        if limits:
            if len(outputs) < len(limits):
                raise NoFunction
            outputs = [np.clip(each, low, high) for each, (low, high) in zip(outputs, limits, strict=False)]
        return outputs

    return function


def _pairs(value: Any) -> list[tuple[float, float]]:
    read = numbers(value, 128)
    return [(low, max(low, high)) for low, high in zip(read[::2], read[1::2], strict=False)]


Pairs = list[tuple[float, float]]


def _exponential(value: Any, _domain: Pairs, _limits: Pairs, _depth: int) -> Function:
    start, end = numbers(get(value, "/C0")) or [0.0], numbers(get(value, "/C1")) or [1.0]
    power = number(get(value, "/N"), 1.0)

    def function(inputs: Sequence[Floats]) -> list[Floats]:
        with np.errstate(all="ignore"):
            raised = inputs[0] if power == 1 else np.nan_to_num(np.power(inputs[0], power), posinf=1e6, neginf=-1e6)
        return [low + raised * (high - low) for low, high in zip(start, end, strict=False)]

    return function


def _stitching(value: Any, domain: Pairs, _limits: Pairs, depth: int) -> Function:
    told = get(value, "/Functions")
    if not isinstance(told, Array) or not 0 < len(told) <= 1000:
        raise NoFunction
    parts = [function_of(each, depth + 1) for each in told]
    inner = numbers(get(value, "/Bounds"))[: len(parts) - 1]
    edges = [domain[0][0], *inner, domain[0][1]]
    codes = numbers(get(value, "/Encode"))
    if len(edges) != len(parts) + 1 or len(codes) < 2 * len(parts):
        raise NoFunction

    def function(inputs: Sequence[Floats]) -> list[Floats]:
        at = inputs[0]
        which = np.searchsorted(np.asarray(edges[1:-1]), at, side="right")
        found: list[Floats] = []
        for number_, part in enumerate(parts):
            low, high = edges[number_], edges[number_ + 1]
            to_low, to_high = codes[2 * number_ : 2 * number_ + 2]
            share = (at - low) / (high - low) if high > low else np.zeros_like(at)
            outputs = part([to_low + share * (to_high - to_low)])
            if not found:
                found = [np.zeros_like(at) for _ in outputs]
            found = [np.where(which == number_, new, old) for new, old in zip(outputs, found, strict=False)]
        return found

    return function


def _sampled(value: Any, domain: Pairs, limits: Pairs, _depth: int) -> Function:
    sizes = [int(size) for size in numbers(get(value, "/Size"), 16)]
    bits, outputs = whole(get(value, "/BitsPerSample")), len(limits)
    if len(sizes) != len(domain) or min(sizes) < 1 or len(sizes) > 4 or bits not in (1, 2, 4, 8, 12, 16, 24, 32):
        raise NoFunction
    count = outputs
    for size in sizes:
        count *= size
        if count > MOST_SAMPLES:
            raise NoFunction
    table = _samples(stream_bytes(value), count, bits) / float((1 << bits) - 1)
    # the first input varies fastest
    table = table.reshape(*reversed(sizes), outputs)
    encode = _listed(get(value, "/Encode"), [edge for size in sizes for edge in (0.0, size - 1.0)])
    decode = _listed(get(value, "/Decode"), [edge for pair in limits for edge in pair])

    def function(inputs: Sequence[Floats]) -> list[Floats]:
        places = []
        for index, (at, (low, high)) in enumerate(zip(inputs, domain, strict=True)):
            first, last = encode[2 * index : 2 * index + 2]
            share = (at - low) / (high - low) if high > low else np.zeros_like(at)
            places.append(np.clip(first + share * (last - first), 0, sizes[index] - 1))
        below = [np.minimum(place.astype(int), max(0, size - 2)) for place, size in zip(places, sizes, strict=True)]
        total = [np.zeros_like(inputs[0]) for _ in range(outputs)]
        for corner in product((0, 1), repeat=len(sizes)):
            weight = np.ones_like(inputs[0])
            index_of = []
            for side, place, floor, size in zip(corner, places, below, sizes, strict=True):
                weight = weight * ((place - floor) if side else 1 - (place - floor))
                index_of.append(np.minimum(floor + side, size - 1))
            values = table[tuple(reversed(index_of))]
            total = [sum_ + weight * values[..., out] for out, sum_ in enumerate(total)]
        return [decode[2 * out] + each * (decode[2 * out + 1] - decode[2 * out]) for out, each in enumerate(total)]

    return function


def _listed(value: Any, default: list[float]) -> list[float]:
    read = numbers(value)
    return read if len(read) >= len(default) else default


def _samples(data: bytes, count: int, bits: int) -> Floats:
    need = (count * bits + 7) // 8
    raw = np.frombuffer(data[:need].ljust(need, b"\0"), np.uint8)
    if bits in (8, 16, 32):
        return raw.view(f">u{bits // 8}")[:count].astype(float)
    unpacked = np.unpackbits(raw)[: count * bits].reshape(count, bits).astype(float)
    values: Floats = unpacked @ (2.0 ** np.arange(bits - 1, -1, -1))
    return values


def _calculated(value: Any, _domain: Pairs, _limits: Pairs, _depth: int) -> Function:
    data = stream_bytes(value, MOST_PROGRAM_BYTES).decode("latin-1")
    tokens = re.findall(r"[{}]|[^\s{}]+", re.sub(r"%[^\r\n]*", " ", data))
    if not tokens or tokens[0] != "{":
        raise NoFunction
    program, _ = _block(tokens, 1, 0)

    def function(inputs: Sequence[Floats]) -> list[Floats]:
        stack: list[Any] = list(inputs)
        try:
            with np.errstate(all="ignore"):
                _run(program, stack)
        except (IndexError, TypeError, ValueError):
            raise NoFunction from None
        shape = np.shape(inputs[0])
        return [np.broadcast_to(np.nan_to_num(np.asarray(each, float)), shape) for each in stack]

    return function


def _block(tokens: list[str], at: int, depth: int) -> tuple[list[Any], int]:
    if depth > 32:
        raise NoFunction
    block: list[Any] = []
    while at < len(tokens):
        token = tokens[at]
        at += 1
        if token == "}":
            return block, at
        if token == "{":
            inner, at = _block(tokens, at, depth + 1)
            block.append(inner)
        else:
            try:
                block.append(float(token))
            except ValueError:
                block.append(token)
    raise NoFunction


def _degrees(y: Any, x: Any) -> Any:
    return np.degrees(np.arctan2(y, x)) % 360


def _shift(value: Any, by: Any) -> Any:
    return np.trunc(np.asarray(value) * 2.0 ** np.asarray(by))


ONE: dict[str, Callable[[Any], Any]] = {
    "abs": np.abs, "neg": operator.neg, "ceiling": np.ceil, "floor": np.floor, "round": lambda a: np.floor(a + 0.5),
    "truncate": np.trunc, "cvi": np.trunc, "cvr": lambda a: a, "sqrt": lambda a: np.sqrt(np.maximum(a, 0)),
    "sin": lambda a: np.sin(np.radians(a)), "cos": lambda a: np.cos(np.radians(a)), "ln": np.log, "log": np.log10,
    "not": lambda a: ~a if np.asarray(a).dtype.kind == "b" else -a - 1,
}  # fmt: skip
TWO: dict[str, Callable[[Any, Any], Any]] = {
    "add": operator.add, "sub": operator.sub, "mul": operator.mul, "div": np.divide,
    "idiv": lambda a, b: np.trunc(np.divide(a, b)), "mod": np.fmod, "exp": np.power, "atan": _degrees,
    "eq": np.equal, "ne": np.not_equal, "gt": np.greater,
    "ge": np.greater_equal, "lt": np.less,
    "le": np.less_equal, "bitshift": _shift,
}  # fmt: skip
LOGIC = {
    "and": (np.logical_and, np.bitwise_and), "or": (np.logical_or, np.bitwise_or),
    "xor": (np.logical_xor, np.bitwise_xor),
}  # fmt: skip


def _run(program: list[Any], stack: list[Any]) -> None:
    """Runs a calculator program on a stack of numbers and arrays; both ways of a choice are worked out."""
    blocks: list[list[Any]] = []
    for step in program:
        if len(stack) > MOST_STACK:
            raise NoFunction
        if isinstance(step, list):
            blocks.append(step)
        elif isinstance(step, float):
            stack.append(step)
        elif step in ("if", "ifelse"):
            other = blocks.pop() if step == "ifelse" else []
            _choose(stack, blocks.pop(), other)
        elif step in ONE:
            stack.append(ONE[step](stack.pop()))
        elif step in TWO or step in LOGIC:
            second, first = stack.pop(), stack.pop()
            stack.append(TWO[step](first, second) if step in TWO else _logic(step, first, second))
        else:
            _stack_word(step, stack)


def _logic(step: str, first: Any, second: Any) -> Any:
    for_truth, for_numbers = LOGIC[step]
    if np.asarray(first).dtype.kind == "b":
        return for_truth(first, second)
    return for_numbers(np.asarray(first).astype(int), np.asarray(second).astype(int)).astype(float)


def _choose(stack: list[Any], block: list[Any], other: list[Any]) -> None:
    holds = np.asarray(stack.pop()).astype(bool)
    one, two = list(stack), list(stack)
    if holds.all():
        _run(block, stack)
        return
    if not holds.any():
        _run(other, stack)
        return
    _run(block, one)
    _run(other, two)
    if len(one) != len(two):
        raise NoFunction
    stack[:] = [a if a is b else np.where(holds, a, b) for a, b in zip(one, two, strict=True)]


def _stack_word(step: str, stack: list[Any]) -> None:
    if step in ("true", "false"):
        stack.append(np.bool_(step == "true"))
    elif step == "pop":
        stack.pop()
    elif step == "exch":
        stack[-1], stack[-2] = stack[-2], stack[-1]
    elif step == "dup":
        stack.append(stack[-1])
    elif step == "copy":
        count = _count(stack)
        stack.extend(stack[len(stack) - count :])
    elif step == "index":
        stack.append(stack[-1 - _count(stack)])
    elif step == "roll":
        by = int(stack.pop())
        count = _count(stack)
        if count:
            top = stack[len(stack) - count :]
            by %= count
            stack[len(stack) - count :] = top[count - by :] + top[: count - by]
    else:
        raise NoFunction


def _count(stack: list[Any]) -> int:
    count = int(stack.pop())
    if not 0 <= count <= min(MOST_STACK, len(stack)):
        raise NoFunction
    return count
