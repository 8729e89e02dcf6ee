"""The command: one small function a verb, over the same functions as every other face.

Nothing heavy is imported up here, so that ``setupassist --help`` answers at once.
"""

from __future__ import annotations

import argparse
import os
import sys
from typing import TYPE_CHECKING, NoReturn

if TYPE_CHECKING:
    from pathlib import Path

    from setupassist.documents.base import Document
    from setupassist.documents.shop import Shop

DESCRIPTION = "Turns separated artwork into a press-ready plan for a textile screen-printing carousel."
DOCUMENTS = ("job", "shop", "measure", "plan")

EXIT_DONE = 0
EXIT_INPUT = 2
EXIT_BUG = 70
EXIT_CANCELLED = 130
MOST_NAME_BYTES = 255
MOST_PATH_BYTES = 4095

Told = tuple[int, str]


class _Parser(argparse.ArgumentParser):
    """A parser that says what is wrong in one sentence."""

    def error(self, message: str) -> NoReturn:
        from setupassist.errors import one_line

        self.exit(EXIT_INPUT, f"{self.prog}: {one_line(message)}; '{self.prog} --help' lists what can be said\n")


def _parser() -> _Parser:
    parser = _Parser(prog="setupassist", description=DESCRIPTION)
    parser.add_argument("--version", action="store_true", help="print the version")
    verbs = parser.add_subparsers(dest="verb", metavar="VERB", title="verbs")

    def verb(name: str, text: str, *, reads: bool = True) -> argparse.ArgumentParser:
        made = verbs.add_parser(name, help=text, description=text[:1].upper() + text[1:] + ".")
        if reads:
            made.add_argument("--json", action="store_true", help="print the document instead of tables")
        if name != "schema":
            made.add_argument("--shop", metavar="FILE", help="use this shop book (TOML) instead of your own")
        return made

    measure = verb("measure", "what the plates show: ink, kind, dots, contacts")
    measure.add_argument("plates", metavar="PLATES", help="folder of plates, a multi-ink or multi-page TIFF, or a job")
    measure.add_argument("--dpi", type=float, metavar="N", help="resolution where the file does not tell it")
    measure.add_argument("--light-is-ink", action="store_true", help="light is ink in grey and two-level images")
    measure.add_argument("--base", metavar="NAME", help="the plate that is the base, where its name does not tell")

    plan = verb("plan", "which station every screen and flash takes, and why")
    plan.add_argument("job", metavar="JOB", help="job.json, or the folder it lies in")
    plan.add_argument("--strategy", choices=("leanest", "cleanest", "quickest-changeover"), help="overrules the job's")
    plan.add_argument("--time-limit", type=float, default=30.0, metavar="SECONDS", help="how long to look (30)")

    sheet = verb("sheet", "print the setup sheet as a PDF", reads=False)
    sheet.add_argument("job", metavar="JOB", help="job.json, or the folder it lies in")
    sheet.add_argument("-o", "--output", required=True, metavar="FILE", help="the PDF to write")
    sheet.add_argument("--paper", choices=("a4", "letter"), help="overrules the job's and the shop's paper")
    sheet.add_argument("--units", choices=("inch", "metric"), help="overrules the job's and the shop's units")
    sheet.add_argument("--date", metavar="TEXT", help="the date printed on the sheet (today)")
    sheet.add_argument("--time-limit", type=float, default=30.0, metavar="SECONDS", help="how long to look (30)")

    shop = verb("shop", "the shop book: presses, screens, inks, flash units, dryers, policies")
    shop.add_argument("action", nargs="?", default="show", choices=("show", "edit", "import"), help="show if left out")
    shop.add_argument("file", nargs="?", metavar="FILE", help="the book to import")

    schema = verb("schema", "print the JSON Schema of a document", reads=False)
    schema.add_argument("document", choices=DOCUMENTS)
    return parser


def main(arguments: list[str] | None = None) -> int:
    """Runs the command; the exit code. Faults go to stderr in plain words."""
    given = sys.argv[1:] if arguments is None else arguments
    try:
        return _run(given)
    except SystemExit as stop:
        return int(stop.code or 0)
    except BrokenPipeError:
        _drop_output()
        return EXIT_DONE
    except OSError as error:
        _drop_output()
        _say(f"the output cannot be written ({error.strerror or error}); send it elsewhere")
        return EXIT_INPUT


def _run(given: list[str]) -> int:
    parser = _parser()
    options = parser.parse_args(given)
    if options.version:
        from setupassist import __version__

        print(__version__, flush=True)
        return EXIT_DONE
    if options.verb is None:
        parser.print_help()
        return EXIT_DONE
    code, told = _guarded(options)
    if told:
        print(told, flush=True)
    return code


def _guarded(options: argparse.Namespace) -> Told:
    from setupassist.errors import SetupAssistError, one_line

    try:
        return VERBS[options.verb](options)
    except SetupAssistError as error:
        for sentence in error.sentences():
            _say(sentence)
        return error.exit_code, ""
    except KeyboardInterrupt:
        _say("stopped; nothing was left half written")
        return EXIT_CANCELLED, ""
    except MemoryError:
        _say("the machine ran out of memory; close other programs or use smaller plates")
        return EXIT_INPUT, ""
    except OSError as error:
        _say(one_line(f"{error.filename or 'a file'}", 120) + f": cannot be used ({error.strerror or error})")
        return EXIT_INPUT, ""
    except Exception:
        import traceback

        if sys.stderr is not None:
            traceback.print_exc()
        _say("this is a fault of Setup Assist, not of your files; please report the lines above")
        return EXIT_BUG, ""


