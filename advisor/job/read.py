"""A job file becomes a job, or a list of everything that is wrong with it."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any, get_args

from advisor.errors import InputError, Problem, listing
from advisor.job.feature import FEATURE_KEYS, feature_path, read_geometry
from advisor.job.model import After, Assumed, Environment, Feature, Job, Knowledge, Part, Start, Target
from advisor.job.names import resolve_alloy, resolve_row
from advisor.job.start import Completed, Said, complete, merge, read_start
from advisor.job.target import read_target
from advisor.knowledge.cell import ASSUMED_CHANGEOVER_S, Cell, read_cell
from advisor.knowledge.entries import Fields
from advisor.knowledge.reference import Alloy
from advisor.knowledge.strict_yaml import Node, from_plain, read_file

JOB_KEYS = (
    "name", "alloy", "part", "start", "features", "finish", "environment", "after", "cell", "batch",
)  # fmt: skip
MOST_FEATURES = 200
LARGEST_BATCH = 10_000_000


def read_job(path: str | Path, knowledge: Knowledge) -> Job:
    """The job of a YAML or JSON file. Raises InputError with every fault, each with its place."""
    return parse_job(read_file(path), knowledge, str(path))


def parse_job(data: Node | Mapping[str, Any], knowledge: Knowledge, file: str = "job") -> Job:
    """The job of loaded YAML or of a plain mapping; `file` stands in the messages.

    Raises InputError with every fault at once; nothing is guessed: a default that was used is listed in
    `Job.assumed`.
    """
    try:
        node = data if isinstance(data, Node) else from_plain(dict(data))
    except InputError as error:
        raise InputError(Problem(file, problem.what, problem.given) for problem in error.problems) from None
    if node.value is None:
        raise InputError(Problem(file, "is empty; a job is a mapping of fields", allowed=listing(JOB_KEYS)))
    problems: list[Problem] = []
    fields = Fields.of(node, "", file, problems, JOB_KEYS, "a job")
    if fields is None:
        raise InputError(problems)
    job = _Reader(fields, knowledge).job()
    if job is None or problems:
        raise InputError(problems)
    return job


class _Reader:
    """Reads the parts of one job; faults go to one list, assumptions to another."""

    def __init__(self, fields: Fields, knowledge: Knowledge) -> None:
        self.fields = fields
        self.knowledge = knowledge
        self.problems = fields.problems
        self.assumed: list[Assumed] = []

    def job(self) -> Job | None:
        fields = self.fields
        fields.require("name", "a job needs a name")
        name = fields.text("name")
        alloy = self.alloy()
        part = self.part()
        environment = fields.choice("environment", get_args(Environment))
        after = fields.choice("after", get_args(After))
        if after is None:
            after = "none"
            self.assume("after", "none", "nothing is said to follow the finishing")
        batch = self.batch()
        start, said = self.start()
        target, target_assumed = self.target(alloy)
        features = self.features(said, start, target, alloy)
        if start is not None and any(not item.own_start for item in features):
            self.assumed += start[1]
        if any(not item.own_finish for item in features):
            self.assumed += target_assumed
        cell = self.cell()
        if self.problems or alloy is None or cell is None:
            return None
        return Job.model_validate(
            {
                "name": name,
                "alloy": alloy.key,
                "part": part,
                "start": None if start is None else start[0],
                "features": features,
                "finish": target,
                "environment": environment,
                "after": after,
                "cell": cell,
                "batch": batch,
                "assumed": self.assumed,
            }
        )

    def assume(self, field: str, value: str, why: str) -> None:
        self.assumed.append(Assumed(field=field, value=value, why=why))

    def alloy(self) -> Alloy | None:
        node = self.fields.require("alloy", "a job needs its alloy")
        text = None if node is None else self.fields.text_of(node, "alloy")
        if node is None or text is None:
            return None
        try:
            return resolve_alloy(text, self.knowledge.tables["alloys"], self.fields.place(node))
        except InputError as error:
            self.problems += error.problems
            return None

    def part(self) -> Part:
        node = self.fields.get("part")
        keys = ("mass", "size", "wall", "contour")
        fields = None
        if node is not None:
            fields = Fields.of(node, "part", self.fields.file, self.problems, keys, "a part")
        contour = None if fields is None else fields.choice("contour", ("low", "high"))
        if contour is None:
            self.assume("part.contour", "low", "nothing is said of the overall curve")
        if fields is None:
            return Part()
        mass, size, wall = fields.quantity("mass"), fields.quantity("size"), fields.quantity("wall")
        if size is not None and wall is not None and wall > size:
            fields.fault(fields.get("wall"), "part.wall", "larger than the part's longest side")
        return Part(mass_kg=mass, size_mm=size, wall_mm=wall, contour="high" if contour == "high" else "low")

    def batch(self) -> int:
        node = self.fields.get("batch")
        if node is None:
            self.assume("batch", "1", "no batch is given; every changeover then falls on one part")
            return 1
        return int(self.fields.number(node, "batch", 1, LARGEST_BATCH, whole=True) or 1)

    def start(self) -> tuple[Completed | None, Said | None]:
        node = self.fields.get("start")
        if node is None:
            return None, None
        said = read_start(node, "start", self.fields, self.knowledge.tables["defects"])
        if said is None:
            return None, None
        if said.defect is None and (not isinstance(node.value, dict) or "defect" in node.value):
            return None, said  # already reported
        return complete(said, "start", self.fields.place(node), self.problems), said

    def target(self, alloy: Alloy | None) -> tuple[Target | None, list[Assumed]]:
        node = self.fields.get("finish")
        assumed: list[Assumed] = []
        if node is None:
            return None, assumed
        return read_target(node, "finish", self.fields, self.knowledge, alloy, assumed), assumed

    def features(
        self,
        said: Said | None,
        start: Completed | None,
        target: Target | None,
        alloy: Alloy | None,
    ) -> list[Feature]:
        node = self.fields.require("features", "a job needs at least one feature: a face or an edge")
        if node is None:
            return []
        before = len(self.problems)
        entries = self.fields.entries("features", single=False)
        if not entries and len(self.problems) == before:
            self.fields.fault(node, "features", "a job needs at least one feature: a face or an edge")
        if len(entries) > MOST_FEATURES:
            self.fields.fault(node, "features", "too many features", str(len(entries)), f"{MOST_FEATURES}")
            return []
        found: list[Feature] = []
        seen: dict[str, str] = {}
        for number, entry in enumerate(entries, 1):
            feature = self.feature(entry, number, said, start, target, alloy, seen)
            if feature is not None:
                found.append(feature)
        return found

    def feature(
        self,
        node: Node,
        number: int,
        said: Said | None,
        start: Completed | None,
        target: Target | None,
        alloy: Alloy | None,
        seen: dict[str, str],
    ) -> Feature | None:
        before = len(self.problems)
        path = feature_path(node, number)
        fields = Fields.of(node, path, self.fields.file, self.problems, FEATURE_KEYS, "a feature")
        if fields is None:
            return None
        values = read_geometry(fields)
        name = values["name"]
        if name is not None:
            if name.casefold() in seen:
                what = f"two features of one name; the first stands at {seen[name.casefold()]}"
                fields.fault(fields.get("name"), fields.name("name"), what, name)
            seen.setdefault(name.casefold(), fields.place(fields.get("name")))
        own_start = self.own_start(fields, said)
        finish_node = fields.get("finish")
        own_target: Target | None = None
        if finish_node is not None:
            field = fields.name("finish")
            own_target = read_target(finish_node, field, fields, self.knowledge, alloy, self.assumed)
        elif self.fields.get("finish") is None:
            fields.fault(node, fields.name("finish"), "a finish is needed, here or for the whole job")
        own = fields.get("start") is not None
        chosen = own_start if own else None if start is None else start[0]
        wanted = own_target if finish_node is not None else target
        if len(self.problems) > before or chosen is None or wanted is None:
            return None
        return Feature.model_validate(
            {
                **values,
                "start": chosen,
                "own_start": own,
                "finish": wanted,
                "own_finish": finish_node is not None,
            }
        )

    def own_start(self, fields: Fields, said: Said | None) -> Start | None:
        node = fields.get("start")
        field = fields.name("start")
        if node is None:
            if self.fields.get("start") is None:
                fields.fault(fields.node, field, "a start is needed, here or for the whole job")
            return None
        own = read_start(node, field, fields, self.knowledge.tables["defects"])
        if own is None:
            return None
        merged = merge(said, own)
        wrong = own.defect is None and (not isinstance(node.value, dict) or "defect" in node.value)
        inherited = said is not None and own.defect is None and said.defect is None
        if wrong or inherited:
            return None  # the unknown defect is already reported
        done = complete(merged, field, fields.place(node), self.problems)
        if done is None:
            return None
        self.assumed += done[1]
        return done[0]

    def cell(self) -> Cell | None:
        tables = self.knowledge.tables
        cells: Mapping[str, Cell] = tables["cells"]
        allowed = "a key, or the cell itself as a mapping; keys: " + listing(tuple(cells), limit=12)
        node = self.fields.require("cell", "a job needs its cell", allowed)
        cell: Cell | None = None
        if node is not None and isinstance(node.value, dict):
            cell = read_cell(node, "cell", self.fields.file, tables["media"], self.problems)
        elif node is not None:
            text = self.fields.text_of(node, "cell")
            if text is not None:
                try:
                    cell = resolve_row(text, cells, "cell", self.fields.place(node), "cell")
                except InputError as error:
                    self.problems += error.problems
        if cell is not None:
            self.assume_of(cell)
        return cell

    def assume_of(self, cell: Cell) -> None:
        if cell.media_history in (None, "unknown"):
            self.assume("cell.media_history", "steel", "nobody knows what the media here has touched")
        if cell.dust is None or (cell.dust.shared_with is None and cell.dust.collector != "none"):
            self.assume("cell.dust.shared_with", "steel", "nobody says what else the dust collector serves")
        if not cell.changeover.given():
            why = "no changeover is given; our own estimate"
            self.assume("cell.changeover", f"{ASSUMED_CHANGEOVER_S:g} s", why)


__all__ = ["JOB_KEYS", "parse_job", "read_job"]
