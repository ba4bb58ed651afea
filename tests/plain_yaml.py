"""Files of YAML as any reader finds them, not as `buildcheck.library` does: each is read once, by the parser in C."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import Any

import yaml


@cache
def plain(path: Path) -> Any:
    """What a file says; everybody gets the same, to be read only."""
    return yaml.load(path.read_text(encoding="utf-8"), getattr(yaml, "CSafeLoader", yaml.SafeLoader))
