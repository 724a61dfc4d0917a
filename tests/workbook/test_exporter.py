"""The annex from a notebook."""

import json
import re
from pathlib import Path

import nbformat
import pytest
from nbconvert.exporters import get_exporter
from nbformat.v4 import new_code_cell, new_markdown_cell, new_notebook, new_output
from pytest import raises

from thermalkit.annex.build import build
from thermalkit.errors import ReadingError
from thermalkit.record.store import read_record
from thermalkit.site.folder import read_site
from thermalkit.workbook.exporter import AnnexExporter, fragments, further_analysis, parameters_of

PIXEL = "iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAYAAAAfFcSJAAAADUlEQVR42mNk+M9QDwADhgGAWjR9awAAAABJRU5ErkJggg=="


def notebook(source='site_folder = "invented"', *, kind="damp", cells=()):
    parameters = new_code_cell(source, metadata={"tags": ["parameters"]})
    return new_notebook(cells=[parameters, *cells], metadata={"thermalkit": {"kind": kind}})


def exported(nb, folder: Path) -> bytes:
    page, _ = AnnexExporter().from_notebook_node(nb, {"metadata": {"path": str(folder)}})
    return page


def tagged(output):
    return new_code_cell("secret = 1", metadata={"tags": ["annex"]}, outputs=[output])


def test_the_page_is_that_of_the_command(site_folder):
    """Byte for byte, with the site folder found from where the notebook lies."""
    expected = build(read_site(site_folder), read_record(site_folder, "damp"), "damp")
    assert exported(notebook(), site_folder.parent) == expected


def test_it_is_listed_under_its_entry_point():
    """JupyterLab and nbconvert find it by name; the menu gets plain words and an .html ending."""
    exporter = get_exporter("annex")()
    assert isinstance(exporter, AnnexExporter)
    assert (exporter.file_extension, exporter.output_mimetype) == (".html", "text/html")
    assert exporter.export_from_notebook


def test_cells_tagged_annex_are_appended_without_their_code(site_folder):
    """Markdown, text and pictures of own cells appear; code and untagged cells do not."""
    cells = [
        new_markdown_cell("## Own reading\n\nThe tenant **dries laundry**.", metadata={"tags": ["annex"]}),
        tagged(new_output("execute_result", data={"text/plain": "mean 12.3 <degC>"}, execution_count=1)),
        tagged(new_output("display_data", data={"image/png": PIXEL + "\n", "text/plain": "a chart"})),
        tagged(new_output("stream", name="stdout", text="printed line")),
        tagged(
            new_output("display_data", data={"text/html": "<table><tr><td>cell of a table</td></tr></table>"})
        ),
        new_markdown_cell("Private note"),
    ]
    page = exported(notebook(cells=cells), site_folder.parent).decode()
    for wanted in (
        "<strong>dries laundry</strong>", "mean 12.3 &lt;degC&gt;", f"data:image/png;base64,{PIXEL}",
        'alt="a chart"', "printed line", "cell of a table",
    ):  # fmt: skip
        assert wanted in page
    assert "secret" not in page
    assert "Private note" not in page


def test_hostile_outputs_stay_text(site_folder):
    """Neither a script nor a handler nor a foreign picture of an own cell reaches the page."""
    cells = [
        tagged(
            new_output("display_data", data={"text/html": "<script>steal()</script><b onclick='x()'>hi</b>"})
        ),
        tagged(new_output("display_data", data={"image/png": 'x" onerror="steal()'})),
        new_markdown_cell(
            "<img src='https://a.example/x.png' onerror='steal()'>", metadata={"tags": ["annex"]}
        ),
    ]
    page = exported(notebook(cells=cells), site_folder.parent).decode()
    own = page[page.index('id="further"') :]
    assert not re.search(r"steal|onclick|onerror|a\.example", own[: own.index("</section>")])


