"""One investigation over many sites, and what a single house cannot answer.

`rows` makes one plain row of a site, `stock` finds sites and keeps finished rows, `workers` spreads the work,
`share` estimates for a whole stock, `ranking` sorts, `tables` and `page` write.
"""

from __future__ import annotations

from thermalkit.portfolio.survey import Portfolio, require_packages, survey_portfolio

__all__ = ["Portfolio", "require_packages", "survey_portfolio"]
