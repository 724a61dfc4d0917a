"""Frames and marks: reading, correcting, measuring; what a defect is stands elsewhere."""
