"""Sheet contents made by hand: an ordinary job, one that strains every page, and small variations."""

import dataclasses
import itertools

import numpy as np
import pytest

from setupassist.appearance.thumbnails import garment_picture
from setupassist.colour import lab_of
from setupassist.documents.job import Garment, Job, JobPlate, Override
from setupassist.documents.measure import Art, Finding, Measure, PlateMeasure
from setupassist.documents.plan import (
    Clash,
    DryerLoad,
    Estimate,
    GroupRest,
    Harm,
    Limits,
    Plan,
    Question,
    Reason,
    ScreenChoice,
    ScreenSetting,
    Slot,
    Strokes,
    Wish,
)
from setupassist.documents.press import Press
from setupassist.documents.shop import Dryer, FlashUnit, Ink, Policies, Shop, StockScreen
from setupassist.documents.terms import Fibre, InkSystem, Kind, Known, Role, Severity, StrategyName
from setupassist.sheet.content import Pictures, SheetContent
from setupassist.steps.needs import GroupNeeds, ScreenNeed, Steps
from setupassist.trade.cautions import cautions

# fmt: off
INKS = {
    "white base": ("base", "#f3f3f0", 218.4, 61, 64), "straw": ("colour", "#e8d377", 96.2, 77, 48),
    "brick": ("colour", "#b0432f", 41.7, 77, 48), "fern": ("colour", "#4a7a3a", 30.5, 77, 48),
    "harbour blue": ("colour", "#224f80", 64.8, 77, 48), "soot": ("key", "#222225", 38.9, 90, 48),
    "top white": ("highlight", "#fdfdfb", 9.6, 90, 48),
}
LIGHT_TO_DARK = Reason(
    rule="light-to-dark", text="Light before dark: what is picked up hides in the darker ink.", source="common practice"
)
UNDER = Reason(
    rule="base-before-its-colours",
    text="Base before the six colours that lie on it; gelled before they print, so that they stay clean.",
    source="published: Impressions, May 2011",
)


def settings(role, stencil=18.3):
    hard = {"base": "55/90/55", "key": "70/90/70"}.get(role, "65/90/65")
    return (
        ScreenSetting(name="frame", value="584 × 787", unit="mm", known=Known.ENTERED, source="the shop book"),
        ScreenSetting(name="tension", value=25.0, unit="N/cm", source="published: two guides"),
        ScreenSetting(name="stencil over mesh", value=stencil, unit="µm", known=Known.ESTIMATED, source="20 % of it"),
        ScreenSetting(name="squeegee hardness", value=hard, unit="Shore A", source="from memory"),
        ScreenSetting(name="squeegee width", value=340.0, unit="mm", known=Known.COMPUTED, source="ink 284 mm wide"),
        ScreenSetting(
            name="squeegee angle", value=75.0, unit="degrees from the screen", source="published: a supplier"
        ),
        ScreenSetting(name="squeegee pressure", value="the least that clears the mesh", source="trade articles agree"),
        ScreenSetting(name="stroke length", value=381.0, unit="mm", known=Known.COMPUTED, source="art 301 mm high"),
        ScreenSetting(name="off-contact", value=2.4, unit="mm", source="common practice"),
    )


def choice(ink, role, mesh_per_cm, thread_um, strokes=1, **more):
    return ScreenChoice(
        ink=ink, role=role, mesh_per_cm=mesh_per_cm,
        mesh_per_inch=None if mesh_per_cm is None else mesh_per_cm * 2.54, thread_um=thread_um, opening_um=90.0,
        open_area=0.3, ink_volume_cm3_m2=31.0, strokes=strokes,
        shaped_by=(Reason(rule="line", text="holds a line of 0.22 mm: 3 threads of 48 µm", source="from memory"),),
        settings=settings(role), **more,
    )


def need(ink, role, colour, area, **more):
    return ScreenNeed(
        ink, Role(role), more.pop("kind", Kind.SOLID), colour, lab_of(colour), area, InkSystem.PLASTISOL,
        plate=more.pop("plate", ink), ink_box_mm=more.pop("box", (61.0, 60.0, 284.0, 301.0)), **more,
    )


