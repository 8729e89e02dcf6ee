"""The check of a set before film is made: its findings, with or without a job, and the base that it lacks."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from setupassist.documents.measure import Finding, Measure
from setupassist.documents.shop import Shop
from setupassist.documents.terms import Severity
from setupassist.errors import InputFault
from setupassist.pipeline import Measured, measured_at, sheet_language, steps_and_screens
from setupassist.quantities import CM_PER_INCH, Units, inches
from setupassist.words import joined, say
from setupassist.work import Work

if TYPE_CHECKING:
    from setupassist.check.base_plate import Carried

Progress = Callable[[float], None]
Stop = Callable[[], bool]
PNG_ENDINGS, TIFF_ENDINGS = (".png",), (".tif", ".tiff")
MOST_CHOKE_MM = 10.0


@dataclass(frozen=True)
class Checked:
    """A set that was checked: what it shows, its findings worst first, the job where there is one, the shop's book."""

    measured: Measured
    findings: tuple[Finding, ...]
    work: Work | None
    shop: Shop

    @property
    def measure(self) -> Measure:
        """What the plates show."""
        return self.measured.measure

    @property
    def stops(self) -> bool:
        """Whether a finding would stop the job."""
        return any(finding.severity is Severity.STOP for finding in self.findings)


def check_path(
    path: Path,
    *,
    shop: Shop,
    dpi: float | None = None,
    light_is_ink: bool = False,
    page: int | None = None,
    base: str | None = None,
    units: str | None = None,
    progress: Progress | None = None,
) -> Checked:
    """The findings of the plates, or of the job, at ``path``.

    Plates alone leave out what needs a garment or a press. A job is worked out as far as its screens: no station is
    looked for. Plates that differ in size are told by their finding; nothing else is known of them. ``units`` (inch or
    metric), else the job's, else the shop's, are those in which findings tell lengths.
    """
    from setupassist.check.findings import findings_of_job, findings_of_plates

    measured, work = measured_at(
        path, shop=shop, dpi=dpi, light_is_ink=light_is_ink, page=page, base=base, progress=progress
    )
    shop = shop.in_units(units or (work.units if work is not None else shop.policies.units))
    if work is None or measured.measure.unread:
        return Checked(measured, findings_of_plates(measured.measure, shop=shop), work, shop)
    work = replace(work, shop=shop)
    steps, screens = steps_and_screens(work, measured)
    findings = findings_of_job(
        measured.measure, steps, screens, press=work.press, shop=shop, keep_empty=work.job.keep_empty
    )
    return Checked(measured, findings, work, shop)


def make_report(
    checked: Checked, *, date: str, paper: str | None = None, units: str | None = None, language: str | None = None
) -> bytes:
    """The report of a check as a PDF.

    ``date`` is printed as it is told. Left out, ``paper`` is the job's, without a job the shop's; ``units`` are those
    in which the findings tell lengths; ``language`` is the job's, without a job English. Raises InputFault for a
    language that there is no catalogue of.
    """
    from setupassist import __version__
    from setupassist.sheet.report import check_report
    from setupassist.sheet.report_content import Report, art_of, loupes_of

    work, measure, plates = checked.work, checked.measure, checked.measured.plates
    language = sheet_language(work, language)
    cloth = work.job.groups[0].colour if work is not None else None
    measured = plates is not None and not measure.unread
    report = Report(
        title=measure.art.source if work is None else work.job.title,
        about=_about(checked),
        measure=measure,
        findings=checked.findings,
        date=date,
        version=__version__,
        shop=checked.shop.name,
        cloth=cloth,
        art=art_of(plates, measure, checked.findings, cloth=cloth) if plates is not None and measured else None,
        loupes=loupes_of(plates, measure, checked.findings) if plates is not None and measured else (),
    )
    return check_report(
        report,
        paper=paper or (checked.shop.policies.paper if work is None else work.paper),
        units=units or checked.shop.policies.units,
        language=language,
    )


def _about(checked: Checked) -> tuple[str, ...]:
    """A few texts on the set, and on the job where there is one."""
    from setupassist.sheet.unit_words import number

    art, work, unit = checked.measure.art, checked.work, Units(checked.shop.policies.units)
    sides = art.width_mm, art.height_mm
    told: list[str] = [say("report.about.plates", count=len(checked.measure.plates))]
    if art.width_mm and art.height_mm:
        if unit is Units.METRIC:
            size = say("sheet.units.size-mm", wide=f"{sides[0]:.0f}", high=f"{sides[1]:.0f}")
        else:
            size = say("sheet.units.size-inch", wide=number(inches(sides[0])), high=number(inches(sides[1])))
        told.append(say("report.about.of-size", size=size))
    if art.pixels_per_cm is not None:
        told.append(say("report.about.resolution", dpi=number(art.pixels_per_cm * CM_PER_INCH)))
    if work is not None:
        told.append(say("report.about.press", press=work.press.name))
        told.append(say("report.about.garment", garment=work.job.groups[0].name))
    return tuple(told)


def check_base_file(output: Path) -> None:
    """InputFault where no base can be written to ``output``: by its ending, its folder, or what lies there already.

    MachineFault where the file that lies there cannot be read.
    """
    from setupassist.art.files import label
    from setupassist.art.writing import check_free

    if output.suffix.lower() not in (*PNG_ENDINGS, *TIFF_ENDINGS):
        raise InputFault(label(output), say("check.base.wrong-ending"), say("check.base.which-ending"))
    if not output.absolute().parent.is_dir():
        raise InputFault(label(output, whole=True), say("art.writing.nowhere"), say("art.file.check-path"))
    check_free(output)


def make_base(
    measured: Measured,
    output: Path,
    *,
    under: Sequence[str],
    choke_mm: float,
    progress: Progress | None = None,
    stop: Stop | None = None,
) -> Carried:
    """Writes the base of a measured set as PNG or TIFF, by the ending of ``output``; the inks that it goes under.

    Raises what ``check_base_file`` does, InputFault for plates that cannot be laid over one another and for figures
    without plates, Cancelled where ``stop`` answers True, and then nothing is written.
    """
    from setupassist.art.png_writing import write_png
    from setupassist.art.writing import write_plate
    from setupassist.check.base_plate import base_bands, base_is_two_level, carried_inks

    plates, measure = measured.plates, measured.measure
    check_base_file(output)
    if plates is None or plates.dpi is None:
        raise InputFault(measure.art.source, say("check.base.figures-only"), say("check.base.name-plates"))
    if measure.unread:
        told = measure.unread[0]
        raise InputFault(measure.art.source, told.text, told.remedy or "")
    carried = carried_inks(measure, under)
    bands = base_bands(plates, measure, under=carried.under, choke_mm=choke_mm, progress=progress, stop=stop)
    first = plates.plates[0]
    if output.suffix.lower() in PNG_ENDINGS:
        two_level = base_is_two_level(plates, carried.under)
        write_png(output, bands, columns=first.columns, rows=first.rows, dpi=plates.dpi, two_level=two_level)
    else:
        name = str(say("check.base.name"))
        write_plate(output, bands, columns=first.columns, rows=first.rows, dpi=plates.dpi, name=name)
    return carried


def base_told(carried: Carried, output: Path, *, choke_mm: float, units: Units) -> str:
    """What was made, in a sentence: where it lies, which inks it goes under, and how far it is drawn in."""
    from setupassist.check.ground import length_words

    told = {"file": str(output), "under": joined(carried.under), "choke": length_words(choke_mm, units)}
    if not carried.without:
        return say("check.base.made", **told)
    return say("check.base.made-without", without=joined(carried.without), **told)
