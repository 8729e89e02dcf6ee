"""Fields in which a person tells a thing: a line of text, a choice, a colour; each with its name above it."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QSize, Qt, Signal
from PySide6.QtGui import QFocusEvent, QKeyEvent, QWheelEvent
from PySide6.QtWidgets import QComboBox, QHBoxLayout, QLabel, QLineEdit, QPushButton, QSizePolicy, QVBoxLayout, QWidget

from setupassist.app import dialogs
from setupassist.app.labels import Swatch, label
from setupassist.app.theme import Look


class Line(QLineEdit):
    """A line of text. ``told`` brings what was typed, once the person is done; Escape goes back to what holds.

    ``stepped`` tells that the person wants to go up (-1) or down (1); ``given_up`` that what holds stands there again.
    """

    told = Signal(str)
    given_up = Signal()
    stepped = Signal(int)

    def __init__(self, look: Look, *, wide: int = 120) -> None:
        super().__init__()
        self._wide, self._held = look.px(wide), ""
        self.editingFinished.connect(self._done)

    def hold(self, text: str, placeholder: str = "", *, refused: str | None = None) -> None:
        """Shows what holds now; what is being typed is left alone, and so is what was ``refused``, to be mended."""
        if self.placeholderText() != placeholder:
            self.setPlaceholderText(placeholder)
        typing = self.hasFocus() and self.isModified()
        self._held = text
        shown = text if refused is None else refused
        if not typing and self.text() != shown:
            self.setText(shown)
            self.setCursorPosition(0)
        elif self.text() == text:
            self.setModified(False)

    def back(self) -> None:
        """Shows again what holds."""
        self.setText(self._held)

    def _done(self) -> None:
        if self.text().strip() != self._held.strip():
            self.setModified(False)
            self.told.emit(self.text())
        else:
            self.given_up.emit()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        key = event.key()
        if key == Qt.Key.Key_Escape and self.text() != self._held:
            self.back()
            self.selectAll()
            self.given_up.emit()
        elif key in (Qt.Key.Key_Up, Qt.Key.Key_Down):
            self.stepped.emit(-1 if key == Qt.Key.Key_Up else 1)
        else:
            super().keyPressEvent(event)

    def focusInEvent(self, event: QFocusEvent) -> None:
        super().focusInEvent(event)
        if event.reason() in (Qt.FocusReason.TabFocusReason, Qt.FocusReason.BacktabFocusReason):
            self.selectAll()

    def sizeHint(self) -> QSize:
        return QSize(self._wide, super().sizeHint().height())

    def minimumSizeHint(self) -> QSize:
        return QSize(min(self._wide, super().minimumSizeHint().width() + 30), super().minimumSizeHint().height())


class Pick(QComboBox):
    """A choice. ``told`` brings the value that was chosen; the wheel changes nothing unless the focus is here."""

    told = Signal(str)

    def __init__(self) -> None:
        super().__init__()
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToContents)
        self._choices: tuple[tuple[str, str], ...] = ()
        self.activated.connect(self._done)

    def hold(self, choices: Sequence[tuple[str, str]], value: str) -> None:
        """Shows the (text, value) to choose from, and which of them holds."""
        now = tuple(choices)
        if now != self._choices:
            self._choices = now
            self.clear()
            for text, one in now:
                self.addItem(text, one)
        self.setCurrentIndex(next((at for at, (_, one) in enumerate(now) if one == value), -1))

    def _done(self, at: int) -> None:
        self.told.emit(str(self.itemData(at)))

    def wheelEvent(self, event: QWheelEvent) -> None:
        if self.hasFocus():
            super().wheelEvent(event)
        else:
            event.ignore()


class ColourLine(QWidget):
    """A colour as text with its swatch, and a button that opens the colours to choose from."""

    told = Signal(str)

    def __init__(self, look: Look, *, choose: str, title: str) -> None:
        super().__init__()
        self._title = title
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(look.px(6))
        self.swatch = Swatch(None, wide=look.px(22), high=look.px(16))
        self.line = Line(look, wide=122)
        self.line.told.connect(self.told)
        self.choose = QPushButton(choose)
        self.choose.setAccessibleName(f"{choose} {title}")
        self.choose.clicked.connect(self._ask)
        for widget in (self.swatch, self.line, self.choose):
            row.addWidget(widget)

    def hold(self, colour: str | None, text: str, placeholder: str = "") -> None:
        """Shows a colour; ``text`` is what the person told of it, "" where the placeholder tells it."""
        self.line.hold(text, placeholder)
        if self.swatch.colour != colour:
            self.swatch.colour = colour
            self.swatch.setAccessibleName(colour or "")
            self.swatch.update()

    def _ask(self) -> None:
        picked = dialogs.ask_colour(self, self._title, self.swatch.colour or "")
        if picked is not None:
            self.told.emit(picked)


class Named(QWidget):
    """A field with its name in small type above it."""

    def __init__(self, look: Look, name: str, field: QWidget, *, grows: bool = False) -> None:
        super().__init__()
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(look.px(1))
        self.name: QLabel = label(name, "small", wrap=False)
        self.name.setBuddy(field)
        self.name.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Fixed)
        self.field = field
        column.addWidget(self.name)
        column.addWidget(field)
        column.addStretch(1)
        policy = QSizePolicy.Policy.Expanding if grows else QSizePolicy.Policy.Preferred
        self.setSizePolicy(policy, QSizePolicy.Policy.Fixed)
