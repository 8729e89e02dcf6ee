"""The garment after each station: small pictures in a row, drawn in the background."""

from __future__ import annotations

from functools import partial
from typing import Any

import shiboken6
from PySide6.QtCore import QRect, QSize, Qt, Signal
from PySide6.QtGui import QImage, QKeyEvent, QPainter, QPaintEvent, QPen, QResizeEvent
from PySide6.QtWidgets import QAbstractButton, QSizePolicy, QWidget

from setupassist.app.line.lettering import Lettering, fitted, set_left
from setupassist.app.line.voice import Voice
from setupassist.app.model import DeskModel
from setupassist.app.theme import SMALL
from setupassist.desk.garment_stages import AfterPrint, Stages, drawn
from setupassist.desk.line import Place
from setupassist.errors import SetupAssistError

LONGEST_PX = 360
LEAST, MOST = 78, 150


class PictureButton(QAbstractButton):
    """One picture with its caption."""

    def __init__(self, voice: Voice, after: AfterPrint, laps: int, parent: GarmentStrip) -> None:
        super().__init__(parent)
        self.voice, self.after, self.strip = voice, after, parent
        self.image: QImage | None = None
        self.chosen = False
        key = "strip.after" if laps == 1 else "strip.after-lap"
        self.setText(voice.say(key, station=after.station, lap=after.lap, screen=after.screen))
        self.setAccessibleName(voice.say("strip.name", station=after.station, screen=after.screen))
        self.setToolTip(self.accessibleName())
        self.setObjectName(f"after-{after.lap}-{after.station}")

    def caption(self, width: int) -> Lettering:
        """Its words in that width."""
        look = self.voice.look
        room = width - 2 * look.px(3)
        return fitted(self.text(), look, (SMALL, 11.0), room, most=2, weight=600 if self.chosen else 400)

    def paintEvent(self, event: QPaintEvent) -> None:
        painter, look = QPainter(self), self.voice.look
        painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
        edge = look.px(3)
        caption = self.caption(self.width())
        room = QRect(edge, edge, self.width() - 2 * edge, self.strip.picture_high)
        if self.image is None:
            painter.fillRect(room, look.colour("idle"))
        else:
            painter.drawImage(room, self.image)
        if self.chosen or self.hasFocus():
            painter.setPen(QPen(look.colour("mark"), look.px(3) if self.hasFocus() else look.px(2)))
            painter.drawRect(room.adjusted(-1, -1, 0, 0))
        set_left(painter, caption, edge, room.bottom() + look.px(4), look)
        painter.end()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        steps = {Qt.Key.Key_Left: -1, Qt.Key.Key_Right: 1}
        step = steps.get(Qt.Key(event.key()))
        if step is not None:
            self.strip.step(self, step)
        elif event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self.click()
        else:
            super().keyPressEvent(event)


class GarmentStrip(QWidget):
    """The pictures; ``picked`` tells the print whose picture was clicked."""

    picked = Signal(object)

    def __init__(self, model: DeskModel, voice: Voice) -> None:
        super().__init__()
        self.model, self.voice = model, voice
        self.stages: Stages | None = None
        self.buttons: list[PictureButton] = []
        self.picture_high = voice.look.px(MOST)
        self._shape = (1, 1)
        self._chosen: Place | None = None
        self._tall = 0
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setFixedHeight(0)

    def tell(self, stages: Stages | None, laps: int) -> None:
        """Other stages; the old pictures stay until the new ones are drawn."""
        if stages == self.stages:
            return
        self.stages = stages
        kept = {button.after: button for button in self.buttons}
        self.buttons = []
        for after in stages.prints if stages is not None else ():
            button = kept.pop(after, None)
            if button is None:
                button = PictureButton(self.voice, after, laps, self)
                button.clicked.connect(partial(self._pick, after))
            button.show()
            self.buttons.append(button)
        for button in kept.values():
            button.hide()
            button.deleteLater()
        self.choose(self._chosen)
        self._lay_out()
        if stages is not None:
            what = self.voice.say("strip.drawing")
            self.model.on_disk(what, partial(drawn, stages, longest_px=LONGEST_PX), partial(_came, self, stages))

    def take(self, stages: Stages, pictures: list[Any]) -> None:
        """The pictures of those stages, if they are still the ones that are shown."""
        if stages != self.stages:
            return
        for button, picture in zip(self.buttons, pictures, strict=True):
            rows, columns = picture.shape[:2]
            image = QImage(picture.data, columns, rows, 3 * columns, QImage.Format.Format_RGB888)
            button.image = image.copy()
            self._shape = rows, columns
        self._lay_out()

    def choose(self, place: Place | None) -> None:
        """Marks the picture of a place."""
        self._chosen = place
        found = next((b for b in self.buttons if (b.after.lap, b.after.station) == place), None)
        for button in self.buttons:
            chosen = button is found
            if button.chosen != chosen:
                button.chosen = chosen
                button.update()
            first = button is (found or self.buttons[0])
            button.setFocusPolicy(Qt.FocusPolicy.StrongFocus if first else Qt.FocusPolicy.ClickFocus)

    def fit(self, tall: int) -> None:
        """Pictures may take a fifth of a page of that height."""
        if tall != self._tall:
            self._tall = tall
            self._lay_out()

    def step(self, button: PictureButton, step: int) -> None:
        """The picture before or after takes the focus."""
        at = self.buttons.index(button) + step
        if 0 <= at < len(self.buttons):
            self.buttons[at].setFocus(Qt.FocusReason.OtherFocusReason)

    def _pick(self, after: AfterPrint) -> None:
        self.picked.emit(after)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        if event.size().width() != event.oldSize().width():
            self._lay_out()

    def _lay_out(self) -> None:
        """As large as one row allows, several rows where they would be too small to read."""
        count, look, width = len(self.buttons), self.voice.look, max(1, self.width())
        if not count:
            self.setFixedHeight(0)
            return
        rows = 1
        while width * rows // count < look.px(LEAST) and rows < count:
            rows += 1
        across = -(-count // rows)
        wide = min(max(look.px(MOST), self._tall // 5), width // across)
        edge = look.px(3)
        self.picture_high = max(1, (wide - 2 * edge) * self._shape[0] // self._shape[1])
        captions = max(button.caption(wide).high for button in self.buttons)
        tall = self.picture_high + 2 * edge + int(captions) + look.px(8)
        for at, button in enumerate(self.buttons):
            button.setGeometry(at % across * wide, at // across * tall, wide, tall)
            button.update()
        self.setFixedHeight(tall * -(-count // across))

    def sizeHint(self) -> QSize:
        return QSize(300, self.height())


def _came(strip: GarmentStrip, stages: Stages, pictures: Any, error: SetupAssistError | None) -> None:
    """The pictures came; the window may have been made anew meanwhile."""
    if error is None and shiboken6.isValid(strip):
        strip.take(stages, pictures)
