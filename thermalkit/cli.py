"""The command `thermalkit`.

Exit codes: 0 done, 1 the input has problems or the output cannot be written, 2 wrong usage, 3 open
decisions, 4 an internal error.
"""

from __future__ import annotations

import io
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, NoReturn

import typer

from thermalkit.errors import OutOfDomain, ReadingError, ThermalkitError, printable
from thermalkit.language import Value, render, say

if TYPE_CHECKING:
    from thermalkit.diagnosis.finding import OpenStep

PROBLEM, USAGE, OPEN, INTERNAL = 1, 2, 3, 4
_LANGUAGE: ContextVar[str] = ContextVar("language", default="en")  # of what is worked on; usage is English

app = typer.Typer(
    name="thermalkit",
    help="From a folder of frames, photos and readings to findings that a client can read.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
)

class_app = typer.Typer(
    name="class", help="A class exercise: cases with a known truth, and marking.", no_args_is_help=True
)
app.add_typer(class_app)

SiteFolder = Annotated[Path, typer.Argument(metavar="SITE", help="The site folder.")]
Kind = Annotated[str, typer.Argument(metavar="KIND", help="The investigation, such as damp.")]


@app.command()
def new(
    site: SiteFolder,
    again: Annotated[
        Path | None,
        typer.Option(metavar="OLD", help="Earlier visit whose rooms, instruments and marks are taken over."),
    ] = None,
) -> None:
    """Write a commented site folder to fill in."""
    from thermalkit.site.new import write_new_site

    if again is not None:
        _speak(again)
    write_new_site(site, again=again)
    _tell("cli.new", site=str(site))


@app.command()
def check(site: SiteFolder) -> None:
    """Read everything, list every problem at once, and what would help."""
    from thermalkit.site.check import check as what_is_missing
    from thermalkit.site.folder import read_site

    _speak(site)
    read = read_site(site)
    keys = read.keys
    _tell("cli.no-problems", name=keys.site.name)
    counts = {"frames": keys.frames, "rooms": keys.rooms, "marks": keys.marks, "readings": read.readings}
    _tell("cli.counts", **{name: len(items) for name, items in counts.items()})
    for note in read.notes:
        _tell("cli.assumed", note=note)
    missing = what_is_missing(read)
    if missing:
        _tell("cli.would-help")
    for item in missing:
        _tell("cli.missing", place=item.place, what=item.what, why=item.why)
    if read.earlier_problems:
        raise ReadingError(str(site / "earlier"), read.earlier_problems)


@app.command()
def plan(
    site: SiteFolder,
    out: Annotated[
        Path | None, typer.Option(metavar="FILE.html", help="Default: annex/plan.html in the site folder.")
    ] = None,
    forecast: Annotated[
        Path | None,
        typer.Option(metavar="FILE.csv", help="Time, temperature, and wind, rain, cloud cover or radiation."),
    ] = None,
    clock: Annotated[
        str, typer.Option(metavar="ZONE", help="Clock of the forecast, such as Europe/London.")
    ] = "UTC",
    kind: Annotated[
        str | None, typer.Option(metavar="KIND", help="Only what this investigation needs, such as damp.")
    ] = None,
) -> None:
    """Write what to carry, when to go, a form and a letter: one page to print before the visit."""
    _require_clock(clock)
    if kind is not None:
        _require_kind(kind)
    _speak(site)
    from thermalkit.annex.plan import write_plan

    typer.echo(printable(str(write_plan(site, out, forecast=forecast, clock=clock, kind=kind))))


@app.command()
def annex(
    kind: Kind,
    site: SiteFolder,
    out: Annotated[
        Path | None, typer.Option(metavar="FILE.html", help="Default: annex/KIND.html in the site folder.")
    ] = None,
    unattended: Annotated[
        bool, typer.Option(help="Take the proposal where a decision is missing, and say so.")
    ] = False,
    notebook: Annotated[
        Path | None, typer.Option(metavar="FILE.ipynb", help="Append its cells tagged annex.")
    ] = None,
) -> None:
    """Write the client's annex and, beside it, its findings as .json and .csv."""
    _require_kind(kind)
    _speak(site)
    from thermalkit.annex.build import write_annex
    from thermalkit.diagnosis.run import run
    from thermalkit.record.store import read_record, recall, replay
    from thermalkit.site.folder import read_site

    read = read_site(site)
    record = read_record(site, kind)
    findings = run(kind, read, replay(record), recall(record))
    if not unattended:
        _require_decided(kind, site, findings.open_steps)
    further = _further_analysis(notebook) if notebook is not None else ()
    target = out or site / "annex" / f"{kind}.html"
    for path in write_annex(target, findings, read, record, further=further):
        typer.echo(printable(str(path)))


