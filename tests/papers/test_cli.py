"""The verbs papers and quote through the command line."""

from __future__ import annotations

import json
import re

import pytest

from pourwright.cli.main import main
from pourwright.plan import job_from, write_job


@pytest.fixture(scope="module")
def job_file(galley_document, tmp_path_factory):
    price = {**galley_document()["price"], "options": []}
    path = tmp_path_factory.mktemp("job") / "galley.toml"
    doc = galley_document(price=price)
    doc["finish"].pop("score", None)
    path.write_text(write_job(job_from(doc)), encoding="utf-8")
    return path


def test_papers(job_file, tmp_path, capsys):
    code = main(
        [
            "papers",
            str(job_file),
            "-o",
            str(tmp_path),
            "--only",
            "labels,costs",
            "--paper",
            "letter",
        ]
    )
    assert code == 0
    assert sorted(p.name for p in tmp_path.iterdir()) == ["costs.pdf", "labels.pdf"]
    assert "labels.pdf" in capsys.readouterr().out


def test_quote(job_file, tmp_path, capsys):
    code = main(
        ["quote", str(job_file), "--json", "-o", str(tmp_path), "--spent", "resin=GBP 250.00"]
    )
    assert code == 0
    doc = json.loads(capsys.readouterr().out)
    assert doc["currency"] == "GBP"
    assert doc["compared"]["spent"] == "250.00"
    assert (tmp_path / "quote.pdf").read_bytes().startswith(b"%PDF")


@pytest.mark.parametrize(
    "args",
    [
        ["papers", "{job}", "-o", "{out}", "--only", "pigs"],
        ["papers", "{job}", "-o", "{out}", "--only", ""],
        ["papers", "{job}", "-o", "{out}", "--picture", "{out}/none.png"],
        ["papers", "{out}/none.toml", "-o", "{out}"],
        ["quote", "{job}", "--spent", "pigs=GBP 3"],
        ["quote", "{job}", "--spent", "resin=lots"],
    ],
)
def test_bad_input_is_one_line_and_exit_2(job_file, tmp_path, capsys, args):
    assert main([a.format(job=job_file, out=tmp_path) for a in args]) == 2
    err = capsys.readouterr().err
    assert err.startswith("pourwright: ")
    assert err.count("\n") == 1
    assert list(tmp_path.iterdir()) == []


def test_quote_speaks_the_language_of_the_job(galley_document, tmp_path, capsys):
    price = {**galley_document()["price"], "options": []}
    doc = galley_document(price=price)
    doc["finish"].pop("score", None)
    doc["show"] = {**doc["show"], "language": "de"}
    path = tmp_path / "galley.toml"
    path.write_text(write_job(job_from(doc)), encoding="utf-8")
    assert main(["quote", str(path)]) == 0
    text = capsys.readouterr().out
    assert "Risikozuschlag" in text and "Zu zahlen" in text
    assert "Ein Tag fällt wegen Wetters aus" in text
    assert not re.search(r"\b(the|cost|price|day|paid|and)\b", text.replace(doc["name"], ""))


def test_a_group_without_a_figure_counts_as_planned(job_file, capsys):
    """What is earned: net price less the spent and less the plan of all that is not spent yet."""
    from decimal import Decimal

    args = ["quote", str(job_file), "--no-options", "--spent", "resin=GBP 250.00"]
    assert main([*args, "--json"]) == 0
    doc = json.loads(capsys.readouterr().out)
    resin = next(g for g in doc["compared"]["groups"] if g["group"] == "resin")
    net, cost = Decimal(doc["net"]), Decimal(doc["cost"])
    earned = net - Decimal("250.00") - (cost - Decimal(resin["planned"]))
    assert main(args) == 0
    text = capsys.readouterr().out
    assert f"with the other groups as planned, {earned:,.2f} GBP is earned" in text
    lines = [x for x in text.splitlines() if "Travel" in x]
    assert lines and not lines[-1].rstrip().endswith("range")
