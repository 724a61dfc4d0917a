"""Opening JupyterLab on the notebook of an investigation.

The notebook is copied to a private folder of the user, one per site, where its kernel runs too: the
client's folder is read, never worked in. A copy without changes is renewed each time; one with cells
of the surveyor's own is kept as it is.
"""

from __future__ import annotations

import hashlib
import json
import os
import re
import signal
import subprocess
import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from thermalkit.diagnosis.run import kinds
from thermalkit.errors import Problem, ReadingError, printable
from thermalkit.language import say
from thermalkit.record.whole import write_whole

LAB = Path(__file__).with_name("lab")
_PACKAGE = Path(__file__).parent.parent
_FOLDERS = (_PACKAGE.parent / "notebooks", _PACKAGE / "notebooks")
_SITE_FOLDER = re.compile(r"^site_folder *=.*$", re.MULTILINE)


@dataclass(frozen=True, slots=True, kw_only=True)
class Desk:
    """A private folder with the notebook of one site; `remark` is for the surveyor, or empty."""

    folder: Path
    notebook: Path
    remark: str = ""


def work(
    kind: str, site: Path | None, *, browser: bool = True, tell: Callable[[str], object] | None = None
) -> int:
    """Open an investigation in JupyterLab and stay until it is closed.

    Parameters
    ----------
    kind : str
        The investigation, such as "damp", or a notebook that needs no site.
    site : Path or None
        The site folder; None for a notebook that needs none.
    browser : bool
        Open a browser; otherwise only the address is printed.
    tell : callable, optional
        Takes a remark for the surveyor; standard error otherwise.

    Returns
    -------
    int
        Exit code of JupyterLab.

    Raises
    ------
    ReadingError
        There is no such folder, or no notebook of that name.
    """
    ready = desk(kind, site)
    if ready.remark:
        (tell or sys.stderr.write)(ready.remark + "\n")
    return served(lab_command(ready, browser=browser), lab_environment(), ready.folder)


def served(command: list[str], environment: dict[str, str], folder: Path) -> int:
    """Run a server until it ends; the server ends with this process, whether by Ctrl+C or by a signal.

    Returns
    -------
    int
        The server's exit code; 0 where it was ended from here, which is how a server is closed.
    """

    def ended(*_: object) -> None:
        raise KeyboardInterrupt

    before = signal.signal(signal.SIGTERM, ended)
    try:
        with subprocess.Popen(command, env=environment, cwd=folder) as server:
            try:
                return server.wait()
            except KeyboardInterrupt:
                server.terminate()  # it ends its kernels before itself
                return 0
    finally:
        signal.signal(signal.SIGTERM, before)


def lab_command(ready: Desk, *, browser: bool = True) -> list[str]:
    """The command that serves a desk, on this machine only."""
    return [
        *(sys.executable, "-P", "-m", "jupyterlab"),  # -P: no program is looked for where the command runs
        *([] if browser else ["--no-browser"]),
        *(["--allow-root"] if _is_root() else []),
        "--ServerApp.ip=127.0.0.1",
        f"--ServerApp.root_dir={ready.folder}",
        f"--LabApp.default_url=/doc/tree/{ready.notebook.name}",
        f"--LabApp.extra_labextensions_path={LAB / 'extensions'}",
        f"--LabApp.app_settings_dir={LAB / 'settings'}",
        f"--LabApp.workspaces_dir={ready.folder / '.workspaces'}",
    ]


def _is_root() -> bool:
    """Whether the server would refuse to start without being told that this is meant."""
    return hasattr(os, "geteuid") and os.geteuid() == 0


def lab_environment() -> dict[str, str]:
    """Environment in which the kernel is that of this installation."""
    return {**os.environ, "JUPYTER_PREFER_ENV_PATH": "1"}


