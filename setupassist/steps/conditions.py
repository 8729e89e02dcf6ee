"""The closed list of conditions that rows of the decision table may name, each a plain yes or no about a scene.

Conditions that begin with ``ink-`` are about one ink; all others about the garment group as a whole.
"""

from __future__ import annotations

import math
from collections.abc import Callable

from setupassist.documents.terms import UNDER_ROLES, BleedTest, Fibre, InkSystem, Kind, Role
from setupassist.resource_files import read_toml
from setupassist.steps.inks import InkFact
from setupassist.steps.room import fits, most_flashes
from setupassist.steps.scene import BLEND_KINDS, Scene, chroma, is_plain_white, is_white, threshold
from setupassist.trade.names import words_of

SceneTest = Callable[[Scene], bool]
InkTest = Callable[[Scene, InkFact], bool]


def holds(name: str, scene: Scene, ink: InkFact | None = None) -> bool:
    """Whether the named condition holds; KeyError where it is not in the list or wants an ink and none is given."""
    if name in INK_CONDITIONS:
        if ink is None:
            raise KeyError(f"{name} is about one ink")
        return INK_CONDITIONS[name](scene, ink)
    return SCENE_CONDITIONS[name](scene)


def flashes_wanted(scene: Scene) -> int:
    """Flashes that one after every screen but the last would take."""
    return max(0, printings(scene) - 1)


def printings(scene: Scene) -> int:
    """How often something is printed: a screen printed twice counts two."""
    return sum(screen.prints for screen in scene.screens)


def flashes_room(scene: Scene) -> int:
    """Flashes that fit between the screens on this press in one lap, each with the cooling it asks for."""
    return most_flashes(scene.press, printings(scene), keep_empty=scene.keep_empty)


def _systems(scene: Scene) -> set[InkSystem]:
    return {ink.need.ink_system for ink in scene.inks}


def _tops_all(scene: Scene, system: InkSystem) -> bool:
    return all(ink.need.ink_system is system for ink in scene.inks) and bool(scene.inks)


def _role_printed(scene: Scene, role: Role) -> bool:
    return any(screen.role is role for screen in scene.screens)


def _fabric_words(scene: Scene) -> set[str]:
    return {*words_of(scene.cloth.garment.fabric), *words_of(scene.cloth.garment.name)}


def _doubtful_dyes() -> set[str]:
    return set(read_toml("trade/decisions.toml")["discharge"]["doubtful_dyes"])


def _flash_needed(scene: Scene) -> bool:
    limits = scene.limits
    parted = limits is not None and bool(limits.flash_between or limits.never_wet)
    return parted or any(screen.prints > 1 for screen in scene.screens)


def _colours_parted(scene: Scene) -> bool:
    """Whether a limit puts a flash between two colours."""
    colours = {ink.name for ink in scene.tops if ink.need.role is Role.COLOUR}
    limits = scene.limits
    return limits is not None and any(colours.issuperset(p) for p in (*limits.flash_between, *limits.never_wet))


def _base_mostly_bare(scene: Scene) -> bool:
    area = sum(base.need.ink_area_cm2 for base in scene.bases)
    return area > 0 and base_bare_cm2(scene) >= threshold("base_bare_share") * area


def base_bare_cm2(scene: Scene) -> float:
    """Base outside its measured overlaps with the seen inks, at least; inks that overlap each other count twice."""
    bare = 0.0
    for base in scene.bases:
        covered = sum(scene.overlap(base.name, top.name) for top in scene.tops)
        bare += max(0.0, base.need.ink_area_cm2 - covered)
    return bare


def most_colour_overlap(scene: Scene) -> float:
    """Largest overlap of two colours, in cm²."""
    colours = [ink.name for ink in scene.tops if ink.need.role is Role.COLOUR]
    return max((scene.overlap(a, b) for i, a in enumerate(colours) for b in colours[:i]), default=0.0)


def _hardly_overlap(scene: Scene) -> bool:
    colours = [ink for ink in scene.tops if ink.need.role is Role.COLOUR]
    return all(
        scene.overlap(a.name, b.name) <= threshold("hardly_overlap") * min(a.need.ink_area_cm2, b.need.ink_area_cm2)
        for i, a in enumerate(colours)
        for b in colours[:i]
    )


