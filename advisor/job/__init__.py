"""What the user asks: reading a job file, its model, and writing it back."""

from advisor.job.change import set_field
from advisor.job.model import Assumed, Feature, Job, Part, Start, Target
from advisor.job.read import parse_job, read_job
from advisor.job.write import canonical_json, to_json
from advisor.knowledge.cell import Cell, Station, parse_cell

__all__ = [
    "Assumed", "Cell", "Feature", "Job", "Part", "Start", "Station", "Target", "canonical_json", "parse_cell",
    "parse_job", "read_job", "set_field", "to_json",
]  # fmt: skip
