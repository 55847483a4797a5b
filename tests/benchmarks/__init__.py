"""Measurements: they time, they do not judge."""
