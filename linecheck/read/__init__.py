"""Files in: charts, takes and rubrics, one file a format."""
