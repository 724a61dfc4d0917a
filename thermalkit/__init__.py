"""Interactive investigation workbook for building thermography."""

__version__ = "0.1.0"
