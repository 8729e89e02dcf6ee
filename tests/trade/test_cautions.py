from __future__ import annotations

from setupassist.trade.cautions import CautionStep, cautions, cautions_when

CONDITIONS = {
    "always", "flash", "dryer", "plastisol", "water-based", "discharge", "acrylic", "silicone", "polyester", "blend",
    "nylon", "low-bleed", "puff", "adhesive", "fleece",
}  # fmt: skip


def test_ids_are_unique_and_conditions_are_known() -> None:
    listed = cautions()
    assert len(listed) >= 20
    assert {word for caution in listed.values() for word in caution.when} <= CONDITIONS
    assert all(caution.text.endswith(".") and caution.source for caution in listed.values())


def test_every_condition_brings_something_and_always_is_always_there() -> None:
    always = {caution.id for caution in cautions_when(())}
    assert {"stop-and-lock-out", "stops-tested", "moving-platens", "defer-to-the-book"} <= always
    for condition in CONDITIONS - {"always"}:
        brought = {caution.id for caution in cautions_when((condition,))}
        assert always < brought


def test_discharge_is_not_told_to_a_plastisol_job() -> None:
    told = {caution.id for caution in cautions_when(("plastisol", "flash", "dryer"))}
    assert "flash-burn-and-fire" in told
    assert not any(name.startswith("discharge") for name in told)


def test_the_sheet_order_is_the_order_of_the_work() -> None:
    steps = [list(CautionStep).index(caution.step) for caution in cautions_when(CONDITIONS)]
    assert steps == sorted(steps)
