"""Mesh and settings for every screen of a job, out of the shop's stock, each with what shaped it."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace

from setupassist.colour import lab_of
from setupassist.documents.job import Override
from setupassist.documents.plan import Reason, ScreenChoice
from setupassist.documents.press import Press
from setupassist.documents.shop import Shop, StockScreen
from setupassist.documents.terms import UNDER_ROLES, Role
from setupassist.quantities import Units, per_cm
from setupassist.screens.settings import ENTERED_HERE, SHOP_BOOK, settings_of, strokes_of
from setupassist.screens.stock import Asked, Given, assign, hard_misses, nearest_sentence
from setupassist.screens.wants import Want, count_words, detail_misses, least_words, mesh_words, ruling_words, want_of
from setupassist.steps.needs import Box, ScreenNeed, Steps
from setupassist.steps.scene import threshold
from setupassist.trade.fabrics import Fabric, fabric_of
from setupassist.trade.mesh import Cloth, cloth_of, label_per_inch, same_count, woven
from setupassist.words import joined, say


def choose_screens(
    steps: Steps,
    *,
    shop: Shop,
    press: Press,
    overrides: Mapping[str, Override],
    halftone_ruling_lpi: float | None,
) -> tuple[ScreenChoice, ...]:
    """One choice a screen of ``steps.screens``, in that order.

    Meshes come from the stock by the best assignment over the whole job. Ruling, particle size, deposit and frame
    are limits; the finest line and gap are kept where any screen keeps them; the count that the trade aims at for
    the role decides among the rest. A person's override wins. Where nothing fits the mesh is None and ``nearest``
    says why. An override of an ink holds for its second screen (``NAME 2``) too, unless that has its own.
    ``halftone_ruling_lpi`` is the ruling for tone plates.
    """
    fabric = _fabric(steps)
    entered = {need.ink: _override(need, steps, overrides) for need in steps.screens}
    asked = []
    for need in steps.screens:
        want = want_of(
            need,
            shop=shop,
            ink_name=_first_screen(need, steps),
            fabric=fabric,
            halftone_ruling_lpi=halftone_ruling_lpi,
            must_hide=_must_hide(need, steps),
        )
        asked.append(_asked(want, entered[need.ink], shop.screens, _box(need, steps)))
    given = assign(asked, shop.screens, press=press, policies=shop.policies)
    taken = _taken(asked, given)
    return tuple(
        _choice(
            need,
            ask,
            got,
            settings_box=_box(need, steps),
            steps=steps,
            shop=shop,
            press=press,
            override=entered[need.ink],
            taken=taken,
        )
        for need, ask, got in zip(steps.screens, asked, given, strict=True)
    )


def _choice(
    need: ScreenNeed,
    ask: Asked,
    got: Given,
    *,
    settings_box: Box | None,
    steps: Steps,
    shop: Shop,
    press: Press,
    override: Override,
    taken: dict[int, list[str]],
) -> ScreenChoice:
    stock = None if got.stock is None else shop.screens[got.stock]
    cloth = ask.entered if stock is None else cloth_of(stock)
    entered_per_cm = None if override.mesh_per_inch is None else per_cm(override.mesh_per_inch)
    mesh_per_cm = cloth.mesh_per_cm if cloth is not None else entered_per_cm
    settings = settings_of(
        need,
        stock=stock,
        cloth=cloth,
        ink_box_mm=settings_box,
        art_box_mm=steps.art_box_mm,
        press=press,
        policies=shop.policies,
        override=override,
        fabric=_fabric(steps),
    )
    sizes = {entry.name: entry.value for entry in settings}
    width, length = sizes.get("squeegee width"), sizes.get("stroke length")
    choice = ScreenChoice(
        ink=need.ink,
        role=need.role.value,
        mesh_per_cm=mesh_per_cm,
        mesh_per_inch=None if mesh_per_cm is None else _label(mesh_per_cm, override, stock),
        thread_um=cloth.thread_um if cloth is not None else override.thread_um,
        opening_um=None if cloth is None else cloth.opening_um,
        open_area=None if cloth is None else cloth.open_area,
        ink_volume_cm3_m2=None if cloth is None else cloth.volume_cm3_m2,
        strokes=strokes_of(need, override),
        shaped_by=_shaped_by(ask, got, cloth, shop=shop, press=press, taken=taken),
        settings=settings,
        squeegee_width_mm=float(width) if isinstance(width, (int, float)) else None,
        stroke_length_mm=float(length) if isinstance(length, (int, float)) else None,
    )
    if cloth is not None:
        choice = choice.model_copy(update={"volume_known": cloth.known})
    if stock is None:
        sentence = nearest_sentence(ask, shop.screens, taken=taken, press=press, policies=shop.policies)
        choice = choice.model_copy(update={"nearest": sentence})
    return choice


def _label(mesh_per_cm: float, override: Override, stock: StockScreen | None) -> float:
    if stock is None and override.mesh_per_inch is not None:
        return override.mesh_per_inch
    return label_per_inch(mesh_per_cm)


def _shaped_by(
    ask: Asked,
    got: Given,
    cloth: Cloth | None,
    *,
    shop: Shop,
    press: Press,
    taken: dict[int, list[str]],
) -> tuple[Reason, ...]:
    """The person's word, what the role aims at, each limit that ruled a stock screen out, and what was given up."""
    want, units = ask.want, Units(shop.policies.units)
    found: list[Reason] = []
    if ask.matching is not None:
        count = count_words(ask.entered_per_inch or want.wish_per_inch, units)
        text = say("screens.reason.entered", count=count)
        if got.stock is not None and cloth is not None and cloth.mesh_per_inch != ask.entered_per_inch:
            text = say("screens.reason.entered-taken-for-it", count=count, mesh=mesh_words(cloth, units))
        found.append(Reason(rule="entered", text=text, source=say(ENTERED_HERE)))
    else:
        found.append(_aim(want, units))
    ruled_out: dict[str, tuple[float, Reason]] = {}
    for screen in shop.screens:
        other = cloth_of(screen)
        if not _tempting(want, other, cloth):
            continue
        for miss in hard_misses(ask, screen, other, press=press, policies=shop.policies):
            rule, reason = miss.reason.rule, miss.reason
            if rule not in ruled_out or miss.short < ruled_out[rule][0]:
                text = say("screens.reason.ruled-out", mesh=mesh_words(other, units), why=reason.text)
                ruled_out[rule] = (miss.short, reason.model_copy(update={"text": text}))
    own = shop.screens[got.stock] if got.stock is not None else None
    broken = (
        {m.reason.rule: m.reason for m in hard_misses(ask, own, cloth, press=press, policies=shop.policies)}
        if own is not None and cloth is not None
        else {}
    )
    found += list(broken.values())
    found += [reason for rule, (_, reason) in ruled_out.items() if rule not in broken]
    if cloth is None:
        return tuple(found)
    found += [miss.reason for miss in detail_misses(want, cloth)]
    if ask.matching is None:
        found += _given_up(ask, got, cloth, shop=shop, press=press, taken=taken)
    return tuple(found)


