"""Says whether a proposed change fits a bicycle, what blocks it, and what it really takes."""

__version__ = "0.2.0"