@app.command()
def portfolio(
    folder: Annotated[Path, typer.Argument(metavar="FOLDER", help="Folder of site folders.")],
    kind: Annotated[str, typer.Option(metavar="KIND", help="The investigation, such as damp.")],
    out: Annotated[Path, typer.Option(metavar="FOLDER", help="For the table, the page and finished rows.")],
    workers: Annotated[int, typer.Option(metavar="N", min=1, max=1024, help="Processes here.")] = 2,
    scheduler: Annotated[
        str | None, typer.Option(metavar="ADDRESS", help="A Dask cluster that does the work instead.")
    ] = None,
    language: Annotated[str, typer.Option(metavar="LANGUAGE", help="Of the page: en or de.")] = "en",
) -> None:
    """Judge every site of a folder; what is finished is kept, so a run that was ended goes on."""
    _require_kind(kind)
    _require_language(language)
    _LANGUAGE.set(language)
    from thermalkit.portfolio import require_packages, survey_portfolio

    require_packages()
    with _progress() as progress:
        done = survey_portfolio(
            folder, kind, out, workers=workers, scheduler=scheduler, language=language, progress=progress
        )
    for path in done.files:
        typer.echo(printable(str(path)))
    _tell("cli.judged", sites=done.sites, unreadable=done.unreadable)


@app.command()
def work(
    kind: Annotated[
        str, typer.Argument(metavar="KIND", help="The investigation, or demonstrator or details.")
    ],
    site: Annotated[
        Path | None,
        typer.Argument(metavar="[SITE]", help="The site folder; none for demonstrator and details."),
    ] = None,
    browser: Annotated[bool, typer.Option(help="Open the browser by itself.")] = True,
) -> None:
    """Open the notebook of an investigation in JupyterLab."""
    from thermalkit.workbook.launch import without_site
    from thermalkit.workbook.launch import work as open_notebook

    if kind in without_site():
        raise typer.Exit(open_notebook(kind, None, browser=browser))
    _require_kind(kind, *without_site())
    if site is None:
        _fail(f"SITE is missing: thermalkit work {kind} SITE", USAGE)
    _speak(site)

    raise typer.Exit(open_notebook(kind, site, browser=browser))


@class_app.command("make")
def class_make(
    plan_file: Annotated[Path, typer.Argument(metavar="PLAN", help="A TOML file with a table [class].")],
    out: Annotated[Path, typer.Option(metavar="FOLDER", help="Gets hand-out and teacher.")],
    seed: Annotated[
        str | None,
        typer.Option(
            metavar="HEX", help="At least 128 random bits; drawn, and written into the key, if left out."
        ),
    ] = None,
    workers: Annotated[int, typer.Option(metavar="N", min=1, max=64, help="Processes here.")] = 2,
) -> None:
    """Write a folder for every learner, and the key for the teacher alone."""
    from thermalkit.exercise.chance import checked_seed, new_seed
    from thermalkit.exercise.make import make_class
    from thermalkit.exercise.plan import read_plan

    _speak(plan_file.parent, plan_file.name, "class")
    wanted = read_plan(plan_file)
    secret = new_seed() if seed is None else checked_seed(seed)
    with _progress("cases") as progress:
        made = make_class(wanted, out, secret, workers=workers, progress=progress)
    _tell("cli.made", learners=made.learners, redrawn=made.redrawn)
    _tell("cli.hand-out", folder=str(made.hand_out))
    _tell("cli.key", file=str(made.key))


@class_app.command("mark")
def class_mark(
    folder: Annotated[
        Path,
        typer.Argument(metavar="FOLDER", help="What came back: NAME/record/class.json or NAME-class.json."),
    ],
    key_file: Annotated[Path, typer.Option("--key", metavar="KEY", help="The teacher's key.json.")],
    out: Annotated[Path, typer.Option(metavar="FOLDER", help="For feedback, class page and grades.")],
    rubric_file: Annotated[
        Path | None, typer.Option("--rubric", metavar="FILE", help="Points of your own, as TOML.")
    ] = None,
) -> None:
    """Mark what was handed in; a hand-in that cannot be marked is a row with its reason."""
    from thermalkit.exercise.key import read_key
    from thermalkit.exercise.marking import mark_class
    from thermalkit.exercise.rubric import read_rubric

    key, rubric = read_key(key_file), read_rubric(rubric_file)
    handed_out = key_file.resolve().parent.parent / "hand-out"
    if not folder.is_dir():
        _fail(_said("cli.no-folder", folder=str(folder)), PROBLEM)
    done = mark_class(folder, key, out, rubric, handed_out if handed_out.is_dir() else None)
    for path in done.files[-2:]:
        typer.echo(printable(str(path)))
    _tell("cli.marked", learners=len(done.rows), unmarked=done.unmarked)


