"""What a person sees, hears read out, or can reach in a window: its texts, its boxes, its keys."""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field

from PySide6.QtCore import QAbstractListModel, QPointF, QRectF, Qt
from PySide6.QtGui import QAccessible, QAction, QFontMetricsF, QPainter, QTextDocument
from PySide6.QtWidgets import (
    QAbstractButton,
    QAbstractItemView,
    QAbstractScrollArea,
    QAbstractSpinBox,
    QApplication,
    QComboBox,
    QGroupBox,
    QHeaderView,
    QLabel,
    QLineEdit,
    QMenu,
    QPlainTextEdit,
    QProgressBar,
    QPushButton,
    QTabBar,
    QTableView,
    QTextEdit,
    QWidget,
)

INTERACTIVE = (QAbstractButton, QLineEdit, QComboBox, QAbstractSpinBox, QAbstractItemView, QPlainTextEdit, QTextEdit)
ELLIPSIS = "…"
MOST_LINKS = 40
Role = Qt.ItemDataRole


@dataclass(frozen=True)
class Seen:
    """A text with where it was read; ``kind`` is ``field`` for what a person may type over."""

    where: str
    text: str
    kind: str = ""


@dataclass
class Painted:
    """Texts that painting code set down, with those that did not fit the widget they were painted on."""

    texts: list[Seen] = field(default_factory=list)
    faults: list[str] = field(default_factory=list)


def named(widget: QWidget) -> str:
    """A widget as a fault names it: its kind and name, below the nearest named one."""
    told, above = [f"{type(widget).__name__} {widget.objectName()}".strip()], widget.parentWidget()
    while above is not None and not above.objectName():
        above = above.parentWidget()
    return " in ".join([*told, *([above.objectName()] if above is not None else [])])


def shown(root: QWidget) -> list[QWidget]:
    """Every widget that is shown, ``root`` too; those of a scroll area that are scrolled away count."""
    return [root, *(widget for widget in root.findChildren(QWidget) if widget.isVisibleTo(root))]


def plain(text: str, *, rich: bool = False) -> str:
    """Text without its markup, where it has any."""
    if not rich and not re.search(r"</?[a-z]+[^>]*>", text):
        return text
    document = QTextDocument()
    document.setHtml(text)
    return document.toPlainText()


# ---------------------------------------------------------------- texts


def texts(root: QWidget) -> Iterator[Seen]:
    """Every text of every widget that is shown: what it says, its tip, its name and description, its rows."""
    yield Seen("title", root.windowTitle())
    for widget in shown(root):
        where = named(widget)
        for text in (widget.toolTip(), widget.accessibleName(), widget.accessibleDescription(), widget.statusTip()):
            yield Seen(where, plain(text))
        for text in _own_texts(widget):
            yield Seen(where, plain(text), "field" if isinstance(widget, QLineEdit) else "")


def _own_texts(widget: QWidget) -> Iterator[str]:
    if isinstance(widget, QLabel):
        yield _said(widget)
    elif isinstance(widget, QAbstractButton):
        yield widget.text()
    elif isinstance(widget, QLineEdit):
        yield from (widget.text(), widget.placeholderText())
    elif isinstance(widget, QComboBox):
        yield from (widget.placeholderText(), widget.currentText())
        for at in range(widget.count()):
            yield widget.itemText(at)
            yield str(widget.itemData(at, Role.ToolTipRole) or "")
    elif isinstance(widget, QPlainTextEdit | QTextEdit):
        yield from (widget.toPlainText(), widget.placeholderText())
    elif isinstance(widget, QAbstractSpinBox):
        yield widget.text()
    elif isinstance(widget, QGroupBox):
        yield widget.title()
    elif isinstance(widget, QTabBar):
        for at in range(widget.count()):
            yield from (widget.tabText(at), widget.tabToolTip(at))
    elif isinstance(widget, QProgressBar) and widget.isTextVisible():
        yield widget.text()
    elif isinstance(widget, QAbstractItemView) and not isinstance(widget, QHeaderView) and widget.model() is not None:
        yield from _rows(widget)


