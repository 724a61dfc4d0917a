"""Investigations: pure steps, decisions and findings."""
