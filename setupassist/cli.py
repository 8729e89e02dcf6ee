"""The command: one small function a verb, over the same functions as every other face.

It speaks the language of the person's environment; documents (``--json``, ``schema``) stay English. Nothing heavy is
imported up here, so that ``setupassist --help`` answers at once.
"""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Iterable
from typing import TYPE_CHECKING, Any, NoReturn

from setupassist.words import Words, languages, say, wanted_language, words_in

if TYPE_CHECKING:
    from pathlib import Path

    from setupassist.checking import Checked
    from setupassist.documents.base import Document
    from setupassist.documents.shop import Shop

DOCUMENTS = ("job", "shop", "measure", "plan")

EXIT_DONE = 0
EXIT_STOPS = 1
EXIT_INPUT = 2
EXIT_BUG = 70
EXIT_CANCELLED = 130
MOST_NAME_BYTES = 255
MOST_PATH_BYTES = 4095

Told = tuple[int, str]


class _Parser(argparse.ArgumentParser):
    """A parser that speaks our words and says what is wrong in one sentence."""

    def __init__(self, **given: Any) -> None:
        super().__init__(add_help=False, formatter_class=_Formatter, **given)
        words = _words()
        self._positionals.title, self._optionals.title = words.say("cli.help.arguments"), words.say("cli.help.options")
        self.add_argument("-h", "--help", action="help", help=words.say("cli.help.help"))

    def error(self, message: str) -> NoReturn:
        from setupassist.errors import tidy

        told = say("cli.fault.wrong-words", command=self.prog, problem=_reader_problem(message))
        self.exit(EXIT_INPUT, f"{_words()(tidy(told))}\n")


class _Formatter(argparse.HelpFormatter):
    def add_usage(
        self, usage: str | None, actions: Iterable[Any], groups: Iterable[Any], prefix: str | None = None
    ) -> None:
        super().add_usage(usage, actions, groups, _words().say("cli.help.usage") if prefix is None else prefix)


def _reader_problem(message: str) -> str:
    """What argparse complains of, by id."""
    from setupassist.errors import recognised
    from setupassist.words import Said

    told = recognised(message, "cli.reader")
    if isinstance(told, Said) and "problem" in told.values:
        return say(told.key, **{**told.values, "problem": recognised(told.values["problem"], "cli.reader-problem")})
    return told


def _words() -> Words:
    return words_in(wanted_language())


