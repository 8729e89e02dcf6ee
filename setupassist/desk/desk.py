"""The job on the desk with all that is known of it, and what has to be worked out next.

It knows no Qt and starts no thread: ``wanted()`` tells the tasks, a face runs them wherever it likes and brings each
answer back with ``take`` or ``fail``. Each answer carries the key of what it was worked out from, so an answer to an
older question is dropped, and what is shown is known to be fresh or not.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any

from setupassist import pipeline
from setupassist.desk.opening import Opened
from setupassist.desk.sound_plates import SoundPlates, damaged_file, open_sound, with_gaps, without_missing
from setupassist.desk.tasks import Progress, Stage, Stop, Task
from setupassist.documents.job import Job, SheetChoice
from setupassist.documents.measure import Measure
from setupassist.documents.press import Press
from setupassist.documents.shop import Shop
from setupassist.documents.terms import UNDER_ROLES, StrategyName
from setupassist.errors import InputFault, SetupAssistError
from setupassist.work import Work, press_of

if TYPE_CHECKING:
    from setupassist.appearance.thumbnails import Thumb
    from setupassist.art.plates import PlateSet
    from setupassist.pipeline import Measured, Planned

SECONDS_FOR_A_PLAN = 30.0
PICTURE_PX = 1400

Key = tuple[Any, ...]


@dataclass(frozen=True)
class SheetWish:
    """How the sheet is printed: what a face knows besides the job."""

    date: str
    language: str = "en"
    paper: str | None = None
    units: str | None = None


@dataclass(frozen=True)
class Answer:
    """What was worked out, and from what."""

    value: Any
    key: Key = field(repr=False)


@dataclass(frozen=True)
class Results:
    """All that is known of the job; each part may be of an older state of it (see ``Desk.fresh``).

    ``unread`` tells what is wrong with plates that could not be read: all else is known without them.
    ``pictures`` holds mean ink 0..255, (rows, columns) uint8, by ink. ``plans`` holds the plan of each strategy,
    ``made`` the plan that the sheet prints: the chosen strategy's, or the hand-made one.
    """

    plates: PlateSet | Measure | None = None
    unread: tuple[InputFault, ...] = ()
    pictures: Mapping[str, Thumb] = field(default_factory=dict)
    measured: Measured | None = None
    plans: Mapping[StrategyName, Planned] = field(default_factory=dict)
    made: Planned | None = None
    sheet: bytes | None = None


class Desk:
    """One job, one shop book, and what is known. Functions are called from one thread only.

    ``units`` are the person's (inch or metric) where they are not the shop's.
    """

    def __init__(self, shop: Shop) -> None:
        self.shop = shop
        self.opened: Opened | None = None
        self.sheet_wish: SheetWish | None = None
        self.units: str | None = None
        self._answers: dict[tuple[Stage, str], Answer] = {}
        self._failed: dict[tuple[Stage, str], tuple[Key, SetupAssistError]] = {}
        self._damaged: tuple[Key, dict[str, InputFault]] = (), {}
        self._turn = object()
        self._remembered_of: tuple[object, ...] = ()
        self._remembered: dict[Key, Any] = {}

    # ------------------------------------------------------------ what stands on the desk

    def open(self, opened: Opened) -> None:
        """Another job takes the desk; nothing of the old one stays."""
        self.opened = opened
        self._answers.clear()
        self._failed.clear()
        self._turn = object()

    def close(self) -> None:
        """The desk is empty."""
        self.opened = None
        self._answers.clear()
        self._failed.clear()
        self._turn = object()

    @property
    def job(self) -> Job:
        """The job as it is now."""
        assert self.opened is not None, "no job is open"
        return self.opened.job

    def put(self, job: Job) -> None:
        """The job after an edit."""
        assert self.opened is not None, "no job is open"
        self.opened = replace(self.opened, job=job)

    def put_shop(self, shop: Shop) -> None:
        """The shop book after an edit."""
        self.shop = shop

    def saved(self, job: Job) -> None:
        """The job's file holds ``job`` now."""
        assert self.opened is not None, "no job is open"
        self.opened = replace(self.opened, saved=job)

    @property
    def modified(self) -> bool:
        """Whether the job holds what its file does not."""
        return self.opened is not None and self.opened.job != self.opened.saved

    def once(self, what: Key, work_out: Callable[[], Any]) -> Any:
        """What was worked out before, as long as job, shop, sheet wish and answers are the same ones.

        Places ask for the same things many times a turn, and keys of whole jobs are slow to make and to compare.
        """
        now = self.opened, self.shop, self.sheet_wish, self._turn
        if len(self._remembered_of) != len(now) or any(
            a is not b for a, b in zip(self._remembered_of, now, strict=True)
        ):
            self._remembered_of = now
            self._remembered.clear()
        if what not in self._remembered:
            self._remembered[what] = work_out()
        return self._remembered[what]

    @property
    def press(self) -> Press | None:
        """The press that the job runs on; None where the shop book has none of that name."""
        found: Press | None = self.once(("press",), self._press)
        return found

    def _press(self) -> Press | None:
        try:
            return press_of(self.job, self.shop, self.opened.where) if self.opened else None
        except InputFault:
            return None

    @property
    def work(self) -> Work | None:
        """The job ready for the pipeline; None without a job or its press."""
        work: Work | None = self.once(("work",), self._work)
        return work

    def _work(self) -> Work | None:
        press = self.press
        if self.opened is None or press is None:
            return None
        return Work(self.job, self.opened.folder, self.shop, press, self.opened.where)

    # ------------------------------------------------------------ what is known

    @property
    def results(self) -> Results:
        """All that is known, fresh or not."""
        plans = {name: self._value(Stage.PLANS, name) for name in StrategyName}
        sound: SoundPlates | None = self._value(Stage.PLATES)
        return Results(
            plates=sound.plates if sound is not None else None,
            unread=sound.unread if sound is not None else (),
            pictures=self._value(Stage.PICTURES) or {},
            measured=self._value(Stage.MEASURED),
            plans={name: plan for name, plan in plans.items() if plan is not None},
            made=self._value(Stage.MADE),
            sheet=self._value(Stage.SHEET),
        )

    def _value(self, stage: Stage, part: str = "") -> Any:
        answer = self._answers.get((stage, part))
        return None if answer is None else answer.value

    def fresh(self, stage: Stage, part: str = "") -> bool:
        """Whether what is known of a stage was worked out from the job as it is now."""
        found: bool = self.once(("fresh", stage, part), lambda: self._fresh(stage, part))
        return found

    def _fresh(self, stage: Stage, part: str) -> bool:
        answer, key = self._answers.get((stage, part)), self._key(stage, part)
        return answer is not None and key is not None and answer.key == key

    def trouble(self, stage: Stage, part: str = "") -> tuple[str, ...]:
        """Why a stage could not be worked out from the job as it is now, a sentence each; () where it could."""
        if stage is Stage.PLATES and self.opened is not None and self.press is None:
            try:
                press_of(self.job, self.shop, self.opened.where)
            except InputFault as fault:
                return tuple(fault.sentences())
        failed = self._failed.get((stage, part))
        if failed is None or failed[0] != self._key(stage, part):
            return ()
        return tuple(failed[1].sentences())

    def again(self, stage: Stage, part: str = "") -> None:
        """Lets a stage that failed or was stopped be tried again; files that could not be read are opened anew."""
        self._turn = object()
        self._failed.pop((stage, part), None)
        if stage is Stage.PLATES:
            self._damaged = (), {}
            if self.results.unread:
                self._answers.pop((stage, part))

    # ------------------------------------------------------------ what it depends on

    def _key(self, stage: Stage, part: str = "") -> Key | None:
        """All that a stage depends on; None while what it needs is not known or the job cannot be worked on."""
        key: Key | None = self.once(("key", stage, part), lambda: self._key_of(stage, part))
        return key

    def _key_of(self, stage: Stage, part: str) -> Key | None:
        work = self.work
        if work is None:
            return None
        job = work.job
        if stage is Stage.PLATES:
            files = self._files(work)
            return *files, *self._damaged_of(files)
        if stage in (Stage.PICTURES, Stage.MEASURED):
            sound: SoundPlates | None = self._current(Stage.PLATES)
            if sound is None:
                return None
            key = self._key(Stage.PLATES)
            assert key is not None
            key = *key, *(fault.where for fault in sound.unread)
            if stage is Stage.PICTURES or isinstance(sound.plates, Measure):
                return key
            return *key, pipeline.labels_of(without_missing(work, sound).job, sound.plates, work.shop)
        if stage is Stage.PLANS:
            key = self._key(Stage.MEASURED)
            if key is None or not self.fresh(Stage.MEASURED):
                return None
            return *key, _for_the_plan(job), work.press, work.shop, part
        if stage is Stage.MADE:
            if not self.fresh(Stage.PLANS, job.strategy):
                return None
            return job.strategy, job.arrangement, self._answers[Stage.PLANS, job.strategy].key
        if self.sheet_wish is None or not self.fresh(Stage.MADE):
            return None
        return job, work.press, work.shop, self._answers[Stage.MADE, ""].key, self.sheet_wish

    @staticmethod
    def _files(work: Work) -> Key:
        plates = work.job.plates
        files = tuple((p.file, p.ink) for p in plates) if isinstance(plates, tuple) else plates
        return work.folder, files, work.job.source

    def _damaged_of(self, files: Key) -> dict[str, InputFault]:
        """Files of those plates whose damage showed when they were read."""
        of, damaged = self._damaged
        return damaged if of == files else {}

    def _current(self, stage: Stage, part: str = "") -> Any:
        return self._value(stage, part) if self.fresh(stage, part) else None

    # ------------------------------------------------------------ what is to be done

    def wanted(self) -> Iterator[Task]:
        """Every task that can be begun now and has neither been answered nor failed, the most urgent first."""
        work = self.work
        if work is None:
            return
        for stage in Stage:
            for part in self._parts(stage):
                key = self._key(stage, part)
                if key is None or self.fresh(stage, part) or self._failed.get((stage, part), (None,))[0] == key:
                    continue
                run = self._runner(work, stage, part)
                if run is not None:
                    yield Task(stage, key, run, part)

    def _parts(self, stage: Stage) -> tuple[str, ...]:
        if stage is not Stage.PLANS:
            return ("",)
        chosen = self.job.strategy
        return (chosen, *(name for name in StrategyName if name is not chosen))

    def _runner(self, work: Work, stage: Stage, part: str) -> Any:
        results = self.results
        if stage is Stage.PLATES:
            damaged = self._damaged_of(self._files(work))
            return lambda progress, stop: open_sound(work, damaged=damaged)
        sound: SoundPlates = self._value(Stage.PLATES)
        work = without_missing(work, sound)
        if stage is Stage.PICTURES:
            plates = results.plates
            if plates is None or isinstance(plates, Measure):
                return None
            return lambda progress, stop: _pictures(plates, stop)
        if stage is Stage.MEASURED:
            return self._measuring(work, sound.unread)
        measured = results.measured
        assert measured is not None
        if stage is Stage.PLANS:
            asked = work.with_strategy(part)
            return lambda progress, stop: pipeline.make_plan(
                asked, measured, time_limit_seconds=SECONDS_FOR_A_PLAN, stop=stop
            )
        if stage is Stage.MADE:
            planned = results.plans[work.job.strategy]
            return lambda progress, stop: pipeline.hand_made(work, planned)
        made, wish = results.plans[work.job.strategy], self.sheet_wish
        assert wish is not None
        return lambda progress, stop: _sheet(work, results, made, wish)

    def _measuring(self, work: Work, unread: tuple[InputFault, ...]) -> Any:
        plates = self.results.plates
        assert plates is not None
        if isinstance(plates, Measure):
            return lambda progress, stop: pipeline.Measured(plates, None)
        known = self._answers.get((Stage.MEASURED, ""))
        key = self._key(Stage.MEASURED)
        if known is not None and key is not None and known.key[:-1] == key[:-1] and known.value.plates is plates:
            labels, before = key[-1], known.key[-1]
            if [_under(label) for label in labels] == [_under(label) for label in before]:
                old = known.value
                return lambda progress, stop: pipeline.Measured(pipeline.relabelled(old.measure, labels), old.plates)
        return lambda progress, stop: _measured(work, plates, unread, progress, stop)

    # ------------------------------------------------------------ what came of it

    def take(self, task: Task, value: Any) -> bool:
        """An answer; False where the job has moved on and nobody asks that question any more."""
        if self.opened is None or self._key(task.stage, task.part) != task.key:
            return False
        self._turn = object()
        self._answers[task.stage, task.part] = Answer(value, task.key)
        self._failed.pop((task.stage, task.part), None)
        return True

    def fail(self, task: Task, error: SetupAssistError) -> bool:
        """A task that found no answer; it is not tried again before the job changes or ``again`` asks."""
        if self.opened is None or self._key(task.stage, task.part) != task.key:
            return False
        file = damaged_file(error, self.results.plates) if task.stage in (Stage.PICTURES, Stage.MEASURED) else None
        work = self.work
        if file is not None and isinstance(error, InputFault) and work is not None:
            files = self._files(work)
            self._damaged = files, {**self._damaged_of(files), file: error}
        else:
            self._failed[task.stage, task.part] = (task.key, error)
        self._turn = object()
        return True

    def outdated(self, task: Task) -> bool:
        """Whether nobody asks any more what a running task works out."""
        return self.opened is None or self._key(task.stage, task.part) != task.key


