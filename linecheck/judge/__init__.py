"""How good it was: one file a part, weighed by a rubric."""