@pytest.mark.parametrize(
    ("nb", "words"),
    [
        (notebook('site_folder = "nowhere"'), "not a folder"),
        (notebook(kind="dmap"), "damp"),
        (notebook("site_folder = 3"), "a path in quotes"),
        (notebook("site_folder = __import__('os').getcwd()"), "name = value"),
        (notebook('site_folder = "invented"\nsite_fodler = "x"'), "site_folder, unattended, by"),
        (notebook("for x in y: pass"), "name = value"),
        (new_notebook(), "damp"),
        (new_notebook(metadata={"thermalkit": {"kind": "damp"}}), "a path in quotes"),
        (new_notebook(metadata={"thermalkit": "damp"}), "damp"),
    ],
)
def test_what_stands_in_the_way_is_a_page_not_an_error(nb, words, tmp_path):
    """The export menu shows the problem in words instead of a failed request."""
    page = exported(nb, tmp_path).decode()
    assert "The annex could not be made" in page
    assert words in page


def test_a_problem_page_carries_no_markup_of_others(tmp_path):
    """The path of a folder is text."""
    page = exported(notebook('site_folder = "<script>x</script>"'), tmp_path).decode()
    assert "<script" not in page


def test_parameters_are_read_without_running_them():
    """A later cell tagged parameters wins, as when one was injected."""
    nb = notebook('site_folder = "a"\nunattended = False')
    nb.cells.append(new_code_cell("unattended = True", metadata={"tags": ["parameters"]}))
    assert parameters_of(nb) == {"site_folder": "a", "unattended": True}


def test_the_command_reads_further_analysis_from_a_file(tmp_path):
    """Fragments of the file are those of the notebook."""
    nb = notebook(cells=[new_markdown_cell("Own words", metadata={"tags": ["annex"]})])
    nbformat.write(nb, tmp_path / "own.ipynb")
    assert further_analysis(tmp_path / "own.ipynb") == fragments(nb) == ("Own words",)


@pytest.mark.parametrize("content", ["", "[]", '{"cells": 3}', "{", json.dumps({"nbformat": 99})])
def test_a_file_that_is_no_notebook_is_named(tmp_path, content):
    """Not a traceback of a library."""
    (tmp_path / "own.ipynb").write_text(content, encoding="utf-8")
    with raises(ReadingError, match=r"own\.ipynb: not a notebook"):
        further_analysis(tmp_path / "own.ipynb")


def test_a_missing_notebook_is_named(tmp_path):
    """The path and the reason of the system."""
    with raises(ReadingError, match=r"own\.ipynb: missing"):
        further_analysis(tmp_path / "own.ipynb")


def test_a_notebook_beyond_all_measure_is_refused(tmp_path, monkeypatch):
    """Its size is looked at before it is read."""
    monkeypatch.setattr("thermalkit.workbook.exporter.LARGEST_NOTEBOOK", 10)
    nbformat.write(notebook(), tmp_path / "own.ipynb")
    with raises(ReadingError, match="Allowed: at most"):
        further_analysis(tmp_path / "own.ipynb")


@pytest.mark.parametrize(
    "spoil",
    [
        lambda nb: nb.update(metadata=3),
        lambda nb: nb.update(cells=3),
        lambda nb: nb.cells.append(3),
        lambda nb: nb.cells.append({"cell_type": "markdown", "source": 3, "metadata": {"tags": ["annex"]}}),
        lambda nb: nb.cells[0].update(source="site_folder = {[]: 1}"),
        lambda nb: nb.cells[0].update(source="x" * 9 + "(" * 500),
        lambda nb: nb.cells[0].update(source=3),
    ],
)
def test_a_notebook_of_another_shape_is_a_page_that_says_so(site_folder, spoil):
    """The export menu never ends in a traceback."""
    own = notebook()
    own.cells.insert(0, nbformat.v4.new_code_cell("site_folder = '.'", metadata={"tags": ["parameters"]}))
    spoil(own)
    page, _ = AnnexExporter().from_notebook_node(own, {"metadata": {"path": str(site_folder)}})
    assert b"The annex could not be made" in page