def main() -> None:
    """Run the command; every error ends as lines on stderr and an exit code."""
    _LANGUAGE.set("en")
    if isinstance(sys.stdout, io.TextIOWrapper):
        sys.stdout.reconfigure(errors="backslashreplace")  # a terminal that lacks a character shows its code
    try:
        sys.exit(app(standalone_mode=False) or 0)
    except typer.Exit as done:
        sys.exit(done.exit_code)
    except OutOfDomain as error:
        _fail(_said("cli.outside", said=error.said), PROBLEM)
    except ThermalkitError as error:
        _fail(error.told(_LANGUAGE.get()), PROBLEM)
    except (typer.Abort, KeyboardInterrupt):
        _fail(_said("cli.stopped"), PROBLEM)
    except BrokenPipeError:
        sys.exit(0)
    except OSError as error:
        _fail(f"{error.filename or _said('cli.failed')}: {error.strerror or error}", PROBLEM)
    except Exception as error:
        _fail_otherwise(error)


def _fail_otherwise(error: Exception) -> None:
    """Wrong usage as the command line library words it, anything else as an internal error."""
    show = getattr(error, "show", None)
    if callable(show):
        show()
        sys.exit(USAGE)
    _fail(f"Internal error: {type(error).__name__}. Details: {_log(error)}", INTERNAL)


def _further_analysis(notebook: Path) -> tuple[str, ...]:
    from thermalkit.workbook.exporter import further_analysis

    return further_analysis(notebook)


def _require_kind(kind: str, *also: str) -> None:
    from thermalkit.diagnosis.run import kinds

    if kind not in kinds():
        _fail(f"KIND = {kind!r} is no investigation. Allowed: {', '.join((*kinds(), *also))}.", USAGE)


def _require_language(language: str) -> None:
    from thermalkit.language import LANGUAGES

    if language not in LANGUAGES:
        _fail(f"LANGUAGE = {language!r} is not there. Allowed: {', '.join(LANGUAGES)}.", USAGE)


@contextmanager
def _progress(things: str = "sites") -> Iterator[Callable[[int, int], None]]:
    """Rate and time left on a terminal, nothing in a pipe."""
    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeRemainingColumn

    console = Console(stderr=True)
    rate = TextColumn(f"{{task.fields[rate]}} {things}/s")
    columns = (BarColumn(), MofNCompleteColumn(), rate, TimeRemainingColumn())
    with Progress(*columns, console=console, disable=not console.is_terminal, transient=True) as bar:
        task = bar.add_task(things, total=None, rate="–")

        def told(done: int, of: int) -> None:
            elapsed = bar.tasks[0].elapsed or 0.0
            bar.update(task, completed=done, total=of, rate=f"{done / elapsed:.1f}" if elapsed else "–")

        yield told


def _require_clock(clock: str) -> None:
    from thermalkit.site.zones import zone_of

    try:
        zone_of(clock)
    except ValueError:
        _fail(f"ZONE = {clock!r} is no clock. Allowed: a zone such as Europe/London, or +01:00.", USAGE)


def _require_decided(kind: str, site: Path, open_steps: tuple[OpenStep, ...]) -> None:
    if not open_steps:
        return
    count = len(open_steps)
    lines = [_said("cli.open" if count > 1 else "cli.open-one", count=count)]
    lines += [
        _said("cli.open-step", step=item.step, state=say(f"annex.state.{item.state}"), title=item.title)
        for item in open_steps
    ]
    _fail("\n".join([*lines, _said("cli.decide", kind=kind, site=str(site))]), OPEN)


def _speak(folder: Path, file: str = "site.toml", table: str = "report") -> None:
    """Tell everything from here on in the language that a folder asks for."""
    from thermalkit.site.toml_text import asked_language

    _LANGUAGE.set(asked_language(folder, file, table))


def _said(id: str, **values: Value) -> str:
    return render(say(id, **values), _LANGUAGE.get())


def _tell(id: str, **values: Value) -> None:
    typer.echo(printable(_said(id, **values)))


def _fail(message: str, code: int) -> NoReturn:
    typer.echo(printable(message), err=True)
    sys.exit(code)


def _log(error: Exception) -> str:
    """Write the traceback to a file of its own and name it."""
    import tempfile
    import traceback

    try:
        with tempfile.NamedTemporaryFile(
            "w",
            prefix="thermalkit-",
            suffix=".log",
            delete=False,
            encoding="utf-8",
            errors="backslashreplace",
        ) as log:
            traceback.print_exception(error, file=log)
    except OSError:
        return "none, since no log could be written"
    return log.name


if __name__ == "__main__":
    main()