def _said(label: QLabel) -> str:
    return plain(label.text(), rich=label.textFormat() is Qt.TextFormat.RichText)


def _rows(view: QAbstractItemView) -> Iterator[str]:
    model = view.model()
    roles = (Role.DisplayRole, Role.EditRole, Role.ToolTipRole, Role.AccessibleTextRole, Role.AccessibleDescriptionRole)
    columns = 1 if isinstance(model, QAbstractListModel) else model.columnCount()
    for column in range(columns):
        for role in (Role.DisplayRole, Role.ToolTipRole):
            yield _text_of(model.headerData(column, Qt.Orientation.Horizontal, role))
        for row in range(model.rowCount()):
            for role in roles:
                yield _text_of(model.index(row, column).data(role))


def _text_of(value: object) -> str:
    return value if isinstance(value, str) else ""


def menu_texts(root: QWidget) -> Iterator[Seen]:
    """Every entry of every menu, those too that open a menu."""
    for action in root.findChildren(QAction):
        yield Seen(f"entry {action.objectName()}", action.text().replace("&", ""))
        yield Seen(f"tip of {action.objectName()}", action.toolTip())
    for menu in root.findChildren(QMenu):
        yield Seen(f"menu {menu.objectName()}", menu.title().replace("&", ""))


@contextmanager
def painted() -> Iterator[Painted]:
    """Notes each text that Python code paints while it lasts."""
    noted, draw = Painted(), QPainter.drawText

    def heed(painter: QPainter, *told: object) -> object:
        device = painter.device()
        text = next((one for one in told if isinstance(one, str)), "")
        where = named(device) if isinstance(device, QWidget) else type(device).__name__
        noted.texts.append(Seen(f"painted on {where}", text))
        if isinstance(device, QWidget) and text and painter.transform().isIdentity():
            noted.faults += _painted_faults(painter, device, where, text, told)
        return draw(painter, *told)

    QPainter.drawText = heed  # type: ignore[method-assign, assignment]
    try:
        yield noted
    finally:
        QPainter.drawText = draw  # type: ignore[method-assign]


def _painted_faults(
    painter: QPainter, device: QWidget, where: str, text: str, told: tuple[object, ...]
) -> Iterator[str]:
    """What does not fit the widget that it is painted on, or is cut without a tip that tells it all."""
    metrics = QFontMetricsF(painter.font())
    first = told[0]
    if isinstance(first, QRectF) or hasattr(first, "toRect") or hasattr(first, "normalized"):
        flags = next((one for one in told[1:] if not isinstance(one, str)), 0)
        room = QRectF(first)  # type: ignore[call-overload]
        took = metrics.boundingRect(room, int(getattr(flags, "value", flags)), text)  # type: ignore[call-overload]
    else:
        at = QPointF(first) if not isinstance(first, int) else QPointF(first, told[1])  # type: ignore[call-overload, arg-type]
        took = QRectF(at.x(), at.y() - metrics.ascent(), metrics.horizontalAdvance(text), metrics.height())
    whole = QRectF(device.rect()).adjusted(-1.5, -1.5, 1.5, 1.5)
    area = _area_of(device)
    across = area is not None and area.horizontalScrollBar().maximum() > 0
    down = area is not None and area.verticalScrollBar().maximum() > 0
    if not across and (took.left() < whole.left() or took.right() > whole.right()):
        yield f"{where}: {text!r} is painted over its side ({took.left():.0f}..{took.right():.0f} of {device.width()})"
    if not down and (took.top() < whole.top() - 2 or took.bottom() > whole.bottom() + 2):
        yield f"{where}: {text!r} is painted over its foot ({took.top():.0f}..{took.bottom():.0f} of {device.height()})"
    if text.endswith(ELLIPSIS) and not (device.toolTip() or isinstance(area, QAbstractItemView)):
        yield f"{where}: {text!r} is cut and no tip tells it"


def _area_of(widget: QWidget) -> QAbstractScrollArea | None:
    """The area whose view a widget is."""
    above = widget.parentWidget()
    return above if isinstance(above, QAbstractScrollArea) and above.viewport() is widget else None


