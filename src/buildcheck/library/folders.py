"""Where the catalogue, the schemas and the example cases are, and the bytes of the files in them.

Nothing here imports more than the standard library: a request that was answered before needs no more.
"""

from __future__ import annotations

import errno
import os
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import BinaryIO, NamedTuple

from buildcheck.library.problems import FileLine, InputError, Problem, printable

TABLE_FOLDERS = ("standards", "workshop")
# A catalogue file of 2,000 parts has 0.6 MB; anything much larger is no file that a person wrote.
LARGEST_FILE = 2_000_000


class Content(NamedTuple):
    """One file: the name that messages use, its bytes, and the folder that says what it holds.

    `root` is the number of the catalogue folder that it stands in, 0 for the bundled one. `beside` is the folder from
    which it names other files.
    """

    shown: str
    data: bytes
    folder: str
    root: int = 0
    beside: str = "."


# What the names of the bundled outlines of bikes begin with.
OUTLINE = "outline/"


def _package() -> Path:
    return Path(__file__).resolve().parent.parent


def bundled_folder() -> Path:
    """The catalogue that comes with buildcheck: inside the installed package, or beside src/ in a checkout."""
    inside = _package() / "_data" / "catalog"
    return inside if inside.is_dir() else _package().parent.parent / "catalog"


def schemas_folder() -> Path:
    """Where the schemas are kept, beside the bundled catalogue."""
    return bundled_folder().parent / "schemas"


def cases_folder() -> Path:
    """Where the example cases of the findings are."""
    inside = _package() / "_data" / "cases"
    return inside if inside.is_dir() else _package().parent.parent / "tests" / "cases"


def bundled_bike(name: str) -> Path:
    """The file of a bundled bike, or of an outline such as outline/gravel."""
    if name.startswith(OUTLINE):
        return bundled_folder() / "outlines" / f"{name.removeprefix(OUTLINE)}.yaml"
    return bundled_folder() / "bikes" / f"{name}.yaml"


def is_bundled(name: str) -> bool:
    """Is this the name of a bundled bike or outline, and of nothing else?"""
    return "/" not in name.removeprefix(OUTLINE) and os.path.isfile(bundled_bike(name)) and not os.path.exists(name)


def bundled_names() -> list[str]:
    """The names of the bundled bikes, and then of the outlines."""
    bikes, outlines = (sorted((bundled_folder() / name).glob("*.yaml")) for name in ("bikes", "outlines"))
    return [*(path.stem for path in bikes), *(f"{OUTLINE}{path.stem}" for path in outlines)]


def read_bytes(path: Path, name: str) -> bytes:
    """The bytes of a file, or of standard input for `-`; at most one more than may be. Raises InputError."""
    try:
        # One byte too many is enough to know; an endless pipe or device is never read whole.
        if str(path) == "-":
            return _standard_input().read(LARGEST_FILE + 1)
        with open(path, "rb") as file:
            return file.read(LARGEST_FILE + 1)
    except (OSError, ValueError) as error:  # ValueError: a NUL in the path
        reason = getattr(error, "strerror", None) or str(error)
        raise InputError([Problem(FileLine(name, 1, 1), f"the file cannot be read: {reason}", "syntax")]) from None


def _standard_input() -> BinaryIO:
    if sys.stdin is None:  # as with <&- in a shell
        raise OSError(errno.EBADF, "standard input is closed")
    return sys.stdin.buffer


def bike_content(path: Path) -> Content:
    """The bytes of a bike file; the name of a bundled bike or outline works too. Raises InputError."""
    if is_bundled(path.as_posix()):
        path = bundled_bike(path.as_posix())
    return _content(path, "bikes")._replace(beside=str(path.parent))


def stock_content(path: Path) -> Content:
    """The bytes of a file of parts in stock. Raises InputError."""
    return _content(path, "stock")


def actuals_content(path: Path) -> Content:
    """The bytes of a file of what operations really took. Raises InputError."""
    return _content(path, "actuals")


def _content(path: Path, folder: str) -> Content:
    shown = "<stdin>" if str(path) == "-" else _shown(path)
    return Content(shown, read_bytes(path, shown), folder)


def _shown(path: Path) -> str:
    """The path as text that can be written anywhere, also where its bytes are no UTF-8 or upset a terminal."""
    return printable(path.as_posix())


def catalogue_contents(folders: Sequence[Path] = ()) -> list[Content]:
    """The files of the bundled catalogue and then of these folders. Raises InputError."""
    roots = enumerate((bundled_folder(), *folders))
    return [content for root, folder in roots for content in _contents(folder, root)]


def text_contents(language: str, folders: Sequence[Path] = ()) -> list[Content]:
    """The texts of a language: those of the bundled catalogue, and then those of these folders that have any.

    Raises InputError.
    """
    found = []
    for root, folder in enumerate((bundled_folder(), *folders)):
        path = folder / "texts" / f"{language}.yaml"
        if path.is_file():
            name = folder.name if folder == bundled_folder() else _shown(folder)
            shown = f"{name}/{_shown(path.relative_to(folder))}"
            found.append(Content(shown, read_bytes(path, shown), "texts", root))
    return found


def _contents(folder: Path, root: int) -> list[Content]:
    if not folder.is_dir():
        raise InputError([Problem(FileLine(_shown(folder), 1, 1), "there is no such catalogue folder", "meaning")])
    found = sorted(
        path for name in (*TABLE_FOLDERS, "parts") for path in (folder / name).glob("*.y*ml") if path.is_file()
    )
    if not found:
        text = "the folder holds no standards/*.yaml, workshop/*.yaml or parts/*.yaml"
        raise InputError([Problem(FileLine(_shown(folder), 1, 1), text, "meaning")])
    # The bundled files go by one name wherever they are installed; others by the name that the user gave.
    name = folder.name if folder == bundled_folder() else _shown(folder)
    shown = [(f"{name}/{_shown(path.relative_to(folder))}", path) for path in found]
    return [Content(label, read_bytes(path, label), path.parent.name, root) for label, path in shown]


def code_files(*layers: str) -> list[Path]:
    """The source files of some layers, or of the whole package."""
    roots = [_package() / layer for layer in layers] or [_package()]
    return sorted(path for root in roots for path in root.rglob("*.py"))
