"""Files are written whole or not at all."""

from __future__ import annotations

import os
import stat
from pathlib import Path

import pytest

from buildcheck.library.writing import write_whole


def test_write_whole(tmp_path: Path) -> None:
    path = tmp_path / "out.json"
    write_whole(path, "é\n")
    assert path.read_bytes() == "é\n".encode()
    write_whole(path, "two\n")
    assert path.read_bytes() == b"two\n"
    assert list(tmp_path.iterdir()) == [path]


@pytest.mark.skipif(os.name != "posix", reason="modes, links and pipes are POSIX")
def test_write_whole_keeps_the_mode_and_the_link(tmp_path: Path) -> None:
    path = tmp_path / "out.json"
    path.write_text("old")
    path.chmod(0o640)
    link = tmp_path / "link.json"
    link.symlink_to(path)
    write_whole(link, "new")
    assert link.is_symlink()
    assert path.read_text() == "new"
    assert stat.S_IMODE(path.stat().st_mode) == 0o640
    write_whole(Path("/dev/null"), "gone")
    assert stat.S_ISCHR(os.stat("/dev/null").st_mode)


@pytest.mark.parametrize("failing", ["fsync", "replace"])
@pytest.mark.parametrize("error", [OSError("disc full"), KeyboardInterrupt()])
def test_write_whole_leaves_the_old_file_on_failure(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, failing: str, error: BaseException
) -> None:
    path = tmp_path / "out.json"
    path.write_text("old")

    def fail(*_: object) -> None:
        raise error

    monkeypatch.setattr(os, failing, fail)
    with pytest.raises(type(error)):
        write_whole(path, "new")
    assert path.read_text() == "old"
    assert list(tmp_path.iterdir()) == [path]


def test_write_whole_into_a_missing_folder(tmp_path: Path) -> None:
    with pytest.raises(FileNotFoundError):
        write_whole(tmp_path / "none" / "out.json", "x")
    with pytest.raises(UnicodeEncodeError):
        write_whole(tmp_path / "out.json", "\ud800")
    assert list(tmp_path.iterdir()) == []
