"""The limits between the screens of one garment group: the job's own, and those that art and answers bring.

The job's own pairs come first, and a circle among them is a fault of the job. A derived pair that would close a
circle, or break a flash that the job forbids, is left out and told: the person decides.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from itertools import product

from setupassist.documents.job import Job
from setupassist.documents.plan import Limits, Pair
from setupassist.documents.terms import SPECIAL_ROLES, UNDER_ROLES, InkSystem, Kind, Role
from setupassist.errors import InputFault
from setupassist.steps.needs import ScreenNeed
from setupassist.steps.order_book import Circle, OrderBook
from setupassist.steps.scene import BLEND_KINDS, Overlaps, threshold
from setupassist.steps.standard_order import RANKS
from setupassist.words import joined, say

ON_TOP_ROLES = frozenset({Role.KEY, Role.HIGHLIGHT}) | SPECIAL_ROLES
MOST_PAIRS_TOLD = 3
UNFLASHED_ROLES = frozenset({Role.PUFF, Role.ADHESIVE})


@dataclass(frozen=True)
class OwnPairs:
    """The pairs that the job itself asks for, of inks that are printed; all as (first, later)."""

    order: tuple[Pair, ...] = ()
    flash_between: tuple[Pair, ...] = ()
    no_flash_between: tuple[Pair, ...] = ()

    @classmethod
    def of(cls, job: Job, inks: Iterable[str]) -> OwnPairs:
        """The job's pairs among these inks; ``on_top`` names the later ink first."""
        printed = set(inks)

        def both(pairs: Iterable[Pair]) -> tuple[Pair, ...]:
            return tuple((a, b) for a, b in pairs if a in printed and b in printed)

        layers = tuple((under, over) for over, under in job.on_top)
        return cls(both((*job.order, *layers)), both(job.flash_between), both(job.no_flash_between))


@dataclass(frozen=True)
class Rules:
    """What answers and policies say. ``never_wet`` are pairs to be kept apart in whichever order they stand.

    ``own_bases`` are inks of other roles that stand in for a base: whites printed straight on the cloth.
    """

    flash_after_base: bool = True
    own_bases: tuple[str, ...] = ()
    flash_before_highlight: bool = False
    flash_before_specials: bool = True
    order_as_listed: bool = False
    alone_until_flash: bool = True
    blend_stays_wet: bool = True
    never_wet: tuple[Pair, ...] = ()


@dataclass
class _Deriving:
    screens: Sequence[ScreenNeed]
    overlaps: Overlaps
    own: OwnPairs
    rules: Rules
    book: OrderBook = field(default_factory=OrderBook)
    flash: dict[Pair, None] = field(default_factory=dict)
    no_flash: dict[frozenset[str], None] = field(default_factory=dict)
    notes: list[str] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.kept_apart = {frozenset(pair) for pair in self.rules.never_wet}
        self.held_with: dict[str, set[str]] = {screen.ink: {screen.ink} for screen in self.screens}

    def overlap(self, one: ScreenNeed, two: ScreenNeed) -> float:
        return self.overlaps.get(frozenset((one.ink, two.ink)), 0.0)

    def pairs(self) -> Iterator[tuple[ScreenNeed, ScreenNeed]]:
        """Every pair once, the one of the lower rank first."""
        for i, one in enumerate(self.screens):
            for two in self.screens[i + 1 :]:
                yield (one, two) if RANKS[one.role] <= RANKS[two.role] else (two, one)

    def order(self, first: str, later: str, why: str) -> bool:
        if self.book.add(first, later):
            return True
        self.notes.append(say("steps.note.order-left-out", first=first, later=later, why=why))
        return False

    def flash_pair(self, first: str, later: str, why: str) -> None:
        if self._forbidden(first, later):
            self.notes.append(say("steps.note.flash-left-out", first=first, later=later, why=why))
        elif self.order(first, later, why):
            self.flash[first, later] = None

    def _forbidden(self, first: str, later: str) -> bool:
        reach = self.book.reaches
        for one, wet_with_it in self.held_with.items():
            if reach(one, first) and any(two != one and reach(later, two) for two in wet_with_it):
                return True
        unflashed = [s.ink for s in self.screens if s.role in UNFLASHED_ROLES]
        return any(reach(ink, first) for ink in unflashed)

    def keep_wet(self, one: str, two: str, why: str) -> None:
        """Holds the two wet where neither, nor anything that is held wet with either, is parted by a flash."""
        already = two in self.held_with[one]
        for x, y in () if already else product(self.held_with[one], self.held_with[two]):
            for first, later in ((x, y), (y, x)):
                if later in self.flashed_before[first]:
                    a, b = next(
                        p for p in self.flash if self.book.reaches(first, p[0]) and self.book.reaches(p[1], later)
                    )
                    self.notes.append(say("steps.note.not-held-wet", one=one, two=two, why=why, first=a, later=b))
                    return
            if frozenset((x, y)) in self.kept_apart:
                return
        self.hold(one, two)

    def hold(self, one: str, two: str) -> None:
        """No flash between the two; what is held wet with one is then held wet with the other."""
        self.no_flash[frozenset((one, two))] = None
        together = self.held_with[one] | self.held_with[two]
        for ink in together:
            self.held_with[ink] = together

    @cached_property
    def flashed_before(self) -> dict[str, set[str]]:
        """For each ink those that a required flash parts from it; asked only when all flashes stand."""
        parted: dict[str, set[str]] = {}
        for first, later in self.flash:
            parted.setdefault(first, set()).update((later, *self.book.after(later)))
        inks = [screen.ink for screen in self.screens]
        return {ink: set().union(*(parted.get(a, set()) for a in (ink, *self.book.after(ink)))) for ink in inks}


