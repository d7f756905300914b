"""Spoilt files: every reader of a learner's CSV gives what the file says, or its own error; never anything else.

Seeded, so that a red run is red again: ``FUZZ_FILES`` sets how many files (default 2,000 for all readers together,
40,000 in the weekly run), ``FUZZ_SEED`` another seed for a longer search.
"""

import csv
import io
import os
import random
import warnings

import numpy as np
import pytest

import cellkit as ck
from cellkit import InputError
from cellkit.cells.block import BLOCK_ITEMS
from cellkit.tables.lists import Optional
from cellkit.tables.published import data_path

FILES, SEED = int(os.environ.get("FUZZ_FILES", 2_000)), int(os.environ.get("FUZZ_SEED", 1))
ROWS = 40  # of a long log: mistakes of the next thousand rows are the same
READERS = {
    # words, and rows left blank, are compared by test_teardown
    "osier_yard_block.csv": lambda path: {
        item: value for item, value in ck.cells.read_block(path).values.items() if not isinstance(value, str | None)
    },
    "log_copper.csv": lambda path: seen(ck.logs.read_bench_log(path), "time voltage current"),
    "log_zinc.csv": lambda path: seen(ck.logs.read_bench_log(path), "time voltage current"),
    "self_discharge_copper.csv": lambda path: seen(ck.logs.read_shelf_log(path), "time capacity temperature"),
}
NO_NUMBERS = ["x", "", "nan", "inf", "-inf", "1e999", "1,5", "12:30", "--3", "0x10", "1_000", "=1+1", "1 2", "None"]
TEXTS = [*NO_NUMBERS, "-1", "0", "1e300", "1e-300", "\x00", '"', "'", ";", "\t", "<script>alert(1)</script>", "µ", "😀"]
TEXTS += ["$x_1$", "{0}", "%s", "../../x", "a" * 10_000]


def seen(log, names):
    return {name: getattr(log, name) for name in names.split()}


def seed_rows(name):
    with data_path(f"bench/{name}").open(encoding="utf-8", newline="") as file:
        return list(csv.reader(file))[: ROWS + 1]


def as_bytes(rows, separator=",", end="\n"):
    text = io.StringIO()
    csv.writer(text, delimiter=separator, lineterminator=end).writerows(rows)
    return text.getvalue().encode()


def place(rows, random):
    row = random.choice(rows)
    return row, random.randrange(len(row))


def spoil_rows(rows, random):
    """One mistake that somebody makes in a spreadsheet or an editor."""
    what = random.randrange(7)
    if what == 0:
        row, at = place(rows, random)
        row[at] = random.choice(TEXTS)
    elif what == 1:
        row, at = place(rows, random)
        del row[at]
    elif what == 2:
        row, at = place(rows, random)
        row.insert(at, random.choice(TEXTS))
    elif what == 3:
        del rows[random.randrange(len(rows))]
    elif what == 4:
        rows.insert(random.randrange(len(rows) + 1), list(random.choice(rows)) if rows else [])
    elif what == 5:
        a, b = random.randrange(len(rows)), random.randrange(len(rows))
        rows[a], rows[b] = rows[b], rows[a]
    else:
        row, at = place(rows, random)
        cut = random.randrange(len(row[at]) + 1)
        row[at] = row[at][:cut] + random.choice(TEXTS)[:20] + row[at][cut + random.randrange(3) :]


def spoil_bytes(data, random):
    """What a broken disk, a wrong encoding or an editor does."""
    what = random.randrange(6)
    if what == 0:
        return data[: random.randrange(len(data) + 1)]
    if what == 1:
        return data.decode("utf-8", "replace").encode(random.choice(["utf-16", "cp1252", "utf-8-sig"]), "replace")
    if what == 2:
        return data.replace(b"\n", random.choice([b"\r\n", b"\r", b"\n\n", b"\n\r", b" \n", b",\n"]))
    if what == 3:
        return data.replace(b",", random.choice([b";", b"\t", b" ", b"|", b",,"]))
    if what == 4:
        return data + random.choice([b"\x00", b'"', b"\n" * 50, data, b"\xff\xfe", b"\x1a"])
    data = bytearray(data)
    for _ in range(random.randrange(1, 4)):
        if data:
            data[random.randrange(len(data))] = random.randrange(256)
    return bytes(data)


