"""One row of a form: label, editor with its unit, range and source under it, and what is wrong with what was typed."""

from __future__ import annotations

import math

from PySide6.QtCore import QEvent, QObject, Qt, Signal
from PySide6.QtGui import QFocusEvent, QKeyEvent, QResizeEvent, QWheelEvent
from PySide6.QtWidgets import (
    QBoxLayout,
    QCheckBox,
    QComboBox,
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QPushButton,
    QSizePolicy,
    QWidget,
)

from setupassist.app import dialogs
from setupassist.app.labels import Swatch, label
from setupassist.app.model import DeskModel
from setupassist.app.theme import Look
from setupassist.colour import parse_colour, to_hex
from setupassist.desk.form_values import Typed, in_range, in_words, shown, unit_word
from setupassist.desk.forms import Field, FieldKind

NUMBERS = (FieldKind.NUMBER, FieldKind.WHOLE)
WIDE = (FieldKind.TEXT, FieldKind.STATIONS)


class TextEdit(QLineEdit):
    """A line of text that goes back with Escape to what is in force; ``left`` tells that the person is done.

    ``waiting`` says that what stands in it is not in force.
    """

    left = Signal()
    given_up = Signal()
    stepped = Signal(int)

    def __init__(self, *, steps: bool = False) -> None:
        super().__init__()
        self._steps = steps
        self.waiting = False
        self.editingFinished.connect(self.left)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() == Qt.Key.Key_Escape and (self.isModified() or self.waiting):
            self.given_up.emit()
        elif self._steps and event.key() in (Qt.Key.Key_Up, Qt.Key.Key_Down):
            self.stepped.emit(1 if event.key() == Qt.Key.Key_Up else -1)
        else:
            super().keyPressEvent(event)


class Choices(QComboBox):
    """A choice that the wheel changes only while it has the focus."""

    def __init__(self) -> None:
        super().__init__()
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToContents)

    def wheelEvent(self, event: QWheelEvent) -> None:
        if self.hasFocus():
            super().wheelEvent(event)
        else:
            event.ignore()


