"""One investigation of one site, open in a notebook.

A person who reads no code opens the notebook, all cells run once, and nothing has to be run again:

- `show(step)` is a panel with the evidence, the proposal already filled in, a reason and *Keep*.
- *Keep* writes the decision to the record at once. Every panel, also those further down, looks at
  the record again and fills itself in; a panel whose question rests on open ones names them and
  waits. What somebody is editing is left alone as long as its question stays the same.
- `findings()` and `annex()` are panels too: they name what is open, and fill in when nothing is.

So no cell of a shipped notebook halts for an open decision. Cells that a consultant adds and that
compute with a decision use `decided(step)` or `concluded()`, which halt with one sentence.

The steps are walked and the findings made by `diagnosis.run`, the loop of the command; nothing here
knows an investigation. Unattended, open steps take their proposal and nothing is written.
"""

from __future__ import annotations

from contextlib import suppress
from dataclasses import replace
from datetime import UTC, datetime
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

from thermalkit.diagnosis.decisions import Case, Step
from thermalkit.diagnosis.finding import Findings, OpenStep
from thermalkit.diagnosis.run import Answer, Answering, Proposing, investigation, kinds, run, walk
from thermalkit.errors import OutOfDomain, ReadingError, ThermalkitError, WritingError, printable
from thermalkit.language import render, say
from thermalkit.record.fingerprint import fingerprint
from thermalkit.record.store import (
    Entry,
    Record,
    read_record,
    recall,
    record_bytes,
    replay,
    save_record,
    with_decision,
)
from thermalkit.record.whole import write_whole
from thermalkit.site.files import LARGEST_SITE_FILE, file_bytes
from thermalkit.site.folder import read_site
from thermalkit.site.references import SITE_FILE
from thermalkit.site.toml_text import asked_language, tables_in
from thermalkit.workbook.drafts import Draft, Drafts
from thermalkit.workbook.halt import Halt
from thermalkit.workbook.launch import private_folder
from thermalkit.workbook.question import Question

if TYPE_CHECKING:
    from thermalkit.site.survey import Site
    from thermalkit.workbook.changes import ChangesPanel
    from thermalkit.workbook.charting import ChartsPanel
    from thermalkit.workbook.panels import AnnexPanel, FindingsPanel, Panel, StepPanel
    from thermalkit.workbook.site_form import SiteFormPanel

P = TypeVar("P", bound="Panel")
PARAMETERS = ("site_folder", "unattended", "by")


def open_session(
    kind: str, site_folder: str | Path, *, unattended: bool = False, by: str = "", **unknown: object
) -> Session:
    """Read a site and its record and open an investigation of it.

    Parameters
    ----------
    kind : str
        Name of the investigation, such as "damp".
    site_folder : path
        The folder that holds `site.toml`.
    unattended : bool
        Take the proposal of every open step, write nothing to the record.
    by : str
        Who decides; the surveyor named in the site file where empty.

    A site file that is not complete yet opens the form of the visit; the questions wait for it.

    Raises
    ------
    Halt
        Unknown kind or parameter, or the folder cannot be read and nobody is there to fill in the
        form; all problems in one text.
    """
    if unknown:
        raise Halt(
            say("workbook.no-such-parameter", names=", ".join(unknown), allowed=", ".join(PARAMETERS)),
            asked_language(Path(site_folder)),
        )
    if kind not in kinds():
        raise Halt(
            say("workbook.no-such-kind", kind=str(kind), allowed=", ".join(kinds())),
            asked_language(Path(site_folder)),
        )
    try:
        site = _site_or_problems(Path(site_folder), unattended=unattended)
        record = read_record(Path(site_folder), kind)
        return Session(kind, site, record, unattended=unattended, by=by, folder=Path(site_folder))
    except ThermalkitError as error:
        raise Halt(error, asked_language(Path(site_folder))) from None


