"""Sections of the site file that only one kind of investigation reads."""