def entry() -> NoReturn:
    """The console script. What a terminal's encoding lacks is replaced, never a crash."""
    for stream in (sys.stdout, sys.stderr):
        if stream is not None:
            stream.reconfigure(errors="replace")  # type: ignore[union-attr]
    sys.exit(main())


def _say(sentence: str) -> None:
    if sys.stderr is None:
        return
    try:
        print(f"setupassist: {sentence}", file=sys.stderr, flush=True)
    except OSError:
        sys.stderr = None


def _drop_output() -> None:
    """Sends what is still buffered nowhere, so that the interpreter's own last flush cannot fail."""
    nowhere = os.open(os.devnull, os.O_WRONLY)
    for stream in (sys.stdout, sys.stderr):
        try:
            if stream is not None:
                stream.flush()
        except OSError:
            os.dup2(nowhere, stream.fileno())


def _path(text: str) -> Path:
    from pathlib import Path

    from setupassist.errors import InputFault

    if "\0" in text or not text.strip():
        raise InputFault("", "a file name is empty or holds a null character", "name a file")
    path = Path(text)
    if any(len(os.fsencode(part)) > MOST_NAME_BYTES for part in path.parts) or len(os.fsencode(text)) > MOST_PATH_BYTES:
        raise InputFault(text[:60] + "…", "is longer than a file name can be", "check the name")
    return path


def _shop(options: argparse.Namespace) -> Shop:
    from setupassist.documents.store import current_shop

    return current_shop(None if options.shop is None else _path(options.shop))


def _document_text(document: Document) -> str:
    import json

    encoding = (getattr(sys.stdout, "encoding", None) or "utf-8").lower()
    return json.dumps(document.model_dump(mode="json", by_alias=True), indent=2, ensure_ascii="utf" not in encoding)


def _within(name: str, value: float, low: float, high: float) -> float:
    from setupassist.errors import InputFault

    if not low <= value <= high:
        raise InputFault(name, f"must be between {low:g} and {high:g}, not {value:g}")
    return value


def _time_limit(options: argparse.Namespace) -> float:
    return _within("--time-limit", options.time_limit, 0.1, 86400)


def _measure(options: argparse.Namespace) -> Told:
    from setupassist import pipeline, terminal

    if options.dpi is not None:
        _within("--dpi", options.dpi, 10, 20000)
    shop = _shop(options)
    with terminal.progress("measuring the plates") as progress:
        measure = pipeline.measure_path(
            _path(options.plates),
            shop=shop,
            dpi=options.dpi,
            light_is_ink=options.light_is_ink,
            base=options.base,
            progress=progress,
        )
    if options.json:
        return EXIT_DONE, _document_text(measure)
    return EXIT_DONE, terminal.measure_tables(measure, metric=shop.policies.units == "metric")


def _plan(options: argparse.Namespace) -> Told:
    from setupassist import pipeline, terminal
    from setupassist.errors import NoPlan
    from setupassist.work import open_job

    seconds = _time_limit(options)
    shop = _shop(options)
    work = open_job(_path(options.job), shop=shop)
    if options.strategy:
        work = work.with_strategy(options.strategy)
    with terminal.progress("measuring the plates") as progress:
        measured = pipeline.measure_job(work, progress=progress)
    with terminal.progress("planning"):
        planned = pipeline.make_plan(work, measured, time_limit_seconds=seconds)
    code = EXIT_DONE if planned.plan.feasible else NoPlan.exit_code
    if options.json:
        return code, _document_text(planned.plan)
    return code, terminal.plan_tables(planned.plan, metric=work.units == "metric")


def _sheet(options: argparse.Namespace) -> Told:
    import datetime

    from setupassist import pipeline, terminal
    from setupassist.documents.store import write_atomically
    from setupassist.work import open_job

    output, seconds = _path(options.output), _time_limit(options)
    _spare(output)
    work = open_job(_path(options.job), shop=_shop(options))
    with terminal.progress("measuring the plates") as progress:
        measured = pipeline.measure_job(work, progress=progress)
    with terminal.progress("planning"):
        planned = pipeline.make_plan(work, measured, time_limit_seconds=seconds)
    with terminal.progress("drawing the sheet"):
        pdf = pipeline.make_sheet(
            work,
            measured,
            planned,
            paper=options.paper,
            units=options.units,
            date=options.date or datetime.date.today().isoformat(),
        )
    write_atomically(output, pdf)
    return EXIT_DONE, str(output)


def _spare(output: Path) -> None:
    """A file that is there and is no PDF is somebody's work: a job, a plate, a shop book."""
    from setupassist.errors import InputFault

    if output.is_file() and output.stat().st_size:
        with output.open("rb") as file:
            if not file.read(5).startswith(b"%PDF"):
                raise InputFault(output.name, "is there already and is no PDF", "name another file for the sheet")


def _shop_verb(options: argparse.Namespace) -> Told:
    from setupassist import terminal
    from setupassist.documents import shop_book
    from setupassist.errors import InputFault

    if options.action == "import":
        if not options.file:
            raise InputFault("shop import", "no file is named", "say which book: setupassist shop import FILE")
        return EXIT_DONE, str(shop_book.bring_in(_path(options.file)))
    if options.file:
        raise InputFault(f"shop {options.action}", f"takes no file, but was given '{options.file}'")
    if options.action == "edit":
        return EXIT_DONE, str(shop_book.edit())
    shop = _shop(options)
    return EXIT_DONE, _document_text(shop) if options.json else terminal.shop_tables(shop)


def _schema(options: argparse.Namespace) -> Told:
    import json

    from setupassist.documents.schemas import json_schema

    return EXIT_DONE, json.dumps(json_schema(options.document), indent=2)


VERBS = {"measure": _measure, "plan": _plan, "sheet": _sheet, "shop": _shop_verb, "schema": _schema}