def lantern_plates():
    """Ink amounts of an invented picture: three lanterns over water."""
    y, x = np.mgrid[0:240, 0:220]
    lanterns = np.zeros(y.shape, bool)
    for at, top, half in ((60, 60, 26), (120, 20, 34), (175, 70, 22)):
        lanterns |= (abs(x - at) < half - abs(y - top - 45) / 8) & (abs(y - top - 45) < 45)
    water = (y > 165 + 6 * np.sin(x / 25)) & (y < 225) & (x > 25) & (x < 195)
    bank = (y > 150 + 8 * np.sin(x / 30)) & ~water & (y < 180) & (x > 25) & (x < 195)
    ribs = lanterns & ((x % 18) < 3)
    glints = water & (((y // 14) % 2) == 0) & (abs(x - 110) < 30) & (y % 14 < 4)
    stripes = lanterns & ((y // 18) % 2 == 0)
    union = lanterns | water | bank
    masks = {
        "white base": union, "straw": lanterns & ~stripes, "brick": stripes, "fern": bank,
        "harbour blue": water & ~bank, "soot": ribs, "top white": glints,
    }
    return {name: (mask * 255).astype(np.uint8) for name, mask in masks.items()}


def estimate(inks, **more):
    known = {
        "strokes": {
            ink: Strokes(per_piece=2 if "base" in ink else 1, total=(2 if "base" in ink else 1) * 300) for ink in inks
        },
        "cycle_seconds": 8.74, "paced_by": "flash at station 3", "extra_dwell_seconds": 2.0, "hand_paced": False,
        "pieces_per_hour": 412.3, "dozens_per_hour": 34.4, "run_minutes": 44.2,
        "ink_grams": {ink: 612.0 + 37 * at for at, ink in enumerate(inks)},
        "dryer": DryerLoad(
            needed_m_per_min=3.1, fastest_m_per_min=3.6, pieces_per_hour=470.0, dwell_seconds=71.0, limits_pace=False
        ),
        "press_pieces_per_hour": 412.3, "likely_pieces_per_hour": 329.8, "pieces_to_print": 300,
        "setup_minutes": 66.0, "lap_cycles_seconds": (8.74,),
    }
    return Estimate(**(known | more))


QUESTIONS = (
    Question(
        id="base", text="Which base does the garment need?", says="a base plate is there: 218 cm²",
        answers=("none", "as-separated", "under-all"), suggested="as-separated",
        reason="The set brings its own base and the cloth is dark.", source="common practice",
        answer="as-separated",
    ),
    Question(
        id="flash-before-highlight", text="Flash before the highlight?",
        says="9.6 cm² of highlight on four colours", answers=("yes", "no"), suggested="no",
        reason="Few cm²; another flash costs a head.", source="common practice",
    ),
    Question(
        id="base-hits", text="How is the base printed?", says="", answers=("one", "two-strokes"),
        suggested="two-strokes", reason="Dark cloth, 61 per cm.", source="common practice",
    ),
)


def wishes(*, proven=True, **told):
    return tuple(Wish(name=n, value=value, bound=bound, proven=proven) for n, (value, bound) in told.items())


def harm_of(inks, pairs):
    at = {ink: i for i, ink in enumerate(inks)}
    matrix = [[0.0] * len(inks) for _ in inks]
    for (one, two), value in pairs.items():
        matrix[at[one]][at[two]] = value
    return Harm(inks=tuple(inks), matrix=tuple(map(tuple, matrix)))


def ordinary_content(**changes):
    press = Press(
        name="Long bench", stations=12, load=1, unload=12, heads=tuple(range(2, 12)), out_of_service=(8,),
        flash_slots=(3, 4, 6, 10), flash_units=2, cooling_stations=1,
    )
    stations = dict(zip(INKS, (2, 5, 6, 7, 9, 10, 11), strict=True))
    slots = [
        Slot(
            lap=1, station=stations[ink], holds="screen", ink=ink, strokes=2 if role == "base" else 1,
            mesh_per_cm=mesh, mesh_per_inch=round(mesh * 2.54),
            reasons=(UNDER if role == "base" else LIGHT_TO_DARK,),
        )
        for ink, (role, _, _, mesh, _) in INKS.items()
    ]
    slots.insert(
        1,
        Slot(
            lap=1, station=3, holds="flash", seconds=4.0,
            reasons=(
                Reason(rule="flash", text="Gels the base before six colours print on it.", source="common practice"),
            ),
        ),
    )
    needs = tuple(need(ink, role, colour, area) for ink, (role, colour, area, _, _) in INKS.items())
    limits = Limits(
        order=(("white base", "straw"),), flash_between=(("white base", "straw"),), alone_until_flash=("white base",)
    )
    garment = Garment(name="charcoal tee", colour="#35363c", fibre=Fibre.COTTON, grams_per_m2=180.0, pieces=288)
    plan = Plan(
        strategy=StrategyName.LEANEST, feasible=True, assumed=("flash-before-highlight", "base-hits"),
        slots=tuple(slots),
        wishes=wishes(laps=(1, 1), flash_units=(1, 1), wet_harm=(118.0, 118.0), departures=(1, 1)), limits=limits,
        standard_order=tuple(INKS),
        harm=harm_of(
            INKS,
            {
                ("straw", "brick"): 41.0, ("brick", "straw"): 108.0, ("straw", "fern"): 33.0,
                ("fern", "harbour blue"): 44.0,
            },
        ),
        estimate=estimate(INKS), press="Long bench", questions=QUESTIONS,
        screens=tuple(
            choice(ink, role, mesh, thread, 2 if role == "base" else 1)
            for ink, (role, _, _, mesh, thread) in INKS.items()
        ),
    )
    steps = Steps(
        questions=QUESTIONS, assumed=plan.assumed, screens=needs, overlaps={}, limits=limits,
        standard_order=tuple(INKS), groups=(GroupNeeds(garment, tuple(INKS), limits),), neediest=0,
        art_box_mm=(61.0, 60.0, 284.0, 301.0),
        cautions=(
            "stop-and-lock-out", "moving-platens", "flash-burn-and-fire", "scorch", "dryer-by-film",
            "read-the-sheets",
        ),
        notes=("The base lies under all six colours.",),
    )
    plates = lantern_plates()
    picture = garment_picture(list(plates.values()), [INKS[name][1] for name in plates], "#35363c")
    known = {
        "job": Job(
            format="setupassist-job/1", title="Lantern Walk tee, front", location="front",
            placement="75 mm below the collar", pieces=288, sizes={"S": 48, "M": 96, "L": 96, "XL": 48}, spares=12,
            garment=garment, plates=tuple(JobPlate(file=f"plates/{ink}.png", ink=ink) for ink in INKS),
            press="Long bench", overrides={"soot": Override(mesh_per_inch=230.0)}, pins={"soot": 10},
        ),
        "plan": plan, "steps": steps, "press": press, "shop": shop(),
        "measure": Measure(
            art=Art(
                source="plates", width_mm=406.0, height_mm=432.0, pixels_per_cm=236.2,
                art_box_mm=(61.0, 60.0, 284.0, 301.0),
            ),
            plates=tuple(PlateMeasure(name=n.ink, lab=n.lab, ink_area_cm2=n.ink_area_cm2, role=n.role) for n in needs),
        ),
        "date": "3 March 2031", "version": "0.1.0",
        "findings": (
            Finding(
                code="line-too-fine", severity=Severity.WARN, plates=("top white",), measured=0.12, limit=0.14,
                text="Top white has a line of 0.12 mm over 14 mm; the finest stock screen holds 0.14 mm.",
            ),
            Finding(
                code="specks", severity=Severity.NOTE, plates=("soot",),
                text="Soot has three islands too small to hold.",
            ),
        ),
        "pictures": Pictures(picture, plates),
    }
    return SheetContent(**(known | changes))


def shop():
    return Shop(
        format="setupassist-shop/1", name="Corner shop", policies=Policies(),
        screens=(
            StockScreen(mesh_per_cm=61.0, thread_um=64.0, quantity=4),
            StockScreen(mesh_per_cm=77.0, thread_um=48.0, quantity=8),
        ),
        inks=(
            Ink(name="soot", colour="#222225", contrast_ratio=0.98, at_um=60.0, density=1.1),
            Ink(name="white base", colour="#f3f3f0", role=Role.BASE, low_bleed=True, density=1.35),
        ),
        flash_units=(FlashUnit(name="quartz", quantity=2),),
        dryers=(Dryer(name="long belt", heated_length_mm=3660.0),),
    )


LONG_START = (
    "under-base white, soft hand, second mixing of the week <b>& not the first one</b>", "雪山 snow white",
    "Donaudampfschifffahrtsgesellschaftskapitänsmützenkartusche dunkelblaugrauviolett",
)


def long_names(count):
    words = itertools.cycle(
        [
            "weathered copper roof tile in the late evening", "harbour", "grass green after rain",
            "midnight violet with a long and winding name that goes on to the end", "soot & ash",
        ]
    )
    names = [name[:80] for name in LONG_START]
    while len(names) < count:
        names.append(f"{next(words)} {len(names)}"[:80])
    return names[:count]


def stress_content(*, stations=20, laps=2, count=12, garments=8, hand_made=True, **changes):
    """Twelve inks with names up to 80 characters, twenty stations, two laps, eight garment groups, broken limits."""
    names = long_names(count)
    palette = ["#f3f3f0", "#ffffff", "#1d2a6c", "#b5651d", "#1f4f7a", "#4c9a2a", "#3a1d6e", "#202020", "#ffd000",
               "#e0457b", "#00a0a0", "#808080"]
    way = list(range(2, stations))
    press = Press(
        name="The long press at the far end of the old hall, the one with the green cover", stations=stations,
        load=1, unload=stations, heads=tuple(s for s in way if s != 5),
        out_of_service=(stations - 2,) if stations > 8 else (),
        flash_slots=tuple(s for s in (3, 4, 5, 9) if s in way), flash_units=3, max_laps=laps, cooling_stations=1,
    )
    meshes = [43, 61, None, *([77] * 5), *([120] * count)]
    slots = [
        Slot(
            lap=1, station=2, holds="screen", ink=names[0], strokes=2, mesh_per_cm=43.0, mesh_per_inch=110.0,
            reasons=(UNDER, LIGHT_TO_DARK),
        ),
        Slot(lap=1, station=3, holds="flash", seconds=4.5, reasons=(UNDER,)),
    ]
    if laps > 1:
        slots.append(Slot(lap=2, station=2, holds="screen", ink=names[0], strokes=1))
        slots.append(Slot(lap=2, station=9, holds="flash", seconds=3.2))
    free = [s for s in way if s not in (2, 3, 9)] if stations < 20 else [s for s in way if s not in (2, 3, 4, 9, 12)]
    for at, name in enumerate(names[1:]):
        mesh = meshes[at + 1]
        slots.append(
            Slot(
                lap=laps, station=free[at], holds="screen", ink=name, mesh_per_cm=mesh,
                mesh_per_inch=None if mesh is None else round(mesh * 2.54),
                reasons=(
                    LIGHT_TO_DARK,
                    Reason(rule="x", text="A second reason & more <words> " * 4, source=f"source {at}"),
                ),
            )
        )
    needs = tuple(
        need(
            name, "base" if at == 0 else "colour", palette[at % 12], 30.0 + at, box=(10.0 * at, 5.0, 200.0, 240.0),
            plate=None if at == 0 else name,
        )
        for at, name in enumerate(names)
    )
    limits = Limits(alone_until_flash=(names[0],))
    groups = tuple(
        Garment(
            name=f"garment group {at}, {'heavy long-sleeved shirt with a hood' if at % 2 else 'tee'}",
            colour=palette[at], pieces=1_250 * (at + 1), fibre=Fibre.BLEND,
        )
        for at in range(garments)
    )
    arrangement = tuple(slots) if hand_made else None
    harm = harm_of(names, {(a, b): 7.3 * (i + 1) for i, (a, b) in enumerate(itertools.pairwise(names))})
    plan = Plan(
        strategy=StrategyName.CLEANEST, feasible=True, assumed=tuple(q.id for q in QUESTIONS), slots=tuple(slots),
        wishes=wishes(laps=(laps, 1), wet_harm=(512.0, 90.0), proven=False), limits=limits,
        standard_order=tuple(names), harm=harm,
        groups=tuple(
            GroupRest(garment=g.name, pieces=g.pieces, rest=(names[0], "flash at 3") if at else ())
            for at, g in enumerate(groups)
        ),
        estimate=estimate(names, hand_paced=True, run_minutes=6412.0, lap_cycles_seconds=(8.7, 9.2)),
        press=press.name, questions=QUESTIONS, notes=("A note of the planner that is rather long. " * 3,),
        broken=(
            f"{names[1 % count]} prints over {names[2 % count]}, but the order asks for it the other way round",
            "the head at station 18 is out of service", "no flash acts between the base and five of its colours",
        ),
        screens=tuple(
            choice(
                name, "base" if at == 0 else "colour", meshes[at], 48.0 if meshes[at] else None,
                nearest="77 per cm with 55 µm thread, short by one screen" if meshes[at] is None else None,
            )
            for at, name in enumerate(names)
        ),
    )
    steps = Steps(
        questions=QUESTIONS, assumed=plan.assumed, screens=needs, overlaps={}, limits=limits,
        standard_order=tuple(names), groups=tuple(GroupNeeds(g, tuple(names), limits) for g in groups),
        neediest=min(2, max(0, garments - 1)), art_box_mm=(0.0, 5.0, 310.0, 240.0), cautions=tuple(cautions()),
        notes=("A note & <more>.",) * 3,
    )
    rng = np.random.default_rng(5)
    pictures = Pictures(
        rng.integers(0, 255, (180, 300, 3), dtype=np.uint8),
        {name: rng.integers(0, 255, (120, 40 + 30 * (at % 3)), dtype=np.uint8) for at, name in enumerate(names[1:])},
    )
    job = Job(
        format="setupassist-job/1",
        title="Harvest & <Home> fair of the seven villages, front and a very long title indeed " + "x" * 60,
        location="left sleeve, from the shoulder seam down",
        placement="75 mm below the collar, centred between the seams " * 3,
        sizes={} if not garments else {f"size {n}": sum(g.pieces for g in groups) // 10 for n in range(10)},
        garments=groups, plates="plates", press=press.name, arrangement=arrangement,
        keep_empty=(12,) if stations > 18 else (),
        overrides={names[min(4, count - 1)]: Override(off_contact_mm=3.0, strokes=2)},
        flash_seconds={3: 4.5},
    )
    known = {
        "job": job, "plan": plan, "steps": steps, "press": press, "shop": shop(),
        "measure": Measure(
            plates=tuple(PlateMeasure(name=n.ink, lab=n.lab, ink_area_cm2=n.ink_area_cm2) for n in needs)
        ),
        "date": "3 March 2031", "version": "0.1.0", "pictures": pictures,
        "findings": tuple(
            Finding(
                code="base-peeks-out", severity=severity, plates=(names[0],),
                text=f"Base peeks out by {n}.12 mm <&> along " * 3,
            )
            for n, severity in enumerate([Severity.STOP, Severity.WARN, Severity.NOTE] * 3)
        ),
    }
    return SheetContent(**(known | changes))


@pytest.fixture(scope="session")
def ordinary():
    return ordinary_content()


@pytest.fixture(scope="session")
def stress():
    return stress_content()


@pytest.fixture(scope="session")
def make_ordinary():
    return ordinary_content


@pytest.fixture(scope="session")
def make_stress():
    return stress_content


@pytest.fixture(scope="session")
def infeasible():
    content = ordinary_content()
    plan = content.plan.model_copy(
        update={"feasible": False, "slots": (), "clash": Clash(limits=("nine screens on eight heads",))}
    )
    return dataclasses.replace(content, plan=plan)
