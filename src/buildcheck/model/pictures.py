"""What the drawings of a job show, worked out: a drawing only draws it."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Pictures:
    """The drawings of one job."""
