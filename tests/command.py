"""Runs the real command line within the test's own process: arguments in, exit code and both outputs out."""

from __future__ import annotations

import io
import sys
from dataclasses import dataclass
from unittest import mock

from buildcheck import cli


@dataclass(frozen=True)
class Ran:
    """How a command ended."""

    code: int
    out: str
    err: str


class _Terminal(io.TextIOWrapper):
    def isatty(self) -> bool:
        return True


def run(
    *arguments: object, stdin: str | bytes = b"", terminal: bool = False, encoding: str = "utf-8",
    keys: str | None = None,
) -> Ran:  # fmt: skip
    """Run `buildcheck` with these arguments; `keys` are typed by somebody who sees standard error."""
    data = stdin.encode() if isinstance(stdin, str) else stdin
    asked = _Terminal if keys is not None else io.TextIOWrapper
    streams = {
        "stdin": asked(io.BytesIO(data if keys is None else keys.encode())),
        "stdout": (_Terminal if terminal else io.TextIOWrapper)(io.BytesIO(), encoding=encoding),
        "stderr": asked(io.BytesIO(), encoding=encoding),
    }
    argv = ["buildcheck", *(str(argument) for argument in arguments)]
    with mock.patch.multiple(sys, argv=argv, **streams):
        try:
            cli.main()
        except SystemExit as end:
            code = end.code
    assert isinstance(code, int)
    written = []
    for name in ("stdout", "stderr"):
        streams[name].flush()
        written.append(streams[name].buffer.getvalue().decode(encoding))
    return Ran(code, *written)