def derive_limits(
    screens: Sequence[ScreenNeed], overlaps: Overlaps, *, own: OwnPairs, rules: Rules, standard: Sequence[str]
) -> tuple[Limits, tuple[str, ...]]:
    """All limits of a set of screens, and what was left out as plain sentences.

    ``order`` is transitively closed; pairs stand in the standard order. Raises InputFault for a circle among the
    job's own pairs, or a flash that the job both asks for and forbids.
    """
    work = _Deriving(screens, overlaps, own, rules)
    _own_pairs(work)
    _under_first(work)
    if rules.order_as_listed:
        _as_listed(work)
    _layers(work)
    _flashes_after_base(work)
    _flashes_before_upper(work)
    _printed_twice(work)
    _wet_together(work)
    never_wet = tuple((a, b) for a, b in rules.never_wet if b not in work.held_with[a])
    if len(never_wet) < len(rules.never_wet):
        work.notes.append(say("steps.note.some-stay-wet"))
    unflashed = tuple(ink for ink in standard if any(s.ink == ink and s.role in UNFLASHED_ROLES for s in screens))
    place = {ink: i for i, ink in enumerate(standard)}

    def sorted_pairs(pairs: Iterable[Pair]) -> tuple[Pair, ...]:
        return tuple(sorted(set(pairs), key=lambda pair: (place[pair[0]], place[pair[1]])))

    def by_place(pair: Iterable[str]) -> Pair:
        first, later = sorted(pair, key=lambda ink: place[ink])
        return first, later

    limits = Limits(
        order=sorted_pairs(work.book.closure()),
        flash_between=sorted_pairs(work.flash),
        no_flash_between=sorted_pairs(by_place(pair) for pair in work.no_flash),
        alone_until_flash=tuple(ink for ink in standard if ink in _alone(work)),
        no_flash_after=unflashed,
        never_wet=sorted_pairs(by_place(pair) for pair in never_wet),
    )
    return limits, tuple(work.notes)


def flashes_needed(limits: Limits, inks: Sequence[str]) -> int:
    """The most flashes that one chain of inks demands: no plan does with fewer flash actions."""
    after: dict[str, list[str]] = {ink: [] for ink in inks}
    for first, later in limits.order:
        after[first].append(later)
    flash = set(limits.flash_between)
    most: dict[str, int] = {}
    for ink in sorted(inks, key=lambda ink: len(after[ink])):  # closed order: what comes later has fewer after it
        most[ink] = max(((1 if (ink, later) in flash else 0) + most[later] for later in after[ink]), default=0)
    return max(most.values(), default=0)


def _own_pairs(work: _Deriving) -> None:
    own = work.own
    for first, later in (*own.order, *own.flash_between):
        try:
            work.book.add_or_raise(first, later)
        except Circle as circle:
            raise InputFault("order", _circle_told(circle.inks), say("steps.fault.drop-a-pair")) from None
    work.flash.update(dict.fromkeys(own.flash_between))
    for pair in own.no_flash_between:
        if pair[0] == pair[1]:
            what = say("steps.fault.paired-with-itself", ink=pair[0])
            raise InputFault("no_flash_between", what, say("steps.fault.name-two-inks"))
        work.hold(*pair)
    for first, later in own.flash_between:
        if frozenset((first, later)) in work.no_flash:
            what = say("steps.fault.flash-forbidden", first=first, later=later)
            raise InputFault("flash_between", what, say("steps.fault.drop-flash"))


def _circle_told(inks: Sequence[str]) -> str:
    walk = f"'{inks[0]}'"
    for ink in inks[1:]:
        walk = say("steps.fault.walk", walk=walk, ink=ink)
    return say("steps.fault.circle", walk=walk)


def _role(screen: ScreenNeed) -> str:
    return say(f"terms.role.{screen.role.value}")


