"""Things that were worked out before, kept under a key made of everything that they depend on.

A key holds the content of the files and of the code, so what is kept is never stale; it is plain JSON
under a checksum of itself, its kind and its key, and whatever is missing, damaged or of another key is simply
worked out again.
"""

from __future__ import annotations

import hashlib
import json
import os
import stat
import sys
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any

from buildcheck.library.folders import Content
from buildcheck.library.writing import write_whole


def cache_folder() -> Path:
    """The user's cache folder for buildcheck."""
    base = os.environ.get("XDG_CACHE_HOME")
    if not base and sys.platform == "win32":
        base = os.environ.get("LOCALAPPDATA")
    return (Path(base) if base else Path(os.path.expanduser("~")) / ".cache") / "buildcheck"


def key_of(words: Iterable[str], code: Iterable[Path], contents: Iterable[Content]) -> str:
    """A key for these words, this code and these files; any change of any byte gives another one."""
    digest = hashlib.sha256()
    for word in words:
        digest.update(f"{len(word)}:{word}\0".encode())
    for path in code:
        data = path.read_bytes()
        digest.update(f"{path.name}\0{len(data)}\0".encode() + data)
    for content in contents:
        digest.update(f"{content.shown}\0{len(content.data)}\0".encode() + content.data)
    return digest.hexdigest()[:32]


def kept(kind: str, key: str, usable: Callable[[Any], bool]) -> Any:
    """What was kept, or None if it is not there, is not, to the byte, what was written, or is not `usable`."""
    try:
        checksum, _, body = _bytes_of_a_file(_path(kind, key)).partition(b"\n")
        found = json.loads(body) if _checksum(kind, key, body).encode() == checksum else None
    except (OSError, ValueError, RecursionError):
        return None
    return found if usable(found) else None


def keep(kind: str, key: str, content: Any, most: int) -> None:
    """Keep what was worked out, and no more than `most` of its kind. Failing to is no error, only slower."""
    path = _path(kind, key)
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        if path.exists() and not path.is_file():
            return  # a pipe would wait for a reader
        body = json.dumps(content, separators=(",", ":"))
        write_whole(path, f"{_checksum(kind, key, body.encode())}\n{body}")
        old = sorted(path.parent.glob(f"{kind}-*.json"), key=lambda item: item.stat().st_mtime)
        for item in old[:-most]:
            item.unlink(missing_ok=True)
    except OSError:
        return


def _bytes_of_a_file(path: Path) -> bytes:
    """The bytes of a plain file; a pipe, which would wait for a writer, is none. Raises OSError."""
    handle = os.open(path, os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0))
    with open(handle, "rb") as file:
        return file.read() if stat.S_ISREG(os.fstat(handle).st_mode) else b""


def _checksum(kind: str, key: str, body: bytes) -> str:
    return hashlib.sha256(f"{kind}-{key}\n".encode() + body).hexdigest()


def _path(kind: str, key: str) -> Path:
    return cache_folder() / f"{kind}-{key}.json"