def _under(label: tuple[Any, Any]) -> Any:
    """What pixels are measured by: a base's own role, and whether an ink lies under or over."""
    role, _ = label
    return role if role in UNDER_ROLES else None


def _sheet(work: Work, results: Results, planned: Planned, wish: SheetWish) -> bytes:
    """The sheet, its pictures made of those that the desk has drawn already."""
    from setupassist.sheet.pictures import pictures_of

    measured, made = results.measured, results.made
    assert measured is not None
    assert made is not None
    names = {plate.name for plate in measured.plates.plates} if measured.plates is not None else set()
    pictures = None
    if names and names == set(results.pictures) and made.plan.feasible:
        thumbs = {name: _halved(thumb) for name, thumb in results.pictures.items()}
        pictures = pictures_of(
            measured.plates, measured.measure, made.steps, made.plan, press=work.press, thumbs=thumbs
        )
    return pipeline.make_sheet(
        work,
        measured,
        planned,
        date=wish.date,
        paper=wish.paper,
        units=wish.units,
        language=wish.language,
        pictures=pictures,
    )


def _halved(thumb: Thumb) -> Thumb:
    """The picture at half its size where it is larger than paper shows."""
    rows, columns = (length - length % 2 for length in thumb.shape)
    if max(rows, columns) < PICTURE_PX // 2 or not rows or not columns:
        return thumb
    quads = thumb[:rows, :columns].reshape(rows // 2, 2, columns // 2, 2)
    halved: Thumb = quads.mean(axis=(1, 3)).round().astype(thumb.dtype)
    return halved


def _measured(
    work: Work, plates: PlateSet, unread: tuple[InputFault, ...], progress: Progress, stop: Stop
) -> pipeline.Measured:
    """What the plates show. The window asks for the findings at once: what they are judged by is read here for it."""
    from setupassist.check.findings import findings_of_plates

    measured = with_gaps(pipeline.measure_job(work, plates=plates, progress=progress, stop=stop), unread)
    findings_of_plates(measured.measure, shop=work.shop)
    return measured


def _pictures(plates: PlateSet, stop: Stop) -> dict[str, Thumb]:
    from setupassist.appearance.thumbnails import thumbnails

    thumbs = thumbnails(plates, longest_px=PICTURE_PX, stop=stop)
    return dict(zip([plate.name for plate in plates.plates], thumbs, strict=True))


def _for_the_plan(job: Job) -> Job:
    """The job without what the planner does not look at."""
    neutral: dict[str, Any] = {
        "title": "",
        "location": "",
        "placement": "",
        "sheet": SheetChoice(),
        "arrangement": None,
    }
    return job.model_copy(update=neutral | {"strategy": StrategyName.LEANEST})