def _under_first(work: _Deriving) -> None:
    for first, later in work.pairs():
        if first.role in UNDER_ROLES and first.role is not later.role and work.overlap(first, later) > 0:
            work.order(first.ink, later.ink, say("steps.why.under-first", role=_role(first)))


def _as_listed(work: _Deriving) -> None:
    plates = [screen.ink for screen in work.screens if screen.plate is not None]
    refused = [
        (first, later) for i, first in enumerate(plates) for later in plates[i + 1 :] if not work.book.add(first, later)
    ]
    if refused:
        pairs = joined(say("steps.note.before", first=first, later=later) for first, later in refused[:MOST_PAIRS_TOLD])
        more = len(refused) - MOST_PAIRS_TOLD
        if more > 0:
            pairs = say("steps.note.pairs-more", pairs=pairs, count=more)
        work.notes.append(say("steps.note.listed-order-but-for", pairs=pairs))


def _layers(work: _Deriving) -> None:
    for lower, upper in work.pairs():
        solid = lower.kind is Kind.SOLID and upper.kind is Kind.SOLID
        if not solid or upper.role not in ON_TOP_ROLES or RANKS[lower.role] == RANKS[upper.role]:
            continue
        if lower.role not in UNDER_ROLES and work.overlap(lower, upper) > threshold("layer_share") * upper.ink_area_cm2:
            work.order(lower.ink, upper.ink, say("steps.why.drawn-over", role=_role(upper)))


def _flashes_after_base(work: _Deriving) -> None:
    contact = threshold("contact")
    for first, later in work.pairs():
        if first.role not in UNDER_ROLES or first.role is later.role or work.overlap(first, later) <= contact:
            continue
        if work.rules.flash_after_base and not work.book.reaches(later.ink, first.ink):
            work.flash_pair(first.ink, later.ink, say("steps.why.flash-after-base"))
    own_bases = [screen for screen in work.screens if screen.ink in work.rules.own_bases]
    others = [screen for screen in work.screens if screen not in own_bases and screen.role not in UNDER_ROLES]
    for white, later in product(own_bases if work.rules.flash_after_base else (), others):
        if work.overlap(white, later) > contact and not work.book.reaches(later.ink, white.ink):
            work.flash_pair(white.ink, later.ink, say("steps.why.flash-after-own-white"))


def _printed_twice(work: _Deriving) -> None:
    """A base printed twice that no flash frees stays ahead of every other ink: the flash between its prints gels it.

    The solver keeps an ink that is alone until flashed alone after each of its prints; after the second print of a
    base that nothing lies on no flash is wanted.
    """
    if not work.rules.alone_until_flash:
        return
    alone = _alone(work)
    twice = {s.ink for s in work.screens if s.role in UNDER_ROLES and s.prints > 1 and s.ink not in alone}
    for first, later in work.pairs():
        if first.role in UNDER_ROLES and later.role is not first.role and twice & {first.ink, later.ink}:
            work.book.add(first.ink, later.ink)


def _flashes_before_upper(work: _Deriving) -> None:
    contact = threshold("contact")
    for lower, upper in work.pairs():
        asked = (work.rules.flash_before_highlight and upper.role is Role.HIGHLIGHT) or (
            work.rules.flash_before_specials and upper.role in SPECIAL_ROLES and upper.role is not Role.ADHESIVE
        )
        if not asked or lower.role in UNDER_ROLES or lower.role is upper.role or lower.role is Role.SMOOTHING:
            continue
        if work.overlap(lower, upper) > contact:
            work.flash_pair(lower.ink, upper.ink, say("steps.why.flash-before", role=_role(upper)))


def _wet_together(work: _Deriving) -> None:
    for one, two in work.pairs():
        discharge = one.ink_system is InkSystem.DISCHARGE and two.ink_system is InkSystem.DISCHARGE
        wet_base = (
            one.role is Role.BASE
            and one.ink_system is InkSystem.DISCHARGE
            and not work.rules.flash_after_base
            and two.role is Role.COLOUR
            and work.overlap(one, two) > threshold("contact")
        )
        blend = work.rules.blend_stays_wet and all(s.role is Role.COLOUR and s.kind in BLEND_KINDS for s in (one, two))
        if discharge or wet_base:
            work.keep_wet(one.ink, two.ink, say("steps.why.discharge-works-wet"))
        elif blend:
            work.keep_wet(one.ink, two.ink, say("steps.why.blend-stays-wet"))


def _alone(work: _Deriving) -> set[str]:
    if not work.rules.alone_until_flash:
        return set()
    flashed = {first for first, _ in work.flash}
    forbidden = {ink for pair in work.own.no_flash_between for ink in pair}
    return {
        screen.ink
        for screen in work.screens
        if screen.role in UNDER_ROLES and screen.ink in flashed and screen.ink not in forbidden
    }
