"""What is installed works as well as the checkout: the wheel carries its data and finds it."""

from __future__ import annotations

import os
import subprocess
import sys
import zipfile
from collections.abc import Sequence
from pathlib import Path

import pytest

from advisor.knowledge import locate
from advisor.knowledge.load import load_knowledge
from advisor.version import VERSION

ROOT = Path(__file__).parents[1]


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("wheel")
    command = [sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", str(folder)]
    subprocess.run(command, cwd=ROOT, check=True, capture_output=True, timeout=120)
    (built,) = folder.glob("*.whl")
    return built


@pytest.fixture(scope="module")
def installed(wheel: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The wheel unpacked, as an installer lays it down."""
    folder = tmp_path_factory.mktemp("installed")
    with zipfile.ZipFile(wheel) as archive:
        archive.extractall(folder)
    return folder


def run(installed: Path, arguments: Sequence[str], tmp_path: Path) -> subprocess.CompletedProcess[str]:
    """Python run away from the checkout, with the unpacked wheel alone on its path."""
    environment = os.environ | {"PYTHONPATH": str(installed), "XDG_CACHE_HOME": str(tmp_path / "cache")}
    command = [sys.executable, *arguments]
    return subprocess.run(
        command, cwd=tmp_path, env=environment, capture_output=True, encoding="utf-8", timeout=180,
        check=False,
    )  # fmt: skip


def test_the_wheel_is_named_for_the_version(wheel: Path) -> None:
    assert wheel.name == f"finishing_advisor-{VERSION}-py3-none-any.whl"


def test_the_wheel_holds_the_code_and_all_the_data_and_nothing_else(wheel: Path) -> None:
    with zipfile.ZipFile(wheel) as archive:
        names = {name for name in archive.namelist() if ".dist-info/" not in name}
    code = {
        path.relative_to(ROOT).as_posix()
        for path in (ROOT / "advisor").rglob("*")
        if path.is_file() and "__pycache__" not in path.parts
    }
    data = {
        f"advisor/data/{path.relative_to(ROOT).as_posix()}"
        for folder in ("knowledge", "shared")
        for path in (ROOT / folder).rglob("*")
        if path.is_file()
    }
    assert names == code | data


def test_the_wheel_names_its_command_and_its_dependencies(installed: Path) -> None:
    (info,) = installed.glob("*.dist-info")
    assert "advisor = advisor.cli.app:main" in (info / "entry_points.txt").read_text(encoding="utf-8")
    metadata = (info / "METADATA").read_text(encoding="utf-8").splitlines()
    needed = [line for line in metadata if line.startswith("Requires-Dist: ") and "extra ==" not in line]
    assert any("durable-rules==2.0.28" in line and "python_version < '3.13'" in line for line in needed)
    assert {line.removeprefix("Requires-Dist: ").split(">=")[0].split("==")[0] for line in needed} == {
        "durable-rules", "jinja2", "joblib", "matplotlib", "numpy", "pydantic", "pyyaml", "typer",
    }  # fmt: skip


def test_the_installed_program_uses_its_own_data(installed: Path, tmp_path: Path) -> None:
    script = (
        "from advisor.knowledge.locate import knowledge_folder, demo_jobs\n"
        "from advisor.knowledge.load import load_knowledge\n"
        "print(knowledge_folder()); print(demo_jobs()); print(load_knowledge().fingerprint)"
    )
    done = run(installed, ["-c", script], tmp_path)
    assert done.returncode == 0, done.stderr
    assert done.stdout.split() == [
        str(installed / "advisor" / "data" / "knowledge"),
        str(installed / "advisor" / "data" / "shared" / "jobs"),
        load_knowledge().fingerprint,
    ]


def test_the_installed_demo_prints_a_sheet(installed: Path, tmp_path: Path) -> None:
    done = run(installed, ["-m", "advisor", "demo"], tmp_path)
    assert done.returncode == 0, done.stderr
    assert done.stdout.startswith("# Process sheet: vent-lever\n")


def test_a_checkout_uses_the_folders_beside_the_code() -> None:
    assert locate.knowledge_folder() == ROOT / "knowledge"
    assert locate.demo_jobs() == ROOT / "shared" / "jobs"
