"""A place in detail: three lines first, all else under its headings; what was sound, what was not seen."""

import json
import re
from csv import DictReader
from dataclasses import replace
from io import StringIO
from types import SimpleNamespace

import pytest

from thermalkit.annex.build import page
from thermalkit.annex.content import news, places, split, views
from thermalkit.annex.jobs import MOST_WITHOUT_HURRY, Job, jobs, urgent
from thermalkit.annex.pictures import brief_marks
from thermalkit.annex.place import Place, by_urgency
from thermalkit.annex.rows import sound, unseen
from thermalkit.annex.tables import actions_csv
from thermalkit.annex.wording import Wording
from thermalkit.diagnosis.change import change_term
from thermalkit.diagnosis.finding import Alternative, NextStep
from thermalkit.language import say
from thermalkit.site.model import LookedAtKeys


@pytest.fixture(scope="module")
def found(findings, site):
    return places(findings, site)


def test_each_finding_of_a_place_is_told_once(found):
    """In the summary, under its heading, or with the explanations; nothing is lost."""
    for place in found:
        below = [finding for _, group in place.chapters for finding in group]
        told = [place.lead, *below, *(f for f in place.weighed if f is not place.lead)]
        assert sorted(map(id, told)) == sorted(map(id, place.findings))


def test_each_quantity_of_a_place_stands_in_a_table(found):
    """Under the heading of the findings that it belongs to."""
    from thermalkit.annex.place import items_of

    for place in found:
        tables = [place.measured_items, *(items_of(g) for word, g in place.chapters if word != "found")]
        told = {item.quantity.term.id for table in tables for item in table}
        assert told == {item.quantity.term.id for item in place.items}


def test_a_place_begins_with_verdict_number_and_next_step(findings, site, record):
    """Three lines, before any heading."""
    html = page(findings, site, record, "en").decode()
    for article in re.findall(r'<article class="place".*?</article>', html, re.S):
        brief = article.partition('<ul class="statements brief">')[2].partition("</ul>")[0]
        assert "verdict" in brief
        assert article.index("statements brief") < article.find("<h5>") or "<h5>" not in article
        assert ("Next step" in brief) == ("Next steps</h5>" in article)


def cleared(findings):
    """The most urgent place of the invented site, as if every limit were kept."""
    first = findings.findings[0]
    return tuple(replace(f, verdict="not indicated", alternatives=()) for f in (first,))


def weighed(findings, probability):
    """What is weighed at that place, without a limit."""
    other = Alternative(name=say("unit.example", air="x"), probability=probability)
    return replace(cleared(findings)[0], verdict=None, probability=probability, alternatives=(other,))


def test_a_place_that_keeps_its_limits_is_sound_unless_a_cause_was_weighed(findings):
    """Dry air does not clear a wall that is wet from elsewhere."""
    kept = cleared(findings)
    place = Place(number=1, findings=kept)
    assert place.is_sound
    assert place.verdict == "not indicated"
    cause = weighed(findings, 0.9)
    wet = Place(number=1, findings=(*kept, cause))
    assert not wet.is_sound
    assert wet.verdict is None
    assert wet.short == (cause, kept[0])
    assert sound([place, wet], Wording("en")) == sound([place], Wording("en"))


def test_a_likely_cause_with_its_cure_is_a_problem_without_a_limit(findings):
    """A leak that is all but certain is no mere observation; a stain with nothing behind it is."""
    cause, cure = (
        weighed(findings, 0.9),
        replace(weighed(findings, 0.9), alternatives=(), next_steps=steps("by.heating")),
    )
    assert Place(number=1, findings=(cause, cure)).verdict == "indicated"
    assert Place(number=1, findings=(cause,)).verdict is None
    assert Place(number=1, findings=(cause, replace(cure, probability=0.4))).verdict is None


