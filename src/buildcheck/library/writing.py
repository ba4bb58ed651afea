"""Writing a file whole or not at all."""

from __future__ import annotations

import os
import stat
from pathlib import Path


def write_whole(path: Path, text: str) -> None:
    """Write text as UTF-8 so that a reader sees the old file or the new one, never half of one."""
    try:
        _write_whole(path, text.encode("utf-8"))
    except OSError as error:
        error.filename = str(path)  # what was asked for, and not the temporary file beside it
        raise


def write_new(path: Path, text: str) -> None:
    """Write a file that is not there yet, whole or not at all. Raises FileExistsError where there is one."""
    temporary = path.with_name(f".{os.urandom(8).hex()}.tmp")
    try:
        try:
            with open(temporary, "xb") as file:
                file.write(text.encode("utf-8"))
                file.flush()
                os.fsync(file.fileno())
            os.link(temporary, path)  # unlike a rename it never replaces another file
        finally:
            temporary.unlink(missing_ok=True)
    except OSError as error:
        error.filename, error.filename2 = str(path), None
        raise


def _write_whole(path: Path, data: bytes) -> None:
    target = Path(os.path.realpath(path))  # a symbolic link stays a link; what it points to is replaced
    try:
        mode = target.stat().st_mode
    except FileNotFoundError:
        mode = None
    if mode is not None and not stat.S_ISREG(mode):
        # /dev/null or a pipe must be written to: replacing it would leave a plain file in its stead.
        target.write_bytes(data)
        return
    # The same folder, because a rename is only whole within one file system.
    temporary = target.with_name(f".{os.urandom(8).hex()}.tmp")
    try:
        with open(temporary, "xb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        if mode is not None:
            os.chmod(temporary, stat.S_IMODE(mode))
        os.replace(temporary, target)
    except BaseException:  # also when interrupted from the keyboard
        temporary.unlink(missing_ok=True)
        raise
