"""The command line from end to end, as a person runs it."""

from __future__ import annotations

import json
import subprocess
import sys
import time
from pathlib import Path

import pytest

from pourwright.cli.main import main

ROOT = Path(__file__).resolve().parents[2]
GALLEY = str(ROOT / "examples" / "galley.toml")


def run(*args: str, stdin: str = "") -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-c", "from pourwright.cli.main import run; run()", *args],
        input=stdin,
        capture_output=True,
        text=True,
        timeout=300,
    )


@pytest.fixture(scope="module")
def planned(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, str]:
    out = tmp_path_factory.mktemp("plan")
    done = run("plan", GALLEY, "-o", str(out))
    assert done.returncode == 0, done.stderr
    return out, done.stdout


def test_help_loads_nothing_heavy() -> None:
    code = (
        "import sys; from pourwright.cli.main import main\n"
        "try:\n    main(['--help'])\nexcept SystemExit:\n    pass\n"
        "heavy = {'numpy', 'scipy', 'pydantic', 'shapely', 'numba', 'rich', 'typst', 'PIL'}\n"
        "print('HEAVY', sorted(heavy & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, timeout=60)
    assert "HEAVY []" in done.stdout
    assert "plan" in done.stdout


def test_plan_writes_all_and_prints_one_screen(planned: tuple[Path, str]) -> None:
    out, printed = planned
    names = {p.name for p in out.iterdir()}
    assert {"plan.json", "plan.md", "run-sheet.pdf"} <= names
    assert not [n for n in names if n.startswith(".")]
    data = json.loads((out / "plan.json").read_text(encoding="utf-8"))
    assert data["provenance"]["seed"] == 17
    assert "Three things that need most care" in printed
    assert len(printed.splitlines()) < 60
    assert "\x1b" not in printed
    assert "Caution" in (out / "plan.md").read_text(encoding="utf-8")
    assert (out / "run-sheet.pdf").read_bytes().startswith(b"%PDF")


def test_json_output_is_json_only() -> None:
    done = run("check", GALLEY, "--json")
    assert done.returncode == 0
    assert json.loads(done.stdout)["surfaces_count"] == 4


def test_strict_ends_with_three_when_a_hold_point_fails(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["plan", GALLEY, "--strict"]) == 3
    capsys.readouterr()


def test_measured_reading_is_taken(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["plan", GALLEY, "--measured", "day 3 09:40 24 degC"]) == 0
    capsys.readouterr()


@pytest.mark.parametrize(
    "args,names",
    [
        (["plan", "nowhere.toml"], "no such file"),
        (["plan", GALLEY, "--measured", "warm"], "--measured"),
        (["plan", GALLEY, "--measured", "09:40 16.5"], "degC"),
        (["calc", "no.such"], "calculation"),
        (["check", str(ROOT)], "folder"),
        (["new", GALLEY], "there already"),
        (["new", "/tmp/no-such-folder-here/x.toml"], "folder"),
    ],
)
def test_bad_input_is_one_line_and_exit_two(args: list[str], names: str) -> None:
    done = run(*args)
    assert done.returncode == 2
    assert names in done.stderr
    assert len(done.stderr.strip().splitlines()) == 1
    assert "Traceback" not in done.stderr


def test_errors_are_json_too() -> None:
    done = run("plan", "nowhere.toml", "--json")
    assert done.returncode == 2
    assert set(json.loads(done.stdout)["error"]) == {"field", "value", "limit", "remedy"}


def test_bad_plan_leaves_no_file(tmp_path: Path) -> None:
    bad = tmp_path / "bad.toml"
    text = Path(GALLEY).read_text(encoding="utf-8")
    bad.write_text(text.replace('shade = "slate"', 'shade = "slaet"'), encoding="utf-8")
    out = tmp_path / "out"
    done = run("plan", str(bad), "-o", str(out))
    assert done.returncode == 2
    assert not out.exists() or not list(out.iterdir())


def test_calc_from_stdin_and_its_schema() -> None:
    example = json.loads(run("calc", "air.dew_point", "--schema").stdout)["example"]
    done = run("calc", "air.dew_point", stdin=json.dumps(example))
    assert done.returncode == 0
    assert set(json.loads(done.stdout)) == {"value", "range", "sources", "cautions", "warnings"}
    for bad in ("", "[1]", "{", '{"air_degC": NaN}', "{" * 100_000):
        done = run("calc", "air.dew_point", stdin=bad)
        assert done.returncode == 2
        assert len(done.stderr.strip().splitlines()) == 1


@pytest.mark.parametrize("units", ["metric", "us"])
def test_new_job_can_be_checked_and_planned(
    tmp_path: Path, units: str, capsys: pytest.CaptureFixture[str]
) -> None:
    job = tmp_path / 'my "job".toml'
    assert main(["new", str(job), "--units", units, "--start", "2027-05-03"]) == 0
    assert main(["check", str(job)]) == 0
    assert main(["plan", str(job), "-o", str(tmp_path / "out")]) == 0
    assert "Three things" in capsys.readouterr().out


def test_hostile_quantities_are_refused_quickly() -> None:
    from pourwright.errors import InputError
    from pourwright.quantities import read

    for text in ("9**9**9", "1e400 mm", "nan mm", "9" * 10_000 + " mm", "inf mm", "1e5e5 mm"):
        start = time.process_time()
        with pytest.raises(InputError):
            read(text, "length")
        # the bound is 10 ms of processor time; generous only against a loaded machine's noise
        assert time.process_time() - start < 0.05
