"""linecheck: reads a chart and a jazz bass line and says of every note why it is there."""

__version__ = "0.1.0"
