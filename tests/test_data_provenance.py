"""Every file in data/, and what the tests compare with, says where it comes from and what its columns mean."""

import csv
import tomllib
from pathlib import Path

import pytest

DATA = Path(__file__).parent.parent / "data"
STATUS = {"measured", "published", "published and from memory", "invented", "from memory", "template"}
ENTRIES = tomllib.loads((DATA / "sources.toml").read_text(encoding="utf-8"))["file"]
TABLES = [entry for entry in ENTRIES if entry["file"].endswith(".csv")]


def name(entry):
    return entry["file"]


def test_every_file_is_listed_once():
    stored = {p.relative_to(DATA).as_posix() for p in DATA.rglob("*.*") if p.suffix not in (".py", ".pyc")}
    stored |= {f"../tests/external/{path.name}" for path in (DATA.parent / "tests" / "external").glob("*.json")}
    assert sorted(map(name, ENTRIES)) == sorted(stored - {"sources.toml"})


@pytest.mark.parametrize("entry", ENTRIES, ids=name)
def test_entry_is_complete(entry):
    assert entry["status"] in STATUS
    assert entry["origin"].strip()
    assert entry["licence"].strip()


@pytest.mark.parametrize("entry", TABLES, ids=name)
def test_header_is_what_the_entry_declares(entry):
    header, *rows = csv.reader((DATA / entry["file"]).read_text(encoding="utf-8").splitlines())
    assert header == list(entry["columns"])
    assert all(entry["columns"].values()), "each column needs its unit or meaning"
    assert {len(row) for row in rows} <= {len(header)}


@pytest.mark.parametrize("entry", [e for e in TABLES if e["file"].startswith("bench/")], ids=name)
def test_bench_files_are_invented_or_templates(entry):
    assert entry["status"] in {"invented", "template"}
    assert entry["licence"] == "CC0-1.0"


@pytest.mark.parametrize("entry", TABLES, ids=name)
def test_what_is_remembered_is_not_shown_as_published(entry):
    """Rows that say so in their source column, and the status of the file, agree."""
    text = (DATA / entry["file"]).read_text(encoding="utf-8")
    sources = [row["source"] for row in csv.DictReader(text.splitlines()) if "source" in row]
    remembered = any("from memory" in source for source in sources)
    assert remembered == ("from memory" in entry["status"])
