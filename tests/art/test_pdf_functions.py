"""Functions of PDFs against their definitions in ISO 32000-1, section 7.10."""

from __future__ import annotations

import numpy as np
import pikepdf
import pytest
from pikepdf import Array, Dictionary

from setupassist.art.pdf_functions import NoFunction, function_of

AT = np.linspace(-0.5, 1.5, 41)
WITHIN = np.clip(AT, 0, 1)


def calculator(pdf, program, inputs=1, outputs=1):
    return pdf.stream(program.encode(), FunctionType=4, Domain=[-10, 10] * inputs, Range=[-100, 100] * outputs)


def test_exponential_clips_its_input():
    value = Dictionary(FunctionType=2, Domain=[0, 1], C0=[0.2, 1], C1=[1, 0], N=2)
    first, second = function_of(value)([AT])
    assert first == pytest.approx(0.2 + 0.8 * WITHIN**2)
    assert second == pytest.approx(1 - WITHIN**2)


def test_stitching_and_arrays():
    rise = Dictionary(FunctionType=2, Domain=[0, 1], C0=[0], C1=[1], N=1)
    value = Dictionary(FunctionType=3, Domain=[0, 1], Functions=[rise, rise], Bounds=[0.25], Encode=[0, 1, 1, 0])
    (found,) = function_of(value)([AT])
    assert found == pytest.approx(np.where(WITHIN < 0.25, WITHIN / 0.25, 1 - (WITHIN - 0.25) / 0.75))
    assert len(function_of(Array([rise, value]))([AT])) == 2


@pytest.mark.parametrize("bits", [1, 2, 4, 8, 12, 16, 24, 32])
def test_sampled_of_one_input(pdf, bits):
    top = (1 << bits) - 1
    samples = [0, top, top // 2, 0]
    data = int("".join(f"{sample:0{bits}b}" for sample in samples).ljust(128, "0"), 2).to_bytes(16, "big")
    value = pdf.stream(data, FunctionType=0, Domain=[0, 1], Range=[0, 1], Size=[4], BitsPerSample=bits)
    (found,) = function_of(value)([AT])
    assert found == pytest.approx(np.interp(WITHIN * 3, range(4), np.array(samples) / top))


def test_sampled_of_two_inputs_is_bilinear(pdf):
    """The first input varies fastest; between samples the value is straight along each input."""
    value = pdf.stream(bytes([0, 255, 51, 102]), FunctionType=0, Domain=[0, 1, 0, 1], Range=[0, 1], Size=[2, 2],
                       BitsPerSample=8)  # fmt: skip
    x, y = np.meshgrid(np.linspace(0, 1, 5), np.linspace(0, 1, 5))
    (found,) = function_of(value)([x, y])
    assert found == pytest.approx((1 - y) * x + y * (0.2 * (1 - x) + 0.4 * x))


@pytest.mark.parametrize(
    ("program", "expected"),
    [
        ("{ dup mul 1 exch sub }", lambda x: 1 - x * x),
        ("{ 0.5 gt { 1 } { 0 } ifelse }", lambda x: (x > 0.5) * 1.0),
        ("{ dup 0 lt { pop 0 } if }", lambda x: np.maximum(x, 0)),
        ("{ 1 2 3 3 1 roll pop pop sub }", lambda x: x - 3),
        ("{ 5 1 index add exch pop }", lambda x: x + 5),
        ("{ 90 mul sin 2 exp }", lambda x: np.sin(np.radians(90 * x)) ** 2),
        ("{ 360 mul cvi 7 mod 2 idiv }", lambda x: np.trunc(np.fmod(np.trunc(360 * x), 7) / 2)),
        ("{ dup 0.2 ge exch 0.6 le and { 1 } { 0 } ifelse } % in between", lambda x: ((x >= 0.2) & (x <= 0.6)) * 1.0),
        ("{ 2 copy pop exch pop 0 eq not { 3 } { 4 } ifelse }", None),
        ("{ 1 atan 4 div }", lambda x: np.degrees(np.arctan2(x, 1)) % 360 / 4),
    ],
)
def test_calculator(pdf, program, expected):
    function = function_of(calculator(pdf, program))
    if expected is None:
        with pytest.raises(NoFunction):  # it takes two from a stack of one
            function([AT])
        return
    assert function([AT])[-1] == pytest.approx(expected(AT))


@pytest.mark.parametrize("program", ["{ 1", "1 2", "{ nonsense }", "{ pop pop }", "{ 0.5 gt { 1 1 } { 0 } ifelse }"])
def test_programs_that_make_no_sense(pdf, program):
    with pytest.raises(NoFunction):
        function_of(calculator(pdf, program))([AT])


def test_what_is_no_function(pdf):
    circle = pdf.document.make_indirect(Dictionary(FunctionType=3, Domain=[0, 1], Bounds=[], Encode=[0, 1]))
    circle.Functions = Array([circle])
    huge = pdf.stream(b"", FunctionType=0, Domain=[0, 1, 0, 1], Range=[0, 1], Size=[60000, 60000], BitsPerSample=8)
    for value in (pikepdf.Name.Identity, Dictionary(), Dictionary(FunctionType=2), circle, huge):
        with pytest.raises(NoFunction):
            function_of(value)([AT])