def shipped_notebook(kind: str) -> Path:
    """The notebook of an investigation: beside the package in a source tree, else inside it.

    Raises
    ------
    ReadingError
        There is none.
    """
    for folder in _FOLDERS:
        if (folder / f"{kind}.ipynb").is_file():
            return folder / f"{kind}.ipynb"
    problem = Problem(
        file=f"{printable(kind)}.ipynb", read=say("workbook.no-notebook"), allowed=", ".join(_notebooks())
    )
    raise ReadingError("notebooks", [problem])


def without_site() -> tuple[str, ...]:
    """Notebooks that belong to no investigation and are opened without a site."""
    return tuple(name for name in _notebooks() if name not in kinds())


def _notebooks() -> list[str]:
    return sorted({path.stem for folder in _FOLDERS for path in folder.glob("*.ipynb")})


def desk(kind: str, site: Path | None) -> Desk:
    """The private folder of a site with the notebook in it, made or renewed.

    Raises
    ------
    ReadingError
        There is no such folder, or no notebook of that name.
    """
    content = json.loads(shipped_notebook(kind).read_text(encoding="utf-8"))
    if site is None:
        return _laid_out(kind, _private(kind), content)
    site = Path(site).resolve()
    if not site.is_dir():
        problem = Problem(
            file=printable(str(site)), read=say("workbook.no-folder"), fix=say("workbook.check-path")
        )
        raise ReadingError(str(site), [problem])
    return _laid_out(kind, private_folder(site), _for_site(content, site))


def _laid_out(kind: str, folder: Path, shipped: dict[str, Any]) -> Desk:
    """The notebook in a private folder, unless somebody's own stands there."""
    notebook, pristine = folder / f"{kind}.ipynb", folder / f".{kind}.sha256"
    before = pristine.read_text(encoding="ascii") if pristine.is_file() else ""
    if notebook.is_file() and _digest_of(notebook) != before:
        newer = _digest(shipped) != before
        return Desk(folder=folder, notebook=notebook, remark=_kept(notebook) if newer else "")
    write_whole(notebook, (json.dumps(shipped, indent=1, ensure_ascii=False) + "\n").encode())
    write_whole(pristine, _digest(shipped).encode())
    return Desk(folder=folder, notebook=notebook)


def private_folder(site: Path) -> Path:
    """Where the notebooks of a site are worked in: never the client's folder."""
    return _private(
        hashlib.sha256(str(Path(site).resolve()).encode("utf-8", "surrogateescape")).hexdigest()[:16]
    )


def _private(name: str) -> Path:
    from jupyter_core.paths import jupyter_data_dir

    return Path(jupyter_data_dir()) / "thermalkit" / name


def _kept(notebook: Path) -> str:
    return printable(
        f"{notebook} has cells of your own and was kept, although a newer notebook came with this version. "
        "To change over, move yours away and copy your cells into the new one."
    )


def _for_site(notebook: dict[str, Any], site: Path) -> dict[str, Any]:
    """The notebook with its parameter set to a site."""
    line = f"site_folder = {str(site)!r}"
    for cell in notebook["cells"]:
        if "parameters" in cell["metadata"].get("tags", []):
            cell["source"] = _SITE_FOLDER.sub(lambda _: line, "".join(cell["source"]))
    return notebook


def _digest(notebook: dict[str, Any]) -> str:
    """What a person can change: kinds, sources and tags of cells; not outputs, not the site."""
    cells = [
        (
            cell["cell_type"],
            _SITE_FOLDER.sub("", "".join(cell["source"])),
            sorted(cell["metadata"].get("tags", [])),
        )
        for cell in notebook["cells"]
    ]
    return hashlib.sha256(json.dumps(cells).encode()).hexdigest()


def _digest_of(path: Path) -> str:
    """The digest of a file; that of nothing where it cannot be read, so that it counts as changed."""
    try:
        return _digest(json.loads(path.read_text(encoding="utf-8")))
    except (OSError, ValueError, KeyError, TypeError, AttributeError):
        return "unreadable"