def spoilt(name, random):
    rows = [list(row) for row in seed_rows(name)]
    for _ in range(random.choice([0, 1, 1, 1, 2, 3])):
        if any(rows):
            rows = [row for row in rows if row]
            spoil_rows(rows, random)
    data = as_bytes(rows, random.choice([",", ",", ",", ";", "\t"]))
    return spoil_bytes(data, random) if random.random() < 0.4 else data


def finite(values):
    for value in values.values():
        number = getattr(value, "magnitude", value)
        if not isinstance(number, str) and not np.isfinite(np.asarray(number, dtype=float)).all():
            return False
    return True


@pytest.mark.parametrize("name", READERS)
def test_spoilt_files(name, tmp_path):
    chance, path = random.Random(f"{SEED} {name}"), tmp_path / "spoilt.csv"
    read = taken = 0
    for _ in range(FILES // len(READERS)):
        data = spoilt(name, chance)
        path.write_bytes(data)
        read += 1
        try:
            with warnings.catch_warnings():
                warnings.simplefilter("error")
                values = READERS[name](path)
        except InputError as error:
            words = str(error)
        except Exception as error:
            raise AssertionError(f"{type(error).__name__}: {error}; the file was {data[:3000]!r}") from error
        else:
            words, taken = "", taken + 1
            assert finite(values), data
        assert not words or ("spoilt.csv" in words and len(words) < 3000), data
    assert 0.02 * read < taken < 0.9 * read, "neither all nor none of the files should be readable"


def same(a, b):
    def plain(value):
        return value if isinstance(value, str) else np.asarray(getattr(value, "magnitude", value), dtype=float)

    return a.keys() == b.keys() and all(np.array_equal(plain(a[key]), plain(b[key])) for key in a)


@pytest.mark.parametrize("name", READERS)
def test_another_spreadsheet_changes_nothing(name, tmp_path):
    rows, path = seed_rows(name), tmp_path / "mine.csv"
    path.write_bytes(as_bytes(rows))
    right = READERS[name](path)
    turned = [row[::-1] for row in rows]
    quoted = "\n".join(",".join(f'"{field}"' for field in row) for row in rows).encode()
    forms = [as_bytes(rows, separator, end) for separator in ",;\t" for end in ("\n", "\r\n")]
    forms += [b"\xef\xbb\xbf" + as_bytes(rows), as_bytes(turned), as_bytes(rows) + b"\n\n", quoted]
    for form in forms:
        path.write_bytes(form)
        assert same(READERS[name](path), right), form[:200]


@pytest.mark.parametrize("name", READERS)
@pytest.mark.parametrize("text", NO_NUMBERS)
def test_what_is_no_number_is_refused_by_its_row(name, text, tmp_path):
    if name.startswith("log_") and text in ("", "nan"):
        pytest.skip("a bench log's rows without a reading are left out with a remark; test_logger_dialects")
    rows, path = seed_rows(name), tmp_path / "mine.csv"
    chance = random.Random(name + text)
    column = rows[0].index("value") if "value" in rows[0] else len(rows[0]) - 1
    numeric = [at for at, row in enumerate(rows) if at and row[column].replace(".", "").lstrip("-").isdigit()]
    may_be_blank = {item for item, kind in BLOCK_ITEMS.items() if isinstance(kind, Optional)} if not text else set()
    numeric = [at for at in numeric if rows[at][0] not in may_be_blank]
    for at in chance.sample(numeric, 5):
        changed = [list(row) for row in rows]
        changed[at][column] = text
        path.write_bytes(as_bytes(changed))
        with pytest.raises(InputError, match=rf"row {at + 1}\b"):
            READERS[name](path)