def _tempting(want: Want, other: Cloth, chosen: Cloth | None) -> bool:
    """Whether a mesh would have been taken but for a limit: nearer to the count aimed at, or usual for the role."""
    count = other.mesh_per_inch
    if chosen is None or want.low_per_inch <= count <= want.high_per_inch:
        return True
    return abs(count - want.wish_per_inch) < abs(chosen.mesh_per_inch - want.wish_per_inch)


def _aim(want: Want, units: Units) -> Reason:
    values = {
        "count": count_words(want.wish_per_inch, units),
        "role": want.role_words,
        "low": count_words(want.low_per_inch, units),
        "high": count_words(want.high_per_inch, units),
    }
    text = say("screens.reason.aim", **values)
    if want.ruling_lpi is not None:
        least = least_words(want.least_per_inch or 0.0, units)
        ruling = ruling_words(want.ruling_lpi, units)
        text = say("screens.reason.aim-with-ruling", **values, ruling=ruling, least=least)
    return Reason(rule="role", text=text, source=want.wish_source)


def _given_up(
    ask: Asked, got: Given, cloth: Cloth, *, shop: Shop, press: Press, taken: dict[int, list[str]]
) -> list[Reason]:
    want, units = ask.want, Units(shop.policies.units)
    found: list[Reason] = []
    count = cloth.mesh_per_inch
    kept = {miss.reason.rule for miss in detail_misses(want, cloth)}

    def order(index: int, other: Cloth) -> tuple[float, int]:
        return abs(other.mesh_per_inch - want.wish_per_inch), index

    cloths = [cloth_of(screen) for screen in shop.screens]
    own = order(got.stock if got.stock is not None else len(cloths), cloth)
    nearer = [
        (order(i, other), i, other)
        for i, other in enumerate(cloths)
        if order(i, other) < own and not hard_misses(ask, shop.screens[i], other, press=press, policies=shop.policies)
    ]
    for (away, _), i, other in sorted(nearer, key=lambda entry: entry[0]):
        quantity = shop.screens[i].quantity
        lost = [miss.reason for miss in detail_misses(want, other) if miss.reason.rule not in kept]
        if lost:
            kept.add(lost[0].rule)
            text = say("screens.reason.passed-over", mesh=mesh_words(other, units), why=lost[0].text)
            found.append(lost[0].model_copy(update={"text": text}))
        elif away < own[0] and len(taken.get(i, [])) >= quantity and not detail_misses(want, other):
            held = taken.get(i, [])
            holders = joined(held) if held else say("screens.reason.none-in-stock")
            text = say("screens.reason.all-out", mesh=mesh_words(other, units), quantity=quantity, holders=holders)
            found.append(Reason(rule="stock", text=text, source=say(SHOP_BOOK)))
    if not want.low_per_inch <= count <= want.high_per_inch:
        text = say("screens.reason.outside-usual-range", mesh=mesh_words(cloth, units), role=want.role_words)
        found.append(Reason(rule="outside-usual-range", text=text, source=want.wish_source))
    return found