def _parser() -> _Parser:
    words = _words()

    def told(key: str, **values: Any) -> str:
        return words.say(f"cli.{key}", **values)

    parser = _Parser(prog="setupassist", description=told("help.description"), epilog=told("help.window"))
    parser.add_argument("--version", action="store_true", help=told("help.version"))
    verbs = parser.add_subparsers(dest="verb", metavar="VERB", title=told("help.verbs"))

    def verb(name: str, *, reads: bool = True) -> argparse.ArgumentParser:
        text = told(f"{name}.help")
        made = verbs.add_parser(name, help=text, description=text[:1].upper() + text[1:] + ".")
        if reads:
            made.add_argument("--json", action="store_true", help=told("help.json"))
        if name != "schema":
            made.add_argument("--shop", metavar="FILE", help=told("help.shop-file"))
        return made

    def of_plates(made: argparse.ArgumentParser) -> argparse.ArgumentParser:
        made.add_argument("plates", metavar="PLATES", help=told("measure.plates"))
        made.add_argument("--dpi", type=float, metavar="N", help=told("measure.dpi"))
        made.add_argument("--page", type=int, metavar="N", help=told("measure.page"))
        made.add_argument("--light-is-ink", action="store_true", help=told("measure.light-is-ink"))
        return made

    def as_printed(made: argparse.ArgumentParser) -> None:
        made.add_argument("--paper", choices=("a4", "letter"), help=told("sheet.paper"))
        made.add_argument("--units", choices=("inch", "metric"), help=told("sheet.units"))
        made.add_argument("--language", metavar="CODE", help=told("sheet.language", known=", ".join(languages())))
        made.add_argument("--date", metavar="TEXT", help=told("sheet.date"))

    measure = of_plates(verb("measure"))
    measure.add_argument("--base", metavar="NAME", help=told("measure.base"))

    check = of_plates(verb("check"))
    check.add_argument("--base", metavar="NAME", help=told("measure.base"))
    check.add_argument("-o", "--output", metavar="REPORT.pdf", help=told("check.output"))
    as_printed(check)

    base = of_plates(verb("base", reads=False))
    base.add_argument("-o", "--output", required=True, metavar="FILE", help=told("base.output"))
    base.add_argument("--choke", metavar="LENGTH", help=told("base.choke"))
    base.add_argument("--under", metavar="NAME,NAME", help=told("base.under"))

    plates = of_plates(verb("plates", reads=False))
    plates.add_argument("-o", "--output", required=True, metavar="FOLDER", help=told("plates.output"))

    plan = verb("plan")
    plan.add_argument("job", metavar="JOB", help=told("help.job"))
    plan.add_argument("--strategy", choices=("leanest", "cleanest", "quickest-changeover"), help=told("plan.strategy"))
    plan.add_argument("--time-limit", type=float, default=30.0, metavar="SECONDS", help=told("help.time-limit"))

    review = verb("review")
    review.add_argument("job", metavar="JOB", help=told("help.job"))
    review.add_argument("--time-limit", type=float, default=30.0, metavar="SECONDS", help=told("help.time-limit"))

    sheet = verb("sheet", reads=False)
    sheet.add_argument("job", metavar="JOB", help=told("help.job"))
    sheet.add_argument("-o", "--output", required=True, metavar="FILE", help=told("sheet.output"))
    as_printed(sheet)
    sheet.add_argument("--time-limit", type=float, default=30.0, metavar="SECONDS", help=told("help.time-limit"))

    shop = verb("shop")
    shop.add_argument("action", nargs="?", default="show", choices=("show", "edit", "import"), help=told("shop.action"))
    shop.add_argument("file", nargs="?", metavar="FILE", help=told("shop.file"))

    schema = verb("schema", reads=False)
    schema.add_argument("document", choices=DOCUMENTS)
    return parser


def _window_parser() -> _Parser:
    """Reads a command without a verb, which opens the window."""
    parser = _Parser(prog="setupassist")
    parser.add_argument("--shop", metavar="FILE", help=_words().say("cli.help.shop-file"))
    parser.add_argument("paths", nargs="*", metavar="JOB", help=_words().say("cli.help.job"))
    parser.set_defaults(verb=None, version=False)
    return parser


def _window_options(given: list[str]) -> argparse.Namespace:
    """What is to be opened; options that only a verb takes are left in ``given``, for the verb may be mistyped."""
    options, _ = _window_parser().parse_known_args(given)
    options.given = given
    return options


def _opens_window(given: list[str]) -> bool:
    """Whether the words name no verb: nothing at all, a shop book, files to open."""
    words = iter(given)
    for word in words:
        if word in ("-h", "--help", "--version"):
            return False
        if word == "--shop":
            next(words, None)
        elif word == "--" or not word.startswith("-"):
            return word not in VERBS
    return True


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
        from setupassist.errors import system_reason

        _say(say("cli.fault.output", reason=system_reason(error)))
        return EXIT_INPUT


def _run(given: list[str]) -> int:
    options = _window_options(given) if _opens_window(given) else _parser().parse_args(given)
    if options.version:
        from setupassist import __version__

        print(__version__, flush=True)
        return EXIT_DONE
    code, told = _guarded(options)
    if told:
        print(told, flush=True)
    return code


