"""A portfolio from its folder to its table and its page."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from thermalkit.errors import Problem, ReadingError, WritingError
from thermalkit.language import say
from thermalkit.portfolio.kept import sites_in
from thermalkit.portfolio.rows import Row
from thermalkit.portfolio.workers import by_cluster, by_processes

Progress = Callable[[int, int], None]


@dataclass(frozen=True, slots=True, kw_only=True)
class Portfolio:
    """What was written, and how many sites could be judged."""

    files: tuple[Path, ...]
    sites: int
    unreadable: int


def survey_portfolio(
    folder: Path,
    kind: str,
    out: Path,
    *,
    workers: int = 1,
    scheduler: str | None = None,
    language: str = "en",
    progress: Progress = lambda done, of: None,
) -> Portfolio:
    """Judge every site of a folder, and write one table and one page about all of them.

    Finished rows are kept in `out/rows`; a run that was ended goes on from there, and a site is judged
    again only when one of its files or its decisions changed.

    Parameters
    ----------
    folder : Path
        Holds site folders, up to six levels deep, and perhaps `stock.csv`.
    kind : str
        The investigation.
    out : Path
        Folder for what is made, outside every site.
    workers : int
        Processes of this machine.
    scheduler : str, optional
        Address of a Dask cluster that does the work instead; its workers must see both folders under the
        same paths.
    language : str
        Language of the page.
    progress : callable
        Told how many sites are done, of how many.

    Raises
    ------
    ReadingError
        There is no site, or `stock.csv` is wrong.
    WritingError
        Something cannot be written, or somebody else is at work on the same `out`.
    WorkersLost
        A process or the cluster went away; what is finished is kept.
    """
    from thermalkit.portfolio.page import summary_page
    from thermalkit.portfolio.stock import read_stock
    from thermalkit.portfolio.tables import parquet_bytes
    from thermalkit.record.whole import write_whole

    folder, out = folder.resolve(), out.resolve()
    sites = sites_in(folder)
    _require_outside(out, folder, sites)
    stock = read_stock(folder)
    with _alone(out):
        if scheduler is None:
            made = by_processes(folder, out, kind, sites, workers)
        else:
            made = by_cluster(folder, out, kind, sites, scheduler)
        rows = sorted(_counted(made, len(sites), progress), key=lambda row: row.site)
        table, page = out / f"{kind}.parquet", out / f"{kind}.html"
        made_files = {
            table: parquet_bytes(rows),
            page: summary_page(rows, kind, stock, language, folder=folder, out=out),
        }
        for path, data in made_files.items():
            write_whole(path, data)
    unreadable = sum(row.state != "done" for row in rows)
    return Portfolio(files=tuple(made_files), sites=len(rows), unreadable=unreadable)


def _counted(made: Iterator[Row], of: int, progress: Progress) -> Iterator[Row]:
    progress(0, of)
    for done, row in enumerate(made, 1):
        progress(done, of)
        yield row


def _require_outside(out: Path, folder: Path, sites: tuple[str, ...]) -> None:
    for site in sites:
        if out.is_relative_to(folder / site):
            raise WritingError(say("portfolio.inside-site", out=str(out), site=site))


@contextmanager
def _alone(out: Path) -> Iterator[None]:
    """Nobody else works on the same folder meanwhile."""
    from filelock import FileLock, Timeout

    try:
        out.mkdir(parents=True, exist_ok=True)
        lock = FileLock(out / ".portfolio.lock")
        lock.acquire(timeout=0)
    except Timeout:
        raise WritingError(say("portfolio.busy", out=str(out))) from None
    except OSError as error:
        reason = error.strerror or str(error)
        raise WritingError(say("portfolio.not-written", out=str(out), reason=reason)) from error
    try:
        yield
    finally:
        lock.release()


def require_packages() -> None:
    """The packages of the extra `portfolio` are installed.

    Raises
    ------
    ReadingError
        One is missing.
    """
    from importlib.util import find_spec

    missing = [name for name in ("distributed", "pyarrow", "threadpoolctl") if find_spec(name) is None]
    if missing:
        problem = Problem(
            file="pip",
            read=say("portfolio.not-installed", names=", ".join(missing)),
            fix=say("portfolio.install"),
        )
        raise ReadingError("portfolio", [problem])
