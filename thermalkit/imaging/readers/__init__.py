"""Readers of open file formats."""
