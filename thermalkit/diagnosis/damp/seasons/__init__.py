"""What happens over time at a damp place: hours, spells, mould, the year, moisture in the air.

The surface follows outdoors as far as the wall remembers it, and the room's air by the temperature factor
that was found at the visit; a logger on the surface takes the factor's place. The factor stands for slow
changes: where heating is switched off at night, single hours may lie outside their band, while counts of
hours, spells and means of days and weeks stay within theirs (tried on brick walls solved hour by hour).
"""

from thermalkit.diagnosis.damp.seasons.charts import season_charts
from thermalkit.diagnosis.damp.seasons.evidence import season_evidence
from thermalkit.diagnosis.damp.seasons.places import season_findings
from thermalkit.diagnosis.damp.seasons.rooms import room_season_findings

__all__ = ["room_season_findings", "season_charts", "season_evidence", "season_findings"]
