"""The strip at the window's foot: what runs and how to stop it, and what there was to tell."""

from __future__ import annotations

import time

from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QHBoxLayout, QLabel, QProgressBar, QPushButton, QWidget

from setupassist.app.labels import label
from setupassist.app.model import DeskModel
from setupassist.app.theme import Look
from setupassist.desk.tasks import Lane

SHOW_AFTER_MS = 500
TELL_FOR_MS = 12_000
TOGETHER_SECONDS = 0.3
MOST_SENTENCES = 5
QUIET_LANES = (Lane.DISK, Lane.AHEAD, Lane.LOUPE)


class Strip(QWidget):
    """Progress with its stop button, shown for what takes longer than half a second; and passing sentences."""

    def __init__(self, model: DeskModel, look: Look) -> None:
        super().__init__()
        self.model = model
        self.setObjectName("strip")
        self._sentences: list[str] = []
        self._told_at = 0.0
        row = QHBoxLayout(self)
        row.setContentsMargins(look.px(20), look.px(6), look.px(20), look.px(6))
        row.setSpacing(look.px(12))
        self.told: QLabel = label("", name="told")
        self.what: QLabel = label("", "quiet", wrap=False, name="doing")
        self.bar = QProgressBar()
        self.bar.setTextVisible(False)
        self.bar.setFixedWidth(look.px(160))
        self.bar.setAccessibleName(model.say("app.run.progress"))
        self.stop = QPushButton(model.say("app.run.stop"))
        self.stop.setObjectName("stop-work")
        self.stop.clicked.connect(self._stop)
        row.addWidget(self.told, 1)
        for widget in (self.what, self.bar, self.stop):
            row.addWidget(widget)
        self._patience = QTimer(self)
        self._patience.setSingleShot(True)
        self._patience.setInterval(SHOW_AFTER_MS)
        self._patience.timeout.connect(self._show_work)
        self._silence = QTimer(self)
        self._silence.setSingleShot(True)
        self._silence.setInterval(TELL_FOR_MS)
        self._silence.timeout.connect(lambda: self.tell(""))
        model.busy_changed.connect(self.refresh)
        model.told.connect(self.tell)
        model.opened.connect(self._job_opened)
        self._busy(False)
        self.tell("")

    def tell(self, sentence: object) -> None:
        """Shows a sentence for a while; sentences that come together stand together."""
        text = self.model.words(sentence) if isinstance(sentence, str) else ""
        now = time.monotonic()
        if not text or now - self._told_at > TOGETHER_SECONDS:
            self._sentences.clear()
        self._told_at = now
        if text and text not in self._sentences:
            self._sentences.append(text)
        shown = "\n".join(self._sentences[:MOST_SENTENCES])
        self.told.setText(shown)
        self.told.setToolTip("\n".join(self._sentences))
        self._silence.start() if shown else self._silence.stop()
        self._fold()

    def _job_opened(self) -> None:
        """What was told of another job is not this one's."""
        if time.monotonic() - self._told_at > TOGETHER_SECONDS:
            self.tell("")

    def refresh(self) -> None:
        """Follows what runs."""
        working = self._working()
        if not working:
            self._patience.stop()
            self._busy(False)
        elif self.bar.isVisible():
            self._show_work()
        elif not self._patience.isActive():
            self._patience.start()

    def _working(self) -> list[Lane]:
        return [lane for lane in self.model.runner.running if lane not in QUIET_LANES]

    def _show_work(self) -> None:
        working = self._working()
        if not working:
            return
        task = self.model.runner.running[working[0]]
        self.what.setText(self.model.words(task.what))
        if task.share is None:
            self.bar.setRange(0, 0)
        else:
            self.bar.setRange(0, 100)
            self.bar.setValue(round(task.share * 100))
        self._busy(True)

    def _busy(self, busy: bool) -> None:
        for widget in (self.what, self.bar, self.stop):
            widget.setVisible(busy)
        self._fold()

    def _fold(self) -> None:
        self.setVisible(bool(self.told.text()) or not self.bar.isHidden())

    def _stop(self) -> None:
        for lane in self._working():
            self.model.runner.stop(lane)
