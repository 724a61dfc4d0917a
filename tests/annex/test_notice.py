"""What has to stand on top of every annex of a kind."""

import pytest

from thermalkit.annex.build import build
from thermalkit.language import render, say
from thermalkit.record.store import read_record
from thermalkit.site.folder import read_site


@pytest.mark.parametrize(("name", "language"), [("switch-room", "en"), ("cabinet-round", "de")])
def test_an_annex_of_cabinets_says_first_for_whom_it_is(sample_site, name, language):
    """Before the answer, in the reader's language; an annex on damp has no such words."""
    site = read_site(sample_site(name))
    page = build(site, read_record(site.folder, "panel"), "panel").decode()
    notice = render(say("panel.notice"), language)
    assert page.index(notice) < page.index('id="answer"')


def test_an_annex_on_damp_has_no_notice(sample_site):
    site = read_site(sample_site("sound-wall"))
    page = build(site, read_record(site.folder, "damp"), "damp").decode()
    assert render(say("panel.notice"), "de") not in page
    assert 'role="note"' not in page