@pytest.mark.parametrize(
    ("probability", "apart", "verdict"), [(0.9, False, "indicated"), (0.9, True, None), (0.4, False, None)]
)
def test_only_a_likely_cause_asks_as_a_broken_limit_does(findings, probability, apart, verdict):
    """Page one and the table of jobs ask alike."""
    asking = replace(weighed(findings, probability), next_steps=steps("by.surveyor", apart=apart))
    assert [job.verdict for job in jobs([Place(number=1, findings=(asking,))], Wording("en"))] == [verdict]
    (row,) = DictReader(
        StringIO(actions_csv(replace(findings, findings=(asking,)), "en").decode("utf-8-sig"))
    )
    assert row["urgency"] == Wording("en").urgency(verdict)


@pytest.mark.parametrize(("probability", "is_first"), [(0.6, True), (0.4, False)])
def test_the_short_answer_begins_with_a_cause_that_is_settled(findings, probability, is_first):
    """More likely than all others together answers the question that was asked."""
    urgent = replace(cleared(findings)[0], verdict="indicated")
    cause = weighed(findings, probability)
    assert (Place(number=1, findings=(urgent, cause)).short[0] is cause) == is_first


@pytest.mark.parametrize(("language", "words"), [("en", "keeps its limit"), ("de", "hält ihre Grenze")])
def test_a_sound_place_says_what_was_looked_at(findings, language, words):
    """Which quantities, in plain words."""
    assert words in sound([Place(number=1, findings=cleared(findings))], Wording(language))[0]


def test_what_was_not_seen_is_told_with_its_reason(site):
    """And that it must not be taken as sound."""
    looked = (
        LookedAtKeys(element="eaves", looked="not possible", why="no ladder."),
        LookedAtKeys(element="cellar", looked="no"),
        LookedAtKeys(element="porch", looked="yes"),
    )
    visited = replace(site, keys=site.keys.model_copy(update={"looked_at": looked}))
    assert unseen(visited, Wording("en")) == ["eaves: no ladder.", "cellar: no reason is written down."]


def test_the_picture_has_the_numbers_of_each_mark(findings, site):
    """As in the notebook: what the mark is read at, with its interval, and what the investigation adds."""
    words = Wording("en")
    for view in views(places(findings, site), findings, site, words):
        if view.picture is None:
            continue
        data = json.loads(view.picture)
        assert set(data["numbers"]) == {mark["id"] for mark in data["marks"]}
        for rows in data["numbers"].values():
            pairs = [row for row in rows if isinstance(row, list)]
            assert len(pairs) > 1
            assert all(" to " in value for _, value in pairs)
            assert "temperature factor" in [name for name, _ in pairs]


def compared(finding, low, high):
    """The finding of a change between two visits at the place of another."""
    first = finding.quantities[0]
    value = replace(first.measured, value=(low + high) / 2, low=low, high=high)
    changed = replace(first, measured=value, term=change_term(finding.limit.term))
    return replace(finding, code="damp.change", verdict=None, limit=None, quantities=(changed,))


def test_a_change_since_the_earlier_visit_answers_first(findings):
    """Then how the quantity that changed stands to its limit."""
    humidity, factor = (replace(f, verdict="not indicated", alternatives=()) for f in judged(findings)[:2])
    better = compared(factor, 0.1, 0.3)
    assert humidity.limit.term != factor.limit.term
    assert Place(number=1, findings=by_urgency((humidity, factor, better))).short == (better, factor)


def test_no_change_is_told_last_and_only_of_what_is_indicated(findings):
    """An interval that holds zero claims nothing."""
    urgent = replace(judged(findings)[0], verdict="indicated", alternatives=())
    kept, alike = replace(urgent, verdict="not indicated"), compared(urgent, -0.1, 0.3)
    assert Place(number=1, findings=(urgent, alike)).short == (urgent, alike)
    assert Place(number=1, findings=(kept, alike)).short == (kept,)


def judged(findings):
    """What is held against a limit at the first place."""
    held = [finding for finding in findings.findings if finding.limit is not None]
    return [finding for finding in held if finding.place == held[0].place]


