"""Patterns, trees, flasks, investment and burnout."""
