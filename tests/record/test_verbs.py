"""The verbs from end to end, as a person runs them: write down, look, learn, teach, undo."""

from __future__ import annotations

import io
import json
from pathlib import Path

import pytest
from PIL import Image

from pourwright.cli import verb_export
from pourwright.cli.main import main
from pourwright.record import DoneJob

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
RECORD = EXAMPLES / "records" / "cafe_bar.record.json"


def out_of(capsys: pytest.CaptureFixture[str], *args: str) -> str:
    code = main(list(args))
    got = capsys.readouterr()
    assert code == 0, got.err
    return got.out


def json_of(capsys: pytest.CaptureFixture[str], *args: str) -> dict:
    got: dict = json.loads(out_of(capsys, *args, "--json"))
    return got


@pytest.fixture
def job(cafe_folder: Path, tmp_path: Path) -> Path:
    """A cafe bar of its own, without a record."""
    import shutil

    folder = tmp_path / "job"
    shutil.copytree(cafe_folder, folder)
    (folder / "cafe_bar.record.json").unlink()
    path = folder / "cafe_bar.toml"
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace("seed = 29", "seed = 29\nsamples = 60"), encoding="utf-8")
    return path


def test_the_recorded_day_teaches_the_next_plan_and_can_be_undone(
    job: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The cafe bar's recorded day: cups and film gelled later than the class would, so the next
    plan waits longer; less ran off, so it mixes less; the old plan stays what it was."""
    before = json_of(capsys, "plan", str(job))
    old_text = job.read_bytes()
    learned, new = job.parent / "shop.learned.toml", job.parent / "cafe_bar_2.toml"
    said = json_of(capsys, "record", str(job), "--record", str(RECORD), "--learn", str(learned),
                   "--teach", str(job), "-o", str(new))  # fmt: skip
    assert {r["resin"] for r in said["resins"]} == {"resin-colour-1to1-uv", "resin-coating-1to1"}
    assert any("products" in t for t in said["taught"])
    assert job.read_bytes() == old_text

    after = json_of(capsys, "plan", str(new))
    for was, now in zip(before["coats"], after["coats"], strict=True):
        assert now["gel_min"]["p50"] > 1.15 * was["gel_min"]["p50"]
        narrow = [c["gel_min"]["p95"] / c["gel_min"]["p05"] for c in (was, now)]
        assert narrow[1] < narrow[0]
        assert now["pour_within_min"]["p50"] > 1.1 * was["pour_within_min"]["p50"]
        assert now["run_off_mL"] < was["run_off_mL"]
        assert now["face_mL"] == was["face_mL"]
        opens = [
            next(w["opens_h"]["p50"] for w in c["windows"] if w["key"] == "recoat")
            for c in (was, now)
        ]
        assert opens[1] > 1.15 * opens[0]
    sources = str(after["provenance"]["materials"])
    assert "learned from this shop's records" in sources
    # the resin that day was invented 28 % slower than the class; times go with the inverse
    slower = after["coats"][1]["gel_min"]["p50"] / before["coats"][1]["gel_min"]["p50"]
    assert 1.15 < slower < 1.7

    assert job.read_bytes() == old_text
    new.write_text(
        new.read_text(encoding="utf-8").replace('"shop.learned.toml"', ""), encoding="utf-8"
    )
    undone = json_of(capsys, "plan", str(new))
    assert undone["provenance"]["materials"] == before["provenance"]["materials"]


def test_learning_again_from_a_taught_job_counts_nothing_twice(cafe: DoneJob, job: Path) -> None:
    """A job that already uses learned values is learned from as if it did not."""
    from pourwright.record import done_job, lessons_of, product_file

    first = lessons_of([cafe])
    (job.parent / "shop.toml").write_text(product_file(first), encoding="utf-8")
    text = job.read_text(encoding="utf-8")
    assert "seed = 29" in text
    job.write_text(text.replace("seed = 29", 'seed = 29\nproducts = ["shop.toml"]'), "utf-8")
    second = lessons_of([done_job(job, RECORD)])
    for a, b in zip(first.resins, second.resins, strict=True):
        assert (a.looks, a.lots, a.jobs) == (b.looks, b.lots, b.jobs)
        # the film's thickness is reckoned with the plan's edges, which moved a very little
        for x, y in zip(a.properties, b.properties, strict=True):
            assert x.key == y.key and y.value == pytest.approx(x.value, rel=1e-3)


def test_writing_down_looking_and_planning_on(
    job: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    record = job.with_name("cafe_bar.record.json")
    said = out_of(capsys, "record", str(job), "step", "step=mask", "at=day 4 07:20",
                  "ended=day 4 11:00")  # fmt: skip
    assert "e0001" in said and record.exists()
    out_of(capsys, "record", str(job), "reading", "at=day 4 07:10", "temperature=70 degF",
           "humidity=58 %")  # fmt: skip
    out_of(capsys, "record", str(job), "cup", "cup=colour/1A", "at=day 4 11:10", "a=316 g",
           "b=280 g", "pastes.umber=7.1 g", "mixing=4 min")  # fmt: skip
    out_of(capsys, "record", str(job), "cup", "cup=colour/1A", "at=day 4 11:10", "a=316 g",
           "b=278 g", "instead_of=e0003")  # fmt: skip
    seen = json_of(capsys, "record", str(job))
    steps = {s["step"]: s for s in seen["steps"]}
    assert steps["mask"]["done"] and steps["colour-mix-1"]["starts"] >= "2027-08-12T11:00:00"
    assert steps["colour-mix-1"]["starts"] > steps["colour-mix-1"]["planned"]
    assert len(seen["record"]["entries"]) == 4 and not seen["changed_by_hand"]
    shown = out_of(capsys, "record", str(job), "--all")
    assert "3 of them count" in shown and "b 278 g" in shown and "b 280 g" not in shown


def test_log_photo_and_faults(job: Path, capsys: pytest.CaptureFixture[str]) -> None:
    log = EXAMPLES / "records" / "cafe_bar_logger.csv"
    said = out_of(capsys, "record", str(job), "--log", str(log))
    assert "Spike" in said and "Gap" in said
    assert main(["record", str(job), "--log", str(log)]) == 2
    assert "taken in before" in capsys.readouterr().err
    raw = io.BytesIO()
    Image.new("RGB", (50, 30), (9, 9, 9)).save(raw, "PNG")
    picture = job.parent / "in.png"
    picture.write_bytes(raw.getvalue())
    out_of(capsys, "record", str(job), "at=day 6 07:00", "caption=pits", "--photo", str(picture))
    assert len(list((job.parent / "cafe_bar.photos").iterdir())) == 1
    shown = out_of(capsys, "record", str(job), "--record", str(RECORD), "--faults")
    assert "Caution" in shown and "Mend" in shown
    assert shown.index("crater on bar-1") < shown.index("soft spot on bar-2")


def test_a_repair_is_a_job_of_its_own(job: Path, capsys: pytest.CaptureFixture[str]) -> None:
    import shutil

    record = job.with_name("cafe_bar.record.json")
    shutil.copy(RECORD, record)
    fault = next(e["id"] for e in json.loads(record.read_text(encoding="utf-8"))["entries"]
                 if e.get("fault") == "soft spot")  # fmt: skip
    out = job.with_name("repair.toml")
    out_of(capsys, "record", str(job), "--repair", fault, "--start", "2027-08-23", "-o", str(out))
    seen = json_of(capsys, "record", str(out))
    todo = [s["step"] for s in seen["steps"] if not s["done"]]
    assert todo[0] == "mask" and "colour-mix-1" in todo and "core-cut" not in todo
    entries = json.loads(record.read_text(encoding="utf-8"))["entries"]
    assert entries[-1]["kind"] == "repair" and entries[-1]["fault"] == fault
    assert main(["record", str(job), "--repair", fault, "--start", "2027-08-23",
                 "-o", str(out)]) == 2  # fmt: skip
    assert "there already" in capsys.readouterr().err


def test_stock_from_end_to_end(job: Path, capsys: pytest.CaptureFixture[str]) -> None:
    shelf = str(job.parent / "shop.toml")
    on = ["--on", "2027-08-01"]
    for ident, part in (("K-0412", "A"), ("K-0413", "B")):
        out_of(capsys, "stock", shelf, "lot", f"id={ident}", "material=resin-colour-1to1-uv",
               f"part={part}", "volume=2 L", "received=2027-05-01", "keeps=12 months", *on)  # fmt: skip
    new = job.with_name("with_stock.toml")
    fed = json_of(capsys, "stock", shelf, "--for", str(job), "--reserve", "-o", str(new), *on)
    assert fed["resins"][0]["have_a_mL"] == pytest.approx(2000.0)
    bought = json_of(capsys, "plan", str(new))["purchases"][0]
    litres = sum(
        n * {"1l": 0.5, "4l": 2.0}[k.rpartition("-")[2]] for k, n in bought["sets"].items()
    )
    assert litres * 1000 >= bought["need_a_mL"] - 2000.0 - 1e-6
    assert bought["left_a_mL"] == pytest.approx(litres * 1000 + 2000.0 - bought["need_a_mL"], abs=1)
    booked = json_of(capsys, "stock", shelf, "--used-by", str(job), "--record", str(RECORD))
    assert booked["booked"] > 0
    seen = json_of(capsys, "stock", shelf, *on)
    assert all(x["on_hand"] < 2e-3 for x in seen["lots"])


def test_export_and_import_from_end_to_end(
    job: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    out = job.parent / "out"
    out.mkdir()
    # the same job seven times: planned once, for speed
    plan, kept = verb_export._plan, []

    def once(*args: object) -> object:
        kept.extend([] if kept else [plan(*args)])  # type: ignore[arg-type]
        return kept[0]

    monkeypatch.setattr(verb_export, "_plan", once)
    for form, name in (("bundle", "x.json"), ("csv", "x.zip"), ("xlsx", "x.xlsx"), ("ics", "x.ics"),
                       ("gltf", "x.glb"), ("dxf", "x.dxf"), ("svg", "x.svg")):  # fmt: skip
        got = json_of(capsys, "export", str(job), "--as", form, "-o", str(out / name))
        assert got["bytes"] == (out / name).stat().st_size > 500
    folder = out / "back"
    out_of(capsys, "import", str(out / "x.json"), "-o", str(folder))
    assert (folder / "cafe_bar.toml").read_bytes() == job.read_bytes()
    log = EXAMPLES / "records" / "cafe_bar_logger.csv"
    new = job.with_name("hourly.toml")
    got = json_of(capsys, "import", str(log), "--into", str(job), "-o", str(new))
    assert got["hours"] > 40 and "outside air" in got["warnings"][-1]


BAD = [
    (["record", "JOB", "cup", "a=3"], "at: "),
    (["record", "JOB", "cup", "nonsense"], "key=value"),
    (["record", "JOB", "cup", "a=1 g", "a=2 g"], "twice"),
    (["record", "JOB", "tea", "at=day 1 09:00"], "kind"),
    (["record", "JOB", "--learn", "OUT"], "record"),
    (["record", "JOB", "--teach", "JOB", "-o", "OUT"], "--learn"),
    (["record", "JOB", "--learn", "OUT", "--teach", "JOB"], "-o"),
    (["record", "JOB", "--repair", "e0001"], "--start"),
    (["record", "JOB", "--log", "nowhere.csv"], "no such file"),
    (["record", "JOB", "--now", "noon"], "clock time"),
    (["record", "nowhere.toml"], "no such file"),
    (["stock", "x.txt"], ".toml"),
    (["stock", "nowhere.toml"], "no such file"),
    (["stock", "OUT.toml", "eat", "lot=x"], "stock"),
    (["export", "JOB", "--as", "xlsx", "-o", "x.csv"], ".xlsx"),
    (["export", "JOB", "--as", "ics", "-o", "/nowhere/x.ics"], "folder"),
    (["export", "JOB", "--as", "csv", "-o", "OUT.csv"], "--table"),
    (["import", "x.pdf", "-o", "y"], ".epw"),
    (["import", "nowhere.json", "-o", "y"], "no such file"),
    (["import", "nowhere.csv", "-o", "y"], "--into"),
]


@pytest.mark.parametrize("args,names", BAD, ids=[" ".join(b[0])[:40] for b in BAD])
def test_bad_input_is_one_line_and_exit_two(
    job: Path, args: list[str], names: str, capsys: pytest.CaptureFixture[str]
) -> None:
    here = sorted(p.name for p in job.parent.iterdir())
    told = [
        str(job) if a == "JOB" else str(job.parent / a.replace("OUT", "out.toml"))
        if a.startswith("OUT") else a
        for a in args
    ]  # fmt: skip
    assert main(told) == 2
    err = capsys.readouterr().err
    assert names in err and len(err.strip().splitlines()) == 1
    assert sorted(p.name for p in job.parent.iterdir()) == here
