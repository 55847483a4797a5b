"""Sweeps every combination of alloy family, defect, shape and finish, to find where the knowledge ends."""
