"""The closed sets of trade terms that documents use."""

from __future__ import annotations

from enum import StrEnum


class Role(StrEnum):
    """What a screen is for."""

    BLOCKER = "blocker"
    BASE = "base"
    COLOUR = "colour"
    KEY = "key"
    HIGHLIGHT = "highlight"
    METALLIC = "metallic"
    GLITTER = "glitter"
    PUFF = "puff"
    HIGH_DENSITY = "high-density"
    CLEAR = "clear"
    REFLECTIVE = "reflective"
    ADHESIVE = "adhesive"
    SMOOTHING = "smoothing"


UNDER_ROLES = frozenset({Role.BLOCKER, Role.BASE})
SPECIAL_ROLES = frozenset(
    {Role.METALLIC, Role.GLITTER, Role.PUFF, Role.HIGH_DENSITY, Role.CLEAR, Role.REFLECTIVE, Role.ADHESIVE}
)


class Kind(StrEnum):
    """How a plate carries its ink."""

    SOLID = "solid"
    TONE = "tone"
    HALFTONE = "halftone"
    STOCHASTIC = "stochastic"
    EMPTY = "empty"


class InkSystem(StrEnum):
    """Chemistry of an ink."""

    PLASTISOL = "plastisol"
    WATER_BASED = "water-based"
    DISCHARGE = "discharge"
    ACRYLIC = "acrylic"
    SILICONE = "silicone"


class Fibre(StrEnum):
    """What the cloth is made of."""

    COTTON = "cotton"
    POLYESTER = "polyester"
    BLEND = "blend"
    NYLON = "nylon"


class BleedTest(StrEnum):
    """What the shop's dye-bleed test on this cloth showed."""

    NONE = "none"
    SLIGHT = "slight"
    STRONG = "strong"
    NOT_DONE = "not done"


class StrategyName(StrEnum):
    """An order of the wishes."""

    LEANEST = "leanest"
    CLEANEST = "cleanest"
    QUICKEST_CHANGEOVER = "quickest-changeover"


class Severity(StrEnum):
    """How much a finding matters."""

    STOP = "stop"
    WARN = "warn"
    NOTE = "note"


class Known(StrEnum):
    """How a value is known: every number that a person sees is one of these."""

    COMPUTED = "computed"
    ESTIMATED = "estimated"
    TYPICAL = "typical"
    ENTERED = "entered"
