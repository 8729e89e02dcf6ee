"""What is drawn of the art: the plates laid on a garment's cloth in print order, or one plate as its film shows it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from setupassist.desk.desk import Desk
from setupassist.desk.inks_told import InkTold, inks_told
from setupassist.documents.terms import SPECIAL_ROLES, Role

if TYPE_CHECKING:
    from setupassist.appearance.thumbnails import Picture, Thumb
    from setupassist.steps.needs import Steps

UNKNOWN_INK = "#808080"
WHITE = "#ffffff"
_LAID = (Role.BLOCKER, Role.BASE, Role.COLOUR, Role.KEY, Role.HIGHLIGHT)


@dataclass(frozen=True)
class Layer:
    """One ink as it is laid: its colour, and the plates whose union it takes."""

    ink: str
    colour: str
    plates: tuple[str, ...]


@dataclass(frozen=True)
class GarmentArt:
    """A garment group's cloth, and the layers that it gets, first print first.

    ``planned`` says that they lie as the plan prints them; else by their roles, colours light to dark.
    """

    garment: str
    cloth: str
    layers: tuple[Layer, ...]
    planned: bool


def cloth_of(desk: Desk, group: int) -> str:
    """Colour of a garment group's cloth: as the job says, as a question was answered or suggested, else white."""
    from setupassist.desk.asked import steps_known, told_of

    garment = desk.job.groups[group]
    if "colour" in garment.model_fields_set:
        return garment.colour
    return told_of(desk, steps_known(desk), "garment-colour", garment.name) or WHITE


def garment_art(desk: Desk, group: int = 0) -> GarmentArt | None:
    """What is laid on the garment group in that place; None while there are no pictures."""
    from setupassist.desk.asked import steps_known

    pictures = desk.results.pictures
    if not pictures:
        return None
    told = {ink.name: ink for ink in inks_told(desk) if ink.name in pictures}
    steps = steps_known(desk)
    garment = desk.job.groups[group]
    planned = steps is not None and any(need.plate in pictures for need in steps.screens)
    if steps is not None and planned:
        layers = _planned(desk, steps, garment.name, told)
    else:
        layers = [_layer(told, name) for name in _by_role(list(told.values()))]
    return GarmentArt(garment.name, cloth_of(desk, group), tuple(layers), planned)


def _planned(desk: Desk, steps: Steps, garment: str, told: Mapping[str, InkTold]) -> list[Layer]:
    needs = {need.ink: need for need in steps.screens}
    needed = next((set(group.screens) for group in steps.groups if group.garment.name == garment), set(needs))
    made = desk.results.made
    order: Sequence[str] = steps.standard_order
    if made is not None and made.plan.slots:
        order = [slot.ink or "" for slot in made.plan.slots if slot.holds == "screen"]
    inks = dict.fromkeys(ink if ink in needs else ink.removesuffix(" 2") for ink in order)
    layers = []
    for ink in inks:
        need = needs.get(ink)
        if need is None or ink not in needed:
            continue
        if need.plate is not None:
            if need.plate in told:
                layers.append(_layer(told, need.plate))
        else:
            carried = tuple(p for c in need.carries if c in needs and (p := needs[c].plate) is not None and p in told)
            if carried:
                layers.append(Layer(ink, need.colour, carried))
    return layers


def _layer(told: Mapping[str, InkTold], name: str) -> Layer:
    return Layer(name, told[name].colour or UNKNOWN_INK, (name,))


def _by_role(inks: Sequence[InkTold]) -> list[str]:
    from setupassist.colour import lab_of

    def place(ink: InkTold) -> tuple[int, float]:
        at = len(_LAID) if ink.role in SPECIAL_ROLES or ink.role not in _LAID else _LAID.index(ink.role)
        return at, -lab_of(ink.colour or UNKNOWN_INK)[0] if ink.role is Role.COLOUR else 0.0

    return [ink.name for ink in sorted(inks, key=place)]


def drawn_on_garment(art: GarmentArt, pictures: Mapping[str, Thumb], *, every: int = 1) -> Picture:
    """SRGB (rows, columns, 3) uint8 of the art on its cloth; ``every`` takes each so manieth row and column."""
    from setupassist.appearance.thumbnails import garment_picture, union_thumb

    first = next(iter(pictures.values()))[::every, ::every]
    thumbs, colours = [first * 0], [art.cloth]
    for layer in art.layers:
        parts = [pictures[plate][::every, ::every] for plate in layer.plates]
        thumbs.append(parts[0] if len(parts) == 1 else union_thumb(parts))
        colours.append(layer.colour)
    return garment_picture(thumbs, colours, art.cloth)


def drawn_as_film(picture: Thumb) -> Picture:
    """SRGB (rows, columns, 3) uint8 of one plate: black is ink."""
    from setupassist.appearance.thumbnails import one_plate_picture

    return one_plate_picture(picture)
