"""One folder on disk, checked once, becomes one frozen site."""

from thermalkit.site.folder import read_site
from thermalkit.site.loggers import LoggerSeries
from thermalkit.site.new import write_new_site
from thermalkit.site.survey import Site, SurveyFrame

__all__ = ["LoggerSeries", "Site", "SurveyFrame", "read_site", "write_new_site"]
