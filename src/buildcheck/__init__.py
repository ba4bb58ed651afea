"""Says whether a proposed change fits a bicycle, what blocks it, and what it really takes.

    from buildcheck import Catalogue, read_bike, swap, vet

What stands in `__all__` is meant for other programs; it is imported when it is first asked for.
"""

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from buildcheck.face import Bike, Catalogue, InputError, Report, read_bike, swap, vet

__version__ = "0.2.0"
__all__ = ["Bike", "Catalogue", "InputError", "Report", "__version__", "read_bike", "swap", "vet"]


def __getattr__(name: str) -> object:
    """A name of the face, with all that it needs."""
    if name not in __all__:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module("buildcheck.face"), name)
