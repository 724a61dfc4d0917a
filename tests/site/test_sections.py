"""A section is found by being there."""

from typing import Annotated

import pytest
from pydantic import Field

from thermalkit.errors import ReadingError
from thermalkit.site import read_site, sections
from thermalkit.site.fields import Keys, RoomId

MODULE = '''
"""[[borings]]: invented for a test."""
from pydantic import Field
from thermalkit.site.fields import Id, Keys, RoomId

class BoringKeys(Keys):
    """[[borings]]: invented."""
    id: Id = Field(description="Name.")
    room: RoomId | None = Field(None, description="Room.")

TABLES = {"borings": BoringKeys}
REPEATED = ("borings",)
'''


@pytest.fixture
def borings(tmp_path, monkeypatch):
    (tmp_path / "more").mkdir()
    (tmp_path / "more" / "borings.py").write_text(MODULE)
    monkeypatch.setattr(sections, "__path__", [*sections.__path__, str(tmp_path / "more")])
    sections.site_model.cache_clear()
    yield
    sections.site_model.cache_clear()


def test_added_file_is_a_section(borings, folder):
    """Its table is read, its ids are checked, and nothing else had to change."""
    folder.append('[[borings]]\nid = "s1"\nroom = "cellar"\n')
    site = read_site(folder.path)
    (model,) = {type(boring) for boring in site.keys.borings}
    assert [boring.id for boring in site.sections(model)] == ["s1"]
    folder.append('[[borings]]\nid = "s1"\nroom = "attic"\n')
    with pytest.raises(ReadingError, match="Not listed under") as caught:
        read_site(folder.path)
    assert {p.place for p in caught.value.problems} == {'borings[1].id ("s1")', 'borings[1].room ("s1")'}


def test_without_the_file_the_table_is_unknown(folder):
    """A table that no section declares is refused."""
    folder.append('[[borings]]\nid = "s1"\n')
    with pytest.raises(ReadingError, match="borings: unknown key"):
        read_site(folder.path)


class Inner(Keys):
    room: RoomId = Field(description="Room.")


class Outer(Keys):
    inner: Annotated[tuple[Inner, ...], Field(max_length=9)] = Field((), description="Inner tables.")


def test_references_inside_nested_tables_are_found():
    """Ids in a table within a table carry their full path."""
    from thermalkit.site.fields import RefersTo
    from thermalkit.site.references import marked_fields

    found = list(marked_fields(Outer(inner=(Inner(room="x"),)), RefersTo))
    assert found == [(("inner", 0, "room"), "x", RefersTo("rooms"))]