# ---------------------------------------------------------------- boxes


def unfit(root: QWidget) -> Iterator[str]:
    """Every text that has less room than it takes, and every widget that sticks out of what holds it."""
    for widget in shown(root):
        if widget is root or _inner(widget):
            continue
        yield from _out_of_its_holder(widget)
        if isinstance(widget, QLabel):
            yield from _label(widget)
        elif isinstance(widget, QPushButton) or (isinstance(widget, QAbstractButton) and widget.text()):
            yield from _button(widget)
        elif isinstance(widget, QComboBox):
            yield from _choice(widget)
        elif isinstance(widget, QLineEdit):
            yield from _field(widget)
        elif isinstance(widget, QTableView):
            yield from _table(widget)


def _inner(widget: QWidget) -> bool:
    """A part of a widget of Qt's own, which looks after it."""
    above = widget.parentWidget()
    return isinstance(above, QComboBox | QAbstractSpinBox | QLineEdit) or widget.objectName().startswith("qt_")


def _out_of_its_holder(widget: QWidget) -> Iterator[str]:
    above = widget.parentWidget()
    if above is None or widget.isWindow():
        return
    area = _area_of(above)
    box, room = widget.geometry(), above.rect()
    if area is not None:
        sideways = area.horizontalScrollBarPolicy() is not Qt.ScrollBarPolicy.ScrollBarAlwaysOff
        if not sideways and not isinstance(area, QAbstractItemView) and box.width() > room.width() + 1:
            yield f"{named(widget)}: {box.width()} px wide in a view of {room.width()} px that does not scroll sideways"
        return
    if box.right() > room.right() + 1 or box.bottom() > room.bottom() + 1 or box.left() < -1 or box.top() < -1:
        yield f"{named(widget)}: {box} sticks out of {above.width()} x {above.height()}"


def _label(widget: QLabel) -> Iterator[str]:
    text = _said(widget)
    if not text.strip():
        return
    tip = bool(widget.toolTip())
    if widget.wordWrap():
        if widget.minimumSizeHint().width() > widget.width() + 1:
            yield f"{named(widget)}: a word of {text!r} is wider than its {widget.width()} px"
        needed = widget.heightForWidth(widget.width())
        if needed > widget.height() + 1 and not tip:
            yield f"{named(widget)}: {text!r} takes {needed} px of height, has {widget.height()}"
    elif not tip and widget.sizeHint().width() > widget.width() + 1:
        yield f"{named(widget)}: {text!r} takes {widget.sizeHint().width()} px, has {widget.width()}"
    elif widget.sizeHint().height() > widget.height() + 1:
        yield f"{named(widget)}: {text!r} is {widget.sizeHint().height()} px high, has {widget.height()}"


def _button(widget: QAbstractButton) -> Iterator[str]:
    wanted = widget.minimumSizeHint() if isinstance(widget, QPushButton) else widget.sizeHint()
    if widget.hasHeightForWidth():
        if widget.heightForWidth(widget.width()) > widget.height() + 1:
            yield f"{named(widget)}: {widget.text()!r} takes more height than {widget.height()} px"
    elif wanted.isValid() and (wanted.width() > widget.width() + 1 or wanted.height() > widget.height() + 1):
        yield f"{named(widget)}: {widget.text()!r} takes {wanted.width()} x {wanted.height()}, has {widget.size()}"


def _choice(widget: QComboBox) -> Iterator[str]:
    inner = widget.width() - widget.height()  # the arrow takes about a square
    if widget.fontMetrics().horizontalAdvance(widget.currentText()) > inner and not widget.toolTip():
        yield f"{named(widget)}: {widget.currentText()!r} is cut at {inner} px and no tip tells it"


def _field(widget: QLineEdit) -> Iterator[str]:
    metrics, inner = widget.fontMetrics(), widget.contentsRect().width()
    if metrics.horizontalAdvance(widget.placeholderText()) > inner and not widget.toolTip():
        yield f"{named(widget)}: its hint {widget.placeholderText()!r} is cut"
    if metrics.horizontalAdvance(widget.text()) > inner and not widget.toolTip():
        yield f"{named(widget)}: {widget.text()!r} is cut at {inner} px and no tip tells it"


