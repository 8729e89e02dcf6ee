"""A partial order that is built pair by pair and always transitively closed."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator

from setupassist.documents.plan import Pair


class Circle(Exception):
    """A pair would close a circle; ``inks`` walks it, first and last the same."""

    def __init__(self, inks: tuple[str, ...]) -> None:
        self.inks = inks
        super().__init__(" before ".join(inks))


class OrderBook:
    """Pairs (first, later); what follows from them is kept with them."""

    def __init__(self) -> None:
        self._after: dict[str, set[str]] = {}
        self._before: dict[str, set[str]] = {}
        self._given: dict[str, dict[str, None]] = {}

    def reaches(self, first: str, later: str) -> bool:
        """Whether the two are the same or ``first`` must come before ``later``."""
        return first == later or later in self._after.get(first, ())

    def after(self, ink: str) -> frozenset[str]:
        """What must come after the ink."""
        return frozenset(self._after.get(ink, ()))

    def add(self, first: str, later: str) -> bool:
        """Adds the pair; False, and nothing changes, where it would close a circle."""
        if self.reaches(later, first):
            return False
        self._given.setdefault(first, {})[later] = None
        earlier = {first, *self._before.get(first, ())}
        following = {later, *self._after.get(later, ())}
        for ink in earlier:
            self._after.setdefault(ink, set()).update(following)
        for ink in following:
            self._before.setdefault(ink, set()).update(earlier)
        return True

    def add_or_raise(self, first: str, later: str) -> None:
        """Adds the pair; raises Circle with the shortest walk around where it would close one."""
        if not self.add(first, later):
            raise Circle((first, *self._walk(later, first)))

    def closure(self) -> Iterator[Pair]:
        """Every pair that holds."""
        for first, following in self._after.items():
            for later in following:
                yield first, later

    def _walk(self, start: str, end: str) -> tuple[str, ...]:
        came: dict[str, str | None] = {start: None}
        queue = deque([start])
        while queue and end not in came:
            ink = queue.popleft()
            for later in self._given.get(ink, ()):
                if later not in came:
                    came[later] = ink
                    queue.append(later)
        walk: list[str] = []
        at: str | None = end
        while at is not None:
            walk.append(at)
            at = came[at]
        return tuple(reversed(walk))