def _guarded(options: argparse.Namespace) -> Told:
    from setupassist.errors import SetupAssistError, one_line, system_reason

    try:
        return VERBS.get(options.verb, _window)(options)
    except SetupAssistError as error:
        for sentence in error.sentences():
            _say(sentence)
        return error.exit_code, ""
    except KeyboardInterrupt:
        _say(say("cli.fault.stopped"))
        return EXIT_CANCELLED, ""
    except MemoryError:
        _say(say("cli.fault.memory"))
        return EXIT_INPUT, ""
    except OSError as error:
        file = one_line(str(error.filename), 120) if error.filename else say("cli.fault.a-file")
        _say(say("cli.fault.file", file=file, reason=system_reason(error)))
        return EXIT_INPUT, ""
    except Exception:
        import traceback

        if sys.stderr is not None:
            traceback.print_exc()
        _say(say("cli.fault.ours"))
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
        print(f"setupassist: {_words()(sentence)}", file=sys.stderr, flush=True)
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
        raise InputFault("", say("cli.fault.no-name"), say("cli.fault.name-a-file"))
    path = Path(text)
    if any(len(os.fsencode(part)) > MOST_NAME_BYTES for part in path.parts) or len(os.fsencode(text)) > MOST_PATH_BYTES:
        raise InputFault(text[:60] + "…", say("cli.fault.name-too-long"), say("cli.fault.check-name"))
    return path


def _shop(options: argparse.Namespace) -> Shop:
    from setupassist.documents.store import current_shop

    return current_shop(None if options.shop is None else _path(options.shop))


def _document_text(document: Document) -> str:
    import json

    return json.dumps(document.model_dump(mode="json", by_alias=True), indent=2, ensure_ascii=not _writes_unicode())


def _writes_unicode() -> bool:
    return "utf" in (getattr(sys.stdout, "encoding", None) or "utf-8").lower()


def _within(name: str, value: float, low: float, high: float) -> float:
    from setupassist.errors import InputFault

    if not low <= value <= high:
        raise InputFault(name, say("cli.fault.not-between", low=low, high=high, value=value))
    return value


def _time_limit(options: argparse.Namespace) -> float:
    return _within("--time-limit", options.time_limit, 0.1, 86400)


def _check_reading(options: argparse.Namespace) -> None:
    if options.dpi is not None:
        _within("--dpi", options.dpi, 10, 20000)
    if options.page is not None:
        _within("--page", options.page, 1, 100_000)


def _measure(options: argparse.Namespace) -> Told:
    from setupassist import pipeline, terminal

    _check_reading(options)
    shop = _shop(options)
    with terminal.progress(_words().say("cli.work.measuring")) as progress:
        measure = pipeline.measure_path(
            _path(options.plates),
            shop=shop,
            dpi=options.dpi,
            light_is_ink=options.light_is_ink,
            page=options.page,
            base=options.base,
            progress=progress,
        )
    if options.json:
        return EXIT_DONE, _document_text(measure)
    return EXIT_DONE, terminal.measure_tables(measure, metric=shop.policies.units == "metric", words=_words())


def _check(options: argparse.Namespace) -> Told:
    import json

    from setupassist import checking, pipeline, terminal

    _check_reading(options)
    output = None if options.output is None else _path(options.output)
    if output is not None:
        _spare(output)
    pipeline.sheet_language(None, options.language)  # a stranger is told before anything is measured
    with terminal.progress(_words().say("cli.work.measuring")) as progress:
        checked = checking.check_path(
            _path(options.plates),
            shop=_shop(options),
            dpi=options.dpi,
            light_is_ink=options.light_is_ink,
            page=options.page,
            base=options.base,
            units=options.units,
            progress=progress,
        )
    if options.json:
        found = [finding.model_dump(mode="json", by_alias=True) for finding in checked.findings]
        told = json.dumps(found, indent=2, ensure_ascii=not _writes_unicode())
    else:
        told = terminal.findings_table(checked.findings, words=_words())
    if output is not None:
        _write_report(checked, output, options)
        told = told if options.json else f"{told}\n\n{output}"
    return (EXIT_STOPS if checked.stops else EXIT_DONE), told


