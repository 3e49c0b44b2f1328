"""Job files at the shell: ``check``, a picture of the window, wrong calls."""

from __future__ import annotations

import json
import math
import shutil
from dataclasses import replace
from pathlib import Path

import pytest

from viewer.artwork.load import load_artwork
from viewer.artwork.model import LoadOptions
from viewer.cli import main
from viewer.fit import Placement
from viewer.job import Job, write_job
from viewer.press import Press


@pytest.fixture
def job(tmp_path: Path, demo_folder: Path) -> Job:
    shutil.copy(demo_folder / "pennant.svg", tmp_path)
    path = tmp_path / "pennant.svg"
    artwork = load_artwork(str(path))
    center = tuple(v / 2 for v in artwork.page_mm)
    placement = Placement((center[0], center[1]), 0.0)
    return Job(str(path), artwork.sha256, LoadOptions(), Press(), "130", placement, 1.0)


def written(job: Job, tmp_path: Path) -> str:
    path = str(tmp_path / "mug.brim.toml")
    write_job(job, path)
    return path


def check_json(path: str, capsys: pytest.CaptureFixture[str]) -> tuple[int, dict[str, object]]:
    status = main(["check", path, "--json"])
    return status, json.loads(capsys.readouterr().out)


def test_a_job_is_judged_as_it_is_placed(
    job: Job, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = written(job, tmp_path)
    status, found = check_json(path, capsys)
    told = found["job"]
    assert isinstance(told, dict)
    assert told["cup"] == "130"
    assert told["verdict"] == "fits"
    assert status == 0
    hull = load_artwork(job.artwork_path).outline.hull_mm
    x, y = job.placement.center_mm
    reach = max(math.hypot(px - x, py - y) for px, py in hull)
    assert told["clearance_mm"] == pytest.approx(110.5 / 2 - reach, abs=0.02)
    main(["check", path])
    assert "the job places it on the 130 cup" in capsys.readouterr().out


def test_a_job_that_does_not_fit_where_it_is_placed_is_no_fit(
    job: Job, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    off = replace(job, placement=Placement((0.0, 0.0), 0.0))
    status, found = check_json(written(off, tmp_path), capsys)
    assert found["smallest_cup"] is not None
    assert status == 1


def test_the_jobs_scale_counts(
    job: Job, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    x, y = job.placement.center_mm
    half = replace(job, scale=0.5, placement=Placement((x / 2, y / 2), 0.0))
    _, found = check_json(written(half, tmp_path), capsys)
    artwork = found["artwork"]
    assert isinstance(artwork, dict)
    whole = load_artwork(job.artwork_path).outline.hull_mm
    width = float(whole[:, 0].max() - whole[:, 0].min())
    assert artwork["width_mm"] == pytest.approx(width / 2, abs=1e-9)


def test_a_changed_artwork_is_told(
    job: Job, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = written(job, tmp_path)
    with open(job.artwork_path, "a") as file:
        file.write("\n")
    status, found = check_json(path, capsys)
    warnings = found["warnings"]
    assert isinstance(warnings, list)
    assert "changed-since-job" in [warning["code"] for warning in warnings]
    assert status == 0


@pytest.mark.parametrize("what", ["artwork", "job", "key"])
def test_what_is_missing_is_one_line_and_the_others_are_still_done(
    job: Job, tmp_path: Path, capsys: pytest.CaptureFixture[str], what: str
) -> None:
    path = written(job, tmp_path)
    good = tmp_path / "good.svg"
    shutil.copy(job.artwork_path, good)
    if what == "artwork":
        Path(job.artwork_path).unlink()
    elif what == "job":
        Path(path).unlink()
    else:
        Path(path).write_text("schema = 1\n")
    assert main(["check", path, str(good)]) == 2
    out, err = capsys.readouterr()
    assert "good.svg" in out
    assert "mug.brim.toml" in err
    assert len(err.strip().splitlines()) == 1


@pytest.mark.parametrize("words", [["--width", "50"], ["--cups", "60"]])
@pytest.mark.parametrize("command", [["check"], []])
def test_options_beside_a_job_are_refused(
    job: Job,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    words: list[str],
    command: list[str],
) -> None:
    path = written(job, tmp_path)
    assert main([*command, path, *words]) == 2
    err = capsys.readouterr().err
    assert "is a job file" in err
    assert len(err.strip().splitlines()) == 1


def test_a_picture_of_a_job(job: Job, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    target = tmp_path / "out.png"
    assert main([written(job, tmp_path), "--snapshot", str(target), "--size", "800x500"]) == 0
    assert target.stat().st_size > 1000
    assert capsys.readouterr().err == ""
