"""A bar that says unsaved changes were brought back, and takes them away again where the person wants."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QHBoxLayout, QLabel, QPushButton, QWidget

from setupassist.app.labels import label
from setupassist.app.model import DeskModel
from setupassist.app.theme import Look


class RecoveryBar(QWidget):
    """Hidden until ``offer`` says that a draft was brought back."""

    def __init__(self, model: DeskModel, look: Look) -> None:
        super().__init__()
        self.model = model
        self.setObjectName("ground")
        self.setAttribute(Qt.WidgetAttribute.WA_StyledBackground)
        row = QHBoxLayout(self)
        row.setContentsMargins(look.px(20), look.px(6), look.px(20), look.px(6))
        self.said: QLabel = label("", name="recovered")
        keep = QPushButton(model.say("app.recovered.keep"))
        keep.clicked.connect(self.hide)
        self.saved = QPushButton(model.say("app.recovered.saved"))
        self.saved.setObjectName("back-to-saved")
        self.saved.clicked.connect(self._back)
        row.addWidget(self.said, 1)
        row.addWidget(keep)
        row.addWidget(self.saved)
        self.hide()

    def offer(self, at: str) -> None:
        """Tells from when the changes are."""
        self.said.setText(self.model.say("app.recovered.said", at=at.replace("T", " ")[:16]))
        opened = self.model.desk.opened
        self.saved.setVisible(opened is not None and opened.saved is not None)
        self.show()

    def _back(self) -> None:
        self.model.back_to_saved()
        self.hide()
