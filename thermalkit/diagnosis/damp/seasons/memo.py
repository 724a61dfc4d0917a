"""What was worked out in a run, kept as long as its draws."""

from thermalkit.diagnosis.memo import kept as kept
