"""The version of the program, as it stands in every result."""

from __future__ import annotations

__all__ = ["__version__"]

__version__ = "0.6.0"
