"""The head of the window: the job's title, what it is in a line, and whether it is saved."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QHBoxLayout, QLabel, QLineEdit, QSizePolicy, QWidget

from setupassist.app.labels import label
from setupassist.app.model import DeskModel
from setupassist.app.theme import TITLE, Look
from setupassist.desk import edits


class Header(QWidget):
    """Title, summary, saved or not."""

    def __init__(self, model: DeskModel, look: Look) -> None:
        super().__init__()
        self.model, self.look = model, look
        row = QHBoxLayout(self)
        row.setContentsMargins(look.px(20), look.px(10), look.px(20), look.px(10))
        row.setSpacing(look.px(16))
        self.title = QLineEdit()
        self.title.setObjectName("job-title")
        self.title.setAccessibleName(model.say("app.head.title"))
        self.title.setFont(look.font(TITLE, weight=600))
        self.title.setStyleSheet("QLineEdit { border-color: transparent; padding-left: 0; }")
        self.title.setSizePolicy(QSizePolicy.Policy.Maximum, QSizePolicy.Policy.Fixed)
        self.title.editingFinished.connect(self._retitle)
        self.summary: QLabel = label("", "quiet", wrap=True, name="job-summary")
        self.summary.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Preferred)
        self.saved: QLabel = label("", "quiet", wrap=False, name="job-saved")
        self.saved.setAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
        for widget, stretch in ((self.title, 0), (self.summary, 1), (self.saved, 0)):
            row.addWidget(widget, stretch)
        for signal in (model.opened, model.job_changed, model.saved_changed):
            signal.connect(self.refresh)
        self.refresh()

    def refresh(self) -> None:
        """Shows the job as it is."""
        model = self.model
        self.title.setVisible(model.has_job)
        self.saved.setVisible(model.has_job)
        if not model.has_job:
            self.summary.setText(model.say("app.head.nothing-open"))
            return
        job = model.job
        if self.title.text() != job.title and not (self.title.hasFocus() and self.title.isModified()):
            self.title.setText(job.title)
        metrics = self.title.fontMetrics()
        wide = metrics.horizontalAdvance(self.title.text() + "MM")
        self.title.setFixedWidth(min(self.look.px(420), wide))
        parts = []
        if job.total_pieces is not None:
            parts.append(model.say("app.head.pieces", count=job.total_pieces))
        parts += [garment.name for garment in job.groups[:2]]
        if job.ink_system is not None:
            parts.append(model.say(f"terms.ink_system.{job.ink_system.value}"))
        press = model.press
        if press is not None:
            parts.append(model.say("app.head.press", press=press.name, count=press.stations))
        self.summary.setText("  ·  ".join(parts))
        self.saved.setText(model.say("app.head.unsaved" if model.desk.modified else "app.head.saved"))

    def _retitle(self) -> None:
        text = self.title.text().strip()
        if self.model.has_job and text and text != self.model.job.title:
            self.model.edit(lambda: edits.title(self.model.job, text))
        if self.model.has_job:
            self.title.setText(self.model.job.title)