def _write_report(checked: Checked, output: Path, options: argparse.Namespace) -> None:
    import datetime

    from setupassist import checking, terminal
    from setupassist.documents.store import write_atomically

    with terminal.progress(_words().say("cli.work.drawing-report")):
        date = options.date or datetime.date.today().isoformat()
        pdf = checking.make_report(
            checked, date=date, paper=options.paper, units=options.units, language=options.language
        )
    write_atomically(output, pdf)


def _base(options: argparse.Namespace) -> Told:
    from setupassist import checking, pipeline, terminal
    from setupassist.check.base_plate import inks_called
    from setupassist.quantities import Units

    _check_reading(options)
    output, shop = _path(options.output), _shop(options)
    choke_mm = shop.policies.choke_mm if options.choke is None else _length_mm("--choke", options.choke)
    _within("--choke", choke_mm, 0, checking.MOST_CHOKE_MM)
    checking.check_base_file(output)
    under = [name.strip() for name in (options.under or "").split(",") if name.strip()]
    with terminal.progress(_words().say("cli.work.measuring")) as progress:
        measured, _ = pipeline.measured_at(
            _path(options.plates),
            shop=shop,
            dpi=options.dpi,
            light_is_ink=options.light_is_ink,
            page=options.page,
            opened=lambda plates: inks_called(under, [plate.name for plate in plates.plates]),
            progress=progress,
        )
    with terminal.progress(_words().say("cli.work.making-base")) as progress:
        carried = checking.make_base(measured, output, under=under, choke_mm=choke_mm, progress=progress)
    units = Units(shop.policies.units)
    return EXIT_DONE, _words()(checking.base_told(carried, output, choke_mm=choke_mm, units=units))


def _length_mm(name: str, text: str) -> float:
    """A length in mm: ``0.35mm``, ``0.014in``, or a plain number of mm."""
    import re

    from setupassist.errors import InputFault, one_line
    from setupassist.quantities import MM_PER_INCH

    found = re.fullmatch(r"([0-9]{1,6}(?:\.[0-9]{0,9})?|\.[0-9]{1,9})\s*(mm|in)?", text.strip().lower(), re.ASCII)
    if found is None:
        raise InputFault(name, say("cli.fault.no-length", text=one_line(text, 40)), say("cli.fault.write-length"))
    return float(found[1]) * (MM_PER_INCH if found[2] == "in" else 1.0)


def _plates(options: argparse.Namespace) -> Told:
    from setupassist import pipeline, terminal
    from setupassist.art.writing import others_beside, write_plates
    from setupassist.errors import InputFault

    _check_reading(options)
    source, folder = _path(options.plates), _path(options.output)
    if source.is_dir() and folder.is_dir() and source.samefile(folder):
        raise InputFault(str(folder), say("cli.fault.among-plates"), say("cli.fault.other-folder"))
    plates = pipeline.plates_at(
        source,
        shop=_shop(options),
        dpi=options.dpi,
        light_is_ink=options.light_is_ink,
        page=options.page,
    )
    with terminal.progress(_words().say("cli.work.writing-plates")) as progress:
        files = write_plates(plates, folder, progress=progress)
    for note in [*plates.sentences, *others_beside(folder, files)]:
        _say(note)
    return EXIT_DONE, "\n".join(map(str, files))


