"""Files, folders and tables become jobs; everything wrong has its place."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from advisor.batch.inputs import gather
from advisor.errors import InputError
from advisor.job.read import parse_job
from advisor.job.write import canonical_json
from tests import invented
from tests.batch.conftest import job

HEAD = "name,alloy,start.defect,start.depth,feature.shape,feature.width,finish,cell,batch"


def table(tmp_path: Path, *rows: str, head: str = HEAD) -> Path:
    path = tmp_path / "jobs.csv"
    path.write_text("\n".join((head, *rows)) + "\n", encoding="utf-8")
    return path


def test_a_folder_gives_its_job_files_by_name(folder: Path) -> None:
    tasks, wrong = gather([str(folder)])
    assert [Path(task.source).name for task in tasks] == ["0.json", "1.json"] and not wrong


@pytest.mark.parametrize(("delimiter", "mark"), [(",", ""), (";", "\ufeff"), ("\t", "")])
def test_a_row_is_the_job_that_its_fields_say(tmp_path: Path, delimiter: str, mark: str) -> None:
    row = 'strap|6063|die-lines|"[0.05 mm, 0.1 mm]"|flat|30 mm|hairline|bench-belt-and-buff|120'
    path = table(tmp_path, row.replace("|", delimiter), head=mark + HEAD.replace(",", delimiter))
    (task,), wrong = gather([str(path)])
    assert not wrong and task.source == f"{path}:2"
    asked = parse_job(json.loads(task.text), invented.knowledge(), task.source)
    same = parse_job(
        {
            "name": "strap", "alloy": "6063", "start": {"defect": "die-lines", "depth": ["0.05 mm", "0.1 mm"]},
            "features": [{"name": "face", "shape": "flat", "width": "30 mm"}], "finish": "hairline",
            "cell": "bench-belt-and-buff", "batch": 120,
        },
        invented.knowledge(),
    )  # fmt: skip
    assert canonical_json(asked) == canonical_json(same)


def test_a_row_may_change_a_job_file(tmp_path: Path) -> None:
    (tmp_path / "base.json").write_text(json.dumps(job(3)), encoding="utf-8")
    path = table(tmp_path, "base.json,thick,0.4 mm,5 mm", head="job,name,start.depth,features[leaf].radius")
    (task,), _ = gather([str(path)])
    wanted = job(3, name="thick")
    wanted["start"]["depth"] = "0.4 mm"
    wanted["features"][0]["radius"] = "5 mm"
    assert json.loads(task.text) == wanted


def test_a_wrong_row_does_not_hide_the_others(tmp_path: Path) -> None:
    path = table(tmp_path, "a,s31603", "b,s31603,too,many,cells,in,this,row,9,10,11", "", "c,s30400")
    tasks, (wrong,) = gather([str(path)])
    assert [json.loads(task.text)["name"] for task in tasks] == ["a", "c"]
    assert wrong.status == "wrong" and wrong.source == f"{path}:3" and "11 cells" in (wrong.reason or "")


def test_a_column_that_is_no_field_is_named_where_it_stands(tmp_path: Path) -> None:
    path = table(tmp_path, "a,1", head="name,not a field!")
    _, (wrong,) = gather([str(path)])
    assert f"{path}:2: not a field!" in (wrong.reason or "")


@pytest.mark.parametrize("head", ["name,alloy,name", ",,"])
def test_a_head_that_cannot_be_told_apart(tmp_path: Path, head: str) -> None:
    _, (wrong,) = gather([str(table(tmp_path, "a,b,c", head=head))])
    assert ":1" in (wrong.reason or "")


def test_paths_that_lead_nowhere_are_all_named(tmp_path: Path) -> None:
    (tmp_path / "note.txt").write_text("x", encoding="utf-8")
    with pytest.raises(InputError) as fault:
        gather([str(tmp_path / "gone.yaml"), str(tmp_path / "note.txt")])
    assert len(fault.value.problems) == 2
    with pytest.raises(InputError, match="no job is there"):
        gather([str(tmp_path)])
