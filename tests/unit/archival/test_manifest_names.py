"""Names of attachments: flat, savable everywhere, no two alike; the paths stay in the list."""

import json
import re
import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reportgen.formats import (
    ManifestEntry,
    build_manifest,
    by_path,
    differences,
    entry_of,
    read_manifest,
    with_attachments,
)

BASE = [entry_of("day.yaml", b"d", "day"), entry_of("project.yaml", b"p", "project")]
BASE.append(entry_of("evaluation.json", b"{}", "evaluation"))


def names(*paths):
    """Attachment of each path, listed beside the files every report has."""
    entries = with_attachments([*BASE, *(entry_of(path, b"", "csv") for path in paths)])
    return [entry.attachment for path in paths for entry in entries if entry.name == path]


@pytest.mark.parametrize(
    ("paths", "attachments"),
    [
        (["readings/2026-05-14.csv"], ["2026-05-14.csv"]),
        (["a/x.csv", "b/x.csv", "x.csv"], ["x-2.csv", "x-3.csv", "x.csv"]),
        (["a/X.csv", "b/x.csv"], ["X.csv", "x-2.csv"]),
        (["a/x-2.csv", "b/x.csv", "c/x.csv"], ["x-2.csv", "x.csv", "x-3.csv"]),
        (["a/nul.csv", "b/Com1.tar.csv", "c/lpt\u00b9"], ["_nul.csv", "_Com1.tar.csv", "_lpt\u00b9"]),
        (["a/1: ready?.csv", "b/end. "], ["1_ ready_.csv", "end_"]),
        (["a/day.yaml", "a/manifest.json"], ["day-2.yaml", "manifest-2.json"]),
        (["a/e\u0301.csv", "b/\u00e9.csv"], ["\u00e9.csv", "\u00e9-2.csv"]),
        (["a/.csv", "b/.csv", "a/none", "b/none"], [".csv", ".csv-2", "none", "none-2"]),
    ],
)
def test_each_file_keeps_its_name_where_it_can(paths, attachments):
    assert names(*paths) == attachments


PARTS = st.text(st.characters(exclude_characters="/\\\0", exclude_categories=["Cs"]), min_size=1, max_size=12).filter(
    lambda part: part.strip(".")
)


@given(st.lists(st.lists(PARTS, min_size=1, max_size=3).map("/".join), unique=True, max_size=8))
def test_any_names_can_be_saved_side_by_side_on_any_system(paths):
    entries = [*BASE, *(entry_of(path, path.encode(), "csv") for path in paths if path not in {e.name for e in BASE})]
    entries = [entry for entry in entries if entry.name != "manifest.json"]
    data = build_manifest(entries, generator="reportgen", day="day.yaml")
    manifest = read_manifest(data)
    flat = [entry.attachment for entry in manifest.files] + ["manifest.json"]
    assert len({unicodedata.normalize("NFC", name).casefold() for name in flat}) == len(flat)
    for name in flat:
        assert not re.search(r'[<>:"/\\|?*\x00-\x1f\x7f]|[. ]$|^ ', name)
        assert name.partition(".")[0].upper() not in {"CON", "PRN", "AUX", "NUL", "COM1", "LPT9"}
    attached = {entry.attachment: entry.name.encode() for entry in manifest.files} | {"manifest.json": data}
    attached |= {"day.yaml": b"d", "project.yaml": b"p", "evaluation.json": b"{}"}
    assert differences(manifest, attached) == []
    assert by_path(manifest, attached) == {entry.name: attached[entry.attachment] for entry in manifest.files} | {
        "manifest.json": data
    }


def test_a_photo_has_no_attachment():
    entries = with_attachments([*BASE, ManifestEntry("photos/day.yaml.jpg", "0" * 64, "photo-hash")])
    assert [entry.attachment for entry in entries] == ["day.yaml", "evaluation.json", None, "project.yaml"]


@pytest.mark.parametrize(
    ("role", "attachment"),
    [
        ("csv", ""), ("csv", "a/x.csv"), ("csv", "DAY.yaml"), ("csv", "Manifest.json"), ("csv", "nul"), ("csv", "x."),
        ("photo-hash", "x.csv"),
    ],
)  # fmt: skip
def test_a_strangers_list_with_other_names_is_refused(role, attachment):
    entries = [*BASE, ManifestEntry("a/x.csv", "0" * 64, role)]
    plain = json.loads(build_manifest(entries, generator="reportgen", day="day.yaml"))
    plain["files"][0]["attachment"] = attachment
    with pytest.raises(ValueError, match="names attachments twice, or by names that cannot be saved everywhere"):
        read_manifest(json.dumps(plain).encode())