def _asked(want: Want, override: Override, stock: Sequence[StockScreen], box: Box | None) -> Asked:
    art = None if box is None else (box[2], box[3])
    count, thread = override.mesh_per_inch, override.thread_um
    if count is None:
        return Asked(want, art, thread_um=thread)
    matching = frozenset(
        i
        for i, screen in enumerate(stock)
        if same_count(screen.mesh_per_cm, count) and (thread is None or abs(screen.thread_um - thread) < 1)
    )
    cloth = woven(per_cm(count), thread) if thread is not None and thread < 10_000 / per_cm(count) else None
    return Asked(want, art, entered=cloth, entered_per_inch=count, matching=matching)


def _taken(asked: Sequence[Asked], given: Sequence[Given]) -> dict[int, list[str]]:
    taken: dict[int, list[str]] = {}
    for ask, got in zip(asked, given, strict=True):
        if got.stock is not None:
            taken.setdefault(got.stock, []).append(ask.want.ink)
    return taken


def _override(need: ScreenNeed, steps: Steps, overrides: Mapping[str, Override]) -> Override:
    return overrides.get(need.ink) or overrides.get(_first_screen(need, steps)) or Override()


def _must_hide(need: ScreenNeed, steps: Steps) -> bool:
    """Whether a colour hides the cloth by itself: a white, or a light colour on dark cloth, with nothing under it."""
    under = [other.ink for other in steps.screens if other.role in UNDER_ROLES]
    if need.role is not Role.COLOUR or not steps.groups:
        return False
    if any(steps.overlaps.get(frozenset((ink, need.ink)), 0.0) > threshold("contact") for ink in under):
        return False
    lightness, a, b = need.lab
    white = lightness >= threshold("white_ink_lightness") and math.hypot(a, b) <= threshold("white_cloth_chroma")
    cloth = lab_of(steps.groups[steps.neediest].garment.colour)[0]
    dark = cloth <= threshold("dark_cloth_lightness")
    return white or (dark and lightness >= threshold("mid_cloth_lightness"))


def _first_screen(need: ScreenNeed, steps: Steps) -> str:
    """The ink's own name: of a second screen (``NAME 2``, the same plate again) the first one's."""
    name = need.ink.removesuffix(" 2")
    same = (other for other in steps.screens if other.ink == name)
    return name if any(replace(other, ink=need.ink) == need for other in same) else need.ink


def _fabric(steps: Steps) -> Fabric | None:
    """The cloth of the group that needs most, by its fabric or else its name; None for ordinary jersey."""
    if not steps.groups:
        return None
    garment = steps.groups[steps.neediest].garment
    return fabric_of(garment.fabric) or fabric_of(garment.name)


def _box(need: ScreenNeed, steps: Steps) -> Box | None:
    """(x, y, width, height) of the ink: measured, else around the inks it carries, else the art box."""
    if need.ink_box_mm is not None:
        return need.ink_box_mm
    boxes = [other.ink_box_mm for other in steps.screens if other.ink in need.carries and other.ink_box_mm is not None]
    if not boxes or need.role is Role.SMOOTHING:
        return steps.art_box_mm
    left, top = min(box[0] for box in boxes), min(box[1] for box in boxes)
    right, bottom = max(box[0] + box[2] for box in boxes), max(box[1] + box[3] for box in boxes)
    return left, top, right - left, bottom - top