def _black_on_black(scene: Scene) -> bool:
    black_cloth = scene.cloth.lightness <= threshold("near_black_lightness") and chroma(scene.cloth.lab) <= threshold(
        "near_black_chroma"
    )
    return black_cloth and bool(scene.black_inks) and len(scene.tops) > len(scene.black_inks)


def _heather_light(scene: Scene) -> bool:
    cloth = scene.cloth
    mixed = cloth.fibre is Fibre.BLEND
    grey = chroma(cloth.lab) <= threshold("white_cloth_chroma")
    return mixed and grey and cloth.lightness >= threshold("mid_cloth_lightness") and not cloth.white_or_natural


def _room_for_twice(scene: Scene) -> bool:
    twice = scene.base_screens or tuple(ink.need for ink in scene.own_whites)
    under = [screen for screen in scene.screens if screen.role is Role.BLOCKER]
    more = sum(screen.prints < 2 for screen in twice)
    flashed = len(under) + 2 * len(twice)
    if not scene.base_screens:
        flashed -= 1  # a white that is its own base may stay wet on top
    return fits(scene.press, printings(scene) + more, first_flashes=flashed, keep_empty=scene.keep_empty)


def _only_whites_need_base(scene: Scene) -> bool:
    return bool(scene.weak) and all(is_white(ink) for ink in scene.weak)


def _base_stays_grey(scene: Scene) -> bool:
    """Whether a white base comes out grey; a base that is grey or tinted by choice does not count."""
    return any(
        lightness < threshold("base_least_lightness") and base.lab[0] >= threshold("white_ink_lightness")
        for base, lightness in scene.base_lightnesses
    )


def _own_hue(scene: Scene, ink: InkFact) -> bool:
    cloth, lab = scene.cloth.lab, ink.need.lab
    if min(chroma(cloth), chroma(lab)) < threshold("hue_chroma"):
        return False
    apart = abs(math.degrees(math.atan2(cloth[2], cloth[1]) - math.atan2(lab[2], lab[1]))) % 360
    return min(apart, 360 - apart) <= threshold("same_hue_deg")


def _merely_darker(scene: Scene, ink: InkFact) -> bool:
    return ink.lightness < scene.cloth.lightness and not _own_hue(scene, ink)


def _discharge_stays_wet(scene: Scene) -> bool:
    """Whether discharge is printed that no flash may reach: as a colour, or as a base that is not flashed."""
    flashed = scene.answers.get("flash-after-base") == "yes"
    return any(
        screen.ink_system is InkSystem.DISCHARGE and not (screen.role in UNDER_ROLES and flashed)
        for screen in scene.screens
    )


def _clearly_darker(scene: Scene, ink: InkFact) -> bool:
    return ink.lightness <= scene.cloth.lightness - threshold("clearly_darker")


def _dark_weak(scene: Scene) -> list[InkFact]:
    return [ink for ink in scene.weak if ink.lightness <= threshold("dark_ink_lightness")]


INK_CONDITIONS: dict[str, InkTest] = {
    # the ink is so dark that it hides any cloth
    "ink-near-black": lambda scene, ink: ink.lightness <= threshold("near_black_lightness"),
    # the ink has the cloth's own hue and is clearly darker than it
    "ink-cloth-hue-and-darker": lambda scene, ink: _own_hue(scene, ink) and _clearly_darker(scene, ink),
    # the ink is darker than the cloth, but has another hue or none
    "ink-merely-darker": _merely_darker,
    # no film of the shop's own stands behind the ink: what is known of it is typical or from memory
    "ink-film-not-measured": lambda scene, ink: not ink.film_measured,
    # the ink is clear, or glue for a foil: what lies under it is meant to show, or nothing of it is seen
    "ink-hides-nothing": lambda scene, ink: ink.need.role in (Role.CLEAR, Role.ADHESIVE),
    # the ink is clearly darker than the cloth, whatever its hue
    "ink-clearly-darker": _clearly_darker,
    # one film of the ink differs on this cloth from white cloth by more than the shop's base_delta_e
    "ink-film-weak": lambda scene, ink: scene.difference(ink) > scene.shop.policies.base_delta_e,
    # the ink is discharge
    "ink-discharge": lambda scene, ink: ink.need.ink_system is InkSystem.DISCHARGE,
}