def _plan(options: argparse.Namespace) -> Told:
    from setupassist import pipeline, terminal
    from setupassist.errors import NoPlan
    from setupassist.work import open_job

    seconds = _time_limit(options)
    shop = _shop(options)
    work = open_job(_path(options.job), shop=shop)
    if options.strategy:
        work = work.with_strategy(options.strategy)
    with terminal.progress(_words().say("cli.work.measuring")) as progress:
        measured = pipeline.measure_job(work, progress=progress)
    with terminal.progress(_words().say("cli.work.planning")):
        planned = pipeline.make_plan(work, measured, time_limit_seconds=seconds)
    if work.job.arrangement is not None:
        _say(say("cli.plan.by-hand"))
    code = EXIT_DONE if planned.plan.feasible else NoPlan.exit_code
    if options.json:
        return code, _document_text(planned.plan)
    return code, terminal.plan_tables(planned.plan, metric=work.units == "metric", words=_words())


def _review(options: argparse.Namespace) -> Told:
    from setupassist import pipeline, reviewing, terminal
    from setupassist.work import open_job

    seconds = _time_limit(options)
    work = open_job(_path(options.job), shop=_shop(options))
    with terminal.progress(_words().say("cli.work.measuring")) as progress:
        measured = pipeline.measure_job(work, progress=progress)
    with terminal.progress(_words().say("cli.work.planning")):
        planned = pipeline.make_plan(work, measured, time_limit_seconds=seconds)
        found = reviewing.review(work, planned)
    code = EXIT_STOPS if found.broken else EXIT_DONE
    return code, _document_text(found) if options.json else terminal.review_tables(found, words=_words())


def _sheet(options: argparse.Namespace) -> Told:
    import datetime

    from setupassist import pipeline, terminal
    from setupassist.documents.store import write_atomically
    from setupassist.work import open_job

    output, seconds = _path(options.output), _time_limit(options)
    _spare(output)
    work = open_job(_path(options.job), shop=_shop(options))
    language = pipeline.sheet_language(work, options.language)
    with terminal.progress(_words().say("cli.work.measuring")) as progress:
        measured = pipeline.measure_job(work, progress=progress)
    with terminal.progress(_words().say("cli.work.planning")):
        planned = pipeline.make_plan(work, measured, time_limit_seconds=seconds)
    with terminal.progress(_words().say("cli.work.drawing")):
        pdf = pipeline.make_sheet(
            work,
            measured,
            planned,
            paper=options.paper,
            units=options.units,
            language=language,
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
                raise InputFault(output.name, say("cli.fault.no-pdf"), say("cli.fault.other-file"))


def _shop_verb(options: argparse.Namespace) -> Told:
    from setupassist import terminal
    from setupassist.documents import shop_book
    from setupassist.errors import InputFault

    if options.action == "import":
        if not options.file:
            raise InputFault("shop import", say("cli.fault.no-book"), say("cli.fault.which-book"))
        return EXIT_DONE, str(shop_book.bring_in(_path(options.file)))
    if options.file:
        raise InputFault(f"shop {options.action}", say("cli.fault.takes-no-file", file=options.file))
    if options.action == "edit":
        return EXIT_DONE, str(shop_book.edit())
    shop = _shop(options)
    return EXIT_DONE, _document_text(shop) if options.json else terminal.shop_tables(shop, words=_words())


def _schema(options: argparse.Namespace) -> Told:
    import json

    from setupassist.documents.schemas import json_schema

    return EXIT_DONE, json.dumps(json_schema(options.document), indent=2)


def _window(options: argparse.Namespace) -> Told:
    from setupassist.errors import InputFault, did_you_mean

    paths = [_path(text) for text in options.paths]
    for path, text in zip(paths, options.paths, strict=True):
        if not path.exists():
            what = "cli.fault.no-verb-no-file" if path is paths[0] else "desk.opening.not-there"
            raise InputFault(text, say(what), did_you_mean(text, VERBS))
    _window_parser().parse_args(options.given)
    from setupassist.app.start import run

    return run(paths, shop=None if options.shop is None else _path(options.shop)), ""


VERBS = {
    "measure": _measure,
    "check": _check,
    "base": _base,
    "plates": _plates,
    "plan": _plan,
    "review": _review,
    "sheet": _sheet,
    "shop": _shop_verb,
    "schema": _schema,
}
