"""The annex from a notebook: in JupyterLab's export menu and for `jupyter nbconvert --to annex`.

The page is what the command writes for the same site and record, with the cells tagged `annex` as
"Further analysis". No cell is run and no code is shown.
"""

from __future__ import annotations

import ast
import warnings
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import replace
from html import escape
from pathlib import Path
from typing import Any

import nbformat
from nbconvert.exporters.exporter import Exporter

from thermalkit.errors import Problem, ReadingError, ThermalkitError
from thermalkit.language import Words, catalogue, say
from thermalkit.site.toml_text import asked_language

PARAMETERS_TAG, ANNEX_TAG = "parameters", "annex"
LARGEST_NOTEBOOK = 50_000_000
_MALFORMED = (ValueError, AttributeError, KeyError, TypeError, AssertionError, RecursionError)


class AnnexExporter(Exporter):
    """Client annex of the investigation that a notebook belongs to."""

    export_from_notebook = "Client annex (HTML)"
    output_mimetype = "text/html"

    def _file_extension_default(self) -> str:
        return ".html"

    def from_notebook_node(self, nb: Any, resources: Any = None, **kw: Any) -> tuple[Any, dict[str, Any]]:
        """The annex as bytes; where it cannot be made, a page that says why."""
        resources = self._init_resources(resources)  # type: ignore[no-untyped-call]
        folder = Path(resources["metadata"]["path"] or ".")
        try:
            page = annex_of(nb, folder)
        except ThermalkitError as error:
            page = problem_page(error, _language_of(nb, folder))
        return page, resources


def _language_of(notebook: Any, folder: Path) -> str:
    """The language of the site that a notebook names, even where it is none."""
    try:
        with _notebook_is_one():
            site_folder = str(parameters_of(notebook).get("site_folder", ""))
    except ReadingError:
        site_folder = ""
    return asked_language(folder / site_folder)


def annex_of(notebook: Any, folder: Path) -> bytes:
    """The annex of a notebook that lies in a folder.

    Raises
    ------
    ReadingError
        The notebook does not say which investigation of which site it is, or the site is unreadable.
    """
    from thermalkit.annex.build import build
    from thermalkit.record.store import read_record
    from thermalkit.site.folder import read_site

    with _notebook_is_one():
        kind, site_folder = kind_of(notebook), parameters_of(notebook).get("site_folder")
        further = fragments(notebook)
    if not isinstance(site_folder, str):
        raise _notebook_error("site_folder", repr(site_folder)[:60], say("workbook.export.path"))
    site = read_site(folder / site_folder)
    return build(site, read_record(site.folder, kind), kind, further=further)


@contextmanager
def _notebook_is_one() -> Iterator[None]:
    """What a file that only looks like a notebook provokes becomes one problem."""
    try:
        yield
    except (*_MALFORMED, nbformat.ValidationError) as error:
        raise _notebook_error(
            "", say("workbook.export.no-notebook"), say("workbook.export.notebook")
        ) from error


def kind_of(notebook: Any) -> str:
    """The investigation, from the notebook's metadata.

    Raises
    ------
    ReadingError
        None is named, or there is no such one.
    """
    from thermalkit.diagnosis.run import kinds

    own = notebook.metadata.get("thermalkit", {})
    kind = own.get("kind") if isinstance(own, Mapping) else None
    if kind not in kinds():
        raise _notebook_error("metadata thermalkit.kind", repr(kind)[:60], ", ".join(kinds()))
    return str(kind)


def parameters_of(notebook: Any) -> dict[str, Any]:
    """Simple assignments of the cell tagged `parameters`; a later such cell wins, nothing is run.

    Raises
    ------
    ReadingError
        A line is no plain assignment, or names a parameter that there is not.
    """
    from thermalkit.workbook.session import PARAMETERS

    values: dict[str, Any] = {}
    for cell in notebook.cells:
        if cell.cell_type == "code" and PARAMETERS_TAG in _tags(cell):
            values.update(_assignments(cell.source))
    unknown = [name for name in values if name not in PARAMETERS]
    if unknown:
        raise _notebook_error("parameters", ", ".join(unknown), ", ".join(PARAMETERS))
    return values


