"""Decisions on disk: whole or not at all, with history."""
