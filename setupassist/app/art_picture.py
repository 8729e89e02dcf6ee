"""The picture of the art with its choices: on which garment or which plate, how near, and what it shows."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QButtonGroup, QComboBox, QLabel, QPushButton, QVBoxLayout, QWidget

from setupassist.app.art_marks import Mark
from setupassist.app.art_view import ArtView, image_of
from setupassist.app.flow import Flow
from setupassist.app.labels import label
from setupassist.app.loupe import Loupe
from setupassist.app.model import DeskModel
from setupassist.app.theme import Look
from setupassist.desk import art_facts
from setupassist.desk.base_making import BASE, BaseMade, base_over
from setupassist.desk.garment_art import GarmentArt, drawn_as_film, drawn_on_garment, garment_art
from setupassist.desk.tasks import Stage
from setupassist.documents.measure import Measure

JUMP_MM = 60.0
"""About so much of the plates' shorter side is seen where a finding was gone to."""


class ArtPicture(QWidget):
    """All plates together on a garment, or one plate as its film. ``mark_chosen`` tells a finding's number and place.

    ``jumped`` is the number of the finding that was zoomed in on last.
    """

    mark_chosen = Signal(int, int)

    def __init__(self, model: DeskModel, look: Look) -> None:
        super().__init__()
        self.model, self.look = model, look
        self.plate, self.together, self.group = "", True, 0
        self.finding = self.at_place = self.jumped = 0
        self._drawn: object = None
        self.base: BaseMade | None = None
        self.view = ArtView(look)
        self.view.setAccessibleName(self._say("view.picture"))
        self.view.setProperty("glossary", self._say("column.ink"))
        self.view.mark_chosen.connect(self.mark_chosen)
        self.caption: QLabel = label("", "small", name="art-caption")
        self.on_garment = self._toggle("on-garment")
        self.one_plate = self._toggle("plate")
        self._which = QButtonGroup(self)
        for at, button in enumerate((self.on_garment, self.one_plate)):
            self._which.addButton(button, at)
        self._which.idClicked.connect(self._show_which)
        self.garment = QComboBox()
        self.garment.setObjectName("art-garment")
        self.garment.setAccessibleName(self._say("view.garment"))
        self.garment.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToContents)
        self.garment.activated.connect(self._choose_garment)
        self.zooms = [
            self._zoom("smaller", self.view.smaller),
            self._zoom("larger", self.view.larger),
            self._zoom("whole", self.view.whole),
        ]
        self.loupe = Loupe(model, look, self.view)
        self.loupe.turned.connect(self._loupe_turned)
        self.take_loupe = self._toggle("loupe")
        self.take_loupe.setToolTip(model.say("place_art_check.loupe.told"))
        self.take_loupe.setAccessibleDescription(model.say("place_art_check.loupe.told"))
        self.take_loupe.setProperty("glossary", model.say("place_art_check.loupe.name"))
        self.take_loupe.clicked.connect(self.toggle_loupe)
        self._lay_out()
        self.start()

    def _say(self, key: str, **values: object) -> str:
        return self.model.say(f"place_art.{key}", **values)

    def _toggle(self, name: str) -> QPushButton:
        button = QPushButton(
            self._say(f"view.{name}") if name != "loupe" else self.model.say("place_art_check.loupe.name")
        )
        button.setObjectName(f"art-{name}")
        button.setCheckable(True)
        return button

    def _zoom(self, name: str, run: Callable[[], object]) -> QPushButton:
        button = QPushButton(self._say(f"view.{name}"))
        button.setObjectName(f"art-{name}")
        button.clicked.connect(run)
        return button

    def _lay_out(self) -> None:
        px = self.look.px
        choose, zoom = Flow(gap=px(6), line_gap=px(4)), Flow(gap=px(6), line_gap=px(4))
        for row, widgets in (
            (choose, (self.on_garment, self.one_plate, self.garment)),
            (zoom, (*self.zooms, self.take_loupe)),
        ):
            for widget in widgets:
                row.addWidget(widget)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(px(8))
        column.addLayout(choose)
        column.addWidget(self.view, 1)
        column.addWidget(self.caption)
        column.addLayout(zoom)

    # ------------------------------------------------------------ showing

    def start(self) -> None:
        """Begins anew with another job: all plates together on the first garment."""
        self.plate, self.together, self.group = "", True, 0
        self.finding = self.at_place = self.jumped = 0
        self.on_garment.setChecked(True)
        self._drawn = None
        self.view.show_image(None)
        self.base = self.loupe.base = None
        self.loupe.place_mm = None
        self.loupe.refresh()

    def refresh(self) -> None:
        """Shows the plates as they are known now; draws nothing anew where nothing changed."""
        pictures = self.model.results.pictures
        self._show_garments()
        for widget in (self.on_garment, self.one_plate, *self.zooms):
            widget.setVisible(bool(pictures))
        self.show_marks()
        self._show_loupe()
        if not pictures:
            self._drawn = None
            self.view.show_image(None, self._why_none())
            self.caption.setText("")
            return
        if self._drawn is not None and not self.model.desk.fresh(Stage.PICTURES):
            return
        art = garment_art(self.model.desk, self.group)
        assert art is not None
        base = self.base
        self._tell(art)
        if self.together and base is not None:
            over = base_over(art, base)
            wanted: object = (id(pictures), over.cloth, over.layers, id(base))
            draw: Callable[[], Any] = lambda: image_of(drawn_on_garment(over, {**pictures, BASE: base.thumb}))  # noqa: E731  # ways to draw
        elif self.together:
            wanted = (id(pictures), art.cloth, art.layers)
            draw = lambda: image_of(drawn_on_garment(art, pictures))  # noqa: E731  # as above
        else:
            thumb = pictures.get(self.plate, next(iter(pictures.values())))
            wanted = (id(pictures), self.plate)
            draw = lambda: image_of(drawn_as_film(thumb))  # noqa: E731  # as above
        if wanted != self._drawn:
            self._drawn = wanted
            self.model.drawing.ask(self, draw, self._came)

    def _came(self, image: Any) -> None:
        if image is None:
            self._drawn = None
        else:
            self.view.show_image(image)
            self._show_loupe()

    def _show_garments(self) -> None:
        names = [group.name for group in self.model.job.groups]
        self.group = min(self.group, len(names) - 1)
        if [self.garment.itemText(at) for at in range(self.garment.count())] != names:
            self.garment.clear()
            self.garment.addItems(names)
        self.garment.setCurrentIndex(self.group)
        self.garment.setToolTip(names[self.group])
        self.garment.setVisible(len(names) > 1 and bool(self.model.results.pictures))

    def _tell(self, art: GarmentArt) -> None:
        names = list(self.model.results.pictures)
        if self.together and self.base is not None:
            text = self.model.say("place_art_check.base.caption")
        elif self.together:
            text = self._say(f"view.{'planned' if art.planned else 'by-role'}", garment=art.garment)
        else:
            number = names.index(self.plate) + 1 if self.plate in names else 1
            text = self._say("view.film", ink=self.plate, number=number, count=len(names))
        self.caption.setText(text)
        self.view.setAccessibleDescription(text)

    def _why_none(self) -> str:
        desk = self.model.desk
        if desk.trouble(Stage.PLATES):
            return self._say("reading.none")
        if desk.results.plates is None:
            return self._say("view.opening")
        if isinstance(desk.results.plates, Measure):
            return self._say("view.figures")
        return self._say(f"view.{'no-picture' if desk.trouble(Stage.PICTURES) else 'drawing'}")

    def show_marks(self) -> None:
        """Shows a mark at every place of every finding, the chosen one filled."""
        self.view.show_marks(self._marks(), self.finding, self.at_place)

    def size_mm(self) -> tuple[float, float] | None:
        """Width and height of the plates, None while they are not known."""
        measured = self.model.results.measured
        art = measured.measure.art if measured is not None else None
        return (art.width_mm, art.height_mm) if art is not None and art.width_mm and art.height_mm else None

    def _marks(self) -> list[Mark]:
        size = self.size_mm()
        if size is None:
            return []
        return [
            Mark(number, x / size[0], y / size[1], finding.severity, place, self.model.words(finding.told))
            for number, finding in enumerate(art_facts.findings_known(self.model.desk), 1)
            for place, (x, y) in enumerate(finding.places_mm)
        ]

    def show_base(self, base: BaseMade | None) -> None:
        """Lays a base that is not written yet over the art, or takes it away."""
        self.base = base
        self.loupe.base = base
        if base is not None:
            self.show_together(True)
        elif self.model.has_job:
            self.refresh()

    # ------------------------------------------------------------ the loupe

    def toggle_loupe(self) -> None:
        """Takes the loupe out, at the place of the finding in hand where there is one, or puts it away."""
        self.loupe.toggle(self.finding_place())
        if self.loupe.on:
            self.view.setFocus()

    def finding_place(self) -> tuple[float, float] | None:
        """The place in mm of the finding in hand; None where there is none."""
        mark, size = self.view.mark_of(self.finding, self.at_place), self.size_mm()
        return None if mark is None or size is None else (mark.x_share * size[0], mark.y_share * size[1])

    def _show_loupe(self) -> None:
        self.take_loupe.setVisible(self.loupe.may_be_on)
        self.loupe.look_at(None if self.together else self.plate, self.group)
        self.loupe.refresh()

    def _loupe_turned(self) -> None:
        self.take_loupe.setChecked(self.loupe.on)

    # ------------------------------------------------------------ choosing

    def choose_finding(self, number: int, place: int = 0) -> None:
        """Fills the marks of a finding and brings one into view; 0 chooses none."""
        self.finding, self.at_place = number, place
        if number != self.jumped:
            self.jumped = 0
        self.show_marks()
        self.view.bring_to(number, place)

    def jump(self, number: int, place: int) -> None:
        """Chooses a finding's place and zooms in on it, unless the picture is nearer already."""
        self.choose_finding(number, place)
        self.jumped = number
        mark, size = self.view.mark_of(number, place), self.size_mm()
        if mark is not None and size is not None:
            self.view.show_place(mark.x_share, mark.y_share, least_zoom=min(size) / JUMP_MM)
            self.loupe.go_to((mark.x_share * size[0], mark.y_share * size[1]))

    def choose_plate(self, name: str) -> None:
        """The plate that is shown when one is shown."""
        if name != self.plate:
            self.plate = name
            if not self.together:
                self.refresh()

    def show_together(self, together: bool) -> None:
        """All together on the garment, or the one plate."""
        self.together = together
        (self.on_garment if together else self.one_plate).setChecked(True)
        self.refresh()

    def toggle(self) -> None:
        """From the one to the other."""
        self.show_together(not self.together)

    def _show_which(self, at: int) -> None:
        self.show_together(at == 0)

    def _choose_garment(self, at: int) -> None:
        self.group = at
        self.show_together(True)