SCENE_CONDITIONS: dict[str, SceneTest] = {
    # cloth
    "cloth-white-or-natural": lambda s: s.cloth.white_or_natural,
    "cloth-not-white": lambda s: not s.cloth.white_or_natural,
    "cloth-light": lambda s: s.cloth.lightness >= threshold("light_cloth_lightness"),
    "cloth-dark": lambda s: s.cloth.lightness < threshold("dark_cloth_lightness"),
    # red, royal, kelly: a cloth whose hue shows in whatever lets light through
    "cloth-strongly-coloured": lambda s: chroma(s.cloth.lab) > threshold("strong_cloth_chroma"),
    "cloth-not-black": lambda s: s.cloth.lightness > threshold("near_black_lightness"),
    "cloth-dyed-polyester": lambda s: s.cloth.dyed_polyester,
    "not-dyed-polyester": lambda s: not s.cloth.dyed_polyester,
    "polyester-most": lambda s: s.cloth.polyester_share >= threshold("most_polyester"),
    "cotton-only": lambda s: s.cloth.fibre is Fibre.COTTON and s.cloth.polyester_share == 0,
    # cloth that heat marks: polyester, nylon, tri-blend
    "cloth-heat-shy": lambda s: s.cloth.dyed_polyester or s.cloth.fibre in (Fibre.POLYESTER, Fibre.NYLON),
    "fibre-nylon": lambda s: s.cloth.fibre is Fibre.NYLON,
    "fabric-fleece": lambda s: s.cloth.fabric == "fleece",
    "fabric-mesh": lambda s: s.cloth.fabric == "athletic mesh",
    "fabric-tri-blend": lambda s: s.cloth.fabric == "tri-blend",
    "fabric-cap": lambda s: bool({"cap", "caps"} & _fabric_words(s)),
    "fabric-sublimated": lambda s: bool({"sublimated", "sublimation"} & _fabric_words(s)),
    "bleed-strong": lambda s: s.cloth.bleed_test is BleedTest.STRONG,
    "bleed-slight": lambda s: s.cloth.bleed_test is BleedTest.SLIGHT,
    # ink systems
    "all-discharge": lambda s: _tops_all(s, InkSystem.DISCHARGE),
    "not-all-discharge": lambda s: not _tops_all(s, InkSystem.DISCHARGE),
    "some-discharge": lambda s: InkSystem.DISCHARGE in _systems(s),
    "some-acrylic": lambda s: InkSystem.ACRYLIC in _systems(s),
    "some-water-based": lambda s: InkSystem.WATER_BASED in _systems(s),
    "some-silicone": lambda s: InkSystem.SILICONE in _systems(s),
    "base-discharge": lambda s: any(b.need.ink_system is InkSystem.DISCHARGE for b in s.bases),
    # discharge that must not meet a flash before the dryer
    "discharge-stays-wet": _discharge_stays_wet,
    "base-discharge-printed": lambda s: any(b.ink_system is InkSystem.DISCHARGE for b in s.base_screens),
    # a blend, polyester, or a dye that often does not go
    "discharge-doubtful": lambda s: s.cloth.polyester_share > 0 or bool(_doubtful_dyes() & _fabric_words(s)),
    # the plates
    "several-inks": lambda s: len(s.inks) > 1,
    "several-colours": lambda s: sum(i.need.role is Role.COLOUR for i in s.tops) > 1,
    "base-thinkable": lambda s: bool(s.tops),
    "no-base-plate": lambda s: not s.bases,
    "base-plate": lambda s: bool(s.bases),
    "blocker-plate": lambda s: bool(s.blockers),
    "no-white-ink": lambda s: not any(is_white(ink) for ink in s.tops),
    "tone-plates": lambda s: any(ink.need.kind is Kind.TONE for ink in s.inks),
    # dot and tone plates enough for a picture
    "blend-set": lambda s: len(s.blend_colours) >= threshold("blend_plates"),
    "numbered-files": lambda s: s.numbered,
    "highlight-over-inks": lambda s: any(s.on_other_inks(ink) > threshold("contact") for ink in s.highlights),
    "highlight-blend": lambda s: any(ink.need.kind in BLEND_KINDS for ink in s.highlights),
    "special-over-inks": lambda s: any(s.on_other_inks(ink) > threshold("contact") for ink in s.specials),
    "colours-hardly-overlap": _hardly_overlap,
    # black inks on black cloth
    "black-on-black": _black_on_black,
    "black-mostly-bare": lambda s: all(s.bare_share(ink) >= threshold("bare_share") for ink in s.black_inks),
    "black-partly-bare": lambda s: any(s.bare_share(ink) > 1 - threshold("bare_share") for ink in s.black_inks),
    "some-ink-near-black": lambda s: bool(s.black_inks),
    "not-only-near-black": lambda s: any(i.lightness > threshold("near_black_lightness") for i in s.tops),
    # a soft, muted print is usual on this cloth: tri-blends, ash and sport grey mixtures
    "soft-look-thinkable": lambda s: s.cloth.fabric == "tri-blend" or _heather_light(s),
    "soft-print-wanted": lambda s: s.answers.get("print-look") == "soft",
    "swatch-wanted-on-heather": lambda s: s.answers.get("print-look") == "match-swatch" and _heather_light(s),
    # need of base, judged ink by ink
    "no-ink-needs-base": lambda s: not s.weak,
    "some-inks-hide": lambda s: bool(s.hiding) and bool(s.weak),
    "only-whites-need-base": _only_whites_need_base,
    "only-plain-whites-need-base": lambda s: bool(s.weak) and all(is_plain_white(ink) for ink in s.weak),
    "dark-ink-needs-base": lambda s: bool(_dark_weak(s)),
    "only-dark-inks-need-base": lambda s: bool(s.weak) and len(_dark_weak(s)) == len(s.weak),
    "base-mostly-bare": _base_mostly_bare,
    # what is printed, as far as it is decided
    "base-printed": lambda s: bool(s.base_screens),
    "base-made": lambda s: s.answers.get("base") in ("under-some", "under-all"),
    "base-separated-printed": lambda s: any(screen.plate is not None for screen in s.base_screens),
    "base-solid": lambda s: all(screen.kind is Kind.SOLID for screen in s.base_screens),
    "base-stays-grey": _base_stays_grey,
    "base-or-own-white": lambda s: bool(s.base_screens or s.own_whites),
    "own-white-printed": lambda s: bool(s.own_whites),
    "white-or-base-printed": lambda s: any(
        screen.ink_system is not InkSystem.DISCHARGE
        for screen in (*s.base_screens, *(ink.need for ink in s.tops if is_white(ink)))
    ),
    "own-white-printed-twice": lambda s: any(s.prints_of(ink.name) > 1 for ink in s.own_whites),
    # a base, a blocker or a white that is its own base, with something to lie on it
    "under-screen-printed": lambda s: (
        (bool(s.under_screens) and len(s.screens) > len(s.under_screens))
        or any(s.on_own_white(white) for white in s.own_whites)
    ),
    "no-under-screen-printed": lambda s: not s.under_screens,
    "blocker-thinkable": lambda s: (
        bool(s.blockers) or (s.cloth.dyed_polyester and not _tops_all(s, InkSystem.DISCHARGE))
    ),
    "no-blocker-plate": lambda s: not s.blockers,
    "no-blocker-printed": lambda s: not _role_printed(s, Role.BLOCKER),
    "puff-printed": lambda s: _role_printed(s, Role.PUFF),
    "adhesive-printed": lambda s: _role_printed(s, Role.ADHESIVE),
    "several-screens": lambda s: len(s.screens) > 1,
    "flash-needed": _flash_needed,
    # what the limits of the plan hold
    "colours-not-parted": lambda s: not _colours_parted(s),
    "blends-held-wet": lambda s: bool(s.wet_blends),
    # press and policy
    "press-no-flash": lambda s: s.press.flash_units == 0 or not s.press.flash_slots,
    # base, flash, base again, flash, and all other screens after it
    "room-for-base-twice": lambda s: "base-hits" not in s.given_up and _room_for_twice(s),
    # all that is suggested does not fit together: what is given up first, and what only where that is not enough
    "no-room-before-specials": lambda s: "flash-before-specials" in s.given_up,
    "no-room-after-a-base": lambda s: "flash-after-base" in s.given_up,
    "no-room-for-a-blocker": lambda s: "blocker" in s.given_up,
    "no-room-for-a-base": lambda s: "base" in s.given_up,
    "press-has-room": lambda s: flashes_room(s) >= flashes_wanted(s),
    "press-has-some-room": lambda s: flashes_room(s) > (1 if s.under_screens else 0),
    "policy-discharge-base-wet": lambda s: s.shop.policies.discharge_base_wet,
}
