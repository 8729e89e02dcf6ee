"""The form of the order: press, ink system, pieces, sizes, place, and a line of fields for every garment group."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtWidgets import QPushButton, QVBoxLayout, QWidget

from setupassist.app.entry import ColourLine, Line, Named, Pick
from setupassist.app.flow import Flow
from setupassist.app.labels import label
from setupassist.app.model import DeskModel
from setupassist.app.theme import Look
from setupassist.desk import edits, order
from setupassist.desk.asked import steps_known
from setupassist.desk.edits import Edit
from setupassist.desk.order import GarmentLine
from setupassist.documents.job import Job
from setupassist.documents.press import Press
from setupassist.documents.terms import BleedTest, Fibre, InkSystem
from setupassist.errors import SetupAssistError

FIELDS = ("name", "colour", "fibre", "polyester_share", "fabric", "pieces", "grams_per_m2", "bleed_test")


class GarmentFields(QWidget):
    """The fields of one garment group; ``at`` is its place in the order."""

    def __init__(self, form: OrderForm, at: int) -> None:
        super().__init__()
        self.form, self.at = form, at
        look, say = form.look, form.model.say
        self.setObjectName(f"garment-{at}")
        self.name = Line(look, wide=130)
        self.colour = ColourLine(
            look, choose=say("place_questions.order.choose"), title=say("place_questions.order.colour")
        )
        self.fibre, self.bleed_test = Pick(), Pick()
        self.polyester_share = Line(look, wide=60)
        self.fabric = Line(look, wide=95)
        self.pieces = Line(look, wide=60)
        self.grams_per_m2 = Line(look, wide=52)
        self.remove = QPushButton(say("place_questions.order.remove"))
        self.remove.clicked.connect(self._remove)
        flow = Flow(gap=look.px(12), line_gap=look.px(6))
        self.setLayout(flow)
        self.named: dict[str, Named] = {}
        for field in FIELDS:
            widget: QWidget = getattr(self, field)
            widget.setObjectName(f"garment-{at}-{field}")
            self.named[field] = Named(look, say(f"place_questions.order.{field}"), widget)
            flow.addWidget(self.named[field])
        flow.addWidget(Named(look, "", self.remove))
        for field in ("name", "polyester_share", "fabric", "pieces", "grams_per_m2"):
            getattr(self, field).told.connect(self._teller(field))
        for field in ("colour", "fibre", "bleed_test"):
            getattr(self, field).told.connect(self._teller(field))

    def _teller(self, field: str) -> Callable[[str], None]:
        return {
            "name": self._tell_name,
            "colour": self._tell_colour,
            "fibre": self._tell_fibre,
            "polyester_share": self._tell_share,
            "fabric": self._tell_fabric,
            "pieces": self._tell_pieces,
            "grams_per_m2": self._tell_grams,
            "bleed_test": self._tell_bleed,
        }[field]

    def _tell(self, field: str, text: str) -> None:
        model = self.form.model
        if not model.edit(lambda: order.garment_edit(model.job, self.at, field, text)):
            self.form.refresh()

    def _tell_name(self, text: str) -> None:
        self._tell("name", text)

    def _tell_colour(self, text: str) -> None:
        self._tell("colour", text)

    def _tell_fibre(self, text: str) -> None:
        self._tell("fibre", text)

    def _tell_share(self, text: str) -> None:
        self._tell("polyester_share", text)

    def _tell_fabric(self, text: str) -> None:
        self._tell("fabric", text)

    def _tell_pieces(self, text: str) -> None:
        self._tell("pieces", text)

    def _tell_grams(self, text: str) -> None:
        self._tell("grams_per_m2", text)

    def _tell_bleed(self, text: str) -> None:
        self._tell("bleed_test", text)

    def _remove(self) -> None:
        model = self.form.model
        model.edit(lambda: order.remove_garment(model.job, self.at))

    def show_line(self, line: GarmentLine, *, alone: bool) -> None:
        """Shows a garment group as it is taken."""
        say = self.form.model.say
        told = line.told

        def suggested(value: str) -> str:
            return say("place_questions.suggested-value", value=value)

        self.name.hold(line.name if "name" in told else "", "" if "name" in told else line.name)
        colour = line.colour if "colour" in told else ""
        self.colour.hold(line.colour, colour, "" if colour else suggested(line.colour))
        self.fibre.hold(self._choices("fibre", Fibre, line.fibre, "fibre" in told), _held(line.fibre, "fibre" in told))
        shown = line.share is not None
        self.named["polyester_share"].setVisible(shown)
        if line.share is not None:
            percent = f"{100 * line.share:.0f}"
            own = "polyester_share" in told
            self.polyester_share.hold(percent if own else "", "" if own else suggested(percent))
        self.fabric.hold(line.fabric if "fabric" in told else "", "" if "fabric" in told else line.fabric)
        self.pieces.hold("" if line.pieces is None else str(line.pieces))
        self.named["pieces"].setVisible(not alone or line.pieces is not None)
        self.grams_per_m2.hold("" if line.grams is None else f"{line.grams:g}", say("place_questions.order.grams-as"))
        self.named["bleed_test"].setVisible(line.bleed is not None)
        if line.bleed is not None:
            own = "bleed_test" in told
            self.bleed_test.hold(self._choices("bleed_test", BleedTest, line.bleed, own), _held(line.bleed, own))
        self.remove.setVisible(not alone)
        self.remove.setAccessibleName(say("place_questions.order.remove-told", garment=line.name))
        for field in FIELDS:
            widget = getattr(self, field)
            field_name = say(f"place_questions.order.{field}")
            told_name = say("place_questions.order.field-of", field=field_name, garment=line.name)
            (widget.line if isinstance(widget, ColourLine) else widget).setAccessibleName(told_name)

    def _choices(
        self, room: str, kinds: type[Fibre] | type[BleedTest], taken: Fibre | BleedTest, told: bool
    ) -> list[tuple[str, str]]:
        say = self.form.model.say
        choices = [(say(f"terms.{room}.{kind.value}"), kind.value) for kind in kinds]
        if told:
            return choices
        return [(say("place_questions.suggested-value", value=say(f"terms.{room}.{taken.value}")), ""), *choices]


def _held(value: Fibre | BleedTest, told: bool) -> str:
    return value.value if told else ""


class OrderForm(QWidget):
    """What the order is; every field is an edit of the job."""

    def __init__(self, model: DeskModel, look: Look) -> None:
        super().__init__()
        self.model, self.look = model, look
        say = model.say
        self.press, self.ink_system = Pick(), Pick()
        self.pieces = Line(look, wide=70)
        self.sizes = Line(look, wide=190)
        self.location = Line(look, wide=90)
        self.placement = Line(look, wide=180)
        self._refused: str | None = None
        self.sizes_fault = label("", "strong", name="order-sizes-fault")
        self.sizes_fault.hide()
        self.whole = Flow(gap=look.px(12), line_gap=look.px(6))
        named: dict[str, Named] = {}
        for field in ("press", "ink-system", "pieces", "sizes", "location", "placement"):
            widget = getattr(self, field.replace("-", "_"))
            widget.setObjectName(f"order-{field}")
            widget.setAccessibleName(say(f"place_questions.order.{field}"))
            named[field] = Named(look, say(f"place_questions.order.{field}"), widget)
            self.whole.addWidget(named[field])
            if field == "pieces":
                self.pieces_sum = label("", wrap=False, name="order-pieces-sum")
                named["sum"] = Named(look, say("place_questions.order.pieces"), self.pieces_sum)
                self.whole.addWidget(named["sum"])
        self._named = named
        self.press.told.connect(self._tell_press)
        self.ink_system.told.connect(self._tell_system)
        self.pieces.told.connect(self._tell_pieces)
        self.sizes.told.connect(self._tell_sizes)
        self.sizes.given_up.connect(self._sizes_stand)
        model.opened.connect(self._another)
        self.location.told.connect(self._tell_location)
        self.placement.told.connect(self._tell_placement)
        self.garments: list[GarmentFields] = []
        self._lines = QVBoxLayout()
        self._lines.setSpacing(look.px(8))
        self.add = QPushButton(say("place_questions.order.add"))
        self.add.setObjectName("order-add-garment")
        self.add.clicked.connect(self.add_garment)
        foot = Flow(gap=look.px(12), line_gap=look.px(6))
        foot.addWidget(self.add)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(look.px(10))
        column.addLayout(self.whole)
        column.addWidget(self.sizes_fault)
        column.addLayout(self._lines)
        column.addLayout(foot)

    # ------------------------------------------------------------ showing

    def refresh(self) -> None:
        """Shows the order as it is; what is being typed is left alone."""
        model, say = self.model, self.model.say
        if not model.has_job:
            return
        job = model.job
        own = job.press
        names = order.presses(model.desk)
        press = own.name if isinstance(own, Press) else own
        written_out = say("place_questions.order.press-of-job", press=press) if isinstance(own, Press) else press
        choices = [(written_out if name == press else name, name) for name in names]
        self.press.hold(choices, press)
        self.ink_system.hold(self._systems(job), job.ink_system.value if job.ink_system is not None else "")
        sums = order.pieces_are_sums(job)
        total = job.total_pieces
        self.pieces.hold("" if total is None else str(total), self._pieces_suggested())
        self.pieces_sum.setText(say("place_questions.order.pieces-sum", count=total) if sums else "")
        self._named["pieces"].setVisible(not sums)
        self._named["sum"].setVisible(sums)
        self.sizes.hold(order.sizes_told(job.sizes), say("place_questions.order.sizes-as"), refused=self._refused)
        self.location.hold(job.location)
        self.placement.hold(job.placement, say("place_questions.order.placement-as"))
        self._show_garments()

    def _systems(self, job: Job) -> list[tuple[str, str]]:
        say, steps = self.model.say, steps_known(self.model.desk)
        suggested = steps.answer("ink-system") if steps is not None else None
        first = say("place_questions.order.as-inks-say")
        if suggested is not None and job.ink_system is None:
            first = say("place_questions.suggested-value", value=say(f"terms.ink_system.{suggested}"))
        return [(first, ""), *((say(f"terms.ink_system.{kind.value}"), kind.value) for kind in InkSystem)]

    def _pieces_suggested(self) -> str:
        steps = steps_known(self.model.desk)
        suggested = steps.answer("pieces") if steps is not None else None
        return self.model.say("place_questions.suggested-value", value=suggested) if suggested is not None else ""

    def _show_garments(self) -> None:
        lines = order.garment_lines(self.model.desk)
        while len(self.garments) < len(lines):
            made = GarmentFields(self, len(self.garments))
            self.garments.append(made)
            self._lines.addWidget(made)
            made.show()
        while len(self.garments) > len(lines):
            gone = self.garments.pop()
            self._lines.removeWidget(gone)
            gone.hide()
            gone.deleteLater()
        for fields, line in zip(self.garments, lines, strict=True):
            fields.show_line(line, alone=len(lines) == 1)

    def fields(self) -> list[QWidget]:
        """Its parts from the first to the last."""
        whole = (self.press, self.ink_system, self.pieces, self.sizes, self.location, self.placement)
        return [*whole, *self.garments, self.add]

    # ------------------------------------------------------------ edits

    def _edit(self, make: Callable[[], Edit]) -> None:
        if not self.model.edit(make):
            self.refresh()

    def _tell_press(self, name: str) -> None:
        own = self.model.job.press
        if name != (own.name if isinstance(own, Press) else own):
            self._edit(lambda: edits.on_press(self.model.job, name))

    def _tell_system(self, system: str) -> None:
        self._edit(lambda: order.ink_system_edit(self.model.job, system))

    def _tell_pieces(self, text: str) -> None:
        self._edit(lambda: order.pieces_edit(self.model.job, text))

    def _tell_sizes(self, text: str) -> None:
        try:
            made = order.sizes_edit(self.model.job, text)
        except SetupAssistError as fault:
            self._refused = text
            self.sizes_fault.setText(" ".join(self.model.words(sentence) for sentence in fault.sentences()))
            self.sizes_fault.show()
            self.sizes.setAccessibleDescription(self.sizes_fault.text())
            return
        self._sizes_stand()
        self._edit(lambda: made)

    def _sizes_stand(self) -> None:
        """Nothing that was typed as sizes waits to be mended."""
        self._refused = None
        self.sizes_fault.hide()
        self.sizes.setAccessibleDescription("")

    def _another(self) -> None:
        self._sizes_stand()
        self.refresh()

    def _tell_location(self, text: str) -> None:
        self._edit(lambda: order.text_edit(self.model.job, "location", text))

    def _tell_placement(self, text: str) -> None:
        self._edit(lambda: order.text_edit(self.model.job, "placement", text))

    def add_garment(self) -> None:
        """One more garment group; its name is ready to be typed."""
        model = self.model
        name = model.say("place_questions.order.new-garment")
        if model.edit(lambda: order.add_garment(model.job, name)):
            self.refresh()
            self.garments[-1].name.setFocus()
            self.garments[-1].name.selectAll()