def _site_or_problems(folder: Path, *, unattended: bool = False) -> Site | ReadingError:
    """A site, or what a form can mend of it: problems of a file that is at least TOML."""
    try:
        return read_site(folder)
    except ReadingError as error:
        if unattended:
            raise
        try:
            tables_in(file_bytes(folder, SITE_FILE, LARGEST_SITE_FILE))
        except ReadingError:
            raise error from None
        return error


class Session:
    """A site, the record of one investigation, and the panels that show them."""

    def __init__(
        self,
        kind: str,
        site: Site | ReadingError,
        record: Record,
        *,
        folder: Path,
        unattended: bool = False,
        by: str = "",
    ) -> None:
        self.kind, self.record, self.unattended, self.folder = kind, record, unattended, folder
        self._by = by
        self.unsaved: Record | None = None
        self._drafts = Drafts(private_folder(folder) / f".{kind}.drafts.json")
        self._panels: list[Panel] = []
        self._proposals: dict[tuple[str, str], Any] = {}
        self._findings: Findings | None = None  # reached once, however many panels show them
        self._begin(site)

    def _begin(self, site: Site | ReadingError) -> None:
        """Take a site as it was read, with the problems it has."""
        self.problems = site.problems if isinstance(site, ReadingError) else ()
        self._site = None if isinstance(site, ReadingError) else site
        if self._site is not None:
            self.language: str = self._site.keys.report.language
            self.by = self._by or self._site.keys.surveyor.name or ""
        else:
            self.language, self.by = asked_language(self.folder), self._by
        self._walk()

    @property
    def site(self) -> Site:
        """The site.

        Raises
        ------
        Halt
            It is not complete yet.
        """
        if self._site is None:
            raise Halt(say("workbook.visit-first"), self.language)
        return self._site

    def site_form(self) -> SiteFormPanel:
        """The visit as it was written down, to be filled in or changed."""
        from thermalkit.workbook.site_form import SiteFormPanel

        return self._shown(SiteFormPanel(self))

    def read_again(self) -> None:
        """Read the folder again and let every panel look."""
        self._begin(_site_or_problems(self.folder))
        for panel in self._panels:
            panel.refresh()

    def show(self, step: str) -> StepPanel:
        """The evidence of a step and a control to decide it."""
        from thermalkit.workbook.panels import StepPanel

        return self._shown(StepPanel(self, self._step(step)))

    def findings(self) -> FindingsPanel:
        """What the investigation concludes, or which steps are still open."""
        from thermalkit.workbook.panels import FindingsPanel

        return self._shown(FindingsPanel(self))

    def charts(self) -> ChartsPanel:
        """What happens over time and what cures would do, once nothing is open."""
        from thermalkit.workbook.charting import ChartsPanel

        return self._shown(ChartsPanel(self))

    def changes(self) -> ChangesPanel:
        """What changed since the earlier visit, if the folder holds one."""
        from thermalkit.workbook.changes import ChangesPanel

        return self._shown(ChangesPanel(self))

    def annex(self, path: str | Path | None = None) -> AnnexPanel:
        """A button that writes the annex; unattended, it is written at once."""
        from thermalkit.workbook.panels import AnnexPanel

        return self._shown(AnnexPanel(self, path))

    def decided(self, step: str) -> Any:
        """The decision of a step in the form its control gives, such as a tuple of `Mark`.

        Unattended, the proposal stands in for an open decision.

        Raises
        ------
        Halt
            There is no such step, the question does not arise here, or it is still open.
        """
        name = self._step(step).name
        if self.problems:
            raise Halt(say("workbook.visit-first"), self.language)
        if name not in self.case.decided:
            raise Halt(say("workbook.not-asked"), self.language)
        if self.is_open(name):
            raise Halt(say("workbook.open-here", steps=self.titles((name,))), self.language)
        return self.case.decided[name]

    def concluded(self) -> Findings:
        """The findings, the same as those of the command.

        Raises
        ------
        Halt
            Steps are open, and a person is to answer them; or a number lies where no formula holds.
        """
        if self.problems:
            raise Halt(say("workbook.visit-first"), self.language)
        if self.open_steps and not self.unattended:
            raise Halt(say("workbook.open-here", steps=self.titles(self.waiting())), self.language)
        try:
            if self._findings is None:
                self._findings = run(self.kind, self.site, replay(self.record), recall(self.record))
            return self._findings
        except OutOfDomain as error:
            raise Halt(error, self.language) from None

    def write_annex(self, path: str | Path | None = None) -> Path:
        """Write the annex, its JSON and its CSV, as the command does.

        Parameters
        ----------
        path : path, optional
            The HTML file; `annex/<kind>.html` in the site folder otherwise.

        Raises
        ------
        Halt
            Steps are open, and a person is to answer them.
        WritingError
            It could not be written; what was there stays.
        """
        from thermalkit.annex.build import write_annex

        findings = self.concluded()
        target = Path(path) if path is not None else self.site.folder / "annex" / f"{self.kind}.html"
        write_annex(target, findings, self.site, self.record)
        return target

    def keep(self, step: Step, value: Any, reason: str = "") -> None:
        """Write a decision to the record and let every panel look again.

        What could not be written is kept in `unsaved`: the next decision takes it along, and
        `save_elsewhere` writes it to another place.

        Raises
        ------
        NotADecision
            The value is no answer to this step.
        WritingError
            The record could not be written, somebody else changed it, or nobody attends.
        """
        if self.unattended:
            raise WritingError(say("workbook.unattended"))
        step.control.checked(value, self.case)
        propose, inputs = self._asked[step.name]
        record = with_decision(
            self._record_before(step),
            step,
            value,
            proposed=propose(),
            inputs=inputs,
            reason=reason,
            by=self.by,
            at=datetime.now(UTC).replace(microsecond=0),
        )
        try:
            self.record = save_record(record)
        except WritingError:
            self.unsaved = record
            raise
        self.unsaved = None
        with suppress(WritingError):
            self._drafts.drop(step.name)
        self._walk()
        for panel in self._panels:
            panel.refresh()

    def save_elsewhere(self, path: str | Path) -> Path:
        """Write the record, with what could not be saved, to another place; nothing there is overwritten.

        Parameters
        ----------
        path : path
            A file to make, or a folder to make one in.

        Raises
        ------
        WritingError
            There is a file of that name, or it could not be written.
        """
        path = Path(path).expanduser()
        target = path / f"{self.kind}.json" if path.is_dir() else path
        if target.exists():
            raise WritingError(say("workbook.elsewhere-taken", path=str(target)))
        write_whole(target, record_bytes(self.unsaved or self.record))
        return target

    def question(self, step: Step) -> Question | None:
        """What a panel asks now; None where the question does not arise."""
        if self.problems or step.name not in self.case.values:
            return None
        return Question(
            step=step,
            case=self.case,
            propose=self._asked[step.name][0],
            entry=self.entry(step),
            state=self._states.get(step.name, "decided"),
            language=self.language,
        )

    def entry(self, step: Step) -> Entry | None:
        """The last decision of a step that still is an answer to it."""
        entry = self.record.last(step.name)
        try:
            if entry is not None:
                step.control.checked(entry.value, self.case)
        except ThermalkitError:
            return None
        return entry

    def draft(self, step: Step) -> Draft | None:
        """An answer somebody was working on when the page or the kernel went away."""
        found = None if self.unattended else self._drafts.of(step.name, self.entry(step))
        try:
            if found is not None:
                step.control.checked(found.value, self.case)
        except ThermalkitError:
            return None
        return found

    def set_aside(self, step: Step, draft: Draft | None) -> None:
        """Write down, outside the site folder, what is not kept yet; None: nothing is.

        Raises
        ------
        WritingError
            It could not be written.
        """
        if self.unattended:
            return
        if draft is None:
            self._drafts.drop(step.name)
        else:
            self._drafts.keep(step.name, self.entry(step), draft)

    def is_open(self, step: str) -> bool:
        """Whether a person still has to answer a step."""
        return step in self._states and not self.unattended

    def waiting(self, step: Step | None = None) -> tuple[str, ...]:
        """Open steps that a step rests on; all open steps where none is named."""
        below: set[str] = set()
        pending = list(step.uses) if step is not None else list(self._states)
        while pending:
            name = pending.pop()
            if name not in below:
                below.add(name)
                pending += self._steps[name].uses
        return tuple(name for name in self._steps if name in below and self.is_open(name))

    def titles(self, steps: tuple[str, ...]) -> str:
        """Steps by their titles, for a sentence."""
        return "; ".join(self.title(name) for name in steps)

    def title(self, step: str) -> str:
        """A step by its title, in the words of the case."""
        asked = self._steps[step]
        return render(asked.title if self._site is None else asked.title_for(self.case), self.language)

    def following(self, step: Step) -> tuple[str, ...]:
        """The open step to go on with after a step, in a tuple; empty where none is open."""
        waiting, names = self.waiting(), list(self._steps)
        after = [name for name in waiting if names.index(name) > names.index(step.name)]
        return tuple((after or list(waiting))[:1])

    def say(self, id: str, **values: Any) -> str:
        """A sentence in the language of the site."""
        return render(say(id, **values), self.language)

    def _record_before(self, step: Step) -> Record:
        """The record with what could not be saved, but for an earlier try at the same step."""
        if self.unsaved is None:
            return self.record
        waiting = self.unsaved.entries[len(self.record.entries) :]
        others = tuple(entry for entry in waiting if entry.step != step.name)
        return replace(self.record, entries=(*self.record.entries, *others))

    def _step(self, name: str) -> Step:
        if name not in self._steps:
            steps = ", ".join(self._steps)
            raise Halt(say("workbook.no-such-step", name=printable(str(name)), steps=steps), self.language)
        return self._steps[name]

    def _shown(self, panel: P) -> P:
        self._panels.append(panel)
        panel.refresh()
        return panel

    def _walk(self) -> None:
        """Answer every step from the record and note what was asked."""
        self._findings = None
        self._asked: dict[str, tuple[Proposing, dict[str, Any]]] = {}
        self._steps: dict[str, Step] = {step.name: step for step in investigation(self.kind).STEPS}
        if self._site is None:
            self.open_steps = tuple(
                OpenStep(step=s.name, title=s.title, state="missing") for s in self._steps.values()
            )
            self._states = dict.fromkeys(self._steps, "missing")
            return
        self.case = Case(site=self._site)
        self.open_steps = walk(
            self.kind, self.case, partial(self._answer, replay(self.record)), self._proposed
        )
        self._states = {opened.step: opened.state for opened in self.open_steps}

    def _proposed(self, step: Step, case: Case) -> Any:
        """A proposal follows from its inputs alone, so the same inputs are computed once."""
        key = (step.name, fingerprint(case.inputs(step)))
        if key not in self._proposals:
            self._proposals[key] = step.propose(case)
        return self._proposals[key]

    def _answer(self, replayed: Answering, step: Step, propose: Proposing, inputs: dict[str, Any]) -> Answer:
        self._asked[step.name] = (propose, inputs)
        return replayed(step, propose, inputs)

    def _repr_html_(self) -> str:
        from thermalkit.workbook.faces import overview_html

        return overview_html(self)

    def _repr_mimebundle_(self, **kwargs: Any) -> dict[str, Any]:
        from thermalkit.workbook.panels import OverviewPanel

        return self._shown(OverviewPanel(self))._repr_mimebundle_(**kwargs)

    def __repr__(self) -> str:
        """What was found in the folder and what is missing, as text."""
        from thermalkit.workbook.faces import overview_text

        return overview_text(self)
