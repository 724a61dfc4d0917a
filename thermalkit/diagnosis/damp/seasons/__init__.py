"""What happens over time at a damp place: hours, spells, mould, the year, moisture in the air.

The surface follows outdoors as far as the wall remembers it, and the room's air by the temperature factor
that was found at the visit; a logger on the surface takes the factor's place. The factor stands for slow
changes: an hour of quick heating or airing warms the air more than the surface, which then is a little
damper than calculated.
"""

from thermalkit.diagnosis.damp.seasons.charts import season_charts
from thermalkit.diagnosis.damp.seasons.evidence import season_evidence
from thermalkit.diagnosis.damp.seasons.places import season_findings
from thermalkit.diagnosis.damp.seasons.rooms import room_season_findings

__all__ = ["room_season_findings", "season_charts", "season_evidence", "season_findings"]