def test_jobs_of_the_likeliest_cause_come_first_and_looks_last(findings):
    """What would only tell causes apart waits until what the likeliest calls for is told."""
    urgent = replace(judged(findings)[0], verdict="indicated", next_steps=steps("by.surveyor", apart=True))
    cause = replace(weighed(findings, 0.8), next_steps=steps("by.occupant", apart=True))
    limit = replace(urgent, next_steps=steps("by.consultant"))
    cure = replace(cause, alternatives=(), next_steps=steps("by.heating"))
    asked = jobs([Place(number=1, findings=(urgent, limit, cause, cure))], Wording("en"))
    trades = ("by.heating", "by.consultant", "by.surveyor", "by.occupant")
    assert [job.by for job in asked] == [Wording("en").say(by) for by in trades]
    open_cause = replace(cause, probability=0.4)
    asked = jobs([Place(number=1, findings=(urgent, limit, open_cause))], Wording("en"))
    assert asked[0].by == Wording("en").say("by.surveyor")


def steps(by, *, apart=False):
    """One job for a trade."""
    return (NextStep(step=say("unit.example", air="x"), by=say(by), tells_apart=apart),)


def test_what_cannot_wait_is_the_first_place(findings, site):
    """Before places that break a limit."""
    kept = replace(judged(findings)[0], verdict="indicated", next_steps=())
    step = replace(steps("by.surveyor")[0], at_once=True)
    urgent = replace(kept, place="elsewhere", mark="m", verdict="inconclusive", next_steps=(step,))
    found = places(replace(findings, findings=(kept, urgent)), site)
    assert [(place.number, place.name) for place in found] == [(1, "elsewhere"), (2, kept.place)]


def test_context_takes_no_line_of_the_short_answer(findings):
    """Unless there is nothing else; a sound place only where it breaks its limit."""
    kept = (replace(judged(findings)[0], verdict="not indicated"),)
    room = Place(number=2, findings=(replace(kept[0], verdict=None, is_context=True),))
    sound_place = Place(number=3, findings=kept, is_comparison=True)
    broken = Place(number=4, findings=(replace(kept[0], verdict="indicated"),), is_comparison=True)
    wall = Place(number=1, findings=kept)
    assert news([wall, room, sound_place, broken]) == (wall, broken)
    assert news([room]) == (room,)


def test_page_one_has_few_jobs_where_none_is_urgent(findings):
    """The others stand with their places."""
    todo = [Job(job=str(i), by="", places=()) for i in range(9)]
    assert len(urgent(todo)) == MOST_WITHOUT_HURRY
    assert len(urgent([replace(job, verdict="indicated") for job in todo])) == 9


def test_a_place_that_asks_for_nothing_is_told_in_a_line(findings):
    """Context without a next step; a next step or a verdict that breaks a limit is told in full."""
    quiet = replace(
        findings.findings[0], verdict=None, limit=None, alternatives=(), next_steps=(), is_context=True
    )
    asking = replace(quiet, next_steps=(NextStep(step=say("annex.job"), by=say("annex.by")),))
    full, brief = split([Place(number=1, findings=(quiet,)), Place(number=2, findings=(asking,))])
    assert [place.number for place in full] == [2]
    assert [place.number for place in brief] == [1]
    assert split(brief, {brief[0].name}) == (brief, ())


def test_of_many_marks_those_without_a_finding_show_a_line(findings):
    """Up to three marks show all their numbers; the told one of four does."""
    told = next(finding for finding in findings.findings if finding.mark)
    marks = tuple(SimpleNamespace(id=id, role="pipe") for id in (told.mark, "a", "b", "c"))
    assert brief_marks(SimpleNamespace(frame=told.frame, marks=marks), findings) == ["a", "b", "c"]
    assert brief_marks(SimpleNamespace(frame=told.frame, marks=marks[:3]), findings) == []