def _table(view: QTableView) -> Iterator[str]:
    model, header = view.model(), view.horizontalHeader()
    if model is None:
        return
    for column in range(model.columnCount()):
        if view.isColumnHidden(column):
            continue
        if not header.isHidden() and _head_is_cut(view, column):
            yield f"{named(view)}: the head {model.headerData(column, Qt.Orientation.Horizontal)!r} is cut"
        for row in range(model.rowCount()):
            index = model.index(row, column)
            wide = view.sizeHintForIndex(index).width() > view.columnWidth(column) + 1
            if wide and _text_of(index.data()) and not _text_of(index.data(Role.ToolTipRole)):
                yield f"{named(view)}: {index.data()!r} is cut and no tip tells it"


def _head_is_cut(view: QTableView, column: int) -> bool:
    """Whether a column's head has less room than it takes, with no tip that tells it."""
    model, header = view.model(), view.horizontalHeader()

    def head(role: Role) -> object:
        return model.headerData(column, Qt.Orientation.Horizontal, role)

    text, wide = _text_of(head(Role.DisplayRole)), view.columnWidth(column)
    alignment = head(Role.TextAlignmentRole)
    wraps = int(alignment if isinstance(alignment, int) else 0) & int(Qt.TextFlag.TextWordWrap)
    if not wraps:
        return bool(text) and header.sectionSizeHint(column) > wide + 1 and not _text_of(head(Role.ToolTipRole))
    metrics = QFontMetricsF(header.font())
    took = metrics.boundingRect(QRectF(0, 0, wide - 8, 1000), int(Qt.TextFlag.TextWordWrap), text)
    return took.width() > wide or took.height() > header.height() + 1


# ---------------------------------------------------------------- keys


def by_tab(root: QWidget, *, backwards: bool = False) -> list[QWidget]:
    """Everything that Tab (or Shift+Tab) reaches, one after another, until it comes round again."""
    from PySide6.QtTest import QTest

    reached: list[QWidget] = []
    within = 0
    for _ in range(1500):
        focus = QApplication.focusWidget() or root
        if backwards:
            QTest.keyClick(focus, Qt.Key.Key_Backtab, Qt.KeyboardModifier.ShiftModifier)
        else:
            QTest.keyClick(focus, Qt.Key.Key_Tab)
        now = QApplication.focusWidget()
        assert now is not None, f"Tab led nowhere from {named(focus)}"
        within = within + 1 if now is focus else 0
        assert within < MOST_LINKS, f"Tab does not leave {named(focus)}: {focus.accessibleName()!r}"
        if now is focus:  # from link to link of one text
            continue
        if now in reached:
            return reached
        reached.append(now)
    raise AssertionError("Tab never comes round")


def by_arrows(start: QWidget) -> set[QWidget]:
    """Everything of one kind that the right arrow reaches from one of them, itself too."""
    from PySide6.QtTest import QTest

    start.setFocus()
    reached: set[QWidget] = set()
    focus = QApplication.focusWidget()
    while focus is not None and focus not in reached and type(focus) is type(start):
        reached.add(focus)
        QTest.keyClick(focus, Qt.Key.Key_Right)
        focus = QApplication.focusWidget()
    return reached


def to_be_reached(root: QWidget) -> list[QWidget]:
    """Every widget that is shown, can be used, and takes keys or a choice."""
    return [
        widget
        for widget in shown(root)
        if widget.isEnabled()
        and not _inner(widget)
        and not isinstance(widget, QHeaderView)
        and (widget.focusPolicy() & Qt.FocusPolicy.TabFocus or isinstance(widget, INTERACTIVE))
    ]


def read_out(widget: QWidget) -> str:
    """The name by which a screen reader tells of a widget."""
    reader = QAccessible.queryAccessibleInterface(widget)
    assert reader is not None, f"{named(widget)} cannot be read out"
    return reader.text(QAccessible.Text.Name)
