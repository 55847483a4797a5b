"""The pictures of a sheet: the one place that knows matplotlib, and it loads it only to draw."""
