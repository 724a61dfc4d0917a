"""Decide the sample sites as their invented surveyors would, and write their records.

Run it after a change of a site or of an investigation's questions: python sample_sites/decide.py
"""

from __future__ import annotations

from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

from thermalkit.diagnosis.decisions import Step
from thermalkit.diagnosis.run import Answer, run
from thermalkit.record.store import Record, save_record, with_decision
from thermalkit.site.folder import read_site

HERE = Path(__file__).parent
MINUTES_BETWEEN = 2

COLD_CORNER = {
    "water": (
        {
            "corner/cold: age": "older",
            "corner/cold: where": "corner",
            "corner/cold: timing": "winter",
            "corner/cold: wet-now": "wet",
        },
        "the occupant says it comes every winter; built about 1905",
    ),
    "factors": (["cold-bridge"], ""),
    "suspect": (None, "the whole height of the corner is wet to the touch"),
    "remark": (
        "The corner was wet to the touch over its whole height when we came, and the skirting below it is "
        "stained. The gutter outside could **not** be looked at.\n\nWater from outside is therefore not "
        "ruled out by this visit.",
        "",
    ),
}
SOUND_WALL = {
    "water": ({"aussenwand/Streifen: wet-now": "dry", "aussenwand/Streifen: age": "older"}, ""),
    "suspect": (
        [
            {
                "frame": "aussenwand",
                "id": "Streifen",
                "shape": "patch",
                "points": [[60, 40], [60, 70], [190, 70], [190, 40]],
                "role": "suspect",
            }
        ],
        "dunkler Streifen, den der Mieter zeigte; im Bild fällt dort nichts auf",
    ),
    "remark": (
        "Die Wand war trocken und ohne Verfärbung. Der dunkle Streifen hinter dem Schrank ist "
        "abwischbarer Staub.",
        "",
    ),
}
GROUND_MOISTURE = {
    "water": (
        {
            "sockel/cold: where": "base-all",
            "sockel/cold: edge": "level",
            "sockel/cold: timing": "constant",
            "sockel/cold: wet-now": "wet",
        },
        "auch die Innenwände sind am Fuß nass; die Eigentümerin sieht keinen Unterschied der Jahreszeiten",
    ),
    "remark": (
        "Der Fuß aller Wände der Küche ist bis etwa 60 cm nass, mit waagrechter Oberkante und weißen "
        "Ausblühungen. Das Fundament wurde **nicht** freigelegt.",
        "",
    ),
}
PIPE_LEAK = {
    "water": (
        {
            "partition/cold: where": "wet-room",
            "partition/cold: edge": "uneven",
            "partition/cold: timing": "use",
            "partition/cold: wet-now": "wet",
            "partition/cold: warm-trace": "bulge",
            "partition/cold: depth": "deeper",
            "partition/cold: pressure-test": "loses",
        },
        "hot tap run for ten minutes before the frame; pressure test by the plumber on the same day",
    ),
    "remark": (
        "The wall logger rises each time hot water is used. Have the pipe shut off and the wall opened by a "
        "licensed plumber; there may be cables in the same wall.",
        "",
    ),
}
RAIN_GABLE = {
    "water": (
        {
            "gable/cold: where": "patch",
            "gable/cold: edge": "uneven",
            "gable/cold: timing": "rain",
            "gable/cold: wet-now": "wet",
        },
        "meter and wall logger follow the rain that came with west wind; no pipe runs near the gable",
    ),
    "remark": (
        "Patch and meter follow the rain that comes with wind, within hours. Open joints were seen from the "
        "ground beside the window. Verge and flashing could **not** be reached.",
        "",
    ),
}
COOLED_BEDROOM = {
    "suspect": (
        [
            {
                "frame": "outlet-wall",
                "id": "outlet",
                "shape": "patch",
                "points": [[45, 88], [45, 146], [105, 146], [105, 88]],
                "role": "suspect",
            }
        ],
        "mould below the outlet, where the wall is coldest",
    ),
    "water": (
        {
            "outlet-wall/outlet: where": "openings",
            "outlet-wall/outlet: edge": "diffuse",
            "outlet-wall/outlet: timing": "summer",
            "outlet-wall/outlet: wet-now": "wet",
            "outlet-wall/outlet: streak": "changes",
        },
        "two frames, bathroom fan on and off: a streak from the hole behind the outlet came and went",
    ),
    "remark": (
        "The hole of duct and cable behind the outlet is open to the outside. Opening the duct is work for a "
        "cooling technician.",
        "",
    ),
}
OLD_STAIN = {
    "suspect": (
        [
            {
                "frame": "landing-wall",
                "id": "stain",
                "shape": "patch",
                "points": [[30, 105], [30, 190], [110, 190], [110, 105]],
                "role": "suspect",
            }
        ],
        "the stain the buyer asked about; the picture shows nothing there",
    ),
    "water": (
        {
            "landing-wall/stain: where": "patch",
            "landing-wall/stain: edge": "uneven",
            "landing-wall/stain: timing": "fading",
            "landing-wall/stain: wet-now": "dry",
            "landing-wall/stain: warm-trace": "none",
            "landing-wall/stain: colder-than-dry": "no",
        },
        "meter the same in and beside the stain, after a night of rain; gutter replaced in 2023",
    ),
    "remark": (
        "Stain and wall round it were dry, after a night of rain. Paint over it, and look again after the "
        "next storm.",
        "",
    ),
}
CANNOT_ANSWER = {
    "remark": (
        "Dieser Termin beantwortet die Frage nicht: draußen zu warm, Sonne auf der Wand, keine Luftfeuchte. "
        "In der Heizzeit wiederholen, frühmorgens, mit einem Hygrometer.",
        "",
    ),
}
CASES = (
    ("cold-corner", "damp", COLD_CORNER),
    ("sound-wall", "damp", SOUND_WALL),
    ("ground-moisture", "damp", GROUND_MOISTURE),
    ("pipe-leak", "damp", PIPE_LEAK),
    ("rain-gable", "damp", RAIN_GABLE),
    ("cooled-bedroom", "damp", COOLED_BEDROOM),
    ("old-stain", "damp", OLD_STAIN),
    ("cannot-answer", "damp", CANNOT_ANSWER),
)


def decide(site_name: str, kind: str, own: dict[str, tuple[Any, str]]) -> None:
    """Write `record/<kind>.json`: every proposal kept, but for the surveyor's own answers."""
    site = read_site(HERE / site_name)
    path = site.folder / "record" / f"{kind}.json"
    path.unlink(missing_ok=True)
    record = Record(path=path, kind=kind)
    at = site.keys.site.surveyed_at + timedelta(hours=3)
    by = site.keys.surveyor.name or ""

    def answer(step: Step, proposal: Any, inputs: dict[str, Any]) -> Answer:
        nonlocal record, at
        value, reason = own.get(step.name, (None, ""))
        value = _over(proposal, value)
        at = _later(at)
        record = with_decision(
            record, step, value, proposed=proposal, inputs=inputs, by=by, at=at, reason=reason
        )
        return Answer(value=value, state="decided")

    run(kind, site, answer)
    save_record(record)


def _over(proposal: Any, own: Any) -> Any:
    """The surveyor's own answer; answers to single questions are laid over the proposed ones."""
    if own is None:
        return proposal
    return {**proposal, **own} if isinstance(own, dict) else own


def _later(at: datetime) -> datetime:
    return at + timedelta(minutes=MINUTES_BETWEEN)


if __name__ == "__main__":
    for case in CASES:
        decide(*case)
