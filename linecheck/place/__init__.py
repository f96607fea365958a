"""When and where: the line in time and in the form."""

from linecheck.place.placed_line import place_line

__all__ = ["place_line"]