def _assignments(source: str) -> Iterator[tuple[str, Any]]:
    try:
        for statement in ast.parse(source).body:
            if not isinstance(statement, ast.Assign) or not isinstance(statement.targets[0], ast.Name):
                raise ValueError(ast.unparse(statement))
            yield statement.targets[0].id, ast.literal_eval(statement.value)
    except (SyntaxError, TypeError, ValueError, RecursionError, MemoryError) as error:
        raise _notebook_error("parameters", str(error)[:80], say("workbook.export.assignment")) from None


def further_analysis(path: Path) -> tuple[str, ...]:
    """Further analysis in a notebook file, for the command.

    Raises
    ------
    ReadingError
        It is no notebook.
    """
    from thermalkit.site.files import file_bytes

    real = Path(path).resolve()
    try:
        content = file_bytes(real.parent, real.name, LARGEST_NOTEBOOK)
        with _notebook_is_one(), warnings.catch_warnings():
            warnings.simplefilter("ignore")  # about ids of cells, which do not matter here
            return fragments(nbformat.reads(content.decode("utf-8"), as_version=4))  # type: ignore[no-untyped-call]
    except ReadingError as error:
        raise ReadingError(str(path), [replace(p, file=Path(path).name) for p in error.problems]) from error


def fragments(notebook: Any) -> tuple[str, ...]:
    """Markdown and outputs of the cells tagged `annex`, in their order; sanitised by the annex."""
    return tuple(
        fragment
        for cell in notebook.cells
        if ANNEX_TAG in _tags(cell)
        for fragment in (_outputs(cell) if cell.cell_type == "code" else [_joined(cell.source)])
    )


def _outputs(cell: Any) -> Iterator[str]:
    for output in cell.outputs:
        if output.output_type == "stream":
            yield _text_fragment(_joined(output.text))
        elif output.output_type in ("display_data", "execute_result"):
            data = output.data
            if "image/png" in data:
                alternative = escape(_joined(data.get("text/plain", "")), quote=True)
                picture = _joined(data["image/png"]).strip()
                yield f'<img src="data:image/png;base64,{escape(picture, quote=True)}" alt="{alternative}">'
            elif "text/html" in data:
                yield f"<div>{_joined(data['text/html'])}</div>"
            elif "text/plain" in data:
                yield _text_fragment(_joined(data["text/plain"]))


def _text_fragment(text: str) -> str:
    return f"<pre>{escape(text)}</pre>"


def _joined(text: str | list[str]) -> str:
    return text if isinstance(text, str) else "".join(text)


def _tags(cell: Any) -> list[str]:
    tags = cell.metadata.get("tags", [])
    return tags if isinstance(tags, list) else []


def problem_page(error: ThermalkitError, language: str) -> bytes:
    """A page that says why there is no annex."""
    title, why = (catalogue(language)[f"workbook.export.{id}"] for id in ("title", "why"))
    policy = "default-src 'none'; style-src 'unsafe-inline'"
    return (
        f'<!DOCTYPE html>\n<html lang="{language}"><head><meta charset="utf-8"><title>{title}</title>'
        f'<meta http-equiv="Content-Security-Policy" content="{policy}"></head>'
        f'<body style="font-family:system-ui,sans-serif;max-width:50rem;margin:2rem">'
        f"<main><h1>{title}</h1><p>{why}</p>"
        f'<pre style="white-space:pre-wrap">{escape(error.told(language))}</pre></main></body></html>\n'
    ).encode()


def _notebook_error(place: Words, read: Words, allowed: Words) -> ReadingError:
    return ReadingError("notebook", [Problem(file="notebook", place=place, read=read, allowed=allowed)])