class FieldRow(QWidget):
    """A field of a form. ``typed`` brings its path, what stands in it and whether it was stepped; ``sourced`` a source;
    ``reached`` that the person is here.
    """

    typed = Signal(str, object, bool)
    sourced = Signal(str, str)
    reached = Signal(str)

    def __init__(self, model: DeskModel, look: Look, field: Field, *, sources: bool = True, units: str = "") -> None:
        super().__init__()
        self.model, self.look, self.field = model, look, field
        self.units = units or model.units
        self.value: object = None
        self._source = ""
        self.setObjectName(f"field-{field.path}")
        words = model.words
        self.told: str = words(field.label)
        grid = QGridLayout(self)
        grid.setContentsMargins(0, look.px(2), 0, look.px(2))
        grid.setHorizontalSpacing(look.px(12))
        grid.setVerticalSpacing(look.px(1))
        grid.setColumnStretch(1, 1)
        self._grid = grid
        self._narrow: bool | None = None
        self.label: QLabel = label(self.told)
        self.editors: list[QWidget] = []
        self.swatch: Swatch | None = None
        holder = QHBoxLayout()
        holder.setSpacing(look.px(8))
        for widget in self._made():
            holder.addWidget(widget, 1 if field.kind in WIDE else 0)
        self.unit: QLabel = label(words(unit_word(field, self.units)), "quiet", wrap=False)
        holder.addWidget(self.unit)
        if field.kind not in WIDE:
            holder.addStretch(1)
        grid.addLayout(holder, 1, 1)
        self.fault: QLabel = label("", "strong", name=f"fault-{field.path}")
        self.fault.hide()
        grid.addWidget(self.fault, 2, 1)
        self._under = under = QBoxLayout(QBoxLayout.Direction.LeftToRight)
        under.setSpacing(look.px(14))
        self.range: QLabel = label(words(self._range()), "small", wrap=False)
        if not self.range.text():
            self.range.hide()
        under.addWidget(self.range)
        self.source = TextEdit()
        self.source.setObjectName(f"source-{field.path}")
        self.source.setAccessibleName(model.say("place_shop.form.source-of", label=field.label))
        self.source.setProperty("voice", "source")
        self.source.left.connect(self._source_left)
        self.source.given_up.connect(self._source_back)
        under.addWidget(self.source, 1)
        if not sources or field.kind is FieldKind.TEXT:
            self.source.hide()
        grid.addLayout(under, 3, 1)
        self.fold(False)
        for editor in (*self.editors, self.source):
            editor.installEventFilter(self)
            editor.setToolTip(words(field.help))

    # ------------------------------------------------------------ what it is made of

    def _made(self) -> list[QWidget]:
        field, kind = self.field, self.field.kind
        if kind is FieldKind.CHOICE:
            combo = Choices()
            if field.may_be_empty and field.default is None:
                combo.addItem(self.model.say("place_shop.form.not-said"), "")
            for choice in field.choices:
                combo.addItem(self.model.words(field.choice(choice)), choice)
            combo.activated.connect(self._chosen)
            return self._named(combo)
        if kind is FieldKind.YES_NO:
            box = QCheckBox(self.model.say("shop_fields.yes"))
            box.clicked.connect(self._ticked)
            return self._named(box)
        if kind is FieldKind.SIZE:
            wide, high = self._line(), self._line()
            for edit, key in ((wide, "width-of"), (high, "height-of")):
                edit.setAccessibleName(self.model.say(f"place_shop.form.{key}", label=field.label))
            self.editors = [wide, high]
            return [wide, label("×", "quiet", wrap=False), high]
        if kind is FieldKind.COLOUR:
            self.swatch = Swatch(None, wide=self.look.px(26), high=self.look.px(20))
            pick = QPushButton(self.model.say("place_shop.form.pick-colour"))
            pick.setAccessibleName(self.model.say("place_shop.form.pick-colour-of", label=field.label))
            pick.setObjectName(f"pick-{field.path}")
            pick.clicked.connect(self._pick)
            made = self._named(self._line())
            self.editors.append(pick)
            return [self.swatch, *made, pick]
        return self._named(self._line())

    def _line(self) -> TextEdit:
        edit = TextEdit(steps=self.field.kind in (*NUMBERS, FieldKind.SIZE))
        edit.left.connect(self._left)
        edit.given_up.connect(self.give_up)
        edit.textEdited.connect(self._edited)
        if self.field.kind in NUMBERS or self.field.kind is FieldKind.SIZE:
            edit.setFixedWidth(self.look.px(90))
            edit.stepped.connect(self._step)
        elif self.field.kind is FieldKind.COLOUR:
            edit.setFixedWidth(self.look.px(110))
        else:
            edit.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
            edit.setMinimumWidth(self.look.px(150))
            edit.setMaximumWidth(self.look.px(420))
        return edit

    def _named(self, widget: QWidget) -> list[QWidget]:
        widget.setAccessibleName(self.told)
        widget.setObjectName(f"edit-{self.field.path}")
        widget.setProperty("glossary", self.told)
        self.label.setBuddy(widget)
        self.editors.append(widget)
        return [widget]

    def _range(self) -> str:
        field = self.field
        say = self.model.say
        usual = in_words(field, field.usual(), self.units) if field.kind is not FieldKind.YES_NO else ""
        told = self.model.words(in_range(field, self.units))
        if told and usual:
            return say("place_shop.form.range-usual", range=told, usual=usual)
        if usual:
            return say("place_shop.form.usual", usual=usual)
        if not told and field.may_be_empty and field.kind in (FieldKind.TEXT, FieldKind.COLOUR):
            return say("place_shop.form.may-be-empty")
        return told

    # ------------------------------------------------------------ what it shows

    def fold(self, narrow: bool) -> None:
        """Puts the label above the editor where there is no room beside it."""
        if narrow == self._narrow:
            return
        self._narrow = narrow
        wide = 0 if narrow else self.look.px(160)
        self._grid.removeWidget(self.label)
        self._grid.setColumnMinimumWidth(0, wide)
        self._grid.setHorizontalSpacing(0 if narrow else self.look.px(12))
        self.label.setMinimumWidth(wide)
        self.label.setMaximumWidth(wide or 16_777_215)
        self.label.setContentsMargins(0, 0 if narrow else self.look.px(4), 0, 0)
        if narrow:
            self._grid.addWidget(self.label, 0, 0, 1, 2)
        else:
            self._grid.addWidget(self.label, 1, 0, Qt.AlignmentFlag.AlignTop)

    def _fit(self) -> None:
        """Puts a source that is long below the range, where all of it can be read."""
        room = self.width() - (0 if self._narrow else self.look.px(172))
        wide = sum(self.fontMetrics().horizontalAdvance(each.text()) for each in (self.range, self.source))
        beside = not self.source.text() or wide + self.look.px(30) < room
        way = QBoxLayout.Direction.LeftToRight if beside else QBoxLayout.Direction.TopToBottom
        if self._under.direction() != way:
            self._under.setDirection(way)
            self._under.setSpacing(self.look.px(14 if beside else 1))

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._fit()

    def here(self, here: bool) -> None:
        """Whether the person is at this field: only then an empty source asks for one."""
        self.source.setPlaceholderText(self.model.say("place_shop.form.no-source") if here else "")

    def show_value(self, value: object, source: str, pending: Typed | None, fault: str) -> None:
        """The value in force with its source; or what was typed and is not valid yet, with what is wrong."""
        self.value = value
        text = shown(self.field, value, self.units) if pending is None else pending
        for edit in self._lines():
            if isinstance(edit, TextEdit):
                edit.waiting = pending is not None
        if not self._being_typed() or pending is not None or self._typed() == text:
            self._fill(text)
        if not (self.source.hasFocus() and self.source.isModified()):
            self._source = source
            if self.source.text() != source:
                self.source.setText(source)
                self.source.setCursorPosition(0)
            self.source.setToolTip(source)
        self._tell(fault)
        self._fit()

    def _tell(self, fault: str) -> None:
        words = self.model.words
        told = ""
        if fault:
            force = words(in_words(self.field, self.value, self.units))
            key = "place_shop.form.by-you" if force else "shop_fields.told"
            told = self.model.say(key, label=self.field.label, what=fault, value=force)
        self.fault.setText(told)
        self.fault.setVisible(bool(told))
        for editor in self.editors:
            editor.setAccessibleDescription(told or words(self.field.help))

    def _fill(self, text: Typed) -> None:
        editor = self.editors[0]
        if isinstance(editor, QComboBox):
            editor.setCurrentIndex(max(0, editor.findData(text)))
        elif isinstance(editor, QCheckBox):
            editor.setChecked(bool(text))
        else:
            parts = text if isinstance(text, tuple) else (str(text),)
            for edit, part in zip(self._lines(), parts, strict=True):
                if edit.text() != part or edit.isUndoAvailable():
                    edit.setText(part)
                    edit.setCursorPosition(0)
                edit.setModified(False)
        if self.swatch is not None:
            self.swatch.colour = _hex(str(text))
            self.swatch.update()

    def _lines(self) -> list[QLineEdit]:
        return [editor for editor in self.editors if isinstance(editor, QLineEdit)]

    def _being_typed(self) -> bool:
        return any(edit.hasFocus() and edit.isModified() for edit in self._lines())

    def _typed(self) -> Typed:
        editor = self.editors[0]
        if isinstance(editor, QComboBox):
            return str(editor.currentData() or "")
        if isinstance(editor, QCheckBox):
            return editor.isChecked()
        lines = self._lines()
        return (lines[0].text(), lines[1].text()) if self.field.kind is FieldKind.SIZE else lines[0].text()

    # ------------------------------------------------------------ what the person does

    def give_up(self) -> None:
        """Back to the value in force."""
        self._fill(shown(self.field, self.value, self.units))
        self._tell("")
        self.typed.emit(self.field.path, self._typed(), False)

    def _left(self) -> None:
        if any(edit.isModified() for edit in self._lines()):
            for edit in self._lines():
                edit.setModified(False)
            self.typed.emit(self.field.path, self._typed(), False)

    def _edited(self) -> None:
        if self.swatch is not None:
            self.swatch.colour = _hex(self._lines()[0].text())
            self.swatch.update()

    def _chosen(self) -> None:
        self.typed.emit(self.field.path, self._typed(), False)

    def _ticked(self) -> None:
        self.typed.emit(self.field.path, self._typed(), False)

    def _step(self, way: int) -> None:
        edit = self.sender()
        if not isinstance(edit, QLineEdit):
            return
        try:
            now = float(edit.text())
        except ValueError:
            return
        whole = self.field.kind is FieldKind.WHOLE
        step = 1.0 if whole or abs(now) >= 10 else 10.0 ** (math.floor(math.log10(abs(now))) - 1) if now else 0.1
        edit.setText(f"{now + way * step:.6g}" if not whole else str(int(now) + way))
        edit.setModified(False)
        self.typed.emit(self.field.path, self._typed(), True)

    def _pick(self) -> None:
        chosen = dialogs.ask_colour(self, self.told, _hex(self._lines()[0].text()) or "#808080")
        if chosen is not None:
            self._fill(chosen)
            self.typed.emit(self.field.path, chosen, False)

    def _source_left(self) -> None:
        if self.source.isModified() and self.source.text() != self._source:
            self.source.setModified(False)
            self.sourced.emit(self.field.path, self.source.text())

    def _source_back(self) -> None:
        self.source.setText(self._source)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if event.type() is QEvent.Type.FocusIn and isinstance(event, QFocusEvent):
            self.reached.emit(self.field.path)
        return False


def style_of_sources(look: Look) -> str:
    """A style sheet for what rows stand in: sources are small and quiet until one is at them."""
    at = 'QLineEdit[voice="source"]'
    return (
        f"{at} {{ border-color: transparent; padding: 0; min-height: {look.px(15)}px;"
        f" font-size: {look.px(12)}px; color: {look.theme.quiet}; background: transparent; }}"
        f"{at}:focus {{ border: 1px solid {look.theme.ink}; }}"
    )


def _hex(text: str) -> str | None:
    try:
        return to_hex(parse_colour(text))
    except ValueError:
        return None
