"""Class exercises: cases with a known truth, handed out without it, marked from what learners decided."""
