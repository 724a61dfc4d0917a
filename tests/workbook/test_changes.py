"""The panel that sets two visits side by side."""

from thermalkit.workbook import open_session
from thermalkit.workbook.picture import Picture


def pictures(widget):
    found = [widget] if isinstance(widget, Picture) else []
    return found + [picture for child in getattr(widget, "children", ()) for picture in pictures(child)]


def test_both_pictures_have_one_bar_and_the_table_stands_above(sample_site):
    """Before, after, and their difference in shares, as in the annex."""
    panel = open_session("damp", sample_site("repaired-corner"), unattended=True).changes()
    before, after, difference = pictures(panel)
    assert before.bar == after.bar
    assert (before.difference, difference.difference, difference.unit) == (False, True, "%")
    assert "▲ better" in panel.as_html()
    assert "Bedroom / corner – ▲ better – temperature factor" in panel.as_text()
    drawn = panel.children
    panel.refresh()
    assert panel.children == drawn


def test_without_an_earlier_visit_it_says_how_there_comes_to_be_one(sample_site):
    panel = open_session("damp", sample_site("cold-corner"), unattended=True).changes()
    assert pictures(panel) == []
    assert "--again" in panel.as_text()


def test_it_waits_for_open_decisions(open_site):
    panel = open_session("damp", open_site).changes()
    assert pictures(panel) == []
    assert "Which frames may be used" in panel.as_html()


def test_an_earlier_visit_with_problems_is_named(sample_site):
    folder = sample_site("repaired-corner")
    (folder / "earlier" / "thermal" / "corner.tiff").unlink()
    panel = open_session("damp", folder, unattended=True).changes()
    assert pictures(panel) == []
    assert "earlier/site.toml" in panel.as_html()
