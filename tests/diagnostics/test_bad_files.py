"""Files that must be refused: each names in its first lines the code, line and column expected, by hand.

Those in ``unfinished`` are not wrong: an entry was begun and lacks something. A report of them is refused all the same.

What is printed for it, word for word, stands beside it in a ``.txt``; ``--update-expected`` is not offered: a changed
message is changed here on purpose.
"""

import datetime as dt
import re
import shutil
from pathlib import Path

import pytest

from reportgen.diagnostics import with_caret
from reportgen.errors import InputError
from reportgen.loader import CODES, load_job
from reportgen.pipeline.issuing import issue_demonstration

HERE = Path(__file__).parent
BAD = sorted([*(HERE / "bad").glob("*.yaml"), *(HERE / "unfinished").glob("*.yaml")])
EXPECT = re.compile(r"# expect: (\w+) (?:([\w./-]+):)?(\d+):(\d+)$", re.MULTILINE)


def _folder(tmp_path: Path, bad: Path) -> Path:
    """Return the path of the day file in a folder that is right but for one file."""
    folder = tmp_path / "job"
    shutil.copytree(HERE / "good", folder)
    for extra in (HERE / "bad").glob("*.csv"):
        shutil.copy(extra, folder)
    as_project = "# as: project.yaml" in bad.read_text(encoding="utf-8").splitlines()[:1]
    target = folder / ("project.yaml" if as_project else bad.name)
    shutil.copy(bad, target)
    return folder / "day.yaml" if as_project else target


def _refusal(tmp_path: Path, bad: Path) -> InputError:
    day = _folder(tmp_path, bad)
    before = sorted(day.parent.rglob("*"))
    unfinished = bad.parent.name == "unfinished"
    if unfinished:
        assert load_job(day).unfinished
    with pytest.raises(InputError) as caught:
        issue_demonstration(day, at=dt.datetime(2027, 1, 1, tzinfo=dt.UTC)) if unfinished else load_job(day)
    assert sorted(day.parent.rglob("*")) == before
    return caught.value


@pytest.mark.parametrize("bad", BAD, ids=lambda path: path.stem)
def test_code_line_and_column(bad, tmp_path):
    text = bad.read_text(encoding="utf-8")
    as_project = text.startswith("# as: project.yaml")
    default = "project.yaml" if as_project else bad.name
    expected = [(code, file or default, int(line), int(column)) for code, file, line, column in EXPECT.findall(text)]
    assert expected
    got = [
        (d.code, Path(d.spans[0].file).name, d.spans[0].line, d.spans[0].column)
        for d in _refusal(tmp_path, bad).diagnostics
        if d.severity == "error"
    ]
    assert sorted(got) == sorted(expected)


@pytest.mark.parametrize("bad", BAD, ids=lambda path: path.stem)
def test_what_is_printed(bad, tmp_path):
    refusal = _refusal(tmp_path, bad)
    printed = "\n\n".join(with_caret(diagnostic) for diagnostic in refusal.diagnostics)
    printed = printed.replace(f"{tmp_path}/job", "job")
    assert printed + "\n" == bad.with_suffix(".txt").read_text(encoding="utf-8")


@pytest.mark.parametrize("bad", BAD, ids=lambda path: path.stem)
def test_while_it_is_typed_the_same_is_said_and_nothing_else(bad, tmp_path):
    """What can be set aside is; what cannot is refused as ever."""
    refused = _said(_refusal(tmp_path, bad).diagnostics)
    try:
        job = load_job(_folder(tmp_path / "typed", bad), typed=True)
    except InputError as failure:
        job, again = None, _said(failure.diagnostics)
    if job is None:
        assert again == refused
    else:
        assert _said(job.unread) <= refused
        assert {one.code for one in job.unfilled} <= {code for code, _ in refused}
        assert job.unfinished


def _said(diagnostics):
    return {(one.code, one.message) for one in diagnostics if one.severity == "error"}


def test_the_good_folder_is_good(tmp_path):
    shutil.copytree(HERE / "good", tmp_path / "job")
    job = load_job(tmp_path / "job" / "day.yaml")
    assert job.warnings == ()
    assert [len(readings) for readings in job.readings] == [4, 3]


def test_every_code_of_a_text_file_has_a_bad_file_or_a_test_of_bytes():
    from tests.diagnostics.test_bad_bytes import (
        CODES_OF_BYTES,
        CODES_OF_ISSUE,
        CODES_OF_SEVERAL_DAYS,
        CODES_OF_TEMPLATES,
        CODES_OF_WARNINGS,
    )

    in_files = {code for bad in BAD for code, *_ in EXPECT.findall(bad.read_text(encoding="utf-8"))}
    elsewhere = CODES_OF_BYTES | CODES_OF_ISSUE | CODES_OF_SEVERAL_DAYS | CODES_OF_TEMPLATES | CODES_OF_WARNINGS
    assert in_files | elsewhere == set(CODES)
